"""Fuel: tanks against what is required, the imbalance, and what a bowser says it gave."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from voiceflow.limits.units import convert

_MASSES: Final = frozenset({"kg", "lb"})
_VOLUMES: Final = frozenset({"L", "gal"})


def fuel_in(value: float, source: str, target: str, density_kg_l: float) -> float:
    """Bring an amount of fuel from one unit to another, of mass or of volume.

    Args:
        value: In the unit ``source``.
        source: kg, lb, L or gal (US).
        target: The same.
        density_kg_l: Of this fuel at its temperature, kilograms a litre; Jet A-1 has
            0.775 to 0.840 at 15 C (specification).

    Raises:
        ValueError: If a unit is none of these, or the density is not above 0.
    """
    unknown = {source, target} - _MASSES - _VOLUMES
    if unknown or density_kg_l <= 0:
        what = f"{min(unknown)!r}" if unknown else f"a density of {density_kg_l:g} kg/L"
        msg = f"fuel is not measured with {what}"
        raise ValueError(msg)
    if source in _MASSES:
        kilograms = convert(value, source, "kg")
    else:
        kilograms = convert(value, source, "L") * density_kg_l
    if target in _MASSES:
        return convert(kilograms, "kg", target)
    return convert(kilograms / density_kg_l, "L", target)


def fuel_required(hours: float, burn_an_hour: float, *, reserve: float, taxi: float) -> float:
    """Give the least fuel before the engines start, in the unit of the others.

    Args:
        hours: Planned; not below 0.
        burn_an_hour: Of all engines together; not below 0.
        reserve: What is to be left at the end.
        taxi: From the stand to the runway.

    Raises:
        ValueError: If one of them is below 0.
    """
    if min(hours, burn_an_hour, reserve, taxi) < 0:
        msg = "neither hours nor fuel are below 0"
        raise ValueError(msg)
    return hours * burn_an_hour + reserve + taxi


@dataclass(frozen=True, slots=True, kw_only=True)
class FuelCheck:
    """How the tanks stand.

    Attributes:
        total: All tanks together, in the unit of the tanks.
        short: What is missing of the required; 0 if nothing is.
        imbalance: The fullest side less the emptiest.
        is_enough: Whether the total is the required or more.
        is_balanced: Whether the imbalance is within what is allowed.
    """

    total: float
    short: float
    imbalance: float
    is_enough: bool
    is_balanced: bool


def check_fuel(tanks: Sequence[float], required: float, imbalance: float | None) -> FuelCheck:
    """Hold the tanks against what is required.

    Args:
        tanks: What each holds, one a side; at least one.
        required: In the same unit.
        imbalance: Largest difference allowed, in the same unit; None: none is set.

    Raises:
        ValueError: If there is no tank, or one holds less than nothing.
    """
    if not tanks or min(tanks) < 0:
        msg = "every tank holds something or nothing, and there is at least one"
        raise ValueError(msg)
    total = sum(tanks)
    apart = max(tanks) - min(tanks)
    return FuelCheck(
        total=total,
        short=max(0.0, required - total),
        imbalance=apart,
        is_enough=total >= required,
        is_balanced=imbalance is None or apart <= imbalance,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Uplift:
    """What was taken on, by the bowser and by the gauges.

    Attributes:
        expected: What the gauges are to show after it.
        difference: What they show less that.
        is_within: Whether that is within the tolerance.
    """

    expected: float
    difference: float
    is_within: bool


def check_uplift(before: float, uplift: float, after: float, tolerance: float) -> Uplift:
    """Hold the gauges against what was taken on: before + uplift = after.

    Args:
        before: What the gauges showed.
        uplift: What the bowser gave, in the same unit (``fuel_in``).
        after: What the gauges show.
        tolerance: Largest difference allowed, in the same unit.
    """
    difference = after - (before + uplift)
    return Uplift(
        expected=before + uplift,
        difference=difference,
        is_within=abs(difference) <= tolerance,
    )
