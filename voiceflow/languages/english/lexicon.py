"""The pack's pronunciations, read from ``lexicon.dict`` beside this module."""

import re
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType

from voiceflow.phraseology.language import Pronunciation

_WORD = re.compile(r"(?P<word>[^\s(]+)(?:\((?P<number>\d+)\))?")


@cache
def pronunciations() -> Mapping[str, tuple[Pronunciation, ...]]:
    """Give word -> every way to say it, in ARPAbet without stress marks.

    The entries of a word replace those of an engine's own dictionary ("psi" is a
    Greek letter there), so each word is listed with all the ways we want heard.
    """
    text = files("voiceflow.languages.english").joinpath("lexicon.dict").read_text("utf-8")
    return MappingProxyType(read_lexicon(text))


def read_lexicon(text: str) -> dict[str, tuple[Pronunciation, ...]]:
    """Read the lines of a pronouncing dictionary.

    Args:
        text: Lines ``word PHONE PHONE ...``; ``word(2)`` is a further way to say
            the word; lines that begin with ``;;;`` are comments.

    Raises:
        ValueError: If a line is no entry.
    """
    entries: dict[str, list[Pronunciation]] = {}
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip() or line.startswith(";;;"):
            continue
        head, *phones = line.split()
        found = _WORD.fullmatch(head)
        if found is None or not phones:
            msg = f"line {number}: not an entry of a pronouncing dictionary: {line!r}"
            raise ValueError(msg)
        entries.setdefault(found["word"], []).append(tuple(phones))
    return {word: tuple(ways) for word, ways in entries.items()}


def phones(word: str) -> tuple[Pronunciation, ...]:
    """Give the pack's pronunciations of a word; empty if it brings none.

    An engine's dictionary knows the general words; whoever compares sounds merges
    the two (a pure pack cannot read an engine's files).
    """
    return pronunciations().get(word, ())
