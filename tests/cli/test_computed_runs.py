"""A run with a limit that is worked out for the day, from the command line to the report."""

from dataclasses import replace
from decimal import Decimal
from pathlib import Path

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
