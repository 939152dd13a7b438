"""The aircraft file: what differs between tails.

Holds the file's shape (pydantic) and what it becomes (``Aircraft``).
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from pydantic import ConfigDict, Field

from voiceflow.checks.fields import DurationS, FileModel, Name, Number, ScaleMarks, Text
from voiceflow.numbers.scale import Scale


class GaugeFile(FileModel):
    """A gauge of this tail."""

    unit: Text | None = Field(default=None, description="Unit symbol; none for a bare number.")
    scale: ScaleMarks = Field(description="Its marks: {from, to, step}.")


class LimitFile(FileModel):
    """A limit of this tail."""

    value: Number = Field(description="The limit.")
    unit: Text | None = Field(default=None, description="Its unit, the same as the gauge's.")


class CylinderFile(FileModel):
    """An oxygen cylinder."""

    volume: LimitFile = Field(description="What it holds of water: {value: 11, unit: L}.")
    full: LimitFile = Field(description="What its gauge shows when it is full.")
    full_at: LimitFile | None = Field(
        default=None, description="... at this temperature (21 C if left out)."
    )
    empty: LimitFile | None = Field(
        default=None, description="What must stay in it: gauge pressure (0 if left out)."
    )


class OxygenFile(FileModel):
    """The crew's oxygen."""

    cylinder: CylinderFile = Field(description="The cylinder.")
    flow: LimitFile = Field(
        description="What each of the crew uses: {value: 3.9, unit: L/min}, 0 C and 760 mmHg."
    )
    lasting: DurationS = Field(description='How long it has to last for each: "120 min".')


class OilFile(FileModel):
    """Oil of each engine."""

    minimum: LimitFile = Field(description="Least contents at the end.")
    consumption: LimitFile = Field(
        description="Measured, an hour, in the unit of the minimum: {value: 0.3, unit: qt}."
    )


class TyreFile(FileModel):
    """A tyre: what it has to show, and how warm it is then."""

    minimum: LimitFile = Field(description="Least pressure: {value: 55, unit: psi}.")
    maximum: LimitFile = Field(description="Greatest pressure.")
    at: LimitFile = Field(description="... at this temperature: {value: 15, unit: C}.")


def _titled(schema: dict[str, Any]) -> None:
    schema["title"] = "Voiceflow aircraft file"


class AircraftFile(FileModel):
    """One tail: equipment, gauges and limits that checks refer to by name."""

    model_config = ConfigDict(json_schema_extra=_titled)

    aircraft: Text = Field(description="Type of aircraft, as check files name it.")
    tail: Text = Field(description="Registration.")
    operator: Text | None = Field(default=None, description="Who operates it.")
    equipment: dict[Name, Text] = Field(
        default_factory=dict,
        description="What this tail has: name -> kind, such as recorder: manual.",
    )
    gauges: dict[Name, GaugeFile] = Field(
        default_factory=dict, description="Gauges that checks name in scale: {aircraft: NAME}."
    )
    limits: dict[Name, LimitFile] = Field(
        default_factory=dict, description="Limits that checks name: {aircraft: NAME}."
    )
    oxygen: OxygenFile | None = Field(
        default=None, description="For minimum: {compute: crew-oxygen}."
    )
    oil: OilFile | None = Field(default=None, description="For minimum: {compute: engine-oil}.")
    tyres: dict[Name, TyreFile] = Field(
        default_factory=dict,
        description="For minimum: {compute: NAME-minimum} and maximum: {compute: NAME-maximum}.",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauge:
    """A gauge: its marks and its unit symbol (empty for a bare number)."""

    scale: Scale
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedLimit:
    """A limit by name: its value and its unit symbol (empty for a bare number)."""

    value: Decimal
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Oxygen:
    """The crew's oxygen.

    Attributes:
        volume: What the cylinder holds of water.
        full: Gauge pressure when full.
        full_at: ... at this temperature.
        empty: Gauge pressure that must stay in it.
        flow: Of each of the crew, a minute.
        lasting_s: How long it has to last, seconds.
    """

    volume: NamedLimit
    full: NamedLimit
    full_at: NamedLimit
    empty: NamedLimit
    flow: NamedLimit
    lasting_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Oil:
    """Oil of an engine: least contents, and what it uses in an hour."""

    minimum: NamedLimit
    consumption: NamedLimit


@dataclass(frozen=True, slots=True, kw_only=True)
class Tyre:
    """A tyre: least and greatest pressure, and the temperature at which they hold."""

    minimum: NamedLimit
    maximum: NamedLimit
    at: NamedLimit


@dataclass(frozen=True, slots=True, kw_only=True)
class Aircraft:
    """One tail, ready for use.

    Attributes:
        type: Type name ("Skerry 42").
        tail: Registration ("X-SKR7").
        operator: Who operates it; empty if the file does not say.
        equipment: Name -> kind.
        gauges: Name -> gauge.
        limits: Name -> limit.
        digest: SHA-256 of the file's bytes, hexadecimal.
        oxygen: The crew's oxygen; None if the file does not say.
        oil: Of each engine; None if the file does not say.
        tyres: Name -> tyre.
    """

    type: str
    tail: str
    operator: str = ""
    equipment: Mapping[str, str] = field(default_factory=dict)
    gauges: Mapping[str, Gauge] = field(default_factory=dict)
    limits: Mapping[str, NamedLimit] = field(default_factory=dict)
    digest: str = ""
    oxygen: Oxygen | None = None
    oil: Oil | None = None
    tyres: Mapping[str, Tyre] = field(default_factory=dict)
