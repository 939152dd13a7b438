"""The same utterances under every setting of care, by hand."""

from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from tests.builders import heard
from tests.evaluation.test_run import make_row
from voiceflow.dialogue.events import Utterance
from voiceflow.dialogue.policy import Decision
from voiceflow.evaluation.care import care_lines, decided, for_choosing, is_at_once, main
from voiceflow.evaluation.manifest import Role
from voiceflow.evaluation.metrics import Result
from voiceflow.evaluation.run import Outcome
from voiceflow.grammar.meaning import Meaning, NoMatch, Reading
from voiceflow.settings import POLICIES, Care

# of the shipped check's oxygen gauge, within its limits
FULL = Reading(value=Decimal(1800), unit="psi")
LESS = Reading(value=Decimal(1700), unit="psi")


def outcome(meant: Meaning, *found: tuple[Meaning, float]) -> Outcome:
    utterances = tuple(said(meaning, confidence) for meaning, confidence in found)
    return Outcome(
        row=replace(make_row("a"), meaning=meant),
        result=Result.IGNORED,
        engine="test",
        heard=tuple(one.text for one in utterances),
        utterances=utterances,
        decisions=(),
        confidences=tuple(one.confidence for one in utterances),
        meant=(),
        said_aloud=None,
        delay_s=None,
        decode_s=0.0,
        audio_s=1.0,
    )


def said(meaning: Meaning, confidence: float) -> Utterance:
    return heard("crew-oxygen", meaning, 1.0, confidence=confidence).utterance


def test_decided_by_the_thresholds_given() -> None:
    one = outcome(FULL, (FULL, 0.95))
    normal = decided(one, POLICIES[Care.NORMAL])
    assert (normal.decisions, normal.result) == ((Decision.ACCEPT,), Result.RIGHT)
    assert is_at_once(normal)
    strict = decided(one, POLICIES[Care.STRICT])
    assert (strict.decisions, strict.result) == ((Decision.CONFIRM,), Result.RIGHT)
    assert not is_at_once(strict)


def test_the_table_counts_what_each_care_makes_of_them() -> None:
    outcomes = [
        outcome(FULL, (FULL, 0.99)),
        outcome(FULL, (FULL, 0.95)),
        outcome(FULL, (LESS, 0.95)),
        outcome(FULL, (FULL, 0.2)),
        outcome(FULL),
        outcome(NoMatch(), (LESS, 0.4)),
    ]
    head, *lines = care_lines(outcomes)
    table = {line[0]: dict(zip(head, line, strict=True)) for line in lines}
    assert set(table) == {f"{kind}, {care}" for kind in ("readings", "other talk") for care in Care}
    names = ("of", "right at once", "right, asked", "wrong at once", "wrong, asked", "asked again")
    normal, strict = table["readings, normal"], table["readings, strict"]
    assert [normal[name] for name in names] == ["5", "2", "0", "1", "0", "1"]
    assert [strict[name] for name in names] == ["5", "1", "1", "0", "1", "1"]
    assert strict["ignored"] == "1"
    talk = table["other talk, relaxed"]
    assert [talk[name] for name in names] == ["1", "0", "0", "0", "1", "0"]


def test_presets_are_chosen_on_training_voices_clean_and_in_noise() -> None:
    rows = [
        replace(make_row("a"), role=Role.TRAIN),
        make_row("b"),
        replace(make_row("c", snr_db=10.0), role=Role.TRAIN),
    ]
    chosen = for_choosing(rows)
    assert [(row.file, row.condition) for row in chosen] == [("a", "clean"), ("a", "pink 15 dB")]


def test_a_manifest_that_is_not_there(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert main([str(tmp_path / "none.csv")]) == 2
    assert "none.csv" in capsys.readouterr().err
