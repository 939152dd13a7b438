"""Counts, durations, names and lists in plain Korean, for the voice.

Things are counted with native numbers up to ninety nine (두 개), time and figures in
the words of a check file are said with Sino-Korean ones (이 분, 삼십이).
"""

import re
from collections.abc import Sequence

from voiceflow.languages.korean.numbers import name_of

_NATIVE_ONES = ("", "한", "두", "세", "네", "다섯", "여섯", "일곱", "여덟", "아홉")
_NATIVE_TENS = ("", "열", "스물", "서른", "마흔", "쉰", "예순", "일흔", "여든", "아흔")

#: The spelling alphabet of radiotelephony, as it is written in Korean.
# fmt: off
_LETTERS = {
    "A": "알파", "B": "브라보", "C": "찰리", "D": "델타", "E": "에코", "F": "폭스트롯",
    "G": "골프", "H": "호텔", "I": "인디아", "J": "줄리엣", "K": "킬로", "L": "리마",
    "M": "마이크", "N": "노벰버", "O": "오스카", "P": "파파", "Q": "퀘벡", "R": "로미오",
    "S": "시에라", "T": "탱고", "U": "유니폼", "V": "빅터", "W": "위스키", "X": "엑스레이",
    "Y": "양키", "Z": "줄루",
}
# fmt: on
_DIGITS = "공일이삼사오육칠팔구"

_FIGURE = re.compile(r"(?P<minus>(?<![\w.])[-\u2212](?=\d))?(?P<whole>\d+)(?:\.(?P<part>\d+))?")


def number_words(number: int) -> str:
    """Say a whole number the Sino-Korean way, written in one go; long ones by digits."""
    return "".join(name_of(number)) if number < 100_000_000 else _figures(str(number))


def counted(count: int, counter: str) -> str:
    """Say how many of something: 두 개, 스무 개, 서른두 개, 백 개."""
    if not 0 < count < 100:
        return f"{number_words(count)} {counter}"
    if count == 20:
        return f"스무 {counter}"
    tens, ones = divmod(count, 10)
    return f"{_NATIVE_TENS[tens]}{_NATIVE_ONES[ones]} {counter}"


def duration(seconds: int) -> str:
    """Say how long: 사십 초, 이 분, 이 분 십 초, 한 시간 오 분."""
    minutes, rest = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    parts = []
    if hours:
        parts.append(counted(hours, "시간"))
    if minutes:
        parts.append(f"{number_words(minutes)} 분")
    if not hours and (rest or not minutes):
        parts.append(f"{number_words(rest)} 초")
    return " ".join(parts)


def listed(things: Sequence[str], link: str = "또는") -> str:
    """Join things as a list is said."""
    if link and len(things) > 1:
        return f"{', '.join(things[:-1])}, {link} {things[-1]}"
    return ", ".join(things)


def spoken(text: str) -> str:
    """Make text of a check file fit for the voice: figures as words, single spaces."""
    return " ".join(_FIGURE.sub(_figure_words, text).split())


def tail_words(tail: str) -> str:
    """Spell a registration by the spelling alphabet."""
    return " ".join(
        _LETTERS.get(sign) or _DIGITS[int(sign)]
        for sign in tail.upper()
        if sign in _LETTERS or sign in "0123456789"
    )


def sentence(text: str, mark: str = ".") -> str:
    """Make text a sentence: one mark at the end."""
    trimmed = text.strip()
    return trimmed if not trimmed or trimmed[-1] in ".?!" else trimmed + mark


def _figure_words(found: re.Match[str]) -> str:
    whole, part = found["whole"], found["part"]
    lead = "마이너스 " if found["minus"] else ""
    said = number_words(int(whole)) if whole == "0" or whole[0] != "0" else _figures(whole)
    if part is not None:
        said = f"{said} 점 {_figures(part)}"
    before = found.string[: found.start()][-1:]
    after = found.string[found.end() :][:1]
    return f"{' ' if before.isalnum() else ''}{lead}{said}{' ' if after.isalnum() else ''}"


def _figures(digits: str) -> str:
    return " ".join(_DIGITS[int(digit)] for digit in digits)
