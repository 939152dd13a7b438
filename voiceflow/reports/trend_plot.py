"""One gauge over many runs as a drawing: inline SVG, told apart by shape, not by colour.

Fifteen plots by matplotlib take longer than the whole page may; these are lines, dots and
words, and jinja2 has them already.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from voiceflow.reports import trend_wording as wording
from voiceflow.reports.trends import GaugeWay

#: The drawing's own units; the page scales it.
WIDTH: Final = 640
HEIGHT: Final = 210
_LEFT, _RIGHT, _TOP, _BOTTOM = 52, 10, 12, 22
_DAY_S: Final = 86_400.0
#: Of the time shown, so much at most is ahead of the last reading.
_MOST_AHEAD: Final = 0.3
_ROUND: Final = (1, 2, 2.5, 5, 10)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tick:
    """A mark of an axis: where, and its words."""

    at: float
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Bound:
    """A limit: where, and its words; ``below``: these stand below the line."""

    at: float
    text: str
    below: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Plot:
    """A drawing, ready for the page. All in its own units, from the top left.

    Attributes:
        dots: Path of the readings that count: full dots.
        rings: Where other readings are as they were read: rings.
        line: Points of the slope over the readings that count; empty: there is none.
        onward: Points of the slope from there to the limit, or to the edge.
        bounds: The limits.
        serviced: Where it was serviced.
        x_ticks: Of the axis of time.
        y_ticks: Of the axis of readings.
        left: Where the drawing begins.
        right: Where it ends.
        top: Its upper edge.
        bottom: Its lower edge.
    """

    dots: str
    rings: tuple[tuple[float, float], ...]
    line: str
    onward: str
    bounds: tuple[Bound, ...]
    serviced: tuple[float, ...]
    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]
    left: float = _LEFT
    right: float = WIDTH - _RIGHT
    top: float = _TOP
    bottom: float = HEIGHT - _BOTTOM


def plot(way: GaugeWay) -> Plot:
    """Draw how a gauge went.

    A full dot is a reading that counts, at the one temperature where it is a gas; a ring is
    one that does not count, or one as it was read where that is not where it counts.
    """
    made = way.trend
    zero = made.readings[0].at
    days = [(one.at - zero).total_seconds() / _DAY_S for one in made.readings]
    span = max(days[-1], 1.0)
    ahead = 0.0
    if way.ahead is not None and not way.is_flown:
        ahead = min(way.ahead, span * _MOST_AHEAD / (1 - _MOST_AHEAD))
    counted = set(made.counted)
    full = [
        (days[place], one.value)
        for place, one in enumerate(made.readings)
        if place in counted and one.value is not None
    ]
    rings = [
        (days[place], one.read)
        for place, one in enumerate(made.readings)
        if place not in counted or wording.is_brought(one)
    ]
    along = _along(way, days)
    onward = _onward(way, days, ahead)
    limit = made.gauge.limit
    limits = [
        (float(bound), name)
        for bound, name in ((limit.minimum, "min"), (limit.maximum, "max"))
        if bound is not None
    ]
    shown = [value for _, value in (*full, *rings, *along)]
    shown += [value for value, _ in limits]
    low, high, y_marks = _rounded(min(shown), max(shown), made.gauge.mark)
    x_end = span + ahead

    def x(day: float) -> float:
        return round(_LEFT + (WIDTH - _LEFT - _RIGHT) * day / x_end, 1)

    def y(value: float) -> float:
        inside = min(max(value, low), high)
        return round(_TOP + (HEIGHT - _TOP - _BOTTOM) * (high - inside) / (high - low), 1)

    def points(path: Sequence[tuple[float, float]]) -> str:
        return " ".join(f"{x(day)},{y(value)}" for day, value in path)

    return Plot(
        # a stroke of no length with round ends is a dot, at a tenth of an element's size
        dots="".join(f"M{x(day)} {y(value)}h0" for day, value in full),
        rings=tuple((x(day), y(value)) for day, value in rings),
        line=points(along),
        onward=points(onward),
        bounds=tuple(
            Bound(at=y(value), text=f"{name} {wording.number(value)}", below=y(value) < HEIGHT / 2)
            for value, name in limits
        ),
        serviced=tuple(x(days[place]) for place in made.serviced),
        x_ticks=_days(zero, x_end, x),
        y_ticks=tuple(Tick(at=y(mark), text=wording.number(mark)) for mark in y_marks),
    )


def _along(way: GaugeWay, days: Sequence[float]) -> list[tuple[float, float]]:
    """Give the slope over the readings that count."""
    made = way.trend
    if made.flown is not None:
        line = made.flown
        return [
            (days[place], line.at_zero + line.slope.middle * hours)
            for place, hours in zip(made.counted, made.flown_at, strict=True)
        ]
    if made.daily is None:
        return []
    line, first = made.daily, days[made.counted[0]]
    return [
        (day, line.at_zero + line.slope.middle * (day - first))
        for day in (first, days[made.counted[-1]])
    ]


def _onward(way: GaugeWay, days: Sequence[float], ahead: float) -> list[tuple[float, float]]:
    """Give the slope from the last reading on, as far as is shown."""
    made = way.trend
    if made.daily is None or ahead <= 0:
        return []
    value = made.readings[-1].read
    return [(days[-1], value), (days[-1] + ahead, value + made.daily.slope.middle * ahead)]


def _rounded(low: float, high: float, mark: float) -> tuple[float, float, list[float]]:
    """Give round ends for an axis, and three to six marks on it."""
    least = max(high - low, mark * 2)
    rough = least / 4
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(each * power for each in _ROUND if each * power >= rough)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    if first == last:
        last += 1
    return first * step, last * step, [place * step for place in range(first, last + 1)]


def _days(zero: datetime, end: float, x: Callable[[float], float]) -> tuple[Tick, ...]:
    """Give the marks of the axis of time: midnights, about six of them."""
    step = next((each for each in (1, 2, 7, 14, 28) if end / each <= 7), 28)
    midnight = zero.replace(hour=0, minute=0, second=0, microsecond=0) + timedelta(days=1)
    ticks = []
    moment = midnight
    while (day := (moment - zero).total_seconds() / _DAY_S) <= end:
        ticks.append(Tick(at=x(day), text=f"{moment.day} {moment:%b}"))
        moment += timedelta(days=step)
    return tuple(ticks)
