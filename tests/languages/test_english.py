"""The English pack: its very words, and its sounds."""

import itertools
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words
from ruamel.yaml import YAML

from tests.languages.prompt_samples import ENGLISH
from tests.lint.dictionary import engine_phones
from voiceflow.checks.loader import load_check
from voiceflow.checks.shipped import shipped_checks
from voiceflow.languages.english.commands import COMMANDS, EMPTY_RESPONSES, HESITATIONS
from voiceflow.languages.english.lexicon import phones, pronunciations, read_lexicon
from voiceflow.languages.english.phones import PHONES, phone_distance
from voiceflow.languages.english.plain_words import count_words, duration, spoken, tail_words
from voiceflow.languages.english.tokens import tokenise
from voiceflow.languages.english.units import UNIT_WORDS, read_unit
from voiceflow.languages.english.wording import wording
from voiceflow.limits.computed import SOME_DAY, computing
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.language import Pronunciation
from voiceflow.phraseology.prompts import Prompt

PUBLISHED = Path(__file__).parent.parent / "published" / "standard_words.yaml"
STANDARD_WORDS: list[dict[str, Any]] = YAML(typ="safe").load(PUBLISHED)["rows"]

#: Standard words that our commands leave out, and why.
NOT_USED = {
    "acknowledge": "asks for a sign of life; would complete no item",
    "approved": "nothing is asked permission for",
    "break": "messages have one part",
    "cancel": "clearances are not given here; disregard drops an utterance",
    "check": "has one meaning on the radio and none as an answer",
    "confirm": "our own question",
    "how do you read": "a matter of trying the microphone",
    "i say again": "marks a repeated value, which needs no command",
    "monitor": "radio only",
    "report": "radio only",
    "contact": "radio only",
    "maintain": "radio only",
    "words twice": "the readback serves this end",
}


@pytest.mark.parametrize(
    ("prompt", "words"),
    ENGLISH,
    ids=[f"{n}-{prompt.kind}" for n, (prompt, _) in enumerate(ENGLISH)],
)
def test_words_of_every_prompt(prompt: Prompt, words: str) -> None:
    assert wording(prompt) == words


@pytest.mark.parametrize("row", STANDARD_WORDS, ids=lambda row: f"{row['word']}-{row['verified']}")
def test_standard_words_are_commands_or_left_out_with_a_reason(row: dict[str, Any]) -> None:
    """Source: ICAO Doc 9432 2.6 and Annex 10 vol. II 5.2.1.5.8, as the table says."""
    word, command = row["word"], row["command"]
    said = {phrase: name for name, phrases in COMMANDS.items() for phrase in phrases}
    if command is None:
        assert word not in said
        assert NOT_USED[word]
    elif word in said:
        assert said[word] is CommandName(command)
    else:  # part of a longer phrase
        longer = [phrase for phrase in COMMANDS[CommandName(command)] if word in phrase.split()]
        assert longer


def test_yes_and_no_are_not_taken_for_an_answer() -> None:
    said = {*itertools.chain.from_iterable(COMMANDS.values()), *EMPTY_RESPONSES, *HESITATIONS}
    assert not said & {"yes", "no", "correct", "off", "on", "armed", "standby", "oh"}


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Both removed.", ("both", "removed")),
        ("Stand-by", ("stand", "by")),
        ("What's left?", ("what's", "left")),
        ("What\u2019s left?", ("what's", "left")),
        ("1,600 psi", ("1600", "psi")),
        ("1600psi", ("1600", "psi")),
        ("29.92", ("29.92",)),
        ("p.s.i.", ("p", "s", "i")),
        ("-5.5 °C", ("-5.5", "degrees", "c")),
        ("\u22125", ("-5",)),
        ("flaps 10-15", ("flaps", "10", "15")),
        ("85%", ("85", "percent")),
        (".64", (".64",)),
        ("one, two", ("one", "two")),
        ("16,50", ("16", "50")),
        ("  ", ()),
        ("...", ()),
        ("", ()),
    ],
)
def test_tokenise(text: str, words: tuple[str, ...]) -> None:
    assert tokenise(text) == words


@given(st.text())
def test_tokens_are_words_or_figures_and_stay_so(text: str) -> None:
    words = tokenise(text)
    assert all(word and not any(mark.isspace() for mark in word) for word in words)
    assert tokenise(" ".join(words)) == words


def test_every_sound_of_the_lexicon_is_in_the_table() -> None:
    assert len(PHONES) == 39
    for word, ways in pronunciations().items():
        assert tokenise(word) == (word,)
        assert ways
        for way in ways:
            assert set(way) <= set(PHONES), word
        assert len(set(ways)) == len(ways), word


def test_psi_is_three_letters_and_not_the_greek_one() -> None:
    assert phones("psi") == (("P", "IY", "EH", "S", "AY"),)
    assert phones("no-such-word") == ()


def test_radio_numbers_have_their_published_sound() -> None:
    """TREE, FIFE, FOW-er, NIN-er, TOU-SAND: ICAO Annex 10 vol. II 5.2.1.4.3.1."""
    assert ("T", "R", "IY") in phones("three")
    assert ("F", "AY", "F") in phones("five")
    assert ("F", "OW", "ER") in phones("four")
    assert ("N", "AY", "N", "ER") in phones("niner")
    assert ("T", "AW", "Z", "AH", "N", "D") in phones("thousand")


def test_regional_numbers_have_their_sound() -> None:
    """HOON-dred of the north of England, ZEE-uh-ro, FOH-uh of those who drop the R.

    Common knowledge of phonetics, no single source.
    """
    assert ("HH", "UH", "N", "D", "R", "AH", "D") in phones("hundred")
    assert ("Z", "IY", "AH", "R", "OW") in phones("zero")


def sounds_of(text: str) -> set[Pronunciation]:
    """Every way to say a phrase: the pack's, and where it has none the engine's."""
    words = [phones(word) or engine_phones(word) for word in tokenise(text)]
    return {tuple(itertools.chain.from_iterable(chosen)) for chosen in itertools.product(*words)}


def test_no_two_numbers_are_said_alike() -> None:
    numbers = ["oh", "niner", "hundred", "thousand", "decimal", "point", "minus", "half"]
    numbers += [word for value in range(100) for word in num2words(value).split("-")]
    sounds: dict[Pronunciation, str] = {}
    for word in dict.fromkeys(numbers):
        assert sounds_of(word)
        for way in sounds_of(word):
            assert sounds.setdefault(way, word) == word


@pytest.mark.parametrize("path", shipped_checks(), ids=lambda path: path.stem)
def test_no_response_is_said_as_its_opposite_or_as_a_command(path: Path) -> None:
    commands = set().union(
        *(sounds_of(phrase) for phrases in COMMANDS.values() for phrase in phrases)
    )
    for item in load_check(path, compute=computing(SOME_DAY)).items:
        good = set().union(*map(sounds_of, item.expect))
        bad = set().union(*map(sounds_of, item.not_as_expected))
        assert good or item.reading is not None
        assert not good & bad, item.id
        assert not (good | bad) & commands, item.id


@pytest.mark.parametrize("line", ["word", "word(two) AH", "(2) AH"])
def test_a_broken_lexicon_line_is_refused(line: str) -> None:
    with pytest.raises(ValueError, match="line 2"):
        read_lexicon(f";;; a comment\n{line}\n")


def test_phone_distance_over_the_whole_table() -> None:
    for a, b in itertools.product(PHONES, repeat=2):
        distance = phone_distance(a, b)
        assert 0 <= distance <= 1
        assert distance == phone_distance(b, a)
        assert (distance == 0) == (a == b)
    assert phone_distance("P", "no phone") == 1


@pytest.mark.parametrize(
    ("near", "far"),
    [
        (("M", "N"), ("M", "S")),
        (("P", "B"), ("P", "T")),
        (("T", "D"), ("T", "Z")),
        (("F", "TH"), ("F", "G")),
        (("S", "SH"), ("S", "M")),
        (("IY", "IH"), ("IY", "AA")),
        (("AO", "AA"), ("AO", "IY")),
        (("W", "UW"), ("W", "IY")),
        (("R", "ER"), ("R", "IY")),
    ],
)
def test_alike_sounds_are_nearer(near: tuple[str, str], far: tuple[str, str]) -> None:
    """Phonetics common knowledge: voicing least, then place, then manner."""
    assert phone_distance(*near) < phone_distance(*far)


def test_close_and_far_in_figures() -> None:
    assert phone_distance("M", "N") < 0.2
    assert phone_distance("P", "B") < 0.2
    assert phone_distance("IY", "AA") > 0.6
    assert phone_distance("S", "AA") == 1


@given(st.integers(min_value=0, max_value=9999))
def test_counts_are_plain_english(count: int) -> None:
    """Outside reference: num2words, without its hyphens and commas."""
    reference = num2words(count).replace("-", " ").replace(",", "")
    assert count_words(count) == reference


def test_long_counts_are_said_figure_by_figure() -> None:
    assert count_words(10_250) == "one zero two five zero"


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0, "zero seconds"),
        (1, "one second"),
        (40, "forty seconds"),
        (60, "one minute"),
        (130, "two minutes ten"),
        (420, "seven minutes"),
        (3600, "one hour"),
        (3960, "one hour six minutes"),
        (7265, "two hours one minute"),
    ],
)
def test_durations(seconds: int, words: str) -> None:
    assert duration(seconds) == words


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Generator 1", "Generator one"),
        ("Fuel 500  kg", "Fuel five zero zero kg"),
        ("28.5 volts", "two eight decimal five volts"),
        ("-10 or below", "minus ten or below"),
        ("Gen1 off", "Gen one off"),
        ("2nd pump", "two nd pump"),
        ("05", "zero five"),
        ("0", "zero"),
        ("flaps 10-15", "flaps ten-fifteen"),
    ],
)
def test_figures_of_a_check_file_become_words(text: str, words: str) -> None:
    assert spoken(text) == words


@given(st.text())
def test_no_figure_is_left_for_the_voice(text: str) -> None:
    said = spoken(text)
    assert not any(mark in "0123456789" for mark in said)
    assert "  " not in said


def test_registration_by_the_spelling_alphabet() -> None:
    """The spelling alphabet of ICAO Annex 10 vol. II (the words are common knowledge)."""
    assert tail_words("X-SKR7") == "X-ray Sierra Kilo Romeo seven"
    assert tail_words("") == ""


def test_letters_of_a_unit_are_spelt() -> None:
    assert read_unit("psi") == "p s i"
    assert read_unit("KPH") == "k p h"
    assert UNIT_WORDS["psi"][0] == "psi"
