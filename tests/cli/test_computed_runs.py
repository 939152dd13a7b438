"""A run with a limit that is worked out for the day, from the command line to the report."""

import re
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

from CoolProp.CoolProp import PropsSI

from tests.checks.test_computed import least, written
from tests.cli.conftest import Voiceflow
from voiceflow.limits.computed import SOME_DAY


def test_a_run_judges_by_it_and_its_report_says_what_from(
    voiceflow: Voiceflow, tmp_path: Path, home: Path
) -> None:
    path = written(tmp_path)
    refused = voiceflow("run", str(path), "--typed", typed="")
    assert refused.exit_code == 2
    assert "Give --temperature 15." in refused.output
    day = ["--temperature", "-20", "--crew", "2"]
    result = voiceflow("run", str(path), "--typed", *day, typed="oxygen nine hundred\naffirm\n")
    assert result.exit_code == 1
    minimum = least(path, replace(SOME_DAY, temperature_c=Decimal(-20)))
    assert "elow minimum" in result.output
    page = home / "report.html"
    assert voiceflow("report", "--html", str(page)).exit_code == 0
    text = page.read_text(encoding="utf-8")
    assert f"crew-oxygen: {minimum} psi. 2 of the crew, 120 min at 3.9 L/min each" in text
    assert "at -20 C" in text
    # CoolProp's reference equation: what is there above 50 psi at 900 psi and -20 C, through
    # two masks of 3.9 L/min; 3 % are kept in hand, and the formula reaches to 2.5 %
    told = re.search(r"Lasts (\d+).min for 2 of the crew", text)
    assert told is not None
    kelvin = 253.15
    held = [
        float(PropsSI("D", "P", psi * 6894.757 + 101_325, "T", kelvin, "Oxygen"))
        for psi in (900, 50)
    ]
    free = float(PropsSI("D", "P", 101_325, "T", 273.15, "Oxygen"))
    minutes = (held[0] - held[1]) / free * 11 / (2 * 3.9)
    assert 0.94 * minutes <= float(told[1]) <= minutes
