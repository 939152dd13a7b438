"""Fuel, oil, tyres and hydraulic contents against published factors and common practice."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voiceflow.limits.fuel import check_fuel, check_uplift, fuel_in
from voiceflow.limits.servicing import Contents, hydraulic_contents, oil_needed, tyre_psi

UNITS = ("kg", "lb", "L", "gal")


@pytest.mark.parametrize(
    ("value", "source", "target", "density", "expected"),
    [
        # NIST SP 811 factors (V2, computed): 1,000 US gal at 0.800 kg/L
        (1000.0, "gal", "kg", 0.800, 3028.3),
        (1000.0, "gal", "lb", 0.800, 6676.3),
        (10_000.0, "lb", "kg", 0.800, 4535.92),
        # typical Jet A-1 and Jet A, pounds a US gallon (published, V2)
        (1.0, "gal", "lb", 0.804, 6.71),
        (1.0, "gal", "lb", 0.820, 6.84),
        # the ends of the specification of Jet A-1
        (1.0, "gal", "lb", 0.775, 6.468),
        (1.0, "gal", "lb", 0.840, 7.010),
    ],
)
def test_published_conversions(
    value: float, source: str, target: str, density: float, expected: float
) -> None:
    assert fuel_in(value, source, target, density) == pytest.approx(expected, rel=5e-4)


@given(
    value=st.floats(0.0, 1e5),
    source=st.sampled_from(UNITS),
    target=st.sampled_from(UNITS),
    density=st.floats(0.7, 0.9),
)
def test_there_and_back(value: float, source: str, target: str, density: float) -> None:
    there = fuel_in(value, source, target, density)
    assert fuel_in(there, target, source, density) == pytest.approx(value, abs=1e-6, rel=1e-9)


def test_tanks_by_hand() -> None:
    found = check_fuel((490.0, 510.0), 900.0, 50.0)
    assert (found.total, found.short, found.imbalance) == (1000.0, 0.0, 20.0)
    assert found.is_enough
    assert found.is_balanced
    short = check_fuel((400.0, 460.0), 900.0, 50.0)
    assert (short.short, short.is_enough, short.is_balanced) == (40.0, False, False)
    assert check_fuel((400.0, 460.0), 860.0, None).is_balanced


def test_uplift_by_hand() -> None:
    litres = fuel_in(500.0, "L", "kg", 0.8)
    assert check_uplift(600.0, litres, 1010.0, 20.0).is_within
    wrong = check_uplift(600.0, litres, 960.0, 20.0)
    assert not wrong.is_within
    assert wrong.difference == pytest.approx(-40.0)
    assert wrong.expected == pytest.approx(1000.0)


def test_oil_for_the_hours() -> None:
    assert oil_needed(10.0, 0.3, 5.0) == pytest.approx(11.5)
    # above 16 quarts usually needs no top-up on a medium jet (common practice, no source)
    assert oil_needed(10.0, 0.5, 8.0) <= 16.0


def test_a_tyre_in_the_cold() -> None:
    # 1 % for 3 C (common practice, no source), over 30 C and to 1.5 % of the pressure
    for change_c in (-30.0, 30.0):
        rule = 200.0 * (1 + change_c / 300.0)
        assert tyre_psi(200.0, 20.0, 20.0 + change_c) == pytest.approx(rule, rel=0.015)
    assert tyre_psi(64.0, 15.0, 15.0) == pytest.approx(64.0)


@pytest.mark.parametrize(
    ("percent", "contents"),
    [
        (75.0, Contents.REFILL),
        (76.0, Contents.REFILL),
        (77.0, Contents.NORMAL),
        (106.0, Contents.FULL),
        (107.0, Contents.OVERFILLED),
    ],
)
def test_hydraulic_contents(percent: float, contents: Contents) -> None:
    # 76 % or below call for refill, 106 % is full (common practice, no source)
    assert hydraulic_contents(percent, refill_at=76.0, full_at=106.0) is contents


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="'stone'"):
        fuel_in(1.0, "stone", "kg", 0.8)
    with pytest.raises(ValueError, match="a density of 0"):
        fuel_in(1.0, "L", "kg", 0.0)
    with pytest.raises(ValueError, match="every tank"):
        check_fuel((), 100.0, None)
    with pytest.raises(ValueError, match="every tank"):
        check_fuel((-1.0, 5.0), 100.0, None)
    with pytest.raises(ValueError, match="uses oil"):
        oil_needed(10.0, -0.1, 5.0)
    with pytest.raises(ValueError, match="colder"):
        tyre_psi(64.0, -280.0, 15.0)
    with pytest.raises(ValueError, match="contradict"):
        hydraulic_contents(50.0, refill_at=80.0, full_at=70.0)
