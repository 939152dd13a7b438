"""Altimeters on the ground: what they must show once the pressure is set.

The standard atmosphere (ICAO Doc 7488; the constants are those of the published tables in
tests/published): sea level 1013.25 hPa and 15 C, 6.5 C colder with each km up to 11 km, then
-56.5 C.
"""

import math
from dataclasses import dataclass
from typing import Final

from voiceflow.limits.units import convert

SEA_LEVEL_HPA: Final = 1013.25
_SEA_LEVEL_K: Final = 288.15
_LAPSE_K_A_M: Final = 0.0065
_GRAVITY: Final = 9.80665
_GAS: Final = 287.05287
_EXPONENT: Final = _GRAVITY / (_GAS * _LAPSE_K_A_M)
_TROPOPAUSE_M: Final = 11_000.0
_ABOVE_K: Final = _SEA_LEVEL_K - _LAPSE_K_A_M * _TROPOPAUSE_M
_TROPOPAUSE_HPA: Final = SEA_LEVEL_HPA * (_ABOVE_K / _SEA_LEVEL_K) ** _EXPONENT


def pressure_hpa(altitude_ft: float) -> float:
    """Give the pressure at an altitude of the standard atmosphere, hPa."""
    height_m = convert(altitude_ft, "ft", "m")
    if height_m <= _TROPOPAUSE_M:
        return float(SEA_LEVEL_HPA * (1 - _LAPSE_K_A_M * height_m / _SEA_LEVEL_K) ** _EXPONENT)
    deep = _GRAVITY * (height_m - _TROPOPAUSE_M) / (_GAS * _ABOVE_K)
    return _TROPOPAUSE_HPA * math.exp(-deep)


def altitude_ft(pressure_of_hpa: float) -> float:
    """Give the altitude at which the standard atmosphere has a pressure, feet.

    Args:
        pressure_of_hpa: Above 0.

    Raises:
        ValueError: If there is none.
    """
    if pressure_of_hpa <= 0:
        msg = f"no altitude has a pressure of {pressure_of_hpa:g} hPa"
        raise ValueError(msg)
    if pressure_of_hpa >= _TROPOPAUSE_HPA:
        part = (pressure_of_hpa / SEA_LEVEL_HPA) ** (1 / _EXPONENT)
        return convert(_SEA_LEVEL_K / _LAPSE_K_A_M * (1 - part), "m", "ft")
    above_m = _GAS * _ABOVE_K / _GRAVITY * math.log(_TROPOPAUSE_HPA / pressure_of_hpa)
    return convert(_TROPOPAUSE_M + above_m, "m", "ft")


def indicated_ft(static_hpa: float, setting_hpa: float) -> float:
    """Give what a faultless altimeter shows, feet.

    Args:
        static_hpa: The pressure where it is.
        setting_hpa: What is set on it.
    """
    return altitude_ft(static_hpa) - altitude_ft(setting_hpa)


def qnh_hpa(static_hpa: float, elevation_ft: float) -> float:
    """Give the setting at which an altimeter shows the elevation where it stands, hPa.

    Args:
        static_hpa: The pressure there.
        elevation_ft: Of the altimeter.
    """
    return pressure_hpa(altitude_ft(static_hpa) - elevation_ft)


@dataclass(frozen=True, slots=True, kw_only=True)
class AltimeterCheck:
    """How altimeters agree with the ground and with each other.

    Attributes:
        errors_ft: Of each: what it shows less the elevation where it is.
        apart_ft: The highest less the lowest.
        is_within: Whether every error, and the difference, is within what is allowed.
    """

    errors_ft: tuple[float, ...]
    apart_ft: float
    is_within: bool


def check_altimeters(
    shown_ft: tuple[float, ...],
    elevation_ft: float,
    *,
    from_ground_ft: float = 75.0,
    apart_ft: float | None = None,
) -> AltimeterCheck:
    """Hold altimeters, with the local pressure set, against the elevation and each other.

    Args:
        shown_ft: What each shows; at least one.
        elevation_ft: Of the place.
        from_ground_ft: Largest error. 75 ft is where the FAA's AIM 7-2-3 calls an altimeter
            questionable; the operator's figure goes before.
        apart_ft: Largest difference between two; None: none is set.

    Raises:
        ValueError: If there is no altimeter.
    """
    if not shown_ft:
        msg = "there is no altimeter to check"
        raise ValueError(msg)
    errors_ft = tuple(shown - elevation_ft for shown in shown_ft)
    difference_ft = max(shown_ft) - min(shown_ft)
    near = all(abs(error) <= from_ground_ft for error in errors_ft)
    together = apart_ft is None or difference_ft <= apart_ft
    return AltimeterCheck(errors_ft=errors_ft, apart_ft=difference_ft, is_within=near and together)
