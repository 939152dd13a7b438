"""Readings that have to agree: what the file may say, and what it is told."""

from decimal import Decimal
from pathlib import Path

import pytest

from voiceflow.checks.loader import load_check
from voiceflow.checks.model import Agreement, Reference, Remedy, RemedyAction
from voiceflow.errors import CheckFileError
from voiceflow.languages.english.numbers import spoken_forms

AIRCRAFT = """
aircraft: Skerry 42
tail: X-SKR7
limits:
  fuel-imbalance: {value: 60, unit: kg}
  fuel-density: {value: 0.8, unit: kg/L}
"""
CHECK = """
check: gauges
title: Gauges
kind: flow
aircraft: Skerry 42
aircraft_file: aircraft.yaml
source: {document: Northmark Air Ferries OM-B (invented), revision: 4}
items:
  - {id: door, challenge: Door, expect: [closed], may_wait: true}
  - id: left-fuel
    challenge: Left fuel
    reading: {unit: kg, scale: {from: 0, to: 800, step: 10}}
  - id: right-fuel
    challenge: Right fuel
    reading:
      unit: kg
      scale: {from: 0, to: 800, step: 10}
      series: fuel-right
      agrees:
        - {with: left-fuel, within: {aircraft: fuel-imbalance}, outside: {action: captain}}
  - id: uplift
    challenge: Uplift
    reading: {unit: L, scale: {from: 0, to: 2000, step: 10}}
  - id: total
    challenge: Total
    reading:
      unit: kg
      scale: {from: 0, to: 1600, step: 20}
      agrees:
        - {with: [left-fuel, right-fuel], within: 40, name: the tanks}
        - {with: [left-fuel, uplift], density: {aircraft: fuel-density}, within: 60}
  - id: qnh
    challenge: Q N H
    reading: {unit: hPa, scale: {from: 950, to: 1050, step: 1}}
  - id: altimeter
    challenge: Altimeter
    reading:
      unit: ft
      scale: {from: -100, to: 2000, step: 10}
      agrees:
        - {with: {day: elevation}, within: 75}
        - {with: {setting: qnh, qnh: qnh}, within: 75}
  - id: clock
    challenge: Clock
    reading: {scale: {from: 0, to: 2359, step: 1, digits: 4}}
  - id: other-clock
    challenge: Other clock
    reading:
      scale: {from: 0, to: 2359, step: 1}
      agrees: [{with: clock, within: 1, time: true}]
"""


def written(folder: Path, text: str = CHECK) -> Path:
    (folder / "aircraft.yaml").write_text(AIRCRAFT, encoding="utf-8")
    path = folder / "gauges.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def test_every_way_to_agree(tmp_path: Path) -> None:
    check = load_check(written(tmp_path))
    specs = {item.id: item.reading for item in check.items if item.reading}
    assert check.item("door").may_wait
    assert not check.item("clock").may_wait
    assert specs["right-fuel"].series == "fuel-right"
    assert specs["right-fuel"].agrees == (
        Agreement(
            reference=Reference(readings=("left-fuel",)),
            within=Decimal(60),
            outside=Remedy(action=RemedyAction.CAPTAIN),
        ),
    )
    tanks, uplift = specs["total"].agrees
    assert (tanks.name, tanks.reference.readings) == ("the tanks", ("left-fuel", "right-fuel"))
    assert uplift.reference.density == Decimal("0.8")
    elevation, setting = specs["altimeter"].agrees
    assert elevation.reference.elevation
    assert (setting.reference.setting, setting.reference.qnh) == ("qnh", "qnh")
    assert specs["other-clock"].agrees[0].is_time
    # "zero five three zero" is what a clock shows at half past five
    assert (specs["clock"].scale.digits, specs["other-clock"].scale.digits) == (4, 1)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("{with: left-fuel,", "{with: left-feul,", "Did you mean 'left-fuel'"),
        ("{with: left-fuel,", "{with: right-fuel,", "agrees with itself"),
        ("{with: left-fuel,", "{with: door,", "has no reading"),
        ("{with: left-fuel,", "{with: uplift,", "need a density"),
        ("{with: left-fuel,", "{with: qnh,", "right-fuel: qnh is in hPa"),
        ("{day: elevation}", "{day: temperature}", "cannot be compared with ft"),
        ("{day: elevation}", "{day: moon}", "moon"),
        ("setting: qnh,", "setting: clock,", "not in hPa or inHg"),
        ("within: 75}", "within: -1}", "below zero"),
        (
            "within: {aircraft: fuel-imbalance}",
            "within: {aircraft: fuel-balance}",
            "fuel-imbalance",
        ),
        ("{aircraft: fuel-density}", "0", "density of 0"),
        ("{aircraft: fuel-density}", "800", "kilograms a litre"),
        ("{day: elevation}, within: 75", "{day: elevation}, density: 0.8, within: 75", "fuel only"),
        ("[left-fuel, right-fuel]", "[]", "nothing to compare with"),
        ("[left-fuel, right-fuel]", "[left-fuel, left-fuel]", "added up twice"),
        ("{with: clock,", "{with: [clock, left-fuel],", "times are no sum"),
        (
            "to: 2359, step: 1, digits: 4}",
            "to: 2359, step: 1, digits: 0}",
            "digits 0 cannot be",
        ),
        (
            "{with: {day: elevation}, within: 75}",
            "{with: {day: elevation}, within: 75, time: true}",
            "only readings can be times",
        ),
        (
            "{with: [left-fuel, right-fuel], within: 40,",
            "{with: [left-fuel, right-fuel], within: 40, time: true,",
            "bare number",
        ),
        ("may_wait: true", "may_wait: maybe", "true or false"),
    ],
)
def test_every_mistake_is_told(tmp_path: Path, old: str, new: str, told: str) -> None:
    assert old in CHECK
    with pytest.raises(CheckFileError) as caught:
        load_check(written(tmp_path, CHECK.replace(old, new, 1)))
    assert told in str(caught.value)


def test_a_clock_is_written_with_four_digits(tmp_path: Path) -> None:
    text = CHECK.replace("{from: 0, to: 2359, step: 1}", "{from: 0, to: 2359, step: 1, digits: 4}")
    spec = load_check(written(tmp_path, text)).item("clock").reading
    assert spec is not None
    assert spec.scale.digits == 4
    # ICAO Annex 10 vol. II (page seen): 0920 is "zero niner two zero"
    forms = set(spoken_forms(Decimal(920), spec.scale))
    assert ("zero", "niner", "two", "zero") in forms
    with pytest.raises(CheckFileError, match="1 to 6"):
        load_check(written(tmp_path, text.replace("digits: 4", "digits: 0", 1)))
