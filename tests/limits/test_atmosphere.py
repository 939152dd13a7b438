"""Altimeters against published rows of the standard atmosphere and published limits."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voiceflow.limits.atmosphere import (
    altitude_ft,
    check_altimeters,
    indicated_ft,
    pressure_hpa,
    qnh_hpa,
)
from voiceflow.limits.units import convert

#: ICAO 1964 table as printed at airlinedispatch.com (V2); rounded to whole feet.
PUBLISHED = [
    (1000, 364), (950, 1773), (850, 4781), (800, 6394), (700, 9882), (500, 18289),
    (300, 30065), (250, 33999), (200, 38662), (150, 44647),
]  # fmt: skip


@pytest.mark.parametrize(("hpa", "feet"), PUBLISHED)
def test_published_rows_to_0_05_hpa(hpa: int, feet: int) -> None:
    assert pressure_hpa(feet) == pytest.approx(hpa, abs=0.05)
    assert altitude_ft(hpa) == pytest.approx(feet, abs=2.0)


@pytest.mark.parametrize(
    ("hpa", "inches"), [(1013.25, 29.92), (948.2, 28.00), (1016.3, 30.01), (1049.8, 31.00)]
)
def test_settings_in_inches(hpa: float, inches: float) -> None:
    # 33.86389 hPa to the inch; AIM 7-2-2 (V) names 28.00 and 31.00 as the ends of the scale
    assert convert(inches, "inHg", "hPa") == pytest.approx(hpa, abs=0.1)


def test_what_an_altimeter_shows_on_the_ground() -> None:
    static = pressure_hpa(820.0)
    # with the setting of the standard atmosphere it shows the elevation
    assert indicated_ft(static, 1013.25) == pytest.approx(820.0, abs=0.01)
    assert qnh_hpa(static, 820.0) == pytest.approx(1013.25, abs=0.001)
    # 27.3 ft for a hectopascal near sea level (computed from the ISA)
    assert indicated_ft(static, 1014.25) - 820.0 == pytest.approx(27.3, abs=0.1)
    assert indicated_ft(static, 1012.25) - 820.0 == pytest.approx(-27.3, abs=0.1)


@given(qnh=st.floats(950.0, 1050.0), elevation=st.floats(-1000.0, 14000.0))
def test_with_the_qnh_every_altimeter_shows_its_elevation(qnh: float, elevation: float) -> None:
    static = pressure_hpa(altitude_ft(qnh) + elevation)
    assert qnh_hpa(static, elevation) == pytest.approx(qnh, abs=1e-6)
    assert indicated_ft(static, qnh) == pytest.approx(elevation, abs=1e-3)


@pytest.mark.parametrize(
    ("shown", "is_within"),
    [((820.0, 830.0), True), ((895.0,), True), ((896.0,), False), ((744.0, 820.0), False)],
)
def test_75_feet_is_questionable(shown: tuple[float, ...], is_within: bool) -> None:
    # FAA AIM 7-2-3 (V2): over 75 ft from the field elevation
    assert check_altimeters(shown, 820.0).is_within is is_within


def test_60_feet_between_two() -> None:
    # Australian AIP, as quoted (V2): one within 60 ft; between two the operator's figure
    assert check_altimeters((850.0, 800.0), 820.0, from_ground_ft=60.0, apart_ft=60.0).is_within
    apart = check_altimeters((860.0, 790.0), 820.0, from_ground_ft=60.0, apart_ft=60.0)
    assert not apart.is_within
    assert apart.apart_ft == 70.0
    assert apart.errors_ft == (40.0, -30.0)


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="no altimeter"):
        check_altimeters((), 820.0)
    with pytest.raises(ValueError, match="no altitude"):
        altitude_ft(0.0)
    with pytest.raises(ValueError, match="no way from 'psi' to 'kg'"):
        convert(1.0, "psi", "kg")
    with pytest.raises(ValueError, match="no way from 'furlongs a fortnight'"):
        convert(1.0, "furlongs a fortnight", "kg")
