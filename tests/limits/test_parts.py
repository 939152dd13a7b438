"""Limits of tyres, hydraulic contents, batteries and fuel, from the aircraft file to the check.

The aircraft is invented. Outside: CoolProp's reference equation of nitrogen for tyres; "76 or
below calls for refill, 106 is full" and "1 % for 3 C" are common practice, no source.
"""

from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from voiceflow.checks.loader import load_aircraft, load_check
from voiceflow.checks.model import ComputedLimit
from voiceflow.errors import CheckFileError
from voiceflow.limits.computed import SOME_DAY, UNKNOWN, Conditions, computing, names_for
from voiceflow.limits.judge import Verdict, judge
from voiceflow.limits.servicing import (
    Contents,
    by_temperature,
    first_mark_above,
    hydraulic_contents,
)
from voiceflow.numbers.scale import Scale

AIRCRAFT = """\
aircraft: Skerry 42
tail: X-SKR7
gauges:
  tyre: {unit: psi, scale: {from: 0, to: 120, step: 1}}
  hydraulic: {unit: "%", scale: {from: 0, to: 120, step: 1}}
  battery: {unit: V, scale: {from: 0, to: 30, step: 0.1}}
  fuel: {unit: kg, scale: {from: 0, to: 3200, step: 10}}
tyres:
  nose:
    pressure: {value: 62, unit: psi}
    at: {value: 15, unit: C}
    below: {value: 4, unit: psi}
    above: {value: 6, unit: psi}
  main: {pressure: {value: 5.8, unit: bar}, at: {value: 59, unit: F}, below: {value: 0.3, unit: bar}}
hydraulics:
  main: {gauge: hydraulic, refill_at: {value: 76, unit: "%"}, full_at: {value: 106, unit: "%"}}
batteries:
  main:
    minimum: {value: 24, unit: V}
    by_temperature:
      - {at: {value: 20, unit: C}, minimum: {value: 23.4, unit: V}}
      - {at: {value: -20, unit: C}, minimum: {value: 24.6, unit: V}}
  standby: {minimum: {value: 22.5, unit: V}}
fuel:
  burn: {value: 310, unit: kg}
  reserve: {value: 250, unit: kg}
  taxi: {value: 40, unit: kg}
"""
CHECK = """\
check: gauges
title: Gauges
kind: flow
aircraft: Skerry 42
aircraft_file: aircraft.yaml
source: {document: Northmark Air Ferries OM-B (invented), revision: 4}
items:
  - id: gauge
    challenge: Gauge
    reading: {scale: {aircraft: GAUGE}, KEY: {compute: NAME}}
"""
COLD = replace(SOME_DAY, temperature_c=Decimal(-20))


def work_out(name: str, day: Conditions, folder: Path, aircraft: str = AIRCRAFT) -> ComputedLimit:
    path = folder / "aircraft.yaml"
    path.write_text(aircraft, encoding="utf-8")
    return computing(day)(name, load_aircraft(path))


def nitrogen_psi(psi: float, from_c: float, to_c: float) -> float:
    """A tyre of one volume, by the reference equation of nitrogen."""
    density = PropsSI("D", "P", psi * 6894.757 + 101_325, "T", from_c + 273.15, "Nitrogen")
    pressure = PropsSI("P", "D", density, "T", to_c + 273.15, "Nitrogen")
    return float((pressure - 101_325) / 6894.757)


@pytest.mark.parametrize("temperature_c", [-40, -20, 0, 15, 40])
def test_tyres_by_the_reference_equation(tmp_path: Path, temperature_c: int) -> None:
    day = replace(SOME_DAY, temperature_c=Decimal(temperature_c))
    real = nitrogen_psi(62, 15, temperature_c)
    shown = work_out("tyre-pressure-nose", day, tmp_path)
    # half a psi of rounding and 0.5 % of what is not ideal
    assert float(shown.value) == pytest.approx(real, abs=0.5 + 0.005 * real)
    lowest = work_out("tyre-minimum-nose", day, tmp_path)
    highest = work_out("tyre-maximum-nose", day, tmp_path)
    assert lowest.unit == "psi"
    assert lowest.value % 1 == 0
    # rounded to the careful side
    off = 0.005 * real
    assert -off <= float(lowest.value) - (real - 4) <= 1 + off
    assert -off <= (real + 6) - float(highest.value) <= 1 + off


def test_a_tyre_at_its_own_temperature_is_as_written(tmp_path: Path) -> None:
    assert work_out("tyre-minimum-nose", SOME_DAY, tmp_path).value == 58
    assert work_out("tyre-maximum-nose", SOME_DAY, tmp_path).value == 68
    # 59 F are 15 C; written with a tenth of a bar, limited to a tenth of a bar
    assert work_out("tyre-minimum-main", SOME_DAY, tmp_path).value == Decimal("5.5")


def test_a_tyre_is_read_to_a_whole_psi_however_it_is_written(tmp_path: Path) -> None:
    aircraft = AIRCRAFT.replace("value: 62, unit: psi", "value: 62.5, unit: psi")
    assert work_out("tyre-minimum-nose", SOME_DAY, tmp_path, aircraft).value == 59
    assert work_out("tyre-maximum-nose", SOME_DAY, tmp_path, aircraft).value == 68


def test_the_thumb_rule_of_tyres(tmp_path: Path) -> None:
    """1 % for 3 C (common practice, no source), of the pressure with the air's, over 35 C."""
    shown = work_out("tyre-pressure-nose", COLD, tmp_path)
    by_rule = (62 + 14.7) * (1 - 35 / 300) - 14.7
    assert float(shown.value) == pytest.approx(by_rule, abs=0.02 * 62)
    assert shown.basis.startswith("62 psi at 15 C are 52.6")


@pytest.mark.parametrize("step", [1, 2, 5])
@pytest.mark.parametrize("percent", [0, 70, 75, 76, 77, 78, 80, 100, 105, 106, 107, 110])
def test_hydraulic_limits_say_what_the_contents_call_for(
    tmp_path: Path, percent: int, step: int
) -> None:
    """76 or below calls for refill, 106 is full (common practice, no source)."""
    aircraft = AIRCRAFT.replace(
        "to: 120, step: 1}}\n  battery", f"to: 120, step: {step}}}}}\n  battery"
    )
    lowest = work_out("hydraulic-minimum-main", UNKNOWN, tmp_path, aircraft).value
    highest = work_out("hydraulic-maximum-main", UNKNOWN, tmp_path, aircraft).value
    scale = Scale(lowest=Decimal(0), highest=Decimal(120), step=Decimal(step))
    if Decimal(percent) not in scale:
        return
    contents = hydraulic_contents(percent, refill_at=76, full_at=106)
    is_good = contents in {Contents.NORMAL, Contents.FULL}
    assert (lowest <= percent <= highest) is is_good


@given(value=st.decimals(-5, 14, places=1), step=st.sampled_from(["0.1", "0.5", "1", "5"]))
def test_the_first_mark_above_is_just_that(value: Decimal, step: str) -> None:
    scale = Scale(lowest=Decimal(0), highest=Decimal(20), step=Decimal(step))
    mark = first_mark_above(value, scale)
    assert mark == min(each for each in scale.values() if each > value)


def test_no_mark_is_above_the_last() -> None:
    scale = Scale(lowest=Decimal(0), highest=Decimal(20), step=Decimal(1))
    with pytest.raises(ValueError, match="ends at 20"):
        first_mark_above(Decimal(20), scale)


def test_batteries_by_temperature(tmp_path: Path) -> None:
    # by hand: 23.4 V at 20 C, 24.6 V at -20 C, a line between them, nothing beyond
    for at_c, volts in ((20, "23.4"), (-20, "24.6"), (0, "24.0"), (-40, "24.6"), (45, "23.4")):
        day = replace(SOME_DAY, temperature_c=Decimal(at_c))
        assert work_out("battery-minimum-main", day, tmp_path).value == Decimal(volts)
    # up to a tenth: 23.55 V at 15 C
    assert work_out("battery-minimum-main", SOME_DAY, tmp_path).value == Decimal("23.6")
    unknown = work_out("battery-minimum-main", UNKNOWN, tmp_path)
    assert (unknown.value, unknown.basis) == (Decimal(24), "the temperature was not given")
    assert work_out("battery-minimum-standby", UNKNOWN, tmp_path).value == Decimal("22.5")


def test_fuel_by_hand(tmp_path: Path) -> None:
    # 1.2 h x 310 kg + 250 kg + 40 kg
    found = work_out("fuel-required", replace(UNKNOWN, hours=Decimal("1.2")), tmp_path)
    assert (found.value, found.unit) == (Decimal(662), "kg")
    assert found.basis == "1.2 h at 310 kg an hour, reserve 250 kg, taxi 40 kg"
    # 250 kg are 551.2 lb (0.45359237 kg to the pound)
    mixed = AIRCRAFT.replace("value: 250, unit: kg", "value: 551.2, unit: lb")
    found = work_out("fuel-required", replace(UNKNOWN, hours=Decimal("1.2")), tmp_path, mixed)
    assert found.value in {662, 663}


@pytest.mark.parametrize(
    ("gauge", "key", "name", "value"),
    [
        ("tyre", "minimum", "tyre-minimum-nose", "49"),
        ("tyre", "maximum", "tyre-maximum-nose", "58"),
        ("hydraulic", "minimum", "hydraulic-minimum-main", "77"),
        ("battery", "minimum", "battery-minimum-main", "24.6"),
        ("fuel", "minimum", "fuel-required", "910"),
    ],
)
def test_a_check_is_held_to_it(tmp_path: Path, gauge: str, key: str, name: str, value: str) -> None:
    (tmp_path / "aircraft.yaml").write_text(AIRCRAFT, encoding="utf-8")
    path = tmp_path / "gauges.yaml"
    text = CHECK.replace("GAUGE", gauge).replace("KEY", key).replace("NAME", name)
    path.write_text(text, encoding="utf-8")
    check = load_check(path, compute=computing(COLD))
    spec = check.items[0].reading
    assert spec is not None
    assert spec.computed == (name,)
    (limit,) = check.computed
    assert limit.value == Decimal(value)
    assert judge(limit.value, spec.limit) is Verdict.WITHIN
    beyond = limit.value - spec.scale.step if key == "minimum" else limit.value + spec.scale.step
    assert judge(beyond, spec.limit) is Verdict.OUTSIDE


@pytest.mark.parametrize(
    ("name", "day", "old", "new", "told"),
    [
        ("tyre-minimum-tail", SOME_DAY, "", "", "no 'tail' under tyres. There are nose, main."),
        ("tyre-minimum-nose", UNKNOWN, "", "", "Give --temperature 15."),
        ("tyre-maximum-main", SOME_DAY, "", "", "no above:"),
        ("tyre-minimun-nose", SOME_DAY, "", "", "Did you mean 'tyre-minimum-nose'?"),
        ("tyre-minimum-nose", SOME_DAY, "value: 62, unit: psi", "value: 62, unit: kg", "no way"),
        ("hydraulic-minimum-main", SOME_DAY, "gauge: hydraulic,", "gauge: oil,", "no gauge 'oil'"),
        ("hydraulic-minimum-main", SOME_DAY, "value: 106", "value: 70", "refilled at 76"),
        ("hydraulic-minimum-main", SOME_DAY, "value: 76", "value: 105", "ends at 100"),
        (
            "battery-minimum-standby",
            SOME_DAY,
            "{minimum: {value: 22.5, unit: V}}",
            "{}",
            "no minimum",
        ),
        ("battery-minimum-main", UNKNOWN, "    minimum: {value: 24, unit: V}\n", "", "Give --temp"),
        ("battery-minimum-main", SOME_DAY, "value: -20, unit: C", "value: 20, unit: C", "one temp"),
        ("fuel-required", UNKNOWN, "", "", "Give --hours"),
        ("fuel-required", SOME_DAY, "unit: kg}\n  taxi", "unit: L}\n  taxi", "no way from 'L'"),
        ("fuel-required", SOME_DAY, "value: 40,", "value: -40,", "below 0"),
        ("fuel-required", SOME_DAY, AIRCRAFT[AIRCRAFT.index("fuel:\n") :], "", "Add fuel:"),
        (
            "hydraulic-minimum-x",
            SOME_DAY,
            AIRCRAFT[AIRCRAFT.index("hydraulics:") :],
            "",
            "Add hydr",
        ),
    ],
)
def test_what_is_missing_is_told(
    tmp_path: Path, name: str, day: Conditions, old: str, new: str, told: str
) -> None:
    aircraft = AIRCRAFT.replace(old, new, 1) if old else AIRCRAFT
    if told == "ends at 100":
        aircraft = aircraft.replace(
            "to: 120, step: 1}}\n  battery", "to: 100, step: 1}}\n  battery"
        )
    (tmp_path / "aircraft.yaml").write_text(aircraft, encoding="utf-8")
    path = tmp_path / "gauges.yaml"
    text = CHECK.replace("GAUGE", "tyre").replace("KEY", "minimum").replace("NAME", name)
    path.write_text(text, encoding="utf-8")
    with pytest.raises(CheckFileError) as caught:
        load_check(path, compute=computing(day))
    assert told in str(caught.value)
    assert "gauges.yaml:10:" in str(caught.value)


def test_no_rows_and_one_row() -> None:
    with pytest.raises(ValueError, match="nothing is known"):
        by_temperature([], 0.0)
    assert by_temperature([(0.0, 24.0)], -30.0) == 24.0


def test_every_name_of_an_aircraft_is_worked_out(tmp_path: Path) -> None:
    path = tmp_path / "aircraft.yaml"
    path.write_text(AIRCRAFT, encoding="utf-8")
    aircraft = load_aircraft(path)
    names = names_for(aircraft)
    assert names == (
        "fuel-required",
        "tyre-minimum-nose",
        "tyre-minimum-main",
        "tyre-maximum-nose",
        "tyre-pressure-nose",
        "tyre-pressure-main",
        "hydraulic-minimum-main",
        "hydraulic-maximum-main",
        "battery-minimum-main",
        "battery-minimum-standby",
    )
    for name in names:
        assert computing(SOME_DAY)(name, aircraft).name == name
