"""Limits that are worked out for the day: from the aircraft file and the conditions."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from types import MappingProxyType
from typing import Final, TypeVar

from voiceflow.checks.aircraft import Aircraft, NamedLimit, Oxygen
from voiceflow.checks.computing import Compute, NotComputableError
from voiceflow.checks.model import ComputedLimit, OxygenSupply
from voiceflow.checks.validation import did_you_mean
from voiceflow.limits.conditions import SOME_DAY, UNKNOWN, Conditions
from voiceflow.limits.fuel import fuel_required
from voiceflow.limits.oxygen import Cylinder, minimum_psi, required_l
from voiceflow.limits.parts import part_names, work_out_part
from voiceflow.limits.servicing import oil_needed
from voiceflow.limits.units import convert

__all__ = [
    "SOME_DAY",
    "UNKNOWN",
    "Conditions",
    "MeasuredOil",
    "computing",
    "cylinder_of",
    "names_for",
]

T = TypeVar("T")


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
        try:
            if known is not None:
                return known(name, aircraft, conditions, oil)
            found = work_out_part(name, aircraft, conditions)
            if found is not None:
                return found
        except ValueError as error:
            what = f"{name} cannot be worked out: {error}"
            raise NotComputableError(
                what, "Put the aircraft file or the conditions right."
            ) from error
        what = f"nothing called {name!r} can be worked out"
        names = (*sorted(_LIMITS), *part_names(aircraft))
        raise NotComputableError(what, did_you_mean(name, names, f"There are {', '.join(names)}."))

    return compute


def names_for(aircraft: Aircraft) -> tuple[str, ...]:
    """Give the names of what can be worked out from an aircraft's file."""
    has = {
        "crew-oxygen": aircraft.oxygen,
        "engine-oil": aircraft.oil,
        "fuel-required": aircraft.fuel,
    }
    return (*(name for name, block in has.items() if block is not None), *part_names(aircraft))


def cylinder_of(oxygen: Oxygen) -> Cylinder:
    """Give the crew's cylinder in psi, litres and degrees Celsius.

    Raises:
        ValueError: If a unit of the file measures something else.
    """
    return Cylinder(
        volume_l=_in(oxygen.volume, "L"),
        full_psi=_in(oxygen.full, "psi"),
        full_at_c=_in(oxygen.full_at, "C"),
        empty_psi=_in(oxygen.empty, "psi"),
    )


def _crew_oxygen(
    name: str, aircraft: Aircraft, day: Conditions, _oil: MeasuredOil | None
) -> ComputedLimit:
    oxygen = aircraft.oxygen
    if oxygen is None:
        what = f"the aircraft file of {aircraft.tail} has no oxygen: to work {name} out from"
        raise NotComputableError(what, "Add oxygen: with cylinder, flow and lasting.")
    temperature_c = _wanted(day.temperature_c, name, "the temperature", "--temperature 15")
    crew = _wanted(day.crew, name, "how many breathe of it", "--crew 2")
    cylinder = cylinder_of(oxygen)
    minutes = oxygen.lasting_s / 60
    flow_l_min = _in(oxygen.flow, "L/min")
    least = minimum_psi(cylinder, required_l(crew, minutes, flow_l_min), float(temperature_c))
    basis = (
        f"{crew} of the crew, {minutes:g} min at {flow_l_min:g} L/min each, cylinder of "
        f"{cylinder.volume_l:g} L at {temperature_c} C, {cylinder.empty_psi:g} psi stay in it"
    )
    # up to a whole psi: a limit is spoken
    value = Decimal(least).to_integral_value(ROUND_CEILING)
    supply = OxygenSupply(
        volume_l=cylinder.volume_l,
        empty_psi=cylinder.empty_psi,
        temperature_c=float(temperature_c),
        crew=crew,
        flow_l_min=flow_l_min,
    )
    return ComputedLimit(name=name, value=value, unit="psi", basis=basis, supply=supply)


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


def _fuel_required(
    name: str, aircraft: Aircraft, day: Conditions, _oil: MeasuredOil | None
) -> ComputedLimit:
    fuel = aircraft.fuel
    if fuel is None:
        what = f"the aircraft file of {aircraft.tail} has no fuel: to work {name} out from"
        raise NotComputableError(what, "Add fuel: with burn, reserve and taxi.")
    hours = _wanted(day.hours, name, "the planned hours", "--hours 2.5")
    unit = fuel.burn.unit
    burn, reserve, taxi = (_in(each, unit) for each in (fuel.burn, fuel.reserve, fuel.taxi))
    least = fuel_required(float(hours), burn, reserve=reserve, taxi=taxi)
    basis = (
        f"{hours} h at {burn:g} {unit} an hour, reserve {reserve:g} {unit}, taxi {taxi:g} {unit}"
    )
    value = Decimal(repr(round(least, 6))).to_integral_value(ROUND_CEILING)
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
    {
        "crew-oxygen": _crew_oxygen,
        "engine-oil": _engine_oil,
        "fuel-required": _fuel_required,
    }
)
