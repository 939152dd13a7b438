"""How Korean speakers say a value of a gauge, and how we read it back.

Sino-Korean numbers, written in the tokens of the recogniser's vocabulary: a digit and
its ten, hundred or thousand are one token ("육백") where the vocabulary has it, two
where it has not (``APART``). Not here: units, the words around a number.
"""

from collections.abc import Iterator
from decimal import Decimal
from itertools import chain

from voiceflow.numbers.omitted_decimal import is_unique_without_mark
from voiceflow.numbers.places import split_places
from voiceflow.numbers.scale import Scale
from voiceflow.numbers.written import Written, write

Words = tuple[str, ...]

_DIGITS = "영일이삼사오육칠팔구"
_PLACES = ("천", "백", "십")

#: A digit and its place that the vocabulary of the public model has only apart.
APART = frozenset({"이백", "사백", "구백"})

#: Digit by digit. The first two are the plain digits with either zero; the third is
#: what Korean crews say on the radio, where 일 and 이, 삼 and 사 are too alike:
#: common practice, no source.
_HABITS: tuple[Words, ...] = (
    tuple(_DIGITS),
    ("공", *_DIGITS[1:]),
    ("공", "하나", "둘", "삼", "넷", "오", "여섯", "칠", "팔", "아홉"),
)

_MARK = "점"

#: Temperatures are also said "below zero".
_MINUS = ("마이너스", "영하")

#: Numbers from here on have no name in this pack, only digits.
_UNNAMED = 100_000_000


def spoken_forms(value: Decimal, scale: Scale) -> tuple[Words, ...]:
    """Give every way people say a value of a scale, without its unit.

    Args:
        value: A mark of the scale.
        scale: Fixes decimals and leading zeros, and where the decimal mark may be
            left unspoken.

    Returns:
        Word sequences without repeats, first the readback's; none for a value that
        is not on the scale.
    """
    if value not in scale:
        return ()
    written = write(value, scale)
    readback = _read(written)
    forms = _decimal_forms(written, scale) if written.decimals else _whole_forms(written.whole)
    if written.negative:
        forms = ((minus, *form) for form in list(forms) for minus in _MINUS)
    return tuple(dict.fromkeys(chain((readback,), forms)))


def read_number(value: Decimal, scale: Scale) -> str:
    """Give the readback of a value as text for the voice: the number's own name.

    Written in one go up to the mark, as Korean is, for the voice to run it together.

    Korean names of numbers have no pairs like "fifteen" and "fifty", so nothing is
    gained by digits, except where the gauge has leading zeros.

    Args:
        value: Any finite number; a limit may lie between the marks or off the scale.
        scale: Fixes decimals and leading zeros.

    Raises:
        ValueError: If the value is not finite.
    """
    return " ".join("".join(part) for part in _parts(write(value, scale)))


def name_of(number: int) -> Words:
    """Give the Sino-Korean name of a number below a hundred million, in tokens.

    1650 is 천 육백 오십, 12000 is 만 이천; tested against num2words.
    """
    if number == 0:
        return ("영",)
    myriads, rest = split_places(number, (10_000,))
    words: Words = ()
    if myriads:
        words = ("만",) if myriads == 1 else (*_below_myriad(myriads), "만")
    return (*words, *_below_myriad(rest))


def split_number(text: str) -> Words:
    """Part a number written in one go into tokens: 천육백오십 is 천 육백 오십.

    Args:
        text: Only digits 영공일이…구, places 십백천만 and the mark 점.
    """
    words: list[str] = []
    position = 0
    while position < len(text):
        pair = text[position : position + 2]
        if len(pair) == 2 and pair[0] in _DIGITS[2:] and pair[1] in _PLACES and pair not in APART:
            words.append(pair)
            position += 2
        else:
            words.append(text[position])
            position += 1
    return tuple(words)


def _read(written: Written) -> Words:
    return tuple(chain.from_iterable(_parts(written)))


def _parts(written: Written) -> tuple[Words, ...]:
    """Give the readback in parts: minus, the number before the mark, mark, each decimal."""
    minus = ((_MINUS[0],),) if written.negative else ()
    named = written.whole == "0" or written.whole[0] != "0"
    if named and written.number < _UNNAMED:
        whole: tuple[Words, ...] = (name_of(written.number),)
    else:
        whole = tuple((digit,) for digit in _digits(written.whole, _HABITS[1]))
    if not written.decimals:
        return (*minus, *whole)
    decimals = ((digit,) for digit in _digits(written.decimals, _HABITS[0]))
    return (*minus, *whole, (_MARK,), *decimals)


def _whole_forms(whole: str) -> Iterator[Words]:
    for habit in _HABITS:
        yield _digits(whole, habit)
    if whole[0] != "0" and int(whole) < _UNNAMED:
        yield name_of(int(whole))


def _decimal_forms(written: Written, scale: Scale) -> Iterator[Words]:
    """Give the forms with 점, the whole number where nothing follows the mark, and no mark.

    Trailing zeros may be dropped down to one decimal: common practice, no source.
    """
    for decimals in dict.fromkeys((written.decimals, written.short_decimals)):
        for habit in _HABITS:
            tail = (_MARK, *_digits(decimals, habit))
            yield (*_digits(written.whole, habit), *tail)
            if written.whole[0] != "0" and written.number < _UNNAMED:
                yield (*name_of(written.number), *tail)
    if written.is_whole:
        yield from _whole_forms(written.whole)
    if is_unique_without_mark(written, scale):
        for habit in _HABITS:
            yield _digits(written.whole + written.decimals, habit)


def _below_myriad(number: int) -> Words:
    *counts, ones = split_places(number, (1000, 100, 10))
    words: list[str] = []
    for count, place in zip(counts, _PLACES, strict=True):
        if count == 0:
            continue
        joined = place if count == 1 else f"{_DIGITS[count]}{place}"
        words.extend(joined if joined in APART else (joined,))
    if ones:
        words.append(_DIGITS[ones])
    return tuple(words)


def _digits(figures: str, habit: Words) -> Words:
    return tuple(habit[int(figure)] for figure in figures)
