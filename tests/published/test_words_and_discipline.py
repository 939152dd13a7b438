"""The tables of words and rules: whole, and in step with what the program knows."""

from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML

from voiceflow.checks.model import InterruptedPolicy
from voiceflow.languages.english.commands import COMMANDS, EMPTY_RESPONSES
from voiceflow.phraseology.commands import CommandName

FOLDER = Path(__file__).parent

Row = dict[str, Any]

WORDS: Row = YAML(typ="safe").load(FOLDER / "standard_words.yaml")
DISCIPLINE: Row = YAML(typ="safe").load(FOLDER / "discipline.yaml")
RULES: list[Row] = [*DISCIPLINE["rows"], *WORDS["readback"]]

#: The commands that are standard words; the others are plain words of our own.
STANDARD = {
    CommandName.SAY_AGAIN, CommandName.STAND_BY, CommandName.CORRECTION, CommandName.DISREGARD,
    CommandName.AFFIRM, CommandName.NEGATIVE, CommandName.READ_BACK, CommandName.UNABLE,
    CommandName.SPEAK_SLOWER, CommandName.ROGER, CommandName.WILCO,
}  # fmt: skip


@pytest.mark.parametrize("row", WORDS["rows"], ids=lambda row: f"{row['word']}: {row['meaning']}")
def test_word_is_whole(row: Row) -> None:
    assert row["meaning"]
    assert row["verified"] in {"V", "V2", "M"}
    assert row["completes_item"] is False
    assert ("not_tested" in row) == (row["verified"] == "M")


@pytest.mark.parametrize("row", RULES, ids=lambda row: row["id"])
def test_rule_is_whole(row: Row) -> None:
    assert row["rule"]
    assert row["source"]
    assert row["verified"] in {"V", "V2", "C", "M"}
    if row["verified"] in {"C", "M"}:
        assert row["not_tested"]


def test_rule_ids_are_unique() -> None:
    ids = [row["id"] for row in RULES]
    assert len(ids) == len(set(ids))


def test_standard_commands_are_the_published_words() -> None:
    commands = {CommandName(row["command"]) for row in WORDS["rows"] if row["command"]}
    assert commands == STANDARD


def test_both_published_policies_on_interruption_are_offered() -> None:
    policies = {InterruptedPolicy(row["policy"]) for row in RULES if "policy" in row}
    assert policies == set(InterruptedPolicy)


@pytest.mark.parametrize(
    ("word", "command"),
    sorted({(row["word"], row["command"]) for row in WORDS["rows"] if row["command"]}),
)
def test_english_teaches_the_published_word_first(word: str, command: str) -> None:
    phrases = COMMANDS[CommandName(command)]
    if word == "correct":  # alone it is the beginning of "correction", so only in a phrase
        assert word not in phrases
        assert any(phrase.endswith(" correct") for phrase in phrases)
    else:
        assert phrases[0] == word


def test_words_that_state_no_setting_are_no_response_in_english() -> None:
    published = {phrase for row in RULES for phrase in row.get("empty_responses", ())}
    assert published == {"set", "checked", "as required"}
    assert published <= set(EMPTY_RESPONSES)
