"""How English speakers say a value of a gauge, and how we read it back.

One function a spoken form, each citing where it is from. Only what people say is in
the language: "sixty hundred", "twenty zero" and a bare "oh" are nobody's numbers, yet
just what a loose grammar hears in "sixteen hundred", "two zero" and a breath.

Not here: units, words around a number, how a word sounds ("tree", "fife" and "fower"
are pronunciations of three, five and four, not other words).
"""

from collections.abc import Iterator
from decimal import Decimal
from itertools import chain

from voiceflow.numbers.omitted_decimal import is_unique_without_mark
from voiceflow.numbers.places import split_pairs, split_places
from voiceflow.numbers.scale import Scale
from voiceflow.numbers.written import Written, write

Words = tuple[str, ...]

# fmt: off
_UNITS = (
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine",
    "ten", "eleven", "twelve", "thirteen", "fourteen",
    "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
)
# fmt: on
_TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")

#: 0 to 99 as words.
_BELOW_HUNDRED: tuple[Words, ...] = (
    *((word,) for word in _UNITS),
    *((tens,) if not unit else (tens, _UNITS[unit]) for tens in _TENS for unit in range(10)),
)

#: A speaker has one habit for 0 and one for 9 and keeps to it within a number, so a
#: number has at most four digit strings.
_HABITS: dict[tuple[str, str], dict[str, str]] = {
    (zero, nine): {str(digit): word for digit, word in enumerate((zero, *_UNITS[1:9], nine))}
    for zero in ("zero", "oh")
    for nine in ("niner", "nine")
}

#: The digits of radiotelephony (ICAO Annex 10 vol. II, 5.2.1.4.3.1): what we say ourselves.
_RADIO = _HABITS["zero", "niner"]

#: ICAO says "decimal", the FAA "point" (AIM 4-2-8 e).
_MARKS = ("decimal", "point")

#: Above this, thousands are no longer said as such, only digit by digit.
_MILLION = 1_000_000


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
    readback = _read(written, scale)
    forms = _decimal_forms(written, scale) if written.decimals else _whole_forms(written.whole)
    if written.negative:
        forms = (("minus", *form) for form in forms)
    elif value > 0 and scale.lowest < 0:
        forms = _with_plus(tuple(forms))
    return tuple(dict.fromkeys(chain((readback,), forms)))


def read_number(value: Decimal, scale: Scale) -> str:
    """Give the readback of a value as text for the voice.

    Args:
        value: Any finite number; a limit may lie between the marks or off the scale.
        scale: Fixes decimals and leading zeros.

    Raises:
        ValueError: If the value is not finite.

    Source:
        ICAO Annex 10 vol. II, 5.2.1.4.1 (digit by digit; whole hundreds and thousands;
        decimal): rows in tests/published/annex10.yaml.
    """
    return " ".join(_read(write(value, scale), scale))


def _read(written: Written, scale: Scale) -> Words:
    """Give the readback: whole hundreds and thousands as such, all else digit by digit.

    Where the gauge has leading zeros (headings, codes) every digit is said.
    """
    number = written.number
    if written.decimals:
        digits = _digits(written.whole + written.decimals, _RADIO)
        mark = len(written.whole)
        words = (*digits[:mark], "decimal", *digits[mark:])
    elif scale.digits == 1 and _is_whole_hundreds(number):
        words = _hundreds_and_thousands(number, _RADIO)
    else:
        words = _digits(written.whole, _RADIO)
    return ("minus", *words) if written.negative else words


def _whole_forms(whole: str) -> Iterator[Words]:
    """Give the forms of a whole number as written on the gauge."""
    yield from _digit_by_digit(whole)
    if whole[0] == "0":  # leading zeros, or zero itself: every digit is said
        return
    number = int(whole)
    if number >= _MILLION:
        return
    if _is_whole_hundreds(number):
        yield from (_hundreds_and_thousands(number, habit) for habit in _habits_of(whole))
        yield from _restated_thousands(number)
    yield from _cardinals(number)
    yield from _group_form(number)
    yield from _group_of_hundreds(number)


def _decimal_forms(written: Written, scale: Scale) -> Iterator[Words]:
    """Give the forms of a number that is written with a decimal mark."""
    yield from _digits_with_mark(written)
    yield from _below_one_with_mark(written)
    yield from _name_with_mark(written)
    yield from _name_and_a_half(written)
    if written.is_whole:
        yield from _whole_forms(written.whole)
    if is_unique_without_mark(written, scale):
        yield from _digit_by_digit(written.whole + written.decimals)
        yield from _group_form_without_mark(written)


def _with_plus(forms: tuple[Words, ...]) -> Iterator[Words]:
    """Give the forms of a value above zero without a sign, then with one: "plus twelve".

    Only a gauge that also has marks below zero gives a reason to say it. The other
    sign is never "negative", which is a standing command.

    Source:
        Common practice, no source.
    """
    yield from forms
    for form in forms:
        yield ("plus", *form)


def _digit_by_digit(figures: str) -> Iterator[Words]:
    """Give figures one by one: 1650 -> "one six five zero"; zero/oh, nine/niner.

    Source:
        ICAO Annex 10 vol. II, 5.2.1.4.1.1; FAA AIM 4-2-8 d. "Oh" is not standard
        radiotelephony, yet one of the words of connected-digit speech.
    """
    for habit in _habits_of(figures, oh=_may_say_oh(figures)):
        yield _digits(figures, habit)


def _hundreds_and_thousands(number: int, habit: dict[str, str]) -> Words:
    """Give whole hundreds: 1600 -> "one thousand six hundred", 12000 -> "one two thousand".

    Source:
        ICAO Annex 10 vol. II, 5.2.1.4.1.2; FAA AIM 4-2-8 a, b.
    """
    thousands, hundreds, _ = split_places(number, (1000, 100))
    words: Words = (*_digits(str(thousands), habit), "thousand") if thousands else ()
    return (*words, habit[str(hundreds)], "hundred") if hundreds else words


def _restated_thousands(number: int) -> Iterator[Words]:
    """Give "seventeen thousand niner hundred" for 17900.

    With any other digit than nine it is the natural form.

    Source:
        FAA Order JO 7110.65, 2-4-17 b NOTE.
    """
    thousands, hundreds, _ = split_places(number, (1000, 100))
    if thousands and hundreds == 9:
        yield (*_cardinal(thousands, joined=False), "thousand", "niner", "hundred")


def _cardinals(number: int) -> Iterator[Words]:
    """Give natural English: 1650 -> "one thousand six hundred (and) fifty".

    Source:
        Common usage, American without and British with "and"; tested against num2words.
    """
    yield _cardinal(number, joined=False)
    if number > 100:
        yield _cardinal(number, joined=True)


def _group_form(number: int) -> Iterator[Words]:
    """Give three or four digits in pairs: 1650 -> "sixteen fifty", 110 -> "one ten".

    1004 -> "ten zero four" and 1600 -> "sixteen hundred", but no "sixty hundred" and,
    since zeros may rule the form out, no pairs where it would only spell digits.

    Source:
        FAA Order JO 7110.65, 2-4-20 NOTE; "fifteen hundred" is reported in use,
        though not standard.
    """
    pairs = split_pairs(number)
    if pairs is None:
        return
    high, low = pairs
    if low == 0:
        if high > 10 and high % 10:
            yield (*_BELOW_HUNDRED[high], "hundred")
    elif low >= 10 or high >= 10:
        for tail in _pair(low):
            yield (*_BELOW_HUNDRED[high], *tail)


def _group_of_hundreds(number: int) -> Iterator[Words]:
    """Give hundreds past ten and the rest: 1650 -> "sixteen hundred (and) fifty".

    As with whole hundreds there is no "twenty hundred and five".

    Source:
        Common practice, no source.
    """
    hundreds, rest = divmod(number, 100)
    if 10 < hundreds < 100 and hundreds % 10 and rest:
        head = (*_BELOW_HUNDRED[hundreds], "hundred")
        yield (*head, *_BELOW_HUNDRED[rest])
        yield (*head, "and", *_BELOW_HUNDRED[rest])


def _digits_with_mark(written: Written) -> Iterator[Words]:
    """Give "two niner decimal niner two", "two nine point nine two", "zero point seven".

    Trailing zeros may be dropped down to one decimal. Who says "decimal" says "zero".

    Source:
        ICAO Annex 10 vol. II, 5.2.1.4.1.3 ("decimal"); FAA AIM 4-2-8 e ("point").
        Dropped zeros: common practice, no source that was opened.
    """
    length = len(written.whole)
    for decimals in _decimals_said(written):
        figures = written.whole + decimals
        for mark in _MARKS:
            oh = mark == "point" and written.number > 0
            for habit in _habits_of(figures, oh=oh):
                digits = _digits(figures, habit)
                yield (*digits[:length], mark, *digits[length:])


def _below_one_with_mark(written: Written) -> Iterator[Words]:
    """Give "point six four", "decimal seven", "point oh five", "zero point oh five".

    Source:
        US AIP GEN 3.4, 4.5.5.2 (Mach numbers: the leading zero is left out).
    """
    if written.number or written.is_whole:
        return
    lead = _digits(written.whole, _RADIO)
    for decimals in _decimals_said(written):
        for mark in _MARKS:
            for habit in _habits_of(decimals, oh=mark == "point" and decimals[0] == "0"):
                digits = _digits(decimals, habit)
                yield (mark, *digits)
                yield (*lead, mark, *digits)


def _name_with_mark(written: Written) -> Iterator[Words]:
    """Give "twenty nine point nine two", "one twenty one decimal five".

    Source:
        Common usage; the whole part tested against num2words.
    """
    if written.whole[0] == "0" or not 10 <= written.number < _MILLION:
        return
    names = tuple(_names(written.number))
    for decimals in _decimals_said(written):
        for mark in _MARKS:
            for habit in _habits_of(decimals, oh=mark == "point", niner=False):
                digits = _digits(decimals, habit)
                for name in names:
                    yield (*name, mark, *digits)


def _name_and_a_half(written: Written) -> Iterator[Words]:
    """Give "twelve and a half", "one twenty one and a half" for exactly .5.

    A value below one is left out: "a half" is too short to tell from a breath and an
    end of another word. So are whole hundreds ("two hundred and a half" may as well be
    meant for 250) and all from a thousand up.

    Source:
        Common practice, no source.
    """
    number = written.number
    if written.whole[0] == "0" or written.short_decimals != "5":
        return
    if number < 1000 and number % 100:
        for name in _names(number):
            yield (*name, "and", "a", "half")


def _group_form_without_mark(written: Written) -> Iterator[Words]:
    """Give "twenty nine ninety two", "thirty zero five", "twenty four five".

    Only where the digits without a mark are unique on the scale. Never where the
    words would run into another number ("twenty five" is not 20.5), nor with nothing
    but zeros at the end ("twenty zero").

    Source:
        FAA Order JO 7110.65, 2-4-20 NOTE (group form), read over the decimal mark:
        common practice, no source.
    """
    number = written.number
    if written.whole[0] == "0" or written.is_whole or number > 999:
        return
    tail = int(written.decimals)
    if len(written.decimals) == 2:
        tails = _pair(tail)
        heads = _pair_names(number) if number >= 10 or tail >= 10 else ()
    elif len(written.decimals) == 1 and not _ends_in_tens(number):
        tails = (_BELOW_HUNDRED[tail],)
        heads = _pair_names(number) if number >= 10 else ()
    else:
        return
    for head in heads:
        for words in tails:
            yield (*head, *words)


def _names(number: int) -> Iterator[Words]:
    """Give the ways to say a whole number otherwise than by its digits, before a mark."""
    yield from _cardinals(number)
    pairs = split_pairs(number)
    if pairs is not None and pairs[1] >= 10:
        yield from _group_form(number)


def _pair_names(number: int) -> tuple[Words, ...]:
    """Give a number of one to three digits as pairs: 29 -> "twenty nine", 121 -> "one twenty one"."""
    pairs = split_pairs(number)
    if pairs is None:
        return (_BELOW_HUNDRED[number],)
    high, low = pairs
    return ((*_BELOW_HUNDRED[high], *_BELOW_HUNDRED[low]),) if low >= 10 else ()


def _pair(number: int) -> tuple[Words, ...]:
    """Give the last pair of a group: 13 -> "thirteen", 4 -> "zero four" or "oh four"."""
    words = _BELOW_HUNDRED[number]
    return (words,) if number >= 10 else (("zero", *words), ("oh", *words))


def _cardinal(number: int, *, joined: bool) -> Words:
    """Give the natural English of a number below a million, with or without "and"."""
    thousands, hundreds, rest = split_places(number, (1000, 100))
    words: Words = ()
    if thousands:
        words = (*_cardinal(thousands, joined=joined), "thousand")
    if hundreds:
        words = (*words, _UNITS[hundreds], "hundred")
    if not words:
        return _BELOW_HUNDRED[rest]
    if not rest:
        return words
    return (*words, "and", *_BELOW_HUNDRED[rest]) if joined else (*words, *_BELOW_HUNDRED[rest])


def _is_whole_hundreds(number: int) -> bool:
    return 0 < number < _MILLION and number % 100 == 0


def _ends_in_tens(number: int) -> bool:
    """Tell whether a digit said next would run into the number: "twenty" "five"."""
    return number % 10 == 0 and number % 100 >= 20


def _decimals_said(written: Written) -> tuple[str, ...]:
    """Give the decimals in full, and without trailing zeros where that differs."""
    return tuple(dict.fromkeys((written.decimals, written.short_decimals)))


def _digits(figures: str, habit: dict[str, str]) -> Words:
    return tuple(habit[figure] for figure in figures)


def _habits_of(figures: str, *, oh: bool = False, niner: bool = True) -> Iterator[dict[str, str]]:
    """Give the habits that make a difference on these figures, the radio one first."""
    zeros = ("zero", "oh") if oh and "0" in figures else ("zero",)
    if "9" not in figures:
        nines: tuple[str, ...] = ("niner",)
    else:
        nines = ("niner", "nine") if niner else ("nine",)
    for zero in zeros:
        for nine in nines:
            yield _HABITS[zero, nine]


def _may_say_oh(figures: str) -> bool:
    """Tell whether zeros among these figures are also said "oh".

    Zero itself is "zero", since a bare "oh" is more often a breath than a number; and
    twenty is no "two oh", though five may be "oh five".
    """
    return int(figures) > 0 and (len(figures) > 2 or figures[0] == "0")
