"""Limits that are worked out for the day: from the aircraft file and the conditions."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from types import MappingProxyType
from typing import Final, TypeVar

from voiceflow.checks.aircraft import Aircraft, NamedLimit
from voiceflow.checks.computing import Compute, NotComputableError
from voiceflow.checks.model import ComputedLimit
from voiceflow.limits.oxygen import Cylinder, minimum_psi, required_l
from voiceflow.limits.servicing import oil_needed
from voiceflow.limits.units import convert

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """What is known of the day; None: it was not said.

    Attributes:
        temperature_c: Outside, and so of a cylinder that has stood there, degrees Celsius.
        crew: How many breathe of the crew's oxygen.
        hours: Planned of the engines.
        elevation_ft: Of the stand.
        density_kg_l: Of the fuel that is taken on, kilograms a litre.
    """

    temperature_c: Decimal | None = None
    crew: int | None = None
    hours: Decimal | None = None
    elevation_ft: Decimal | None = None
    density_kg_l: Decimal | None = None


#: Nothing was said of the day.
UNKNOWN: Final = Conditions()
#: Some day, for who only looks at a check: nothing is judged by it.
SOME_DAY: Final = Conditions(
    temperature_c=Decimal(15), crew=2, hours=Decimal(2), elevation_ft=Decimal(0)
)


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredOil:
    """What an engine uses, as its own readings over many runs say.

    Attributes:
        per_hour: In an hour flown, in ``unit``; above 0.
        unit: Unit symbol.
        series: The gauge it was read from.
        count: How many readings are behind it.
    """

    per_hour: float
    unit: str
    series: str
    count: int


def computing(conditions: Conditions, oil: MeasuredOil | None = None) -> Compute:
    """Give what works out limits under these conditions, for ``load_check``.

    Args:
        conditions: Of the day.
        oil: What the engine that uses most was seen to use; it counts where it is more than
            the aircraft file has. None: nothing is known of it.
    """

    def compute(name: str, aircraft: Aircraft) -> ComputedLimit:
        known = _LIMITS.get(name)
        if known is None:
            what = f"nothing called {name!r} can be worked out"
            raise NotComputableError(what, f"There are {', '.join(sorted(_LIMITS))}.")
        try:
            return known(name, aircraft, conditions, oil)
        except ValueError as error:
            what = f"{name} cannot be worked out: {error}"
            raise NotComputableError(
                what, "Put the aircraft file or the conditions right."
            ) from error

    return compute


def _crew_oxygen(
    name: str, aircraft: Aircraft, day: Conditions, _oil: MeasuredOil | None
) -> ComputedLimit:
    oxygen = aircraft.oxygen
    if oxygen is None:
        what = f"the aircraft file of {aircraft.tail} has no oxygen: to work {name} out from"
        raise NotComputableError(what, "Add oxygen: with cylinder, flow and lasting.")
    temperature_c = _wanted(day.temperature_c, name, "the temperature", "--temperature 15")
    crew = _wanted(day.crew, name, "how many breathe of it", "--crew 2")
    cylinder = Cylinder(
        volume_l=_in(oxygen.volume, "L"),
        full_psi=_in(oxygen.full, "psi"),
        full_at_c=_in(oxygen.full_at, "C"),
        empty_psi=_in(oxygen.empty, "psi"),
    )
    minutes = oxygen.lasting_s / 60
    flow_l_min = _in(oxygen.flow, "L/min")
    least = minimum_psi(cylinder, required_l(crew, minutes, flow_l_min), float(temperature_c))
    basis = (
        f"{crew} of the crew, {minutes:g} min at {flow_l_min:g} L/min each, cylinder of "
        f"{cylinder.volume_l:g} L at {temperature_c} C, {cylinder.empty_psi:g} psi stay in it"
    )
    # up to a whole psi: a limit is spoken
    value = Decimal(least).to_integral_value(ROUND_CEILING)
    return ComputedLimit(name=name, value=value, unit="psi", basis=basis)


def _engine_oil(
    name: str, aircraft: Aircraft, day: Conditions, measured: MeasuredOil | None
) -> ComputedLimit:
    oil = aircraft.oil
    if oil is None:
        what = f"the aircraft file of {aircraft.tail} has no oil: to work {name} out from"
        raise NotComputableError(what, "Add oil: with minimum and consumption.")
    hours = _wanted(day.hours, name, "the planned hours", "--hours 2.5")
    unit = oil.minimum.unit
    used, whence = _in(oil.consumption, unit), ""
    if measured is not None:
        # as exactly as it is told
        seen = float(f"{convert(measured.per_hour, measured.unit, unit):.3g}")
        whence = ", as the aircraft file has it"
        if seen > used:
            used = seen
            whence = f", as {measured.count} readings of {measured.series} have it"
    least = oil_needed(float(oil.minimum.value), used, float(hours))
    basis = f"{oil.minimum.value} {unit} after {hours} h at {used:g} {unit} an hour{whence}"
    value = Decimal(repr(round(least, 6))).quantize(Decimal("0.1"), ROUND_CEILING)
    return ComputedLimit(name=name, value=value, unit=unit, basis=basis)


def _wanted(value: T | None, name: str, what: str, option: str) -> T:
    if value is None:
        missing = f"{name} is worked out for the day, and {what} was not given"
        raise NotComputableError(missing, f"Give {option}.")
    return value


def _in(limit: NamedLimit, unit: str) -> float:
    return convert(float(limit.value), limit.unit, unit)


_Working = Callable[[str, Aircraft, Conditions, MeasuredOil | None], ComputedLimit]
_LIMITS: Final[Mapping[str, _Working]] = MappingProxyType(
    {"crew-oxygen": _crew_oxygen, "engine-oil": _engine_oil}
)
