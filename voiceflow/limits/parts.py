"""Limits of the aircraft's named parts: tyres, hydraulic contents, batteries.

A limit is called after what it is and which part: ``tyre-minimum-nose``.
"""

from collections.abc import Callable, Iterator, Mapping
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from types import MappingProxyType
from typing import Any, Final

from voiceflow.checks.aircraft import Aircraft, Battery, Hydraulic, NamedLimit, Tyre
from voiceflow.checks.computing import NotComputableError
from voiceflow.checks.model import ComputedLimit
from voiceflow.limits.conditions import Conditions
from voiceflow.limits.servicing import by_temperature, first_mark_above, tyre_psi
from voiceflow.limits.units import convert

_TENTH: Final = Decimal("0.1")


def part_names(aircraft: Aircraft) -> tuple[str, ...]:
    """Give the names of all limits of this aircraft's parts."""
    return tuple(_names(aircraft))


def work_out_part(name: str, aircraft: Aircraft, day: Conditions) -> ComputedLimit | None:
    """Work out a limit of a part.

    Args:
        name: What it is called.
        aircraft: The aircraft.
        day: Its conditions.

    Returns:
        None if nothing is called that on any aircraft.

    Raises:
        NotComputableError: If something is missing.
        ValueError: If units do not go together.
    """
    for prefix, (section, work) in _FAMILIES.items():
        if name.startswith(prefix):
            part = name.removeprefix(prefix)
            known = getattr(aircraft, section)
            if part not in known:
                what = f"the aircraft file of {aircraft.tail} has no {part!r} under {section}"
                names = f"There are {', '.join(known)}." if known else f"Add {section}: to it."
                raise NotComputableError(what, names)
            return work(name, known[part], aircraft, day)
    return None


def _names(aircraft: Aircraft) -> Iterator[str]:
    for prefix, (section, _) in _FAMILIES.items():
        for part, each in getattr(aircraft, section).items():
            if prefix == _TYRE_MAXIMUM and each.above is None:
                continue
            yield f"{prefix}{part}"


# --- tyres ---


def _tyre_now(name: str, tyre: Tyre, day: Conditions) -> tuple[float, str]:
    """Give what a tyre is to show at the temperature of the day, in its unit, and from what."""
    if day.temperature_c is None:
        missing = f"{name} is worked out for the day, and the temperature was not given"
        raise NotComputableError(missing, "Give --temperature 15.")
    unit = tyre.pressure.unit
    at_c = _in(tyre.at, "C")
    shown_psi = tyre_psi(_in(tyre.pressure, "psi"), at_c, float(day.temperature_c))
    shown = convert(shown_psi, "psi", unit)
    basis = (
        f"{tyre.pressure.value} {unit} at {at_c:g} C are {shown:.4g} {unit} at "
        f"{day.temperature_c} C"
    )
    return shown, basis


def _finest(tyre: Tyre) -> Decimal:
    """Give what tells how finely such a tyre is read: to a whole psi, else as it is written."""
    return Decimal(1) if tyre.pressure.unit == "psi" else tyre.pressure.value


def _tyre_minimum(name: str, tyre: Tyre, _aircraft: Aircraft, day: Conditions) -> ComputedLimit:
    unit = tyre.pressure.unit
    shown, basis = _tyre_now(name, tyre, day)
    less = _in(tyre.below, unit)
    return ComputedLimit(
        name=name,
        value=_rounded(shown - less, _finest(tyre), ROUND_CEILING),
        unit=unit,
        basis=f"{basis}, {less:g} {unit} less are allowed",
    )


def _tyre_maximum(name: str, tyre: Tyre, aircraft: Aircraft, day: Conditions) -> ComputedLimit:
    if tyre.above is None:
        what = f"{name} cannot be worked out: the tyre has no above: in {aircraft.tail}'s file"
        raise NotComputableError(what, "Add how much more is allowed.")
    unit = tyre.pressure.unit
    shown, basis = _tyre_now(name, tyre, day)
    more = _in(tyre.above, unit)
    return ComputedLimit(
        name=name,
        value=_rounded(shown + more, _finest(tyre), ROUND_FLOOR),
        unit=unit,
        basis=f"{basis}, {more:g} {unit} more are allowed",
    )


def _tyre_pressure(name: str, tyre: Tyre, _aircraft: Aircraft, day: Conditions) -> ComputedLimit:
    shown, basis = _tyre_now(name, tyre, day)
    value = _rounded(shown, _finest(tyre), ROUND_HALF_EVEN)
    return ComputedLimit(name=name, value=value, unit=tyre.pressure.unit, basis=basis)


# --- hydraulic contents ---


def _hydraulic_minimum(
    name: str, contents: Hydraulic, aircraft: Aircraft, _day: Conditions
) -> ComputedLimit:
    """Give the first mark above where it is refilled: that mark itself calls for a refill."""
    gauge = aircraft.gauges.get(contents.gauge)
    if gauge is None:
        what = f"{name} cannot be worked out: there is no gauge {contents.gauge!r}"
        raise NotComputableError(what, f"Add it to {aircraft.tail}'s file under gauges.")
    refill, full = (Decimal(repr(_in(each, gauge.unit))) for each in _bands(contents))
    if refill >= full:
        what = f"{name} cannot be worked out: full at {full} and refilled at {refill}"
        raise NotComputableError(what, "Put one of them right.")
    value = first_mark_above(refill, gauge.scale)
    unit = gauge.unit
    basis = (
        f"refilled at {contents.refill_at.value} {unit} or less, the next mark is {value} {unit}"
    )
    return ComputedLimit(name=name, value=value, unit=unit, basis=basis)


def _bands(contents: Hydraulic) -> tuple[NamedLimit, NamedLimit]:
    return contents.refill_at, contents.full_at


def _hydraulic_maximum(
    name: str, contents: Hydraulic, _aircraft: Aircraft, _day: Conditions
) -> ComputedLimit:
    full = contents.full_at
    basis = f"full at {full.value} {full.unit}"
    return ComputedLimit(name=name, value=full.value, unit=full.unit, basis=basis)


# --- batteries ---


def _battery_minimum(
    name: str, battery: Battery, aircraft: Aircraft, day: Conditions
) -> ComputedLimit:
    rows = battery.by_temperature
    if rows and day.temperature_c is not None:
        unit = rows[0][1].unit
        known = [(_in(at, "C"), _in(minimum, unit)) for at, minimum in rows]
        least = by_temperature(known, float(day.temperature_c))
        listed = ", ".join(f"{volts:g} {unit} at {at_c:g} C" for at_c, volts in sorted(known))
        value = _rounded(least, _TENTH, ROUND_CEILING)
        basis = f"{listed}; at {day.temperature_c} C"
        return ComputedLimit(name=name, value=value, unit=unit, basis=basis)
    plain = battery.minimum
    if plain is not None:
        basis = "at any temperature" if not rows else "the temperature was not given"
        return ComputedLimit(name=name, value=plain.value, unit=plain.unit, basis=basis)
    if rows:
        missing = f"{name} is worked out for the day, and the temperature was not given"
        raise NotComputableError(missing, "Give --temperature 15.")
    what = f"{name} cannot be worked out: the battery has no minimum in {aircraft.tail}'s file"
    raise NotComputableError(what, "Add minimum: or by_temperature: to it.")


def _in(limit: NamedLimit, unit: str) -> float:
    return convert(float(limit.value), limit.unit, unit)


def _rounded(value: float, like: Decimal, rounding: str) -> Decimal:
    """Give a limit with as many decimals as the file writes such values: it is spoken."""
    exponent = min(int(like.as_tuple().exponent), 0)
    return Decimal(repr(round(value, 6))).quantize(Decimal(1).scaleb(exponent), rounding)


_Working = Callable[[str, Any, Aircraft, Conditions], ComputedLimit]
_TYRE_MAXIMUM: Final = "tyre-maximum-"
#: Beginning of the name -> where the part stands in the aircraft file, and how it is done.
_FAMILIES: Final[Mapping[str, tuple[str, _Working]]] = MappingProxyType(
    {
        "tyre-minimum-": ("tyres", _tyre_minimum),
        _TYRE_MAXIMUM: ("tyres", _tyre_maximum),
        "tyre-pressure-": ("tyres", _tyre_pressure),
        "hydraulic-minimum-": ("hydraulics", _hydraulic_minimum),
        "hydraulic-maximum-": ("hydraulics", _hydraulic_maximum),
        "battery-minimum-": ("batteries", _battery_minimum),
    }
)
