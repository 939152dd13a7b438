"""``voiceflow limits``: what can be worked out from an aircraft file for a day."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Final

import click

from voiceflow.checks.aircraft import Aircraft
from voiceflow.checks.computing import NotComputableError
from voiceflow.checks.loader import load_aircraft
from voiceflow.checks.shipped import find_aircraft
from voiceflow.cli import options
from voiceflow.cli.exit_status import DONE
from voiceflow.cli.main import CAUTION
from voiceflow.errors import UsageError
from voiceflow.limits.computed import Conditions, computing, cylinder_of, names_for
from voiceflow.limits.oxygen import fill_psi, lasting_min
from voiceflow.limits.units import convert

#: Degrees Celsius of the table of filling pressures.
_TEMPERATURES_C: Final = range(-40, 51, 10)
#: From one row to the next of the table of how long readings last, psi.
_ROW_PSI: Final = 200


@click.command("limits")
@click.argument("aircraft")
@options.together(options.temperature, options.crew, options.hours)
def command(aircraft: str, temperature: float | None, crew: int | None, hours: float | None) -> int:
    """Work out the limits of a day from AIRCRAFT's file, and say what from.

    AIRCRAFT is an aircraft file, or the name of one that comes with Voiceflow. Every
    limit that a check can ask for by {compute: NAME} is printed with its basis, or with
    what is missing; then what a full oxygen cylinder shows by temperature, and how long a
    reading lasts.

    \b
    Examples:
      voiceflow limits x-skr7 --temperature -20 --crew 2 --hours 1.2
      voiceflow limits my-aircraft.yaml --temperature 30
    """
    known = load_aircraft(find_aircraft(aircraft))
    day = options.conditions_of(temperature, crew, hours)
    names = names_for(known)
    if not names:
        raise UsageError(
            f"nothing can be worked out from the file of {known.tail}",
            "Add oxygen:, oil:, tyres:, hydraulics:, batteries: or fuel: to it.",
        )
    click.echo(click.style(CAUTION, dim=True), err=True)
    for line in (*_limits(known, names, day), *_oxygen(known, day)):
        click.echo(line)
    return DONE


def _limits(aircraft: Aircraft, names: tuple[str, ...], day: Conditions) -> Iterator[str]:
    compute = computing(day)
    for name in names:
        try:
            limit = compute(name, aircraft)
        except NotComputableError as error:
            yield f"{name}: not worked out. {error.what}. {error.remedy}"
        else:
            yield f"{name}: {limit.value} {limit.unit}. {limit.basis}"


def _oxygen(aircraft: Aircraft, day: Conditions) -> Iterator[str]:
    oxygen = aircraft.oxygen
    if oxygen is None:
        return
    try:
        cylinder = cylinder_of(oxygen)
        flow_l_min = convert(float(oxygen.flow.value), oxygen.flow.unit, "L/min")
        filled = [(each, fill_psi(cylinder, each)) for each in _TEMPERATURES_C]
    except ValueError as error:
        raise UsageError(
            f"the oxygen of {aircraft.tail} cannot be worked out: {error}",
            "Put the aircraft file right.",
        ) from error
    yield ""
    yield "A full oxygen cylinder shows"
    yield from (f"{each:5d} C  {psi:5.0f} psi" for each, psi in filled)
    crew, at_c = day.crew, day.temperature_c
    if crew is None or at_c is None:
        return
    yield ""
    yield f"Crew oxygen lasts {crew} at {at_c} C"
    for psi in range(_highest(cylinder.full_psi), 0, -_ROW_PSI):
        minutes = lasting_min(cylinder, psi, float(at_c), crew, flow_l_min)
        yield f"{psi:5d} psi  {int(minutes):4d} min"


def _highest(full_psi: float) -> int:
    """Give the first row at or below a full cylinder."""
    return int(Decimal(repr(full_psi)) // _ROW_PSI) * _ROW_PSI
