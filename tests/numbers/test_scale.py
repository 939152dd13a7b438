from decimal import Decimal

import pytest

from voiceflow.numbers.scale import Scale


def test_values_rise_from_mark_to_mark_with_the_decimals_of_the_scale() -> None:
    scale = Scale(lowest=Decimal(28), highest=Decimal("28.05"), step=Decimal("0.02"))
    assert [str(value) for value in scale.values()] == ["28.00", "28.02", "28.04"]
    assert len(scale) == 3
    assert scale.places == 2


@pytest.mark.parametrize(
    ("value", "on_scale"),
    [
        (Decimal(-40), True),
        (Decimal(0), True),
        (Decimal("50.0"), True),
        (Decimal(-41), False),
        (Decimal(51), False),
        (Decimal("0.5"), False),
        (Decimal("NaN"), False),
        (Decimal("Infinity"), False),
        (0, False),
        ("nought", False),
    ],
)
def test_only_marks_are_on_the_scale(value: object, on_scale: bool) -> None:
    assert (value in Scale(lowest=Decimal(-40), highest=Decimal(50), step=Decimal(1))) is on_scale


@pytest.mark.parametrize(
    ("step", "places"), [("10", 0), ("1E+1", 0), ("1.0", 0), ("0.5", 1), ("0.025", 3)]
)
def test_places_are_those_of_the_step(step: str, places: int) -> None:
    assert Scale(lowest=Decimal(0), highest=Decimal(100), step=Decimal(step)).places == places


def test_places_of_a_lowest_mark_that_is_not_finite_are_left_alone() -> None:
    assert Scale(lowest=Decimal("-Infinity"), highest=Decimal(0), step=Decimal(1)).places == 0


@pytest.mark.parametrize(
    ("lowest", "highest", "step", "digits", "what"),
    [
        (0, 10, 0, 1, "step must be above zero, not 0"),
        (0, 10, -1, 1, "step must be above zero, not -1"),
        (10, 0, 1, 1, "highest mark 0 lies below lowest mark 10"),
        (0, 10, 1, 0, "written with at least one digit, not 0"),
    ],
)
def test_impossible_scales_are_refused(
    lowest: int, highest: int, step: int, digits: int, what: str
) -> None:
    with pytest.raises(ValueError, match=what):
        Scale(lowest=Decimal(lowest), highest=Decimal(highest), step=Decimal(step), digits=digits)
