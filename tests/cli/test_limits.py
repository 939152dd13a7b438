"""The limits of a day, printed."""

import re
from pathlib import Path

import pytest
from CoolProp.CoolProp import PropsSI

from tests.checks.test_computed import AIRCRAFT
from tests.cli.conftest import Voiceflow
from tests.limits.test_parts import AIRCRAFT as PARTS


def test_every_limit_is_told_with_what_it_comes_from(voiceflow: Voiceflow, tmp_path: Path) -> None:
    path = tmp_path / "aircraft.yaml"
    path.write_text(PARTS, encoding="utf-8")
    result = voiceflow("limits", str(path), "--temperature", "-20", "--hours", "1.2")
    assert result.exit_code == 0
    # worked out by hand in tests/limits/test_parts.py
    for line in (
        "fuel-required: 662 kg. 1.2 h at 310 kg an hour, reserve 250 kg, taxi 40 kg",
        "tyre-minimum-nose: 49 psi. 62 psi at 15 C are 52.68 psi at -20 C, 4 psi less are allowed",
        "hydraulic-minimum-main: 77 %. refilled at 76 % or less, the next mark is 77 %",
        "battery-minimum-main: 24.6 V.",
    ):
        assert line in result.stdout
    assert "oxygen" not in result.stdout


def test_what_is_missing_is_told_and_the_rest_is_worked_out(
    voiceflow: Voiceflow, tmp_path: Path
) -> None:
    path = tmp_path / "aircraft.yaml"
    path.write_text(PARTS, encoding="utf-8")
    result = voiceflow("limits", str(path))
    assert result.exit_code == 0
    assert "fuel-required: not worked out." in result.stdout
    assert "Give --hours 2.5." in result.stdout
    assert "battery-minimum-standby: 22.5 V" in result.stdout


def test_filling_pressures_and_how_long_readings_last(voiceflow: Voiceflow, tmp_path: Path) -> None:
    path = tmp_path / "aircraft.yaml"
    path.write_text(AIRCRAFT, encoding="utf-8")
    result = voiceflow("limits", str(path), "--temperature", "-20", "--crew", "2")
    filled = {int(c): int(psi) for c, psi in re.findall(r"(-?\d+) C +(\d+) psi", result.stdout)}
    assert sorted(filled) == list(range(-40, 51, 10))
    # full is 1,850 psi at 70 F; CoolProp's reference equation says what the same content
    # shows: ratios agree to 1.6 % (tests/limits/test_oxygen.py)
    density = PropsSI("D", "P", 1850 * 6894.757 + 101_325, "T", 294.26, "Oxygen")
    for at_c, psi in filled.items():
        pressure = PropsSI("P", "D", density, "T", at_c + 273.15, "Oxygen")
        assert psi == pytest.approx((pressure - 101_325) / 6894.757, rel=0.016)
    lasting = {int(psi): int(m) for psi, m in re.findall(r"(\d+) psi +(\d+) min", result.stdout)}
    assert list(lasting) == sorted(lasting, reverse=True)
    assert max(lasting) == 1800
    # the least pressure of the day is the one that lasts two hours (14 CFR 121.331(b))
    least = re.search(r"crew-oxygen: (\d+) psi", result.stdout)
    assert least is not None
    above = min(psi for psi in lasting if psi >= int(least[1]))
    below = max(psi for psi in lasting if psi < int(least[1]))
    assert lasting[below] < 120 <= lasting[above]


def test_nothing_to_work_out(voiceflow: Voiceflow, tmp_path: Path) -> None:
    path = tmp_path / "aircraft.yaml"
    path.write_text("aircraft: Skerry 42\ntail: X-SKR7\n", encoding="utf-8")
    result = voiceflow("limits", str(path))
    assert result.exit_code == 2
    assert "nothing can be worked out" in result.stderr
    path.write_text(AIRCRAFT.replace("unit: L}", "unit: kg}"), encoding="utf-8")
    result = voiceflow("limits", str(path))
    assert result.exit_code == 2
    assert "no way from 'kg'" in result.stderr
