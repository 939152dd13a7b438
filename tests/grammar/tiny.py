"""A language so small that everything that can be said in it can be listed."""

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal

from voiceflow.languages.registry import language
from voiceflow.numbers.scale import Scale
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.language import Language, Words

DIGITS = ("oh", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


def spoken_forms(value: Decimal, scale: Scale) -> tuple[Words, ...]:
    """Digit by digit; a nought may be left out at the end, so that 1 and 10 are confused."""
    words = tuple(DIGITS[int(digit)] for digit in str(int(value)))
    return (words, words[:-1]) if len(words) > 1 and words[-1] == "oh" else (words,)


def make_language(
    *,
    commands: Mapping[CommandName, tuple[str, ...]] | None = None,
    correction: str = "correction",
    hesitations: tuple[str, ...] = ("uh",),
    empty_responses: tuple[str, ...] = ("set",),
    unit_words: Mapping[str, tuple[str, ...]] | None = None,
) -> Language:
    """Make the tiny language."""
    return replace(
        language("en"),
        code="tiny",
        spoken_forms=spoken_forms,
        unit_words={"psi": ("psi", "p s")} if unit_words is None else unit_words,
        commands={
            CommandName.STAND_BY: ("stand by",),
            CommandName.CORRECTION: (correction,),
            **(commands or {}),
        },
        hesitations=hesitations,
        empty_responses=empty_responses,
    )
