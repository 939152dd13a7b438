"""Limits that are worked out for the day, from the file to the record. Invented aircraft."""

from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from CoolProp.CoolProp import PropsSI

from voiceflow.checks.loader import load_check
from voiceflow.errors import CheckFileError
from voiceflow.limits.computed import SOME_DAY, UNKNOWN, Conditions, MeasuredOil, computing

AIRCRAFT = """\
aircraft: Skerry 42
tail: X-SKR7
gauges:
  crew-oxygen: {unit: psi, scale: {from: 0, to: 2000, step: 10}}
  engine-oil: {unit: qt, scale: {from: 0, to: 20, step: 0.5}}
oxygen:
  cylinder:
    volume: {value: 11, unit: L}
    full: {value: 1850, unit: psi}
    full_at: {value: 70, unit: F}
    empty: {value: 50, unit: psi}
  flow: {value: 3.9, unit: L/min}
  lasting: 120 min
oil:
  minimum: {value: 10, unit: qt}
  consumption: {value: 0.32, unit: qt}
tyres:
  nose:
    pressure: {value: 62.5, unit: psi}
    at: {value: 59, unit: F}
    below: {value: 7.5, unit: psi}
    above: {value: 7.5, unit: psi}
"""
CHECK = """\
check: gauges
title: Gauges
kind: flow
language: en
aircraft: Skerry 42
aircraft_file: aircraft.yaml
source: {document: Northmark Air Ferries OM-B (invented), revision: 4}
items:
  - id: crew-oxygen
    challenge: Crew oxygen
    reading: {names: [oxygen], scale: {aircraft: crew-oxygen}, minimum: {compute: NAME}}
"""


def written(folder: Path, *, name: str = "crew-oxygen", aircraft: str = AIRCRAFT) -> Path:
    (folder / "aircraft.yaml").write_text(aircraft, encoding="utf-8")
    path = folder / "gauges.yaml"
    path.write_text(CHECK.replace("NAME", name), encoding="utf-8")
    return path


def least(path: Path, conditions: Conditions) -> Decimal:
    check = load_check(path, compute=computing(conditions))
    reading = check.items[0].reading
    assert reading is not None
    assert reading.limit.minimum is not None
    (computed,) = check.computed
    assert computed.value == reading.limit.minimum
    assert computed.unit == "psi"
    return reading.limit.minimum


@pytest.mark.parametrize("temperature_c", [35, -20])
def test_the_least_oxygen_of_a_day(tmp_path: Path, temperature_c: int) -> None:
    day = replace(SOME_DAY, temperature_c=Decimal(temperature_c))
    minimum = least(written(tmp_path), day)
    # 2 of a crew, 120 min each (14 CFR 121.331(b)), 3.9 L/min; CoolProp's reference equation
    # says what is there at that pressure: to 2.5 %, as the formula reaches
    kelvin = temperature_c + 273.15

    def density(psi: float) -> float:
        return float(PropsSI("D", "P", psi * 6894.757 + 101_325, "T", kelvin, "Oxygen"))

    free = float(PropsSI("D", "P", 101_325, "T", 273.15, "Oxygen"))
    litres = (density(float(minimum)) - density(50.0)) / free * 11
    assert litres == pytest.approx(2 * 120 * 3.9, rel=0.025)
    assert minimum == minimum.to_integral_value()


def test_more_of_the_crew_need_more_and_the_cold_shows_less(tmp_path: Path) -> None:
    path = written(tmp_path)
    two = least(path, SOME_DAY)
    assert least(path, replace(SOME_DAY, crew=3)) > two
    assert least(path, replace(SOME_DAY, temperature_c=Decimal(-20))) < two


def test_oil_by_hand(tmp_path: Path) -> None:
    path = written(tmp_path, name="engine-oil")
    path.write_text(path.read_text().replace("aircraft: crew-oxygen", "aircraft: engine-oil"))
    check = load_check(path, compute=computing(replace(SOME_DAY, hours=Decimal("2.5"))))
    reading = check.items[0].reading
    assert reading is not None
    assert reading.limit.minimum == Decimal("10.8")  # 10 + 2.5 x 0.32
    assert check.computed[0].basis == "10 qt after 2.5 h at 0.32 qt an hour"


@pytest.mark.parametrize(
    ("per_hour", "unit", "least", "basis"),
    [
        # 10 + 2.5 x 0.4
        (
            0.4,
            "qt",
            "11.0",
            "10 qt after 2.5 h at 0.4 qt an hour, as 8 readings of left-oil have it",
        ),
        # 1 US quart is 0.946353 L (NIST SP 811): 0.5 L is 0.528 qt, and 10 + 2.5 x 0.528
        (
            0.5,
            "L",
            "11.4",
            "10 qt after 2.5 h at 0.528 qt an hour, as 8 readings of left-oil have it",
        ),
        # less than the aircraft file has: the file's figure stands
        (0.3, "qt", "10.8", "10 qt after 2.5 h at 0.32 qt an hour, as the aircraft file has it"),
    ],
)
def test_oil_as_measured_where_that_is_more(
    tmp_path: Path, per_hour: float, unit: str, least: str, basis: str
) -> None:
    path = written(tmp_path, name="engine-oil")
    path.write_text(path.read_text().replace("aircraft: crew-oxygen", "aircraft: engine-oil"))
    oil = MeasuredOil(per_hour=per_hour, unit=unit, series="left-oil", count=8)
    day = replace(SOME_DAY, hours=Decimal("2.5"))
    check = load_check(path, compute=computing(day, oil))
    reading = check.items[0].reading
    assert reading is not None
    assert reading.limit.minimum == Decimal(least)
    assert check.computed[0].basis == basis


@pytest.mark.parametrize(
    ("name", "aircraft", "conditions", "message"),
    [
        ("crew-oxygen", AIRCRAFT, UNKNOWN, "the temperature was not given. Give --temperature"),
        ("crew-oxygen", AIRCRAFT, Conditions(temperature_c=Decimal(5)), "Give --crew 2"),
        ("engine-oil", AIRCRAFT, UNKNOWN, "Give --hours"),
        ("fuel", AIRCRAFT, SOME_DAY, "nothing called 'fuel'"),
        ("engine-oil", AIRCRAFT, SOME_DAY, "worked out in qt"),
        ("crew-oxygen", AIRCRAFT.partition("oxygen:\n")[0], SOME_DAY, "Add oxygen:"),
        ("crew-oxygen", AIRCRAFT.replace("unit: L}", "unit: kg}"), SOME_DAY, "no way from 'kg'"),
        ("crew-oxygen", AIRCRAFT.replace("value: 11,", "value: 1,"), SOME_DAY, "not what a cyl"),
    ],
)
def test_what_is_missing_is_told_with_its_place(
    tmp_path: Path, name: str, aircraft: str, conditions: Conditions, message: str
) -> None:
    with pytest.raises(CheckFileError) as caught:
        load_check(written(tmp_path, name=name, aircraft=aircraft), compute=computing(conditions))
    assert message in str(caught.value)
    assert "gauges.yaml:11:" in str(caught.value)
