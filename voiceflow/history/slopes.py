"""A robust slope with its 95 % interval, and the rises where a gauge was serviced.

Theil and Sen: the median of the slopes of all pairs of readings. Half of what it tells
stays right while up to 29 % of the readings are wrong, so that one misread gauge does not
make a leak (P. K. Sen, J. Am. Stat. Assoc. 63 (1968), 1379-1389, whose interval this is).
The tests hold it against ``scipy.stats.theilslopes``; that is not used here because importing
it takes 0.7 to 0.9 s, before a run's first word.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import NormalDist, median, median_high, median_low
from typing import Any, Final

import numpy as np

from voiceflow.limits.trend import Slope

#: Of the normal distribution, for 95 % in the middle.
_Z: Final = NormalDist().inv_cdf(0.975)
#: From the median of absolute deviations to the standard deviation of normal noise.
_MAD_TO_SD: Final = 1.4826
#: Readings on either side of a rise that have to bear it out.
_BESIDE: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A line through readings.

    Attributes:
        slope: Its slope.
        at_zero: Its value where ``x`` is 0: the median of what is left without the slope.
    """

    slope: Slope
    at_zero: float


def theil_sen(x: Sequence[float], y: Sequence[float]) -> Line | None:
    """Give the line through readings.

    Args:
        x: When they were taken, in days or hours; equal times are no pair.
        y: The readings.

    Returns:
        None if there are no two different times.
    """
    times, values = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    apart: Any = times[:, np.newaxis] - times
    later = apart > 0
    slopes: Any = (values[:, np.newaxis] - values)[later] / apart[later]
    pairs = len(slopes)
    if not pairs:
        return None
    slopes.sort()
    middle = float(np.median(slopes))
    half_width = _Z * np.sqrt(_variance(times, values))
    # equation 2.6 of Sen (1968), rounded outwards as scipy does
    above = min(int(np.round((pairs + half_width) / 2)), pairs - 1)
    below = max(int(np.round((pairs - half_width) / 2)) - 1, 0)
    slope = Slope(middle=middle, low=float(slopes[below]), high=float(slopes[above]))
    return Line(slope=slope, at_zero=float(np.median(values - middle * times)))


def _variance(times: Any, values: Any) -> float:
    """Give the variance of Kendall's count of rises less falls, under ties of both.

    Kendall's, as ``scipy.stats.kendalltau`` has it. Where either has no ties it is equation
    2.6 of Sen (1968); with many ties of both, that one falls below 0.
    """
    n = len(times)
    ties = [np.unique(column, return_counts=True)[1].tolist() for column in (times, values)]

    def both(product: Callable[[int], int]) -> int:
        first, second = (sum(product(count) for count in counts) for counts in ties)
        return first * second

    def weight(count: int) -> int:
        return count * (count - 1) * (2 * count + 5)

    variance = (weight(n) - sum(weight(count) for counts in ties for count in counts)) / 18
    variance += both(lambda count: count * (count - 1)) / (2 * n * (n - 1))
    if n > 2:
        triples = both(lambda count: count * (count - 1) * (count - 2))
        variance += triples / (9 * n * (n - 1) * (n - 2))
    # 0 where all of one are alike, but for rounding
    return max(0.0, variance)


def rises(values: Sequence[float], *, noise: float, least: float) -> tuple[int, ...]:
    """Give the readings that are the first after a refill.

    A refill is a rise from one reading to the next that is far beyond the noise, and that
    the readings beside it bear out: what is usual from reading to reading is taken off, and
    then the middle of the next three has to lie as far above the middle of the three before.
    So neither a single misread gauge, high or low, nor a slow fall makes one. A rise to the
    very last reading is believed: better nothing said of the slope than one across a refill.

    Args:
        values: In order; turned round where it is falling that is serviced.
        noise: How many times the noise a rise has to be. The noise is that of the steps,
            from the median of their absolute deviations, which refills hardly touch.
        least: ... and how much at least.

    Returns:
        Their places, rising; none of fewer than three readings.
    """
    steps = [after - before for before, after in pairwise(values)]
    if len(steps) < 2:
        return ()
    usual = median(steps)
    spread = _MAD_TO_SD * median(abs(step - usual) for step in steps)
    far = max(noise * spread, least)
    level = [value - usual * place for place, value in enumerate(values)]
    found = []
    for place in range(1, len(values)):
        if level[place] - level[place - 1] <= far:
            continue
        before = median_high(level[max(0, place - _BESIDE) : place])
        after = median_low(level[place : place + _BESIDE])
        if after - before > far:
            found.append(place)
    return tuple(found)
