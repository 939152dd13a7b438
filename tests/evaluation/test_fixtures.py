"""The recordings of this repository: what is claimed of them holds."""

import csv
from collections import Counter
from pathlib import Path

import pytest
import soundfile

from voiceflow.audio.frames import RATE_HZ
from voiceflow.checks.loader import load_check
from voiceflow.checks.shipped import find_check
from voiceflow.evaluation.manifest import CLEAN, MAIN, Role, Row, load_manifest
from voiceflow.evaluation.metrics import Result, Tally, is_same
from voiceflow.evaluation.run import EngineChoice, evaluate, verify
from voiceflow.grammar.item_grammar import ItemGrammar, compile_item
from voiceflow.grammar.meaning import Command, NoMatch
from voiceflow.languages.registry import language
from voiceflow.phraseology.commands import CommandName

FOLDER = Path(__file__).parents[2] / "audio_fixtures"
MANIFEST = FOLDER / "manifest.csv"
ROWS = load_manifest(MANIFEST)
VOICES = {"flite slt", "flite awb", "flite rms", "flite kal16"}


def main_rows(kind: str) -> list[Row]:
    return [row for row in ROWS if row.part == MAIN and row.kind == kind]


def test_recordings_and_items_are_those_of_the_manifest() -> None:
    verify(ROWS, MANIFEST)


def test_no_recording_without_a_row() -> None:
    named = {row.path for row in ROWS}
    # whole runs, each with the script it was made from
    runs = {FOLDER / "demo", FOLDER / "sector"}
    sounds = [path for path in FOLDER.rglob("*") if path.suffix in {".flac", ".ogg"}]
    found = {path for path in sounds if not runs & set(path.parents)}
    assert found == named


def test_size_stays_under_24_mb() -> None:
    files = [path for path in FOLDER.rglob("*") if path.is_file()]
    assert sum(path.stat().st_size for path in files) < 24_000_000


def test_the_set_is_as_large_as_the_figures_say() -> None:
    readings = main_rows("reading")
    assert len(readings) >= 160
    assert len({(row.check, row.item) for row in readings}) >= 6
    assert len(main_rows("response")) >= 64
    assert len(main_rows("command")) >= 28
    assert len(main_rows("none")) >= 40
    assert {row.voice for row in ROWS if row.part == MAIN} == VOICES
    assert all(row.condition == CLEAN for row in ROWS if row.part == MAIN)
    assert len([row for row in ROWS if row.part == "noise"]) >= 40


def test_other_talk_is_as_large_as_the_figures_say() -> None:
    other = [row for row in ROWS if row.part == "other talk"]
    score = [row for row in other if row.role is Role.SCORE]
    assert len(score) >= 600
    assert {row.form for row in score} == {"sentence", "chatter", "prompt", "other item", "sound"}
    assert all(row.kind == "none" for row in other)
    # nearly every text is said once: the rows are not the same thing over and over
    assert len({row.text for row in score if row.form != "sound"}) >= 540


def test_no_voice_and_no_text_of_other_talk_both_trains_and_scores() -> None:
    for part in (ROWS, [row for row in ROWS if row.part == "other talk"]):
        by_role = {role: {row.voice for row in part if row.role is role} for role in Role}
        assert all(by_role.values())
        assert not by_role[Role.TRAIN] & by_role[Role.SCORE]
    texts = {
        role: {
            row.text
            for row in ROWS
            if row.form != "sound" and row.role is role and row.part == "other talk"
        }
        for role in Role
    }
    assert not texts[Role.TRAIN] & texts[Role.SCORE]


def test_noise_is_mixed_in_and_not_stored() -> None:
    noisy = [row for row in ROWS if row.condition != CLEAN]
    assert noisy
    assert all(row.mixed for row in noisy)


def test_every_standing_command_is_said() -> None:
    said = {row.meaning.name for row in ROWS if isinstance(row.meaning, Command)}
    assert said == set(CommandName)


def test_every_voice_says_something_of_every_kind() -> None:
    count = Counter((row.voice, row.kind) for row in ROWS if row.part == MAIN)
    for voice in VOICES:
        for kind, least in (("reading", 40), ("response", 16), ("command", 7), ("none", 10)):
            assert count[voice, kind] >= least


def test_readings_are_said_in_every_form() -> None:
    forms = {row.form for row in main_rows("reading")}
    assert forms >= {
        "digit by digit",
        "digit by digit, niner",
        "digit by digit, oh",
        "natural",
        "natural with and",
        "thousands and hundreds",
        "hundreds",
        "group",
        "digits decimal",
        "digits point",
        "omitted decimal",
        "name",
        "unit",
        "name and unit",
        "correction",
    }
    assert any("minus" in form for form in forms)


def test_how_made_and_licence_are_stated() -> None:
    for row in ROWS:
        assert row.how_made.startswith(("synthetic speech: ", "synthetic sound, no speech: "))
        assert "MIT" in row.licence


def grammars() -> dict[tuple[str, str], ItemGrammar]:
    compiled = {}
    for check_id in sorted({row.check for row in ROWS}):
        check = load_check(find_check(check_id))
        for item in check.items:
            compiled[check_id, item.id] = compile_item(item, language(check.language))
    return compiled


def test_each_text_means_at_its_item_what_the_manifest_says() -> None:
    compiled = grammars()
    pack = language("en")
    faults = []
    for row in ROWS:
        found = compiled[row.check, row.item].meaning(pack.tokenise(row.text))
        if not is_same(row.meaning, found):
            faults.append((row.file, row.text, row.meaning, found))
    assert faults == []


def test_speech_lies_within_each_recording() -> None:
    for row in ROWS:
        info = soundfile.info(row.path)
        assert (info.samplerate, info.channels) == (RATE_HZ, 1)
        assert info.subtype == ("OPUS" if row.part == "other talk" else "PCM_16")
        # 0.8 s of silence after the speech: longer than any endpointer waits
        assert row.speech_start_s < row.speech_end_s <= info.duration - 0.7


def test_the_manifest_is_plain_csv() -> None:
    with MANIFEST.open(encoding="utf-8", newline="") as file:
        assert len(list(csv.reader(file))) == len(ROWS) + 1


@pytest.mark.speech
def test_a_part_of_the_set_through_a_real_recogniser() -> None:
    rows = [
        row
        for kind in ("reading", "response", "command")
        for row in main_rows(kind)
        if row.voice in {"flite slt", "flite rms"}
    ][::4]
    outcomes = evaluate(rows, EngineChoice(name="pocketsphinx"))
    tally = Tally.of(outcome.result for outcome in outcomes)
    assert [outcome.row.file for outcome in outcomes] == [row.file for row in rows]
    assert tally.share(Result.RIGHT) >= 0.9, [
        (outcome.row.text, outcome.heard) for outcome in outcomes if outcome.result != Result.RIGHT
    ]
    assert all(outcome.said_aloud is not False for outcome in outcomes)


@pytest.mark.speech
def test_talk_is_mostly_not_taken_for_an_answer() -> None:
    rows = [row for row in main_rows("none") if isinstance(row.meaning, NoMatch)][::4]
    outcomes = evaluate(rows, EngineChoice(name="pocketsphinx"))
    tally = Tally.of(outcome.result for outcome in outcomes)
    assert tally.count(Result.WRONG_ACCEPTED) <= 1, [
        (outcome.row.text, outcome.heard) for outcome in outcomes
    ]
