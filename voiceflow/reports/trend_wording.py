"""Every word of ours on the page and in the table of trends, in one place."""

from datetime import datetime

from voiceflow.checks.model import TrendKind
from voiceflow.history.trends import GaugeReading
from voiceflow.limits.trend import Slope
from voiceflow.reports.trends import GaugeWay, Standing, TailTrends, why_too_few
from voiceflow.reports.wording import CAUTION, LANGUAGE, counted

__all__ = ["CAUTION", "LANGUAGE", "counted"]

STANDING = {
    Standing.OUTSIDE: "OUTSIDE LIMITS",
    Standing.SOON: "SOON AT ITS LIMIT",
    Standing.TOWARDS: "Towards its limit",
    Standing.STEADY: "No plain way towards a limit",
    Standing.TOO_FEW: "Too few readings",
}
HOW = (
    "Slope: the median of the slopes between all pairs of readings since the gauge was last "
    "serviced (Theil and Sen), with its 95 % interval. Serviced: a rise far beyond the noise of "
    "the readings. The line goes on as a thin one to the limit; it is arithmetic, not a promise."
)
_COMPARED = {
    TrendKind.OXYGEN: "at {} °C, as oxygen (a real gas)",
    TrendKind.AIR: "at {} °C, as an ideal gas",
}


def number(value: float) -> str:
    """Give a number with its sign as printed: a true minus, no zeros at the end."""
    return f"{value:.6g}".replace("-", "\N{MINUS SIGN}")


def with_unit(value: float, unit: str) -> str:
    """Give a value with its unit."""
    return f"{number(value)} {unit}".strip()


def day(moment: datetime) -> str:
    """Give a day: 25 Nov 2026."""
    return f"{moment.day} {moment:%b %Y}"


def last(way: GaugeWay) -> str:
    """Give the last reading."""
    return with_unit(way.last.read, way.trend.gauge.unit)


def change(way: GaugeWay) -> str:
    """Give the slope with its interval: "-12 a day (-13.1 to -10.9)"."""
    line = way.trend.line
    if line is None:
        return "\N{EN DASH}"
    middle, low, high = (number(one) for one in _three(line.slope))
    return f"{middle} {each(way)} ({low} to {high})"


def each(way: GaugeWay) -> str:
    """Give what a slope is counted by."""
    return "an hour" if way.is_flown else "a day"


def limit(way: GaugeWay) -> str:
    """Give the limit: "min 1200", "55 to 70"."""
    bounds = way.trend.gauge.limit
    low, high = bounds.minimum, bounds.maximum
    if low is not None and high is not None:
        return f"{number(float(low))} to {number(float(high))}"
    if low is not None:
        return f"min {number(float(low))}"
    return f"max {number(float(high))}" if high is not None else "\N{EN DASH}"


def ahead(way: GaugeWay) -> str:
    """Give when the limit is reached: "9 days", "4 h flown"."""
    if way.ahead is None:
        return "\N{EN DASH}"
    whole = int(way.ahead)
    if way.is_flown:
        return f"{whole} h flown" if whole else "less than 1 h"
    return counted(whole, "day") if whole else "less than 1 day"


def compared(way: GaugeWay) -> str:
    """Say how readings were made comparable; empty if they are as they were read."""
    made = way.trend
    if made.gauge.kind is TrendKind.FLOWN_HOURS:
        return "by hours flown" if way.is_flown else "by days: the hours flown are not known"
    if made.gauge.kind not in _COMPARED or made.at_c is None:
        return ""
    return _COMPARED[made.gauge.kind].format(number(made.at_c))


def serviced(way: GaugeWay) -> str:
    """Say when it was serviced, as far as is shown."""
    days = [day(way.trend.readings[place].at) for place in way.trend.serviced]
    if not days:
        return ""
    if len(days) > 3:
        return f"Serviced {len(days)} times, last before {days[-1]}."
    return f"Serviced before {', '.join(days)}."


def outcome(way: GaugeWay) -> str:
    """Say what the readings amount to."""
    if way.standing is not Standing.OUTSIDE:
        return _slope(way)
    bounds = f"{limit(way)} {way.trend.gauge.unit}".rstrip()
    return f"The last reading is outside limits ({bounds}). {_slope(way)}"


def _slope(way: GaugeWay) -> str:
    made = way.trend
    if made.line is None:
        return f"No slope: {why_too_few(way)}."
    unit, slope = made.gauge.unit, made.line.slope
    middle, low, high = _three(slope)
    interval = f"95 % interval {number(low)} to {number(high)}, {_readings(way)}"
    if way.ahead is None:
        return f"{with_unit(middle, unit)} {each(way)} ({interval})."
    falls = middle < 0
    amount = f"{'Down' if falls else 'Up'} {with_unit(abs(middle), unit)} {each(way)}"
    bound = made.gauge.limit.minimum if falls else made.gauge.limit.maximum
    there = with_unit(float(bound or 0), unit)
    name = "minimum" if falls else "maximum"
    return f"{amount}, {name} {there} in {ahead(way)} ({interval})."


def _readings(way: GaugeWay) -> str:
    return counted(len(way.trend.counted), "reading")


def _three(slope: Slope) -> tuple[float, float, float]:
    """Give a slope and its interval to three figures."""
    middle, low, high = (float(f"{one:.3g}") + 0.0 for one in (slope.middle, slope.low, slope.high))
    return middle, low, high


def description(way: GaugeWay) -> str:
    """Give the plot in words, for people who do not see it."""
    made = way.trend
    unit = made.gauge.unit
    first = made.readings[0]
    read = [one.read for one in made.readings]
    parts = [
        f"{counted(len(read), 'reading')} from {day(first.at)} to {day(way.last.at)}.",
        f"First {with_unit(read[0], unit)}, last {last(way)}.",
        f"Lowest {with_unit(min(read), unit)}, highest {with_unit(max(read), unit)}.",
        f"Limit {limit(way)} {unit}".rstrip() + "." if limit(way) != "\N{EN DASH}" else "",
        serviced(way),
        f"Compared {compared(way)}." if compared(way) else "",
        outcome(way),
    ]
    return " ".join(part for part in parts if part)


def heading(trends: TailTrends) -> str:
    """Say of what the page is."""
    return (
        f"{counted(trends.runs, 'run')} between {day(trends.since)} and {day(trends.until)}, "
        f"{counted(len(trends.ways), 'gauge')}"
    )


def what_matters(trends: TailTrends) -> str:
    """Say at the top how many gauges people should look at."""
    count = sum(way.matters for way in trends.ways)
    if not count:
        return "No gauge is outside limits or plainly on its way there."
    verb = "is" if count == 1 else "are"
    return f"{counted(count, 'gauge')} {verb} outside limits or will soon be."


def is_brought(one: GaugeReading) -> bool:
    """Tell whether a reading is compared at another temperature than that of its day."""
    return one.value is not None and one.value != one.read
