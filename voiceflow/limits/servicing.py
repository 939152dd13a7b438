"""Oil for the hours to come, tyres and batteries at the temperature of the day, hydraulics."""

from collections.abc import Sequence
from decimal import Decimal
from enum import StrEnum
from itertools import pairwise
from typing import Final

from voiceflow.numbers.scale import Scale

_ZERO_C_K: Final = 273.15
#: The standard atmosphere at sea level, psi: what a tyre's gauge does not show.
_AIR_PSI: Final = 14.696


def oil_needed(minimum: float, consumption_an_hour: float, hours: float) -> float:
    """Give the least oil at the start with which the minimum is there at the end.

    Args:
        minimum: Least contents, in any unit.
        consumption_an_hour: Of this engine as measured, in that unit an hour; not below 0.
        hours: Planned; not below 0.

    Raises:
        ValueError: If an engine would gain oil, or time run back.
    """
    if consumption_an_hour < 0 or hours < 0:
        msg = "an engine uses oil, and hours are not below 0"
        raise ValueError(msg)
    return minimum + consumption_an_hour * hours


def tyre_psi(reference_psi: float, reference_c: float, temperature_c: float) -> float:
    """Give what a tyre's gauge shows at another temperature: same gas, same volume.

    By the ideal gas; between -40 and 50 C the gas of a tyre is ideal to 0.5 % and the tyre
    gives way by more. Thumb rule for comparison: 1 % for 3 C (common practice, no source).

    Args:
        reference_psi: What it shows, or is to show, psi.
        reference_c: ... at this temperature of the tyre, degrees Celsius.
        temperature_c: Of the tyre, degrees Celsius.

    Raises:
        ValueError: If a temperature is below absolute zero.
    """
    if min(reference_c, temperature_c) <= -_ZERO_C_K:
        msg = "nothing is colder than -273.15 C"
        raise ValueError(msg)
    ratio = (temperature_c + _ZERO_C_K) / (reference_c + _ZERO_C_K)
    return (reference_psi + _AIR_PSI) * ratio - _AIR_PSI


class Contents(StrEnum):
    """What hydraulic contents call for."""

    REFILL = "refill"
    NORMAL = "normal"
    FULL = "full"
    OVERFILLED = "overfilled"


def hydraulic_contents(percent: float, *, refill_at: float, full_at: float) -> Contents:
    """Tell what hydraulic contents call for.

    Args:
        percent: What the gauge shows.
        refill_at: At this or below it is refilled.
        full_at: This is full, and more is too much.

    Raises:
        ValueError: If it would be full before it is refilled.
    """
    if refill_at >= full_at:
        msg = f"refilled at {refill_at:g} % and full at {full_at:g} % contradict each other"
        raise ValueError(msg)
    if percent <= refill_at:
        return Contents.REFILL
    if percent > full_at:
        return Contents.OVERFILLED
    return Contents.FULL if percent == full_at else Contents.NORMAL


def first_mark_above(value: Decimal, scale: Scale) -> Decimal:
    """Give the lowest mark of a gauge that lies above a value.

    What is refilled "at 76 or below" has its least reading there, not at 76.

    Args:
        value: In the gauge's unit.
        scale: The gauge's marks.

    Raises:
        ValueError: If no mark lies above it.
    """
    if value < scale.lowest:
        return scale.lowest
    steps = (value - scale.lowest) // scale.step + 1
    mark = scale.lowest + steps * scale.step
    if mark > scale.highest:
        msg = f"no mark of a gauge that ends at {scale.highest} lies above {value}"
        raise ValueError(msg)
    return mark


def by_temperature(rows: Sequence[tuple[float, float]], temperature_c: float) -> float:
    """Give a value between those known at two temperatures, in a straight line.

    Colder than the coldest row, or warmer than the warmest, its value holds: nothing is made
    up beyond what is known.

    Args:
        rows: Temperature in degrees Celsius, and the value there; in any order.
        temperature_c: Of the day.

    Raises:
        ValueError: If there are no rows, or two of one temperature.
    """
    known = sorted(rows)
    if not known:
        msg = "nothing is known at any temperature"
        raise ValueError(msg)
    if len({at_c for at_c, _ in known}) < len(known):
        msg = "two values for one temperature"
        raise ValueError(msg)
    (coldest_c, coldest), (warmest_c, warmest) = known[0], known[-1]
    if temperature_c <= coldest_c:
        return coldest
    if temperature_c >= warmest_c:
        return warmest
    (low_c, low), (high_c, high) = next(
        pair for pair in pairwise(known) if temperature_c <= pair[1][0]
    )
    return low + (high - low) * (temperature_c - low_c) / (high_c - low_c)
