from decimal import Decimal

import pytest

from voiceflow.numbers.omitted_decimal import is_unique_without_mark
from voiceflow.numbers.places import split_pairs, split_places
from voiceflow.numbers.scale import Scale
from voiceflow.numbers.written import Written, write

INCHES = Scale(lowest=Decimal("28.00"), highest=Decimal("31.00"), step=Decimal("0.01"))
VOLTS = Scale(lowest=Decimal(0), highest=Decimal("30.0"), step=Decimal("0.1"))
COMPASS = Scale(lowest=Decimal(0), highest=Decimal(359), step=Decimal(1), digits=3)
CELSIUS = Scale(lowest=Decimal("-40.0"), highest=Decimal("50.0"), step=Decimal("0.5"))


@pytest.mark.parametrize(
    ("value", "scale", "negative", "whole", "decimals", "short"),
    [
        ("29.9", INCHES, False, "29", "90", "9"),
        ("30", INCHES, False, "30", "00", "0"),
        ("5", COMPASS, False, "005", "", ""),
        ("-0.5", CELSIUS, True, "0", "5", "5"),
        ("-0", COMPASS, False, "000", "", ""),
        ("1E+2", COMPASS, False, "100", "", ""),
        ("14.455", VOLTS, False, "14", "455", "455"),
    ],
)
def test_value_is_written_as_the_gauge_has_it(
    value: str, scale: Scale, negative: bool, whole: str, decimals: str, short: str
) -> None:
    written = write(Decimal(value), scale)
    assert written == Written(negative=negative, whole=whole, decimals=decimals)
    assert written.short_decimals == short
    assert written.number == int(whole)


def test_whole_is_what_has_nothing_but_zeros_after_the_mark() -> None:
    assert write(Decimal(30), INCHES).is_whole
    assert write(Decimal(30), COMPASS).is_whole
    assert not write(Decimal("30.01"), INCHES).is_whole


@pytest.mark.parametrize("value", ["NaN", "Infinity", "-Infinity"])
def test_only_finite_numbers_can_be_written(value: str) -> None:
    with pytest.raises(ValueError, match="only finite numbers"):
        write(Decimal(value), INCHES)


@pytest.mark.parametrize(
    ("value", "scale", "unique"),
    [
        ("29.92", INCHES, True),
        ("24.5", VOLTS, True),
        ("2.4", VOLTS, False),  # 24 is on the gauge
        ("0.5", VOLTS, False),  # no digit to start from
        ("-12.5", CELSIUS, True),
        ("-1.5", CELSIUS, False),  # -15 is on the gauge
        ("5.5", CELSIUS, True),  # 55 is not
        ("100", COMPASS, False),  # no mark to leave out
    ],
)
def test_mark_may_be_left_out_only_where_the_digits_are_unique(
    value: str, scale: Scale, unique: bool
) -> None:
    assert is_unique_without_mark(write(Decimal(value), scale), scale) is unique


def test_numbers_are_split_into_places() -> None:
    assert split_places(1650, (1000, 100)) == (1, 6, 50)
    assert split_places(7, (1000, 100)) == (0, 0, 7)
    assert split_places(123456, (10000, 1000, 100, 10)) == (12, 3, 4, 5, 6)


@pytest.mark.parametrize(
    ("number", "pairs"),
    [(99, None), (100, (1, 0)), (245, (2, 45)), (1004, (10, 4)), (9999, (99, 99)), (10000, None)],
)
def test_three_and_four_digits_are_split_into_pairs(
    number: int, pairs: tuple[int, int] | None
) -> None:
    assert split_pairs(number) == pairs
