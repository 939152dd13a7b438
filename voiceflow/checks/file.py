"""The check file as authors write it.

Only shapes, one field after another: what fields mean to each other, and what they
become, is in ``resolve.py``.
"""

from typing import Annotated, Any, Literal

from pydantic import ConfigDict, Discriminator, Field, Tag

from voiceflow.checks.fields import (
    Bound,
    DurationS,
    FileModel,
    Fixed,
    Name,
    Revision,
    ScaleOrReference,
    Text,
    TrueOrFalse,
)
from voiceflow.checks.model import CheckKind, InterruptedPolicy, RemedyAction, TrendKind


class SourceFile(FileModel):
    """The document that the check was written from. That document prevails."""

    document: Text = Field(description="Name of the approved document, with its part.")
    revision: Revision = Field(description="Its revision; a newer one means a new look here.")


class RemedyFile(FileModel):
    """What to do when an item is not as expected; people decide, the tool says it."""

    action: RemedyAction = Field(
        description="Whom it concerns: maintenance, captain, or information (noted only)."
    )
    say: Text | None = Field(default=None, description='Words to say, such as "Call maintenance".')


class CautionFile(FileModel):
    """The part of the limits in which a reading is still good but worth a word."""

    below: Bound | None = Field(default=None, description="Caution below this reading.")
    above: Bound | None = Field(default=None, description="Caution above this reading.")


class DayReference(FileModel):
    """Something that is known of the day."""

    day: Literal["elevation", "temperature"] = Field(
        description="elevation (of the stand) or temperature (outside)."
    )


class SettingReference(FileModel):
    """What a faultless altimeter shows with its setting, by the standard atmosphere."""

    setting: Name = Field(description="The item with the altimeter's setting.")
    qnh: Name = Field(description="The item with the local pressure.")


def _reference_tag(value: Any) -> str:
    if isinstance(value, dict):
        return "DayReference" if "day" in value else "SettingReference"
    return "list" if isinstance(value, list | tuple) else "name"


class AgreementFile(FileModel):
    """Something else that a reading has to agree with."""

    reference: Annotated[
        Annotated[Name, Tag("name")]
        | Annotated[tuple[Name, ...], Tag("list")]
        | Annotated[DayReference, Tag("DayReference")]
        | Annotated[SettingReference, Tag("SettingReference")],
        Discriminator(_reference_tag),
    ] = Field(
        alias="with",
        description="An item of this file; a list of items, which are added up; {day: elevation}; "
        "or {setting: ITEM, qnh: ITEM}.",
    )
    within: Fixed = Field(
        description="Largest difference, in the unit of this gauge; of times in minutes."
    )
    time: TrueOrFalse = Field(
        default=False, description="Both are times of day, read as one number (1215)."
    )
    density: Fixed | None = Field(
        default=None, description="Kilograms a litre, where litres meet kilograms."
    )
    name: Text | None = Field(default=None, description="What it is called aloud.")
    outside: RemedyFile | None = Field(
        default=None, description="What to do if they disagree; else as the item has it."
    )


class ReadingFile(FileModel):
    """A number read from a gauge and spoken."""

    names: tuple[Text, ...] = Field(
        default=(), description='Words that may come before the number ("oxygen").'
    )
    unit: Text | None = Field(
        default=None,
        description="Unit symbol (psi, hPa, kg, %, V, C ...); left out for a bare number.",
    )
    scale: ScaleOrReference = Field(
        description="Marks of the gauge {from, to, step}, or {aircraft: NAME OF A GAUGE}."
    )
    minimum: Bound | None = Field(default=None, description="Lowest reading within limits.")
    maximum: Bound | None = Field(default=None, description="Highest reading within limits.")
    caution: CautionFile | None = Field(
        default=None, description="Caution band inside the limits: {below: ..., above: ...}."
    )
    agrees: tuple[AgreementFile, ...] = Field(
        default=(), description="What else it has to agree with."
    )
    series: Name | None = Field(
        default=None,
        description="The gauge's name over many runs; left out: the item's own.",
    )
    trend: TrendKind | None = Field(
        default=None,
        description="How readings of many runs are compared: plain; oxygen or air, a gas that is "
        "brought to one temperature; flown-hours; none. Left out: as the computed limit says.",
    )


class WaitFile(FileModel):
    """A timed thing: an answer that must come in time, or something ready later."""

    until: Text | None = Field(
        default=None, description="With within: the expected response that is waited for."
    )
    within: DurationS | None = Field(
        default=None, description='The response must come in this time ("10 s").'
    )
    late: RemedyFile | None = Field(
        default=None, description="With within: what to do when it comes late."
    )
    ready_in: DurationS | None = Field(
        default=None,
        description='Once the item is answered, something is ready after this time ("7 min").',
    )
    say: Text | None = Field(
        default=None, description="With ready_in: what is announced when it is ready."
    )


class ItemFile(FileModel):
    """One line of a check: a challenge and what answers it."""

    id: Name = Field(description="Short name, once in the file: crew-oxygen.")
    area: Text | None = Field(
        default=None, description="Where on the aircraft; said when it changes."
    )
    challenge: Text = Field(description="What is read out.")
    expect: tuple[Text, ...] = Field(
        default=(),
        description='Responses that satisfy the item: the actual state, not "checked".',
    )
    not_as_expected: tuple[Text, ...] = Field(
        default=(), description="Responses that say that something is wrong."
    )
    reading: ReadingFile | None = Field(default=None, description="A number from a gauge.")
    wait: WaitFile | None = Field(default=None, description="A timed thing.")
    when: dict[Name, Text] | None = Field(
        default=None,
        description="Only on tails whose equipment is this: {recorder: manual}.",
    )
    critical: TrueOrFalse = Field(default=False, description="Always confirmed.")
    may_wait: TrueOrFalse = Field(
        default=False, description="It may be offered for later when time is short."
    )
    outside: RemedyFile | None = Field(
        default=None, description="What to do when it is not as expected or outside limits."
    )


class HeaderFile(FileModel):
    """What stands above the items."""

    check: Name = Field(description="Short name of the check: cockpit-preparation.")
    title: Text = Field(description="What it is called aloud.")
    kind: CheckKind = Field(description="flow (area by area) or challenge-response.")
    language: Text = Field(default="en", description="Language of the words: en, ko ...")
    aircraft: Text = Field(description="Type of aircraft.")
    aircraft_file: Text | None = Field(
        default=None, description="Aircraft file used if no other is named; from this folder."
    )
    source: SourceFile = Field(description="The document that the check was written from.")
    interrupted: InterruptedPolicy = Field(
        default=InterruptedPolicy.RESUME,
        description="After an interruption: resume at the item, or restart the check.",
    )


def _titled(schema: dict[str, Any]) -> None:
    schema["title"] = "Voiceflow check file"


class CheckFile(HeaderFile):
    """A check: one procedure, done aloud."""

    model_config = ConfigDict(json_schema_extra=_titled)

    items: tuple[ItemFile, ...] = Field(min_length=1, description="The lines of the check.")
