"""The English forms one by one: what people say, and what nobody does."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.numbers.listening import understood
from voiceflow.languages.english.numbers import read_number, spoken_forms
from voiceflow.numbers.scale import Scale


def gauge(lowest: str, highest: str, step: str, digits: int = 1) -> Scale:
    return Scale(
        lowest=Decimal(lowest), highest=Decimal(highest), step=Decimal(step), digits=digits
    )


FEET = gauge("0", "9000", "10")
INCHES = gauge("28.00", "31.00", "0.01")
VOLTS = gauge("0", "30.0", "0.1")
WIDE_VOLTS = gauge("0", "140.0", "0.1")
MACH = gauge("0", "1.00", "0.01")
CELSIUS = gauge("-40.0", "50.0", "0.5")


@pytest.mark.parametrize(
    ("value", "scale", "forms"),
    [
        (
            "1650",
            FEET,
            [
                "one six five zero",
                "one six five oh",
                "one thousand six hundred fifty",
                "one thousand six hundred and fifty",
                "sixteen fifty",
                "sixteen hundred fifty",
                "sixteen hundred and fifty",
            ],
        ),
        (
            "1600",
            FEET,
            ["one thousand six hundred", "one six zero zero", "one six oh oh", "sixteen hundred"],
        ),
        ("0", FEET, ["zero"]),
        (
            "24.5",
            VOLTS,
            [
                "two four decimal five",
                "two four point five",
                "twenty four decimal five",
                "twenty four point five",
                "twenty four and a half",
                "two four five",
                "twenty four five",
            ],
        ),
        ("0.0", VOLTS, ["zero decimal zero", "zero point zero", "zero"]),
        ("-0.5", CELSIUS, [f"minus {words}" for words in (
            "zero decimal five", "zero point five", "decimal five", "point five")]),
        ("12", gauge("-40", "50", "1"),
            ["one two", "twelve", "plus one two", "plus twelve"]),
        ("0", gauge("-40", "50", "1"), ["zero"]),
        ("1.5", gauge("-10", "10", "0.5"), [f"{sign}{words}" for sign in ("", "plus ") for words in (
            "one decimal five", "one point five", "one and a half", "one five")]),
        ("-12.5", gauge("-40.0", "-5.0", "0.5"), [f"minus {words}" for words in (
            "one two decimal five", "one two point five", "twelve decimal five",
            "twelve point five", "twelve and a half", "one two five", "twelve five")]),
        ("5", gauge("0", "359", "1", 3), ["zero zero five", "oh oh five"]),
        (
            "13",
            gauge("0", "100", "1"),
            ["one three", "thirteen"],
        ),
        ("1000000", gauge("0", "2000000", "1000"), [
            "one zero zero zero zero zero zero", "one oh oh oh oh oh oh"]),
    ],
)  # fmt: skip
def test_every_form_of_a_value(value: str, scale: Scale, forms: list[str]) -> None:
    assert [" ".join(words) for words in spoken_forms(Decimal(value), scale)] == forms


@pytest.mark.parametrize(
    ("words", "scale", "value"),
    [
        ("two niner niner two", INCHES, "29.92"),
        ("twenty nine ninety two", INCHES, "29.92"),
        ("twenty nine point nine two", INCHES, "29.92"),
        ("two niner decimal niner two", INCHES, "29.92"),
        ("two niner nine two", INCHES, None),  # one habit a number
        ("thirty zero five", INCHES, "30.05"),
        ("thirty oh five", INCHES, "30.05"),
        ("three zero zero five", INCHES, "30.05"),
        ("two niner decimal niner", INCHES, "29.90"),
        ("thirty", INCHES, "30.00"),
        ("twenty eight zero", INCHES, None),
        ("two four", VOLTS, "24.0"),  # and not 2.4
        ("twenty five", VOLTS, "25.0"),  # and not 20.5
        ("twenty four point oh", VOLTS, "24.0"),
        ("twelve five", VOLTS, "12.5"),
        ("one twenty one five", WIDE_VOLTS, "121.5"),
        ("one twenty five", WIDE_VOLTS, "125.0"),
        ("one twenty one point five", WIDE_VOLTS, "121.5"),
        ("one hundred and twenty one point five", WIDE_VOLTS, "121.5"),
        ("one oh one five", WIDE_VOLTS, "101.5"),
        ("zero point seven", MACH, "0.70"),
        ("point oh five", MACH, "0.05"),
        ("zero point oh five", MACH, "0.05"),
        ("oh point oh five", MACH, None),
        ("one fifty", gauge("0", "5.00", "0.01"), "1.50"),
        ("one oh five", gauge("0", "5.00", "0.01"), "1.05"),
        ("one five", gauge("0", "5.00", "0.01"), None),
        ("one two", gauge("0", "5.0", "0.1"), "1.2"),
        ("minus one zero", CELSIUS, "-10.0"),
        ("minus twelve point five", CELSIUS, "-12.5"),
        ("one three four two five two five", gauge("1300.000", "1400.000", "0.125"), None),
        ("seventeen thousand niner hundred", gauge("0", "20000", "100"), "17900"),
        ("niner hundred", FEET, "900"),
        ("nine hundred", FEET, "900"),
        ("niner hundred fifty", FEET, None),
        ("one twenty one and a half", WIDE_VOLTS, "121.5"),
        ("one hundred and twenty one and a half", WIDE_VOLTS, "121.5"),
        ("twenty nine and a half", INCHES, "29.50"),
    ],
)
def test_words_as_they_are_said(words: str, scale: Scale, value: str | None) -> None:
    expected = () if value is None else (Decimal(value),)
    assert understood(words.split(), scale) == expected


@pytest.mark.parametrize(
    ("value", "scale", "text"),
    [
        ("1445", FEET, "one four four five"),  # a computed limit between the marks
        ("1445.5", FEET, "one four four five decimal five"),
        ("12000", FEET, "one two thousand"),
        ("-300", FEET, "minus three hundred"),
        ("9000", FEET, "niner thousand"),
        ("30", INCHES, "three zero decimal zero zero"),
        ("100", gauge("0", "359", "1", 3), "one zero zero"),
        ("2000000", FEET, "two zero zero zero zero zero zero"),
    ],
)
def test_any_number_can_be_read_back(value: str, scale: Scale, text: str) -> None:
    assert read_number(Decimal(value), scale) == text


@pytest.mark.parametrize("value", ["1445", "9010", "-10", "NaN"])
def test_off_the_scale_nothing_is_said(value: str) -> None:
    assert spoken_forms(Decimal(value), FEET) == ()


def test_no_readback_of_what_is_no_number() -> None:
    with pytest.raises(ValueError, match="only finite numbers"):
        read_number(Decimal("NaN"), FEET)


def test_mark_left_out_needs_one_or_two_decimals_for_group_form() -> None:
    radio = gauge("118.000", "136.975", "0.025")
    assert understood(["one", "two", "one", "five", "two", "five"], radio) == (Decimal("121.525"),)
    assert understood(["one", "twenty", "one", "fifty", "two", "five"], radio) == ()


@st.composite
def scales(draw: st.DrawFn) -> Scale:
    """Gauges of all kinds, up to 300 marks, with and without decimals and signs."""
    places = draw(st.integers(0, 3))
    step = Decimal(draw(st.integers(1, 500))).scaleb(-places)
    lowest = Decimal(draw(st.integers(-50_000, 1_200_000))).scaleb(-places)
    return Scale(
        lowest=lowest,
        highest=lowest + step * draw(st.integers(0, 300)),
        step=step,
        digits=draw(st.sampled_from([1, 1, 2, 3, 4])),
    )


@given(scales())
def test_every_form_on_any_gauge_comes_back(scale: Scale) -> None:
    for value in scale.values():
        forms = spoken_forms(value, scale)
        assert forms
        assert len(forms) == len(set(forms))
        for words in forms:
            values = understood(words, scale)
            assert value in values
            assert list(values) == sorted(set(values))
        # what we say ourselves is never in doubt
        assert understood(forms[0], scale) == (value,)


@given(scales(), st.lists(st.sampled_from(
    ["zero", "oh", "one", "two", "nine", "niner", "ten", "twenty", "sixty", "hundred", "thousand", "and", "point", "decimal", "minus", "plus", "a", "half"]
), max_size=6))  # fmt: skip
def test_any_words_give_marks_of_the_scale_or_nothing(scale: Scale, words: list[str]) -> None:
    for value in understood(words, scale):
        assert value in scale
        assert tuple(words) in spoken_forms(value, scale)


@given(
    st.decimals(
        allow_nan=False, allow_infinity=False, places=3, min_value=-(10**7), max_value=10**7
    )
)
def test_any_finite_number_has_a_readback(value: Decimal) -> None:
    assert all(word.isalpha() for word in read_number(value, INCHES).split())
