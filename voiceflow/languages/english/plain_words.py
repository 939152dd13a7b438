"""Counts, durations, names and lists in plain English, for the voice.

Readings are not said here: they go by radiotelephony (``numbers.py``). Here are the
numbers of ordinary sentences ("thirty two items", "two minutes ten"), and figures in
the words of a check file ("Skerry 42"), so that no figure is ever left for a
synthesiser to say in its own way.
"""

import re
from collections.abc import Sequence

# fmt: off
_SMALL = (
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine",
    "ten", "eleven", "twelve", "thirteen", "fourteen",
    "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
)
_TENS = (
    "", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety",
)
# fmt: on

#: The spelling alphabet of radiotelephony (ICAO Annex 10 vol. II 5.2.1.3).
# fmt: off
_LETTERS = {
    "A": "Alfa", "B": "Bravo", "C": "Charlie", "D": "Delta", "E": "Echo", "F": "Foxtrot",
    "G": "Golf", "H": "Hotel", "I": "India", "J": "Juliett", "K": "Kilo", "L": "Lima",
    "M": "Mike", "N": "November", "O": "Oscar", "P": "Papa", "Q": "Quebec", "R": "Romeo",
    "S": "Sierra", "T": "Tango", "U": "Uniform", "V": "Victor", "W": "Whiskey", "X": "X-ray",
    "Y": "Yankee", "Z": "Zulu",
}
# fmt: on

_FIGURE = re.compile(r"(?P<minus>(?<![\w.])[-\u2212](?=\d))?(?P<whole>\d+)(?:\.(?P<part>\d+))?")


def count_words(count: int) -> str:
    """Say a whole number as in an ordinary sentence.

    Args:
        count: From zero up; above 9999 it is said figure by figure.
    """
    if count < 20:
        return _SMALL[count]
    if count < 100:
        tens, ones = divmod(count, 10)
        return _TENS[tens] if ones == 0 else f"{_TENS[tens]} {_SMALL[ones]}"
    if count < 1000:
        hundreds, rest = divmod(count, 100)
        head = f"{_SMALL[hundreds]} hundred"
        return head if rest == 0 else f"{head} and {count_words(rest)}"
    if count < 10_000:
        thousands, rest = divmod(count, 1000)
        head = f"{_SMALL[thousands]} thousand"
        if rest == 0:
            return head
        return f"{head} {'and ' if rest < 100 else ''}{count_words(rest)}"
    return _figures(str(count))


def counted(count: int, one: str, many: str) -> str:
    """Say how many of something: "one item", "thirty two items"."""
    return f"{count_words(count)} {one if count == 1 else many}"


def duration(seconds: int) -> str:
    """Say how long: "forty seconds", "two minutes", "two minutes ten", "one hour five minutes".

    Args:
        seconds: From zero up. Seconds are not said once there are hours.
    """
    whole_minutes, rest = divmod(seconds, 60)
    if whole_minutes == 0:
        return counted(rest, "second", "seconds")
    hours, minutes = divmod(whole_minutes, 60)
    if hours == 0:
        said = counted(minutes, "minute", "minutes")
        return said if rest == 0 else f"{said} {count_words(rest)}"
    said = counted(hours, "hour", "hours")
    return said if minutes == 0 else f"{said} {counted(minutes, 'minute', 'minutes')}"


def listed(things: Sequence[str], link: str = "or") -> str:
    """Join things as a list is said: "a", "a, or b", "a and b", "a, b, or c".

    A choice of two keeps its pause: it is a question, and the pause is what parts them.
    """
    if len(things) < 2:
        return "".join(things)
    if len(things) == 2 and link == "and":
        return f"{things[0]} and {things[1]}"
    return f"{', '.join(things[:-1])}, {link} {things[-1]}"


def spoken(text: str) -> str:
    """Make text of a check file fit for the voice: figures as words, single spaces.

    One or two figures are said as a number ("Generator 1", "Skerry 42"), more of them
    figure by figure ("500" as "five zero zero"), a decimal mark as "decimal".
    """
    return " ".join(_FIGURE.sub(_figure_words, text).split())


def tail_words(tail: str) -> str:
    """Spell a registration by the spelling alphabet: X-SKR7 is X-ray Sierra Kilo Romeo seven."""
    words = [
        _LETTERS.get(sign) or _SMALL[int(sign)]
        for sign in tail.upper()
        if sign in _LETTERS or sign in "0123456789"
    ]
    return " ".join(words)


def within_sentence(text: str) -> str:
    """Give text with its first letter small, unless the word is an abbreviation or a letter."""
    if len(text) > 1 and text[0].isupper() and text[1].islower():
        return text[0].lower() + text[1:]
    return text


def sentence(text: str, mark: str = ".") -> str:
    """Make text a sentence: first letter large, one mark at the end."""
    trimmed = text.strip()
    if not trimmed:
        return ""
    ended = trimmed if trimmed[-1] in ".?!" else trimmed + mark
    return ended[0].upper() + ended[1:]


def _figure_words(found: re.Match[str]) -> str:
    whole, part = found["whole"], found["part"]
    lead = "minus " if found["minus"] else ""
    plain = whole == "0" or (len(whole) <= 2 and not whole.startswith("0"))
    said = count_words(int(whole)) if plain else _figures(whole)
    if part is not None:
        said = f"{_figures(whole)} decimal {_figures(part)}"
    before = found.string[: found.start()][-1:]
    after = found.string[found.end() :][:1]
    return f"{' ' if before.isalnum() else ''}{lead}{said}{' ' if after.isalnum() else ''}"


def _figures(digits: str) -> str:
    return " ".join(_SMALL[int(digit)] for digit in digits)
