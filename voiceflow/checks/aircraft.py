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
    """A tyre, as its gauge shows it at one temperature."""

    pressure: LimitFile = Field(description="What it is to show: {value: 62, unit: psi}.")
    at: LimitFile = Field(description="... at this temperature of the tyre: {value: 15, unit: C}.")
    below: LimitFile = Field(description="So much less is still within limits.")
    above: LimitFile | None = Field(
        default=None, description="So much more is still within limits; none: no maximum."
    )


class HydraulicFile(FileModel):
    """Hydraulic contents, by marks of their gauge."""

    gauge: Name = Field(description="The gauge, among the gauges of this file.")
    refill_at: LimitFile = Field(description="At this or less it is refilled.")
    full_at: LimitFile = Field(description="This is full; more is too much.")


class BatteryAtFile(FileModel):
    """A battery at one temperature."""

    at: LimitFile = Field(description="The temperature: {value: -20, unit: C}.")
    minimum: LimitFile = Field(description="Least voltage there.")


class BatteryFile(FileModel):
    """A battery's least voltage: by temperature if that is known, else the one for all."""

    minimum: LimitFile | None = Field(default=None, description="Least voltage, at any.")
    by_temperature: tuple[BatteryAtFile, ...] = Field(
        default=(), description="Least voltages by temperature; between two of them in a line."
    )


class FuelFile(FileModel):
    """Fuel for the hours to come."""

    burn: LimitFile = Field(description="In an hour: {value: 310, unit: kg}.")
    reserve: LimitFile = Field(description="What is to be left at the end.")
    taxi: LimitFile = Field(description="From the stand to the runway.")


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
        description="By name, for {compute: tyre-minimum-NAME}, tyre-maximum-NAME and "
        "tyre-pressure-NAME: at the temperature of the day.",
    )
    hydraulics: dict[Name, HydraulicFile] = Field(
        default_factory=dict,
        description="By name, for {compute: hydraulic-minimum-NAME} and hydraulic-maximum-NAME.",
    )
    batteries: dict[Name, BatteryFile] = Field(
        default_factory=dict, description="By name, for {compute: battery-minimum-NAME}."
    )
    fuel: FuelFile | None = Field(
        default=None, description="For minimum: {compute: fuel-required}."
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
    """A tyre: what its gauge is to show at one temperature, and how much less or more will do."""

    pressure: NamedLimit
    at: NamedLimit
    below: NamedLimit
    above: NamedLimit | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Hydraulic:
    """Hydraulic contents: the gauge's name, refilled at this or less, full at that."""

    gauge: str
    refill_at: NamedLimit
    full_at: NamedLimit


@dataclass(frozen=True, slots=True, kw_only=True)
class Battery:
    """A battery's least voltage; pairs of temperature and least voltage, if the file has them."""

    minimum: NamedLimit | None
    by_temperature: tuple[tuple[NamedLimit, NamedLimit], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FuelNeed:
    """Fuel in an hour, left at the end, and to the runway."""

    burn: NamedLimit
    reserve: NamedLimit
    taxi: NamedLimit


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
        hydraulics: Name -> hydraulic contents.
        batteries: Name -> battery.
        fuel: For the hours to come; None if the file does not say.
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
    hydraulics: Mapping[str, Hydraulic] = field(default_factory=dict)
    batteries: Mapping[str, Battery] = field(default_factory=dict)
    fuel: FuelNeed | None = None
