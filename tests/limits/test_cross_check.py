"""Readings against each other: by hand, by published values, by the standard atmosphere.

Published: FAA AIM 7-2-3 as quoted, an altimeter more than 75 ft from the field elevation is
questionable (V2); the Australian AIP as quoted, 60 ft (V2). Computed from the standard
atmosphere (C): 27.3 ft to the hPa and 9.25 ft to the hundredth of an inch at sea level.
"""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voiceflow.checks.model import Agreement, Reference
from voiceflow.limits.computed import UNKNOWN, Conditions
from voiceflow.limits.cross_check import Taken, TakenReading, compare, minutes_apart
from voiceflow.limits.fuel import fuel_in

FIELD = Conditions(elevation_ft=Decimal(118), temperature_c=Decimal(-20))


def taken(**readings: tuple[str, str]) -> Taken:
    return {
        name.replace("_", "-"): TakenReading(value=Decimal(value), unit=unit)
        for name, (value, unit) in readings.items()
    }


def agreement(within: str, *, is_time: bool = False, **reference: object) -> Agreement:
    return Agreement(
        reference=Reference(**reference),  # type: ignore[arg-type]
        within=Decimal(within),
        is_time=is_time,
    )


@pytest.mark.parametrize(
    ("shown", "is_within"),
    [("118", True), ("193", True), ("43", True), ("194", False), ("42", False)],
)
def test_75_feet_from_the_field(shown: str, is_within: bool) -> None:
    """AIM 7-2-3 as quoted: over 75 ft is questionable."""
    found = compare(Decimal(shown), "ft", agreement("75", elevation=True), {}, FIELD)
    assert found is not None
    assert found.expected == 118
    assert found.is_within is is_within


@pytest.mark.parametrize(("other", "is_within"), [("180", True), ("181", False)])
def test_60_feet_from_the_other_side(other: str, is_within: bool) -> None:
    """The Australian AIP as quoted: within 60 ft."""
    readings = taken(left_altimeter=(other, "ft"))
    found = compare(
        Decimal(120), "ft", agreement("60", readings=("left-altimeter",)), readings, FIELD
    )
    assert found is not None
    assert found.is_within is is_within


@pytest.mark.parametrize(
    ("setting", "unit", "feet"),
    [
        ("1013", "hPa", 118.0),  # the local pressure itself
        ("1014", "hPa", 118 + 27.3),
        ("1012", "hPa", 118 - 27.3),
        ("29.91", "inHg", 118 - 0.47),  # 29.91 in is 1012.87 hPa by NIST's 33.86389
        ("29.92", "inHg", 118 + 9.25 - 0.47),
    ],
)
def test_an_altimeter_shows_what_its_setting_makes_of_the_pressure(
    setting: str, unit: str, feet: float
) -> None:
    readings = taken(qnh=("1013", "hPa"), left_setting=(setting, unit))
    # 29.91 inHg against 1013 hPa: 0.13 hPa, 3.6 ft
    expected = feet - 3.1 if unit == "inHg" else feet
    wanted = agreement("75", setting="left-setting", qnh="qnh")
    found = compare(Decimal(118), "ft", wanted, readings, FIELD)
    assert found is not None
    assert found.expected == pytest.approx(expected, abs=0.7)


def test_the_sum_of_two_tanks() -> None:
    readings = taken(left_fuel=("490", "kg"), right_fuel=("510", "kg"))
    both = agreement("40", readings=("left-fuel", "right-fuel"))
    near = compare(Decimal(1040), "kg", both, readings, UNKNOWN)
    far = compare(Decimal(1060), "kg", both, readings, UNKNOWN)
    assert near is not None
    assert far is not None
    assert (near.is_within, far.is_within) == (True, False)
    assert far.apart == 60


def test_uplift_in_litres_and_gallons() -> None:
    """600 kg and 500 L at 0.800 kg/L are 1,000 kg; 1,000 US gal are 3,028.3 kg (C)."""
    readings = taken(before=("600", "kg"), uplift=("500", "L"), other=("1000", "gal"))
    uplift = agreement("10", readings=("before", "uplift"), density=Decimal("0.8"))
    found = compare(Decimal(1008), "kg", uplift, readings, UNKNOWN)
    assert found is not None
    assert found.expected == pytest.approx(1000.0)
    assert found.is_within
    gallons = agreement("10", readings=("other",), density=Decimal("0.8"))
    found = compare(Decimal(3028), "kg", gallons, readings, UNKNOWN)
    assert found is not None
    assert found.expected == pytest.approx(3028.3, abs=0.05)


def test_the_density_of_the_day_goes_before_the_files() -> None:
    """1,000 L at 0.804 kg/L, a typical Jet A-1 (published, V2), are 804 kg."""
    readings = taken(uplift=("1000", "L"))
    uplift = agreement("1", readings=("uplift",), density=Decimal("0.8"))
    day = Conditions(density_kg_l=Decimal("0.804"))
    found = compare(Decimal(804), "kg", uplift, readings, day)
    assert found is not None
    assert found.expected == pytest.approx(804.0)
    assert found.is_within
    # where no density belongs, none is used
    same = agreement("1", readings=("uplift",))
    found = compare(Decimal(1000), "L", same, readings, day)
    assert found is not None
    assert found.expected == 1000


def test_pressures_in_two_units() -> None:
    """29.92 inHg is 1013.2 hPa (C)."""
    readings = taken(left_setting=("1013", "hPa"))
    found = compare(
        Decimal("29.92"), "inHg", agreement("0.01", readings=("left-setting",)), readings, UNKNOWN
    )
    assert found is not None
    assert found.is_within


@pytest.mark.parametrize(
    ("one", "other", "minutes"),
    [
        ("1215", "1213", 2.0),
        ("1200", "1159", 1.0),
        ("3", "2358", 5.0),  # over midnight
        ("2358", "3", -5.0),
        ("1260", "1200", None),  # no time of day
        ("2400", "1200", None),
    ],
)
def test_clocks(one: str, other: str, minutes: float | None) -> None:
    assert minutes_apart(Decimal(one), Decimal(other)) == minutes
    readings = taken(left_clock=(other, ""))
    wanted = agreement("2", readings=("left-clock",), is_time=True)
    found = compare(Decimal(one), "", wanted, readings, UNKNOWN)
    assert found is not None
    assert found.is_within == (minutes is not None and abs(minutes) <= 2)


def test_the_temperature_of_the_day() -> None:
    found = compare(Decimal(-14), "C", agreement("5", temperature=True), {}, FIELD)
    assert found is not None
    assert found.apart == pytest.approx(6.0)
    assert not found.is_within


@pytest.mark.parametrize(
    "wanted",
    [
        agreement("1", elevation=True),
        agreement("1", temperature=True),
        agreement("1", readings=("left-fuel",)),
        agreement("1", readings=("right-fuel", "left-fuel")),
        agreement("1", setting="left-setting", qnh="qnh"),
    ],
)
def test_what_is_not_known_is_not_compared(wanted: Agreement) -> None:
    readings = taken(right_fuel=("1", "kg"), qnh=("1013", "hPa"))
    assert compare(Decimal(1), "C", wanted, readings, UNKNOWN) is None


@given(st.integers(0, 2000), st.integers(0, 2000), st.integers(0, 100))
def test_two_sides_agree_both_ways(left: int, right: int, within: int) -> None:
    one = compare(
        Decimal(left),
        "kg",
        agreement(str(within), readings=("other",)),
        taken(other=(str(right), "kg")),
        UNKNOWN,
    )
    other = compare(
        Decimal(right),
        "kg",
        agreement(str(within), readings=("other",)),
        taken(other=(str(left), "kg")),
        UNKNOWN,
    )
    assert one is not None
    assert other is not None
    assert one.is_within == other.is_within == (abs(left - right) <= within)
    assert one.apart == -other.apart


MINUTES = st.integers(0, 24 * 60 - 1)


@given(MINUTES, MINUTES, st.integers(0, 90))
def test_two_clocks_agree_both_ways_and_over_midnight(one: int, other: int, within: int) -> None:
    def read(minutes: int) -> str:
        return str(minutes // 60 * 100 + minutes % 60)

    wanted = agreement(str(within), readings=("clock",), is_time=True)
    there = compare(Decimal(read(one)), "", wanted, taken(clock=(read(other), "")), UNKNOWN)
    back = compare(Decimal(read(other)), "", wanted, taken(clock=(read(one), "")), UNKNOWN)
    assert there is not None
    assert back is not None
    apart = min((one - other) % 1440, (other - one) % 1440)
    assert there.is_within == back.is_within == (apart <= within)
    assert abs(there.apart) == abs(back.apart) == apart


@given(
    st.integers(0, 3000), st.integers(0, 4000), st.sampled_from(["kg", "lb", "L", "gal"]),
    st.sampled_from(["kg", "lb", "L", "gal"]), st.integers(1, 200),
)  # fmt: skip
def test_two_gauges_in_two_units_agree_both_ways(
    left: int, right: int, unit: str, other_unit: str, within: int
) -> None:
    density = Decimal("0.8")
    there = compare(
        Decimal(left),
        unit,
        agreement(str(within), readings=("other",), density=density),
        taken(other=(str(right), other_unit)),
        UNKNOWN,
    )
    # the same allowance, in the other gauge's unit
    allowed = fuel_in(within, unit, other_unit, 0.8)
    back = compare(
        Decimal(right),
        other_unit,
        agreement(repr(allowed), readings=("other",), density=density),
        taken(other=(str(left), unit)),
        UNKNOWN,
    )
    assert there is not None
    assert back is not None
    on_the_edge = abs(abs(there.apart) - within) < 1e-4
    assert there.is_within is back.is_within or on_the_edge


@given(st.permutations(["a", "b", "c"]))
def test_a_sum_has_no_order(order: list[str]) -> None:
    readings = taken(a=("100", "kg"), b=("250", "L"), c=("40", "gal"))
    wanted = agreement("1", readings=tuple(order), density=Decimal("0.8"))
    found = compare(Decimal(421), "kg", wanted, readings, UNKNOWN)
    assert found is not None
    # 100 kg + 200 kg + 40 x 3.785411784 L x 0.8 kg/L (published factor)
    assert found.expected == pytest.approx(300 + 40 * 3.785411784 * 0.8)
    assert found.is_within
