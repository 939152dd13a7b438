"""How the gauges of a tail went, as a page and a table show it: those that matter first."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from enum import StrEnum
from typing import Final, Protocol

from voiceflow.checks.model import Check, Item
from voiceflow.dialogue.trends import series_of
from voiceflow.history.trends import (
    GaugeReading,
    ReadAnswer,
    Trend,
    by_series,
    gauge_of,
    moment,
    trend,
    window_start,
)
from voiceflow.limits.judge import Verdict, judge
from voiceflow.limits.trend import is_plain, reach
from voiceflow.settings import Settings, TrendSettings

_USUAL: Final = Settings().trend


class Standing(StrEnum):
    """What a gauge's way amounts to, the gravest first."""

    OUTSIDE = "outside"  # its last reading is outside limits
    SOON = "soon"  # it goes towards its limit and is there within the horizon
    TOWARDS = "towards"  # ... and is there later
    STEADY = "steady"  # no plain way towards a limit
    TOO_FEW = "too-few"  # too few readings since it was serviced, or of known temperature


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeWay:
    """How one gauge went, with what it amounts to.

    Attributes:
        title: Its item's challenge.
        language: Language of that, a BCP 47 code.
        trend: Its readings and their slope.
        standing: What it amounts to.
        ahead: Days, or hours flown, from the last reading to the limit; None: never so.
    """

    title: str
    language: str
    trend: Trend
    standing: Standing
    ahead: float | None

    @property
    def last(self) -> GaugeReading:
        """The last reading."""
        return self.trend.readings[-1]

    @property
    def is_flown(self) -> bool:
        """Whether it is counted by hours flown."""
        return self.trend.flown is not None

    @property
    def matters(self) -> bool:
        """Whether people should look at it now."""
        return self.standing in {Standing.OUTSIDE, Standing.SOON}


@dataclass(frozen=True, slots=True, kw_only=True)
class TailTrends:
    """How the gauges of a tail went.

    Attributes:
        tail: Registration.
        aircraft: Type name.
        since: From when on readings count.
        until: When the last of them was taken.
        runs: How many runs they are of.
        ways: The gauges, those that matter first.
        not_compared: Titles of gauges whose readings are not compared.
    """

    tail: str
    aircraft: str
    since: datetime
    until: datetime
    runs: int
    ways: tuple[GaugeWay, ...]
    not_compared: tuple[str, ...]


class ChecksOfRuns(Protocol):
    """Where the check of a run is: the journal."""

    def check(self, run_id: str) -> Check:
        """Give the check that a run did."""
        ...


def tail_trends(
    answers: Sequence[ReadAnswer],
    checks: ChecksOfRuns,
    now: datetime,
    settings: TrendSettings = _USUAL,
) -> TailTrends | None:
    """Give how the gauges of a tail went.

    What a gauge is, its limit and its name are those of the last run that read it.

    Args:
        answers: Readings of one tail, oldest first.
        checks: Where the checks of these runs are.
        now: Clock time, with a UTC offset.
        settings: What counts.

    Returns:
        None if there is no reading within the window.
    """
    since = window_start(now, settings)
    known = by_series(answers, since)
    ways, not_compared = [], []
    check: Check | None = None
    for found in known.values():
        check = checks.check(found[-1].run_id)
        item = _item_of(check, found[-1])
        if item is None:
            continue
        gauge = gauge_of(item)
        if gauge is None:
            not_compared.append(item.challenge)
            continue
        way = trend(gauge, found, settings=settings)
        ways.append(_way(item, check.language, way, settings))
    if check is None:
        return None
    read = [answer for found in known.values() for answer in found]
    return TailTrends(
        tail=check.tail,
        aircraft=check.aircraft,
        since=since,
        until=max(map(moment, read)),
        runs=len({one.run_id for one in read}),
        ways=tuple(sorted(ways, key=lambda way: _rank(way, settings))),
        not_compared=tuple(dict.fromkeys(not_compared)),
    )


def _item_of(check: Check, answer: ReadAnswer) -> Item | None:
    """Give the item of a check that reads a gauge."""
    for item in check.items:
        if item.reading is not None and series_of(item) == answer.series:
            return item
    return None


def _way(item: Item, language: str, way: Trend, settings: TrendSettings) -> GaugeWay:
    gauge = way.gauge
    standing, ahead = Standing.TOO_FEW, None
    line = way.line
    if line is not None:
        standing = Standing.STEADY
        if is_plain(line.slope, over=way.over, mark=gauge.mark):
            ahead = reach(_last(way), gauge.limit, line.slope.middle)
        if ahead is not None:
            is_soon = ahead <= _horizon(way, settings)
            standing = Standing.SOON if is_soon else Standing.TOWARDS
    if judge(_last(way), gauge.limit) is Verdict.OUTSIDE:
        standing = Standing.OUTSIDE
    return GaugeWay(
        title=item.challenge, language=language, trend=way, standing=standing, ahead=ahead
    )


def _last(way: Trend) -> Decimal:
    return Decimal(str(way.readings[-1].read))


def _horizon(way: Trend, settings: TrendSettings) -> float:
    horizon = settings.horizon_days if way.flown is None else settings.horizon_hours
    return 0.0 if horizon is None else horizon


def _rank(way: GaugeWay, settings: TrendSettings) -> tuple[int, float, str]:
    """Put what is graver, and within that what is sooner, first."""
    horizon = _horizon(way.trend, settings) or 1.0
    ahead = float("inf") if way.ahead is None else way.ahead / horizon
    return list(Standing).index(way.standing), ahead, way.title


def why_too_few(way: GaugeWay, settings: TrendSettings = _USUAL) -> str:
    """Say why a gauge has no slope."""
    made = way.trend
    count = len(made.counted)
    if count < settings.least:
        left_out = len(made.readings) - sum(one.value is not None for one in made.readings)
        what = f"{count} of {settings.least} readings"
        if made.serviced:
            return f"too few readings since it was serviced ({what})"
        if left_out:
            return f"too few readings of known temperature ({what}); say it with --temperature"
        return f"too few readings ({what})"
    return f"its readings span {made.days:.1f} of {settings.least_days:g} days"
