"""What the measurement of a lexicon says, and what it tells of phones; no sound."""

from dataclasses import replace
from pathlib import Path

import pytest

from voiceflow.grammar.meaning import Reading, Response
from voiceflow.languages.registry import language

FOLDER = Path(__file__).parents[2] / "audio_fixtures"


@pytest.fixture(autouse=True)
def on_path(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.syspath_prepend(str(FOLDER))


def test_nobody_both_chooses_and_scores() -> None:
    import accents

    choosing = {str(voice) for voice in (*accents.RADIO, *accents.REGIONAL)}
    assert not choosing & {str(voice) for voice in accents.SCORING}


def test_readings_by_the_book_are_respelt_and_mean_their_value() -> None:
    import accents

    said = tuple(accents.by_the_book())
    assert len(said) == sum(accents.GAUGES.values())
    pack = language("en")
    for saying in said:
        assert isinstance(saying.spoken.meaning, Reading)
        for spelt in saying.spelt.values():
            assert not {"three", "four", "five", "eight", "nine", "decimal", "thousand"} & {
                *spelt.split()
            }
            assert len(spelt.split()) == len(pack.tokenise(saying.spoken.text))
    words = {word for saying in said for word in saying.spoken.text.split()}
    assert words >= {"three", "four", "five", "eight", "niner", "decimal", "thousand", "hundred"}


def test_words_choose_the_items_that_hear_them() -> None:
    import accents

    said = tuple(accents.of_the_checks(("sample", "oxygen")))
    assert {"clean sample", "water found"} <= {saying.spoken.text for saying in said}
    assert {saying.spoken.item for saying in said} == {
        "left-fuel-drain",
        "right-fuel-drain",
        "crew-oxygen",
    }
    for saying in said:
        is_named = saying.spoken.text.startswith(("oxygen ", "crew oxygen "))
        assert isinstance(saying.spoken.meaning, Response) != is_named


def test_a_way_that_brings_opposites_together_is_told() -> None:
    import accents

    before = language("en")
    dangerous = dict(before.pronunciations) | {
        "removed": (("R", "IY", "M", "UW", "V", "D"), ("F", "IH", "T", "IH", "D"))
    }
    after = replace(before, pronunciations=dangerous)
    told = list(accents.nearer_pairs(before, after))
    assert any(line.startswith("opposing responses: removed / still fitted:") for line in told)
    assert not list(accents.nearer_pairs(before, before))
