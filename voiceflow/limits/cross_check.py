"""Readings of one run against each other, and against what is known of the day."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from voiceflow.checks.model import Agreement, Reference
from voiceflow.limits.atmosphere import altitude_ft, indicated_ft, pressure_hpa
from voiceflow.limits.computed import Conditions
from voiceflow.limits.fuel import fuel_in
from voiceflow.limits.units import convert

#: Minutes of a day.
DAY_MIN: Final = 24 * 60
_FUEL: Final = frozenset({"kg", "lb", "L", "gal"})


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenReading:
    """A reading that was taken: its value and its unit symbol."""

    value: Decimal
    unit: str


Taken = Mapping[str, TakenReading]


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """How far a reading is from what it is compared with.

    Attributes:
        expected: What it would have to be, in the gauge's unit; a time as "1215".
        apart: The reading less that, in the gauge's unit; of times in minutes, the
            shorter way round the clock.
        is_within: Whether that is within what is allowed.
    """

    expected: float
    apart: float
    is_within: bool


def compare(
    value: Decimal, unit: str, agreement: Agreement, taken: Taken, day: Conditions
) -> Difference | None:
    """Compare a reading.

    Args:
        value: The reading, in the gauge's unit.
        unit: That unit's symbol; empty for a bare number.
        agreement: With what, and how near it has to be.
        taken: The readings of the run, by item.
        day: Conditions of the day.

    Returns:
        None if something that it is compared with is not known (yet).

    Raises:
        ValueError: If units do not go together; the check file's loader rules that out.
    """
    expected = expected_value(unit, agreement.reference, taken, day)
    if expected is None:
        return None
    if agreement.is_time:
        apart = minutes_apart(value, Decimal(round(expected)))
        if apart is None:
            # no time of day, so it agrees with none
            return Difference(expected=expected, apart=float(DAY_MIN), is_within=False)
    else:
        apart = float(value) - expected
    # what pint makes of 75 ft must not put a reading of just 75 ft outside
    is_within = abs(apart) <= float(agreement.within) + 1e-6
    return Difference(expected=expected, apart=apart, is_within=is_within)


def expected_value(unit: str, reference: Reference, taken: Taken, day: Conditions) -> float | None:
    """Give what a reading would have to be; None if something is not known.

    Altimeters: the pressure at the stand follows from the local pressure (QNH) and the
    elevation; a faultless altimeter then shows what the standard atmosphere makes of it and
    of its setting (see ``atmosphere``). With the QNH set that is the elevation.
    """
    if reference.elevation:
        return None if day.elevation_ft is None else convert(float(day.elevation_ft), "ft", unit)
    if reference.temperature:
        return None if day.temperature_c is None else convert(float(day.temperature_c), "C", unit)
    if reference.setting is not None and reference.qnh is not None:
        setting, qnh = taken.get(reference.setting), taken.get(reference.qnh)
        if setting is None or qnh is None or day.elevation_ft is None:
            return None
        qnh_hpa = convert(float(qnh.value), qnh.unit, "hPa")
        static_hpa = pressure_hpa(float(day.elevation_ft) + altitude_ft(qnh_hpa))
        shown_ft = indicated_ft(static_hpa, convert(float(setting.value), setting.unit, "hPa"))
        return convert(shown_ft, "ft", unit)
    found = [taken.get(item_id) for item_id in reference.readings]
    known = [each for each in found if each is not None]
    if not known or len(known) < len(found):
        return None
    # what the fuel of this day weighs goes before what the file has for any fuel
    density = reference.density and (day.density_kg_l or reference.density)
    return sum(_in_unit(each, unit, density) for each in known)


def _in_unit(reading: TakenReading, unit: str, density: Decimal | None) -> float:
    value = float(reading.value)
    if reading.unit == unit:
        return value
    if {reading.unit, unit} <= _FUEL:
        # between two masses, or two volumes, any density will do
        return fuel_in(value, reading.unit, unit, float(density or 1))
    return convert(value, reading.unit, unit)


def minutes_apart(one: Decimal, other: Decimal) -> float | None:
    """Give the minutes from one time of day to another, the shorter way round the clock.

    Args:
        one: Hours and minutes as one number (1215).
        other: The same.

    Returns:
        One less the other; None if one of them is no time of day.
    """
    minutes = []
    for value in (one, other):
        hours, rest = divmod(int(value), 100)
        if value != int(value) or not 0 <= hours < 24 or rest >= 60:
            return None
        minutes.append(hours * 60 + rest)
    apart = (minutes[0] - minutes[1]) % DAY_MIN
    return float(apart - DAY_MIN if apart > DAY_MIN / 2 else apart)
