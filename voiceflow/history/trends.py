"""How gauges go over many runs of a tail: the readings that count, and their slope.

Readings of a gas are brought to one temperature, so that a cold week does not look like a
leak; those of oil are laid out by the hours flown, where these are known. Only readings
since the gauge was last serviced count. What a limit makes of the slope is reckoned in
``limits/trend.py``.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from typing import Final, Protocol

from voiceflow.checks.model import Check, Item, Limit, TrendKind
from voiceflow.dialogue.brief import TrendNote
from voiceflow.dialogue.trends import series_of
from voiceflow.history.slopes import Line, rises, theil_sen
from voiceflow.limits.computed import Conditions, MeasuredOil
from voiceflow.limits.oxygen import same_content_psi
from voiceflow.limits.servicing import tyre_psi
from voiceflow.limits.units import convert
from voiceflow.settings import TrendSettings

_DAY_S: Final = 86_400.0
_HOUR_S: Final = 3_600.0
_GASES: Final = (TrendKind.OXYGEN, TrendKind.AIR)
_USUAL: Final = TrendSettings()


class ReadAnswer(Protocol):
    """What is needed of an answer of a run before."""

    @property
    def run_id(self) -> str:
        """The run it was given in."""
        ...

    @property
    def started_at(self) -> str:
        """When that run began, ISO 8601 with UTC offset."""
        ...

    @property
    def answered_s(self) -> float:
        """When the answer was taken, seconds of the run."""
        ...

    @property
    def series(self) -> str:
        """The gauge's name over many runs; empty: the item has none."""
        ...

    @property
    def value(self) -> Decimal | None:
        """The reading; None for a response."""
        ...

    @property
    def unit(self) -> str:
        """Its unit symbol."""
        ...

    @property
    def temperature_c(self) -> Decimal | None:
        """Of the day, degrees Celsius; None: it was not said."""
        ...

    @property
    def hours(self) -> Decimal | None:
        """Planned of the engines, for the flight after the run; None: it was not said."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauge:
    """A gauge over many runs.

    Attributes:
        series: Its name.
        unit: Its unit symbol.
        kind: How its readings are compared.
        mark: The distance of its marks.
        limit: What is within limits.
    """

    series: str
    unit: str
    kind: TrendKind
    mark: float
    limit: Limit

    @property
    def is_filled(self) -> bool:
        """Whether servicing raises it; else, with nothing but a maximum, it lowers it."""
        return self.limit.minimum is not None or self.limit.maximum is None


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeReading:
    """A reading over many runs.

    Attributes:
        run_id: The run.
        at: When it was taken.
        read: As it was read.
        value: As it is compared; None: its temperature is not known, so it is not.
        temperature_c: Of its day.
        hours: Planned of the engines for the flight after it.
    """

    run_id: str
    at: datetime
    read: float
    value: float | None
    temperature_c: float | None
    hours: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Trend:
    """How one gauge went.

    Attributes:
        gauge: The gauge.
        readings: Within the window, oldest first.
        counted: Places of the readings that are compared, all since it was last serviced.
        serviced: Places of the first readings after it was serviced.
        at_c: The temperature that readings were brought to; None: as they were read.
        daily: The line by days since the first reading that counts; None: too few.
        flown: The line by hours flown since then; None: too few, or not known.
        flown_at: Hours flown since then, at each reading that counts; empty: not known.
    """

    gauge: Gauge
    readings: tuple[GaugeReading, ...]
    counted: tuple[int, ...]
    serviced: tuple[int, ...]
    at_c: float | None
    daily: Line | None
    flown: Line | None
    flown_at: tuple[float, ...]

    @property
    def line(self) -> Line | None:
        """The line that tells: by hours flown where these are known, else by days."""
        return self.daily if self.flown is None else self.flown

    @property
    def over(self) -> float:
        """Over how many hours flown, or days, that line goes."""
        return self.days if self.flown is None else self.flown_at[-1]

    @property
    def days(self) -> float:
        """Over how many days the readings that count were taken."""
        if not self.counted:
            return 0.0
        first, last = (self.readings[self.counted[end]] for end in (0, -1))
        return (last.at - first.at).total_seconds() / _DAY_S


def gauge_of(item: Item) -> Gauge | None:
    """Give the gauge of an item; None if it has none, or its readings are not compared."""
    spec = item.reading
    if spec is None or spec.trend is TrendKind.NONE:
        return None
    return Gauge(
        series=series_of(item),
        unit=spec.unit,
        kind=spec.trend,
        mark=float(spec.scale.step),
        limit=spec.limit,
    )


def window_start(now: datetime, settings: TrendSettings = _USUAL) -> datetime:
    """Give from when on readings count."""
    return now - timedelta(days=settings.window_days)


def moment(answer: ReadAnswer) -> datetime:
    """Give the clock time of an answer."""
    return datetime.fromisoformat(answer.started_at) + timedelta(seconds=answer.answered_s)


def by_series(
    answers: Iterable[ReadAnswer], since: datetime | None = None
) -> dict[str, list[ReadAnswer]]:
    """Sort readings by their gauge, each in the order they were given.

    Args:
        answers: Readings and responses.
        since: Only of runs that began then or later.
    """
    found: dict[str, list[ReadAnswer]] = {}
    for answer in answers:
        if not answer.series or answer.value is None:
            continue
        if since is None or datetime.fromisoformat(answer.started_at) >= since:
            found.setdefault(answer.series, []).append(answer)
    return found


def trend(
    gauge: Gauge,
    answers: Sequence[ReadAnswer],
    *,
    temperature_c: float | None = None,
    settings: TrendSettings = _USUAL,
) -> Trend:
    """Give how a gauge went.

    Args:
        gauge: The gauge.
        answers: Its readings within the window, oldest first; those in another unit do not
            count.
        temperature_c: What readings of a gas are brought to; None: the temperature of the
            last reading that has one.
        settings: What counts.
    """
    # a run that began later may have been entered before: two programs, one journal
    in_unit = sorted((one for one in answers if one.unit == gauge.unit), key=moment)
    readings = [_reading(answer) for answer in in_unit[-settings.most :]]
    at_c: float | None = None
    if gauge.kind in _GASES:
        known = [one.temperature_c for one in readings if one.temperature_c is not None]
        at_c = temperature_c if temperature_c is not None else known[-1] if known else None
        readings = [_brought(one, gauge, at_c) for one in readings]
    places = [place for place, one in enumerate(readings) if one.value is not None]
    values = [one.value for one in readings if one.value is not None]
    way = 1.0 if gauge.is_filled else -1.0
    breaks = rises(
        [way * value for value in values],
        noise=settings.refill_noise,
        least=settings.refill_marks * gauge.mark,
    )
    counted = tuple(places[breaks[-1] if breaks else 0 :])
    made = Trend(
        gauge=gauge,
        readings=tuple(readings),
        counted=counted,
        serviced=tuple(places[each] for each in breaks),
        at_c=at_c,
        daily=None,
        flown=None,
        flown_at=(),
    )
    return _with_lines(made, settings)


def trend_notes(
    check: Check,
    answers: Iterable[ReadAnswer],
    conditions: Conditions,
    now: datetime,
    settings: TrendSettings = _USUAL,
) -> tuple[TrendNote, ...]:
    """Give how the gauges of a check went in the runs before, for its brief.

    Args:
        check: What will be run.
        answers: Of runs of its tail before, oldest first; as ``Journal.answers`` gives them.
        conditions: Of the day; gases are brought to its temperature.
        now: Clock time, with a UTC offset.
        settings: What counts.

    Returns:
        A note for each item whose gauge has readings enough since it was last serviced.
    """
    gauges = {item.id: gauge for item in check.items if (gauge := gauge_of(item)) is not None}
    known = by_series(answers, window_start(now, settings))
    temperature_c = None if conditions.temperature_c is None else float(conditions.temperature_c)
    notes = []
    for item_id, gauge in gauges.items():
        of_gauge = known.get(gauge.series, ())
        if len(of_gauge) < settings.least:
            continue
        found = trend(gauge, of_gauge, temperature_c=temperature_c, settings=settings)
        note = _note(item_id, found)
        if note is not None:
            notes.append(note)
    return tuple(notes)


def measured_oil_per_hour(
    gauge: Gauge, answers: Sequence[ReadAnswer], settings: TrendSettings = _USUAL
) -> MeasuredOil | None:
    """Give what an engine uses in an hour, as its own readings say.

    From the readings since the last fill, or if they are too few from those between the
    two fills before: what an engine uses does not change with a fill.

    Args:
        gauge: Its oil.
        answers: Its readings within the window, oldest first.
        settings: What counts.

    Returns:
        None if the hours flown are not known, or the readings are too few to tell.
    """
    found = trend(gauge, answers, settings=settings)
    ends = [0, *found.serviced, len(found.readings)]
    for first, end in zip(reversed(ends[:-1]), reversed(ends[1:]), strict=True):
        line, _ = _flown_line(found.readings[first:end], settings)
        if line is not None and line.slope.high < 0:
            return MeasuredOil(
                per_hour=-line.slope.middle,
                unit=gauge.unit,
                series=gauge.series,
                count=end - first,
            )
    return None


def measured_oil(
    check: Check,
    answers: Iterable[ReadAnswer],
    now: datetime,
    settings: TrendSettings = _USUAL,
) -> MeasuredOil | None:
    """Give what the engine of a check that uses most oil uses in an hour.

    One limit is worked out for all engines; so it is that of the thirstiest.

    Args:
        check: A check whose oil items say ``trend: flown-hours``.
        answers: Of runs of its tail before, oldest first; as ``Journal.answers`` gives them.
        now: Clock time, with a UTC offset.
        settings: What counts.

    Returns:
        None if that is known of no engine.
    """
    gauges = {
        gauge.series: gauge
        for item in check.items
        if (gauge := gauge_of(item)) is not None and gauge.kind is TrendKind.FLOWN_HOURS
    }
    known = by_series(answers, window_start(now, settings))
    found = [
        measured
        for series, gauge in gauges.items()
        if (measured := measured_oil_per_hour(gauge, known.get(series, ()), settings)) is not None
    ]
    return max(found, key=lambda one: one.per_hour, default=None)


# ---- within


def _reading(answer: ReadAnswer) -> GaugeReading:
    if answer.value is None:
        msg = f"an answer of {answer.run_id} to {answer.series} is no reading"
        raise ValueError(msg)
    read = float(answer.value)
    return GaugeReading(
        run_id=answer.run_id,
        at=moment(answer),
        read=read,
        value=read,
        temperature_c=None if answer.temperature_c is None else float(answer.temperature_c),
        hours=None if answer.hours is None else float(answer.hours),
    )


def _brought(one: GaugeReading, gauge: Gauge, at_c: float | None) -> GaugeReading:
    """Give a reading of a gas as it would be at another temperature."""
    if at_c is None or one.temperature_c is None:
        return replace(one, value=None)
    if one.temperature_c == at_c:
        return one
    psi = one.read if gauge.unit == "psi" else convert(one.read, gauge.unit, "psi")
    brought = same_content_psi if gauge.kind is TrendKind.OXYGEN else tyre_psi
    try:
        there = brought(psi, one.temperature_c, at_c)
    except ValueError:
        # colder than any day, or less than an empty gauge: it was misread
        return replace(one, value=None)
    value = there if gauge.unit == "psi" else convert(there, "psi", gauge.unit)
    return replace(one, value=value)


def _with_lines(made: Trend, settings: TrendSettings) -> Trend:
    """Put the lines to a trend whose readings are known."""
    counted = [made.readings[place] for place in made.counted]
    if len(counted) < settings.least:
        return made
    if made.gauge.kind is TrendKind.FLOWN_HOURS:
        line, hours = _flown_line(counted, settings)
        made = replace(made, flown=line, flown_at=hours)
    if made.days < settings.least_days:
        return made
    days = [(one.at - counted[0].at).total_seconds() / _DAY_S for one in counted]
    return replace(made, daily=theil_sen(days, _values(counted)))


def _flown_line(
    counted: Sequence[GaugeReading], settings: TrendSettings
) -> tuple[Line | None, tuple[float, ...]]:
    """Give the line by hours flown, and the hours at each reading; None where not known."""
    hours = [0.0]
    for before, after in pairwise(counted):
        if before.hours is None:
            return None, ()
        # a flight that was put off and planned again was flown once: no more hours than passed
        passed = (after.at - before.at).total_seconds() / _HOUR_S
        hours.append(hours[-1] + min(before.hours, passed))
    if len(counted) < settings.least or hours[-1] < settings.least_hours:
        return None, ()
    return theil_sen(hours, _values(counted)), tuple(hours)


def _values(counted: Sequence[GaugeReading]) -> list[float]:
    return [one.value for one in counted if one.value is not None]


def _note(item_id: str, found: Trend) -> TrendNote | None:
    if found.line is None:
        return None
    slope = found.line.slope
    # to six figures: it is kept with every run
    return TrendNote(
        item_id=item_id,
        per_day=_short(slope.middle),
        low=_short(slope.low),
        high=_short(slope.high),
        count=len(found.counted),
        days=round(found.over, 2),
        flown=found.flown is not None,
    )


def _short(value: float) -> float:
    return float(f"{value:.6g}")
