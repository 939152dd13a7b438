"""The plan of a sector: which checks, in which order, and what is known of the flight.

Holds the file's shape (pydantic), what it becomes (``Plan``), and how the checks that it
names become one check of several parts, which is what runs.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any

from pydantic import BeforeValidator, ConfigDict, Discriminator, Field, Tag, WithJsonSchema

from voiceflow.checks.fields import DurationS, FileModel, Name, Number, Text, refusal, shown
from voiceflow.checks.model import Agreement, Check, Item, Part, Source
from voiceflow.checks.problem import Problem
from voiceflow.checks.validation import validate
from voiceflow.checks.yaml_tree import Tree, TreePath, read_tree
from voiceflow.errors import CheckFileError


def _time_of_day(value: object) -> str:
    if isinstance(value, str):
        hours, colon, minutes = value.partition(":")
        whole = hours.isascii() and hours.isdecimal() and minutes.isascii() and minutes.isdecimal()
        if colon and whole and len(minutes) == 2 and int(hours) < 24 and int(minutes) < 60:
            return f"{int(hours):02d}:{minutes}"
    raise refusal(
        "bad-time",
        f"a time of day is wanted, not {shown(value)}",
        'Write hours and minutes in UTC, in quotes: "05:40".',
    )


TimeOfDay = Annotated[
    str,
    BeforeValidator(_time_of_day),
    WithJsonSchema({"type": "string", "pattern": "^([01]?[0-9]|2[0-3]):[0-5][0-9]$"}),
]


class Beginning(StrEnum):
    """When the next check of a sector begins."""

    ON_CALL = "on call"  # when the person says so
    AT_ONCE = "at once"


class Leg(StrEnum):
    """Which side of the flight a check is on."""

    BEFORE = "before departure"
    AFTER = "after flight"


class SlotFile(FileModel):
    """A take-off time with a window. Exactly one of the two."""

    ctot: TimeOfDay | None = Field(
        default=None, description="Calculated take-off time, UTC: 5 min before to 10 min after it."
    )
    edct: TimeOfDay | None = Field(
        default=None, description="Expect departure clearance time, UTC: 5 min before or after it."
    )


class PlannedCheckFile(FileModel):
    """One check of the sector."""

    check: Text = Field(description="Name of a shipped check, or a file, from this folder.")
    begin: Beginning = Field(
        default=Beginning.ON_CALL, description="on call: when you say so; or at once."
    )
    leg: Leg = Field(
        default=Leg.BEFORE, description="before departure; or after flight, when no slot waits."
    )


def _check_tag(value: Any) -> str:
    return "PlannedCheckFile" if isinstance(value, dict) else "name"


def _titled(schema: dict[str, Any]) -> None:
    schema["title"] = "Voiceflow sector plan"


class PlanFile(FileModel):
    """A sector: several checks, one flight."""

    model_config = ConfigDict(json_schema_extra=_titled)

    plan: Name = Field(description="Short name of the plan.")
    title: Text = Field(description="What it is called aloud.")
    aircraft_file: Text | None = Field(
        default=None, description="Aircraft file of this flight; from this folder."
    )
    captain: Text | None = Field(default=None, description="Who signs at the end; none: nobody.")
    flight: Text | None = Field(default=None, description="As it is written.")
    off_blocks: TimeOfDay | None = Field(
        default=None, description="When the aircraft leaves its stand, UTC."
    )
    taxi: DurationS | None = Field(
        default=None, description='From the stand to the runway ("8 min").'
    )
    slot: SlotFile | None = Field(default=None, description="Take-off time with a window.")
    hours: Number | None = Field(default=None, description="Planned, of the engines.")
    temperature: Number | None = Field(default=None, description="Outside, degrees Celsius.")
    elevation: Number | None = Field(default=None, description="Of the stand, feet.")
    density: Number | None = Field(
        default=None, description="Of the fuel that is taken on, kilograms a litre."
    )
    crew: Number | None = Field(default=None, description="How many breathe of the crew's oxygen.")
    situation: dict[Name, Text] = Field(
        default_factory=dict,
        description="For when: of items, beside the equipment: {flight-of-day: first}.",
    )
    checks: tuple[
        Annotated[
            Annotated[Text, Tag("name")] | Annotated[PlannedCheckFile, Tag("PlannedCheckFile")],
            Discriminator(_check_tag),
        ],
        ...,
    ] = Field(min_length=1, description="The checks, in order.")


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedCheck:
    """A check of a sector.

    Attributes:
        name: Its name or path.
        pauses: It begins on the person's word.
        after_flight: It comes after the flight.
    """

    name: str
    pauses: bool = True
    after_flight: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The plan of a sector, ready for use.

    Attributes:
        path: Its file.
        id: Its short name.
        title: What it is called aloud.
        aircraft_file: The aircraft file of this flight; None: the checks name theirs.
        captain: Who signs; empty: nobody is asked.
        flight: As it is written; may be empty.
        off_blocks: UTC, "HH:MM"; None: not planned.
        taxi_s: From the stand to the runway, seconds.
        ctot: Calculated take-off time, UTC.
        edct: Expect departure clearance time, UTC.
        hours: Planned, of the engines.
        temperature_c: Outside.
        elevation_ft: Of the stand.
        density_kg_l: Of the fuel that is taken on, kilograms a litre.
        crew: How many breathe of the crew's oxygen.
        situation: What items' ``when`` may ask for beside the equipment.
        checks: In order; at least one.
        digest: SHA-256 of the file's bytes, hexadecimal.
    """

    path: Path
    id: str
    title: str
    checks: tuple[PlannedCheck, ...]
    aircraft_file: Path | None = None
    captain: str = ""
    flight: str = ""
    off_blocks: str | None = None
    taxi_s: float = 0.0
    ctot: str | None = None
    edct: str | None = None
    hours: Decimal | None = None
    temperature_c: Decimal | None = None
    elevation_ft: Decimal | None = None
    density_kg_l: Decimal | None = None
    crew: int | None = None
    situation: Mapping[str, str] = field(default_factory=dict)
    digest: str = ""


def load_plan(path: Path) -> Plan:
    """Load the plan of a sector.

    Raises:
        CheckFileError: With every problem of the file.
    """
    tree = read_tree(path)
    problems = list(tree.problems)
    if not isinstance(tree.value, dict):
        what = "the file is no list of keys and values"
        problems = problems or [tree.problem((), "wrong-type", what, "Begin with plan: NAME.")]
        raise CheckFileError(tuple(problems))
    validated = validate(tree, tree.value, (), PlanFile)
    problems += validated.problems
    written = validated.model
    if written is not None:
        problems += _problems(tree, written, validated.cut)
    if problems or written is None:
        raise CheckFileError(tuple(sorted(problems)))
    slot = written.slot or SlotFile()
    return Plan(
        path=path,
        id=written.plan,
        title=written.title,
        checks=tuple(
            PlannedCheck(name=each)
            if isinstance(each, str)
            else PlannedCheck(
                name=each.check,
                pauses=each.begin is Beginning.ON_CALL,
                after_flight=each.leg is Leg.AFTER,
            )
            for each in written.checks
        ),
        aircraft_file=None
        if written.aircraft_file is None
        else path.parent / written.aircraft_file,
        captain=written.captain or "",
        flight=written.flight or "",
        off_blocks=written.off_blocks,
        taxi_s=written.taxi or 0.0,
        ctot=slot.ctot,
        edct=slot.edct,
        hours=written.hours,
        temperature_c=written.temperature,
        elevation_ft=written.elevation,
        density_kg_l=written.density,
        crew=None if written.crew is None else int(written.crew),
        situation=dict(written.situation),
        digest=tree.digest,
    )


def _problems(tree: Tree, written: PlanFile, cut: frozenset[str]) -> list[Problem]:
    """Hold the sound keys of a plan against each other."""
    found: list[Problem] = []

    def problem(path: TreePath, rule: str, what: str, remedy: str) -> None:
        found.append(tree.problem(path, rule, what, remedy))

    slot = written.slot
    if slot is not None and "slot" not in cut and (slot.ctot is None) == (slot.edct is None):
        problem(("slot",), "slot-times", "a slot has one time", "Give ctot: or edct:, not both.")
    if (
        written.aircraft_file is not None
        and not (tree.path.parent / written.aircraft_file).exists()
    ):
        what = f"there is no aircraft file {written.aircraft_file!r} beside this file"
        remedy = "Put its name right; it is looked up from the folder of the plan."
        problem(("aircraft_file",), "no-aircraft-file", what, remedy)
    ranges = (
        ("crew", written.crew, 1, 20, "people"),
        ("hours", written.hours, 0, 24, "h"),
        ("temperature", written.temperature, -60, 60, "C"),
        ("elevation", written.elevation, -2000, 20000, "ft"),
        ("density", written.density, Decimal("0.6"), 1, "kg/L"),
    )
    for key, value, least, most, unit in ranges:
        if value is not None and not least <= value <= most:
            what = f"{key} {value} {unit} cannot be"
            problem((key,), "out-of-range", what, f"Give {least} to {most}.")
    if written.crew is not None and written.crew != written.crew.to_integral_value():
        problem(("crew",), "out-of-range", "people are counted whole", "Give a whole number.")
    return found


def composed(plan: Plan, checks: Sequence[Check]) -> Check:
    """Make one check of several parts, its items named ``CHECK.ITEM``.

    Args:
        plan: The plan.
        checks: Its checks in order, loaded for one aircraft.

    Raises:
        CheckFileError: If two of them are the same, or are for different aircraft or in
            different languages.
    """
    problems = _misfits(plan, checks)
    if problems:
        raise CheckFileError(problems)
    first = checks[0]
    return replace(
        first,
        id=plan.id,
        title=plan.title,
        source=Source(document=f"sector plan {plan.path.name}", revision=plan.digest[:12]),
        items=tuple(_placed(check, item) for check in checks for item in check.items),
        check_digest=plan.digest,
        computed=tuple(dict.fromkeys(limit for check in checks for limit in check.computed)),
        parts=tuple(
            Part(
                check_id=check.id,
                title=check.title,
                kind=check.kind,
                source=check.source,
                digest=check.check_digest,
                items=len(check.items),
                interrupted=check.interrupted,
                pauses=planned.pauses,
                after_flight=planned.after_flight,
            )
            for check, planned in zip(checks, plan.checks, strict=True)
        ),
    )


def _misfits(plan: Plan, checks: Sequence[Check]) -> tuple[Problem, ...]:
    tree = read_tree(plan.path)
    found = []
    first = checks[0]
    names = [check.id for check in checks]
    for index, check in enumerate(checks):
        path: TreePath = ("checks", index)
        if check.id in names[:index]:
            what = f"the check {check.id} stands twice in the plan"
            found.append(tree.problem(path, "same-check", what, "Keep one, or copy it anew."))
        if (check.tail, check.aircraft) != (first.tail, first.aircraft):
            what = f"{check.id} is for {check.aircraft} {check.tail}, not {first.tail}"
            remedy = "Name the aircraft of this flight in the plan: aircraft_file."
            found.append(tree.problem(path, "other-aircraft", what, remedy))
        if check.language != first.language:
            what = f"{check.id} is in the language {check.language}, not {first.language}"
            found.append(tree.problem(path, "other-language", what, "Use checks of one language."))
    return tuple(found)


def _placed(check: Check, item: Item) -> Item:
    """Give an item as the sector names it; what it is compared with is of the same check."""
    spec = item.reading
    if spec is not None:
        spec = replace(
            spec,
            agrees=tuple(_renamed(check.id, each) for each in spec.agrees),
            series=spec.series or item.id,
        )
    return replace(item, id=f"{check.id}.{item.id}", reading=spec)


def _renamed(check_id: str, agreement: Agreement) -> Agreement:
    reference = agreement.reference

    def named(item_id: str | None) -> str | None:
        return None if item_id is None else f"{check_id}.{item_id}"

    return replace(
        agreement,
        reference=replace(
            reference,
            readings=tuple(f"{check_id}.{item_id}" for item_id in reference.readings),
            setting=named(reference.setting),
            qnh=named(reference.qnh),
        ),
    )
