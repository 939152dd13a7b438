"""The fit of Vosk's confidence, on made-up measures, and the set it hears."""

import json
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from voiceflow.errors import UsageError
from voiceflow.evaluation.manifest import CLEAN, load_manifest
from voiceflow.evaluation.vosk_training import (
    Example,
    examples,
    figures,
    fit,
    left_out,
    main,
    read_measures,
    spread,
    write_measures,
)
from voiceflow.recognition.open_vocabulary import MEASURES, Comparison

AUDIO = Path(__file__).parents[2] / "audio_fixtures"
PLAIN = Comparison(**dict.fromkeys(MEASURES, 0.0))


def made_up(count: int = 400) -> list[Example]:
    """Answers whose chance of being right falls with the mismatch, and with nothing else."""
    dice = np.random.default_rng(7)
    made = []
    for number in range(count):
        mismatch = float(dice.uniform(0, 2))
        right = bool(dice.uniform() < 1 / (1 + np.exp(5 * mismatch - 5)))
        made.append(
            Example(
                measured=replace(PLAIN, mismatch=mismatch, doubt=float(dice.uniform())),
                right=right,
                voice="ab"[number % 2],
                kind="none" if not right and number % 3 == 0 else "reading",
                heard="reading",
                condition=CLEAN,
            )
        )
    return made


def test_the_fit_finds_the_odds_that_were_put_in() -> None:
    model = fit(made_up(4000))
    assert model.weights["mismatch"] == pytest.approx(-5, abs=0.6)
    assert model.offset == pytest.approx(5, abs=0.7)
    assert model.weights["doubt"] == pytest.approx(0, abs=0.4)


@pytest.mark.parametrize("made", [[], [one for one in made_up(20) if one.right]])
def test_one_kind_alone_teaches_nothing(made: list[Example]) -> None:
    with pytest.raises(UsageError, match=f"{len(made)} of {len(made)} phrases"):
        fit(made)


def test_nothing_measured_counts_for_an_answer() -> None:
    model = fit([replace(one, right=not one.right) for one in made_up()])
    assert all(weight <= 0 for weight in model.weights.values())
    assert model.weights["mismatch"] == 0


def test_voices_are_left_out_in_turn() -> None:
    made = made_up()
    # what the other voice teaches turned round cannot be known from one's own
    turned = [replace(one, right=not one.right) if one.voice == "b" else one for one in made]
    by_others = left_out(turned)
    assert len(by_others["right"]) + len(by_others["wrong"]) == len(made)
    straight = left_out(made)
    assert np.mean(straight["right"]) > np.mean(straight["wrong"]) + 0.3
    assert np.mean(by_others["right"]) < np.mean(by_others["wrong"])
    assert left_out([one for one in made if one.voice == "a"]) == {"right": [], "wrong": []}


def test_figures_count() -> None:
    found = figures([0.2, 0.4, 0.8, 0.95])
    assert found["count"] == 4
    assert found["at or above 0.3"] == 0.75
    assert found["at or above 0.9"] == 0.25
    assert figures([]) == {"count": 0}


def test_measures_are_kept_and_fitted_again(tmp_path: Path) -> None:
    kept, out = tmp_path / "measures.csv", tmp_path / "weights.json"
    write_measures(made_up(), kept)
    arguments = ["--from-measures", str(kept), "--out", str(out)]
    main([str(AUDIO / "manifest.csv"), *arguments])
    written = json.loads(out.read_text(encoding="utf-8"))
    assert written["weights"]["mismatch"]["value"] == fit(read_measures(kept)).weights["mismatch"]
    assert written["weights"]["mismatch"]["value"] < 0
    assert written["voices"] == ["a", "b"]
    assert written["fitted to"].startswith("language en; synthetic")
    assert "how well these weights suit people" in written["caution"]


def test_every_third_recording_is_heard_in_noise_too() -> None:
    rows = [row for row in load_manifest(AUDIO / "manifest.csv") if row.condition == CLEAN][:30]
    heard = spread(rows)
    assert [row for row in heard if row.condition == CLEAN] == rows
    assert len(heard) == 40
    assert {row.condition for row in heard} == {CLEAN, "pink 20 dB", "pink 15 dB", "brown 10 dB"}


def test_without_recordings_for_training_nothing_is_fitted() -> None:
    with pytest.raises(UsageError, match="0 languages"):
        examples([], None)


def test_the_korean_set_keeps_its_voices_apart(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.syspath_prepend(str(AUDIO))
    import make_korean

    try:
        planned = [recording for recording, _ in make_korean.plan()]
    finally:
        for name in ("make_korean", "make_fixtures", "other_talk"):
            sys.modules.pop(name, None)
    voices = {
        role: {one.voice.name for one in planned if one.role == role} for role in ("train", "score")
    }
    assert len(voices["train"]) >= 6
    assert not voices["train"] & voices["score"]
    talk = {
        role: {
            one.spoken.text for one in planned if one.role == role and one.spoken.form == "sentence"
        }
        for role in ("train", "score")
    }
    assert talk["train"]
    assert not talk["train"] & talk["score"]
    assert len({one.file for one in planned}) == len(planned)
