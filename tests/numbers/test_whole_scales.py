"""Whole gauges, every mark: value -> each form -> value, and num2words from outside."""

from decimal import Decimal
from itertools import pairwise

import pytest
from num2words import num2words

from tests.numbers.listening import understood
from voiceflow.languages.english.numbers import read_number, spoken_forms
from voiceflow.numbers.scale import Scale


def gauge(lowest: str, highest: str, step: str, digits: int = 1) -> Scale:
    return Scale(
        lowest=Decimal(lowest), highest=Decimal(highest), step=Decimal(step), digits=digits
    )


GAUGES = {
    "oxygen, psi": gauge("0", "2000", "10"),
    "hydraulic pressure, psi": gauge("0", "4000", "50"),
    "altitude, feet": gauge("0", "9000", "10"),
    "field elevation, feet": gauge("-1300", "9000", "1"),
    "altimeter setting, inches": gauge("28.00", "31.00", "0.01"),
    "altimeter setting, hectopascals": gauge("940", "1060", "1"),
    "battery, volts": gauge("22.0", "30.0", "0.1"),
    "bus, volts": gauge("0", "30.0", "0.1"),
    "outside temperature, degrees": gauge("-40", "50", "1"),
    "cabin temperature, degrees": gauge("-40.0", "50.0", "0.5"),
    "oil quantity, percent": gauge("0", "100", "1"),
    "fuel, kilograms": gauge("0", "200000", "100"),
    "timer, minutes": gauge("0", "59", "1"),
    "heading, degrees": gauge("0", "359", "1", 3),
    "transponder, code": gauge("0", "7777", "1", 4),
    "radio, megahertz": gauge("118.000", "136.975", "0.025"),
    "Mach number": gauge("0", "1.00", "0.01"),
    "cabin rate, hundreds": gauge("-20.00", "120.00", "0.05"),
    "engine cycles": gauge("999000", "1001000", "50"),
}


# one gauge after the other, so that the grammar of each is compiled once
@pytest.fixture(scope="module", params=list(GAUGES.values()), ids=list(GAUGES))
def scale(request: pytest.FixtureRequest) -> Scale:
    assert isinstance(request.param, Scale)
    return request.param


def plain(text: str) -> tuple[str, ...]:
    return tuple(text.replace("-", " ").replace(",", "").split())


def test_each_form_of_each_mark_means_that_mark_and_no_other(scale: Scale) -> None:
    for value in scale.values():
        forms = spoken_forms(value, scale)
        assert len(forms) == len(set(forms))
        for words in forms:
            assert understood(words, scale) == (value,)


def test_words_are_single_tokens_and_the_first_form_is_the_readback(scale: Scale) -> None:
    for value in scale.values():
        forms = spoken_forms(value, scale)
        assert " ".join(forms[0]) == read_number(value, scale)
        assert all(word.isalpha() and word.islower() for words in forms for word in words)


def test_nobodys_numbers_are_in_no_language(scale: Scale) -> None:
    tens = ("ten", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
    hundreds = {(ten, "hundred") for ten in tens}
    zeros = {(ten, "zero") for ten in tens}
    for words in (words for value in scale.values() for words in spoken_forms(value, scale)):
        assert words != ("oh",)
        assert words[-1] not in {"and", "a", "plus", "minus", "point", "decimal"}
        assert words[0] not in {"and", "a", "half", "negative"}
        assert hundreds.isdisjoint(pairwise(words))
        assert words not in zeros


def test_natural_english_of_num2words_is_understood(scale: Scale) -> None:
    for value in scale.values():
        has_leading_zeros = abs(value) < 10 ** (scale.digits - 1)
        if has_leading_zeros or abs(value) >= 1_000_000:  # said digit by digit only
            continue
        number = int(value) if value == int(value) else value.normalize()
        with_and = plain(num2words(number, lang="en"))
        without = tuple(word for word in with_and if word != "and")
        assert understood(with_and, scale) == (value,)
        assert understood(without, scale) == (value,)


def test_forms_stay_few(scale: Scale) -> None:
    counts = [len(spoken_forms(value, scale)) for value in scale.values()]
    assert min(counts) >= 1
    signs = 2 if scale.lowest < 0 else 1  # a plus may be said or not
    assert sum(counts) / len(counts) <= signs * (20 if scale.places == 3 else 12)
