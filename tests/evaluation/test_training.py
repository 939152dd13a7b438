"""The fit, on made-up measures; what is shipped, as a file."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from voiceflow.evaluation.training import (
    NEVER_NEGATIVE,
    NEVER_POSITIVE,
    Example,
    document,
    fit,
    main,
    read_measures,
    write_measures,
)
from voiceflow.recognition import evidence
from voiceflow.recognition.evidence import MEASURES, Evidence, shipped_model

SHIPPED = Path(evidence.__file__).with_name("confidence.json")
PLAIN = Evidence(**dict.fromkeys(MEASURES, 0.0))


def made_up(count: int = 400) -> list[Example]:
    """Answers whose chance of being right falls with the mean loss and rises with nothing."""
    dice = np.random.default_rng(7)
    made = []
    for number in range(count):
        loss = float(dice.uniform(0, 12))
        right = bool(dice.uniform() < 1 / (1 + np.exp(loss - 6)))
        measured = replace(PLAIN, mean_loss=loss, uncovered=float(dice.uniform()))
        kind = "reading" if number % 3 else "none"
        made.append(
            Example(evidence=measured, right=right, voice="a", kind=kind, condition="clean")
        )
    return made


def test_the_fit_finds_the_odds_that_were_put_in() -> None:
    model = fit(made_up(4000))
    assert model.weights["mean_loss"] == pytest.approx(-1, abs=0.12)
    assert model.offset == pytest.approx(6, abs=0.7)
    assert model.weights["uncovered"] == pytest.approx(0, abs=0.4)


def test_no_weight_has_a_sign_that_makes_no_sense() -> None:
    turned = [replace(one, right=not one.right) for one in made_up()]
    model = fit(turned)
    assert model.weights["mean_loss"] == 0
    for measure, weight in model.weights.items():
        assert not (measure in NEVER_POSITIVE and weight > 0)
        assert not (measure in NEVER_NEGATIVE and weight < 0)


def test_measures_are_kept_and_fitted_again(tmp_path: Path) -> None:
    kept, out = tmp_path / "measures.csv", tmp_path / "weights.json"
    write_measures(made_up(), kept)
    assert len(read_measures(kept)) == 400
    main([str(tmp_path / "no-manifest.csv"), "--from-measures", str(kept), "--out", str(out)])
    written = json.loads(out.read_text(encoding="utf-8"))
    assert written == json.loads(
        json.dumps(document(fit(read_measures(kept)), read_measures(kept)))
    )
    assert written["weights"]["mean_loss"]["value"] < 0


def test_what_is_shipped_says_where_it_is_from() -> None:
    shipped = json.loads(SHIPPED.read_text(encoding="utf-8"))
    assert set(shipped["weights"]) == set(MEASURES)
    assert all(entry["unit"] for entry in shipped["weights"].values())
    assert shipped["voices"]
    assert all(group["count"] for group in shipped["training figures"].values())
    assert shipped_model().offset == shipped["offset"]["value"]


def test_no_voice_that_scores_was_trained_on() -> None:
    shipped = json.loads(SHIPPED.read_text(encoding="utf-8"))
    trained = {"flite slt", "flite rms", "espeak-ng en-gb", "nobody sounds-for-training"}
    assert {voice.partition("+")[0] for voice in shipped["voices"]} <= trained
