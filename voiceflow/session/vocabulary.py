"""The words of a check for one person: the personal file, and what it does to a language.

The one place that knows both the person's file and the language packs.
"""

import os
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Final

from platformdirs import user_config_path

from voiceflow.checks.loader import NO_SITUATION, ReadCheck, WrittenItem, read_check
from voiceflow.checks.model import Check, Item, OwnPronunciation
from voiceflow.checks.own_words import OwnWords, Reserved, add_own_words, load_own_words
from voiceflow.checks.problem import Problem
from voiceflow.errors import CheckFileError
from voiceflow.languages.registry import known_languages, language
from voiceflow.limits.computed import UNKNOWN, Conditions, MeasuredOil, computing
from voiceflow.numbers.scale import Scale
from voiceflow.phraseology.language import Language, Pronunciation

#: The environment variable that names another personal file.
OVERRIDE: Final = "VOICEFLOW_OWN_WORDS"

#: Scales whose spoken forms hold every word that numbers are made of.
_COUNTED: Final = (
    Scale(lowest=Decimal(0), highest=Decimal(120), step=Decimal(1)),
    Scale(lowest=Decimal(0), highest=Decimal(2000), step=Decimal(100)),
    Scale(lowest=Decimal("-1.0"), highest=Decimal("1.0"), step=Decimal("0.1")),
)


def default_own_words() -> Path:
    """Give the personal file's usual place: VOICEFLOW_OWN_WORDS, else the user's settings."""
    named = os.environ.get(OVERRIDE, "")
    if named:
        return Path(named).expanduser()
    return user_config_path("voiceflow", appauthor=False) / "own-words.yaml"


def find_own_words(path: Path | None) -> OwnWords | None:
    """Load the personal file.

    Args:
        path: The file; none: the usual place.

    Returns:
        None if none is named and there is none in the user's settings.

    Raises:
        CheckFileError: If the file has problems, or one that is named is not there.
    """
    if path is None:
        path = default_own_words()
        if not os.environ.get(OVERRIDE) and not path.exists():
            return None
    return load_own_words(path)


def read_own_check(
    path: Path,
    aircraft_path: Path | None,
    own: OwnWords | None,
    conditions: Conditions = UNKNOWN,
    situation: Mapping[str, str] = NO_SITUATION,
    oil: MeasuredOil | None = None,
) -> ReadCheck:
    """Read a check file with a person's words in it, and hold it against its language.

    Args:
        path: The check file.
        aircraft_path: The aircraft file; none: the one that the check file names, if any.
        own: The person's words, if any.
        conditions: Of the day, for limits that are worked out.
        situation: What items' ``when`` may ask for beside the equipment.
        oil: What an engine uses, if runs before tell.
    """
    read = read_check(
        path,
        aircraft_path,
        languages=known_languages(),
        compute=computing(conditions, oil),
        situation=situation,
    )
    if read.header is None or read.header.language not in known_languages():
        return read
    pack = language(read.header.language)
    read = _in_language(read, pack)
    return read if own is None else add_own_words(read, own, reserved(pack))


def _in_language(read: ReadCheck, pack: Language) -> ReadCheck:
    """Add what a check cannot be run with in its language: answers that cannot be given.

    A response in the words of a standing command can never be taken for either, and a unit
    without words can be neither said nor read back.
    """
    found: list[Problem] = []
    for written in read.items:
        if written.item is not None:
            found += _commands_as_responses(read, written, written.item, pack)
            found += _unit_without_words(read, written, written.item, pack)
    if not found:
        return read
    problems = sorted((*read.problems, *found), key=lambda one: (one.path != read.tree.path, one))
    return replace(read, check=None, problems=tuple(problems))


def _commands_as_responses(
    read: ReadCheck, written: WrittenItem, item: Item, pack: Language
) -> Iterator[Problem]:
    commands = reserved(pack).commands
    in_file = (*written.path, "expect", 0) in read.tree.values_at
    places = [
        *(
            (text, ("expect", index) if in_file else ("wait", "until"))
            for index, text in enumerate(item.expect)
        ),
        *((text, ("not_as_expected", index)) for index, text in enumerate(item.not_as_expected)),
    ]
    for text, place in places:
        command = commands.get(pack.tokenise(text))
        if command is not None:
            yield read.tree.problem(
                (*written.path, *place),
                "response-is-command",
                f"{text!r} is the standing command {command!r}, and never taken as a response",
                "Use other words for this response.",
                item=item.id,
            )


def _unit_without_words(
    read: ReadCheck, written: WrittenItem, item: Item, pack: Language
) -> Iterator[Problem]:
    unit = "" if item.reading is None else item.reading.unit
    if unit and unit not in pack.unit_words:
        yield read.tree.problem(
            (*written.path, "reading", "unit"),
            "unit-without-words",
            f"nobody can say the unit {unit!r}: the language {pack.code!r} has no words for it",
            f"Use one of {', '.join(pack.unit_words)}, or leave it out, "
            "here or in the aircraft file.",
            item=item.id,
        )


def load_own_check(
    path: Path,
    aircraft_path: Path | None,
    own: OwnWords | None,
    conditions: Conditions = UNKNOWN,
    situation: Mapping[str, str] = NO_SITUATION,
    oil: MeasuredOil | None = None,
) -> Check:
    """Load a check with a person's words in it.

    Args:
        path: The check file.
        aircraft_path: The aircraft file; none: the one that the check file names, if any.
        own: The person's words, if any.
        conditions: Of the day, for limits that are worked out.
        situation: What items' ``when`` may ask for beside the equipment.
        oil: What an engine uses, if runs before tell.

    Raises:
        CheckFileError: With every problem of the files.
    """
    read = read_own_check(path, aircraft_path, own, conditions, situation, oil)
    if read.check is None:
        raise CheckFileError(read.problems)
    return read.check


@cache
def _reserved(code: str) -> Reserved:
    pack = language(code)
    return Reserved(
        tokenise=pack.tokenise,
        commands={
            pack.tokenise(phrase): phrases[0]
            for phrases in pack.commands.values()
            for phrase in phrases
        },
        empty=frozenset(
            pack.tokenise(phrase) for phrase in (*pack.empty_responses, *pack.hesitations)
        ),
        numbers=number_words(pack),
        sounds={way: word for word, ways in pack.pronunciations.items() for way in ways},
    )


def reserved(pack: Language) -> Reserved:
    """Give what no person's own words may take in a language."""
    return _reserved(pack.code)


def number_words(pack: Language) -> frozenset[str]:
    """Give the words that a language makes numbers of, sign and decimal mark included."""
    return frozenset(
        word
        for scale in _COUNTED
        for value in scale.values()
        for form in pack.spoken_forms(value, scale)
        for word in form
    )


def language_of(check: Check) -> Language:
    """Give the language pack of a check, with the pronunciations of the person in it.

    Raises:
        LanguageError: If there is no pack for the check's language.
    """
    return with_pronunciations(language(check.language), check.own_pronunciations)


def with_pronunciations(pack: Language, own: Iterable[OwnPronunciation]) -> Language:
    """Give a pack in which words have further pronunciations.

    A pack's pronunciations replace those of the engine's dictionary. So a word that only
    the dictionary knows keeps what it has there, and the person's way comes last.
    """
    own = tuple(own)
    if not own:
        return pack
    # the engine is asked only where somebody has words of their own: it takes a while to load
    from voiceflow.recognition.engines.pocketsphinx import bundled_pronunciations

    merged: dict[str, tuple[Pronunciation, ...]] = dict(pack.pronunciations)
    for each in own:
        known = merged.get(each.word)
        if known is None:
            known = tuple(tuple(way.split()) for way in bundled_pronunciations(each.word))
        if each.phones not in known:
            merged[each.word] = (*known, each.phones)
    return replace(pack, pronunciations=merged, phones=lambda word: merged.get(word, ()))
