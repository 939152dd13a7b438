"""A slope, a reading and a limit in; the time until they meet out."""

from dataclasses import dataclass
from decimal import Decimal

from voiceflow.checks.model import Limit


@dataclass(frozen=True, slots=True, kw_only=True)
class Slope:
    """How fast a reading changes, in its own unit a day, or an hour flown.

    Attributes:
        middle: The median slope.
        low: Lower end of its 95 % interval.
        high: Upper end.
    """

    middle: float
    low: float
    high: float


def is_plain(slope: Slope, *, over: float, mark: float) -> bool:
    """Tell whether a gauge plainly rises or falls.

    Args:
        slope: The slope.
        over: Over how many days, or hours, it was seen.
        mark: The gauge's step: what changed by less cannot have been read.

    Returns:
        True if the interval leaves 0 out and the change came to a mark at least.
    """
    return not slope.low <= 0 <= slope.high and abs(slope.middle) * over >= mark


def reach(value: Decimal, limit: Limit, slope: float) -> float | None:
    """Give when a reading that changes so will be at its limit.

    Args:
        value: Of today, in the gauge's own unit.
        limit: Of today, in the same unit.
        slope: In that unit a day, or an hour.

    Returns:
        Days, or hours, from now; 0 at the limit itself. None if the reading goes away from
        the limit or stands still, there is no limit where it goes, or it is beyond it already.
    """
    bound = limit.minimum if slope < 0 else limit.maximum
    if bound is None or slope == 0:
        return None
    ahead = float(bound - value) / slope
    return ahead if ahead >= 0 else None
