"""Turning spoken forms round; the forms here are ours, so that words can be ambiguous."""

from decimal import Decimal

import pytest

from voiceflow.numbers.parse import ambiguous_forms, parse_reading, spoken_index
from voiceflow.numbers.scale import Scale

TENTHS = Scale(lowest=Decimal(0), highest=Decimal(30), step=Decimal("0.1"))


def careless_forms(value: Decimal, scale: Scale) -> tuple[tuple[str, ...], ...]:
    """A language that leaves the mark unspoken wherever it likes, and repeats itself."""
    full = tuple(str(value))
    return (full, full, tuple(mark for mark in str(value.normalize()) if mark not in ".E+"))


def test_words_that_fit_two_values_give_both_in_rising_order() -> None:
    assert parse_reading(["2", "5"], TENTHS, careless_forms) == (Decimal("2.5"), Decimal("25.0"))
    assert ambiguous_forms(TENTHS, careless_forms)["2", "5"] == (Decimal("2.5"), Decimal("25.0"))


def test_words_that_fit_one_value_give_it_once() -> None:
    assert parse_reading(("2", "5", ".", "0"), TENTHS, careless_forms) == (Decimal("25.0"),)
    assert ("2", "5", ".", "0") not in ambiguous_forms(TENTHS, careless_forms)


def test_words_that_fit_nothing_give_nothing() -> None:
    assert parse_reading(["fitted"], TENTHS, careless_forms) == ()
    assert parse_reading([], TENTHS, careless_forms) == ()


def test_index_is_built_once_for_a_scale_and_pack() -> None:
    same = Scale(lowest=Decimal("0.0"), highest=Decimal("30.00"), step=Decimal("0.10"))
    assert spoken_index(TENTHS, careless_forms) is spoken_index(same, careless_forms)


def test_index_cannot_be_changed() -> None:
    with pytest.raises(TypeError):
        spoken_index(TENTHS, careless_forms)[("two",)] = ()  # type: ignore[index]
