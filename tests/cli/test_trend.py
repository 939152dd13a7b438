"""``voiceflow trend``: from a journal to the table, the lines of JSON and the page."""

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from tests.builders import make_check, make_gauge, make_item
from tests.cli.conftest import Voiceflow
from tests.history.kept import keep_runs
from tests.history.past import FIRST
from voiceflow.checks.model import TrendKind

CHECK = make_check(make_gauge(), make_item())
VALUES = [1450 - 12 * day for day in range(10)]


@pytest.fixture
def journal(home: Path) -> Path:
    """Ten runs of X-SKR7 up to yesterday, and one of a tail that reads nothing."""
    path = home / "journal.sqlite"
    keep_runs(path, CHECK, {"oxygen": VALUES}, first=datetime.now(UTC) - timedelta(days=10))
    return path


def test_table_and_page(voiceflow: Voiceflow, journal: Path) -> None:
    result = voiceflow("trend", "X-SKR7")
    assert result.exit_code == 0, result.output
    assert "1 gauge is outside limits or will soon be." in result.stdout
    row = next(line for line in result.stdout.splitlines() if "Crew oxygen" in line)
    for cell in ("! Crew oxygen", "1342 psi", "−12 a day (−12 to −12)", "min 1200", "10 of 10"):
        assert cell in row
    # 142 psi above the minimum, 12 a day
    assert "11 days" in row
    page = journal.with_name("voiceflow-trend-X-SKR7.html")
    assert str(page) in result.stdout
    assert "<svg" in page.read_text(encoding="utf-8")


def test_json_has_the_figures_and_writes_no_page(voiceflow: Voiceflow, journal: Path) -> None:
    result = voiceflow("trend", "X-SKR7", "--json")
    (line,) = result.stdout.splitlines()
    found = json.loads(line)
    assert (found["series"], found["unit"], found["each"]) == ("oxygen", "psi", "day")
    assert found["slope"] == pytest.approx(-12.0)
    assert found["low"] <= found["slope"] <= found["high"]
    assert found["ahead"] == pytest.approx(142 / 12)
    assert (found["minimum"], found["maximum"]) == ("1200", None)
    assert (found["readings"], found["counted"]) == (10, 10)
    assert not list(journal.parent.glob("*.html"))
    page = journal.with_name("page.html")
    assert voiceflow("trend", "X-SKR7", "--json", "--html", str(page)).stdout.count("\n") == 2
    assert page.exists()


def test_a_tail_that_has_stood_is_shown_as_it_was(voiceflow: Voiceflow, home: Path) -> None:
    keep_runs(home / "journal.sqlite", CHECK, {"oxygen": VALUES}, first=FIRST - timedelta(days=900))
    result = voiceflow("trend", "X-SKR7", "--json")
    assert json.loads(result.stdout)["slope"] == pytest.approx(-12.0)


def test_an_unknown_tail_names_those_there_are(voiceflow: Voiceflow, journal: Path) -> None:
    result = voiceflow("trend", "X-SKR8")
    assert result.exit_code == 2
    assert "no run of X-SKR8" in result.output
    assert "Did you mean X-SKR7?" in result.output
    assert "Traceback" not in result.output


def test_a_tail_without_readings(voiceflow: Voiceflow, home: Path) -> None:
    typed = voiceflow("run", "small.yaml", "--typed", typed="removed\n")
    assert typed.exit_code == 1, typed.output
    result = voiceflow("trend", "")
    assert result.exit_code == 2
    assert "no reading of " in result.output


def test_what_is_not_compared_is_named(voiceflow: Voiceflow, home: Path) -> None:
    fuel = make_gauge("fuel", "Left fuel")
    assert fuel.reading is not None
    fuel = replace(fuel, reading=replace(fuel.reading, trend=TrendKind.NONE))
    check = make_check(make_gauge(), fuel)
    first = datetime.now(UTC) - timedelta(days=10)
    keep_runs(home / "journal.sqlite", check, {"oxygen": VALUES, "fuel": VALUES}, first=first)
    assert "Not compared: Left fuel" in voiceflow("trend", "X-SKR7").stdout


def test_a_page_that_cannot_be_written(voiceflow: Voiceflow, journal: Path) -> None:
    result = voiceflow("trend", "X-SKR7", "--html", str(journal / "page.html"))
    assert result.exit_code == 2
    assert "cannot be written" in result.output


def test_no_journal(voiceflow: Voiceflow, home: Path) -> None:
    result = voiceflow("trend", "X-SKR7")
    assert result.exit_code == 2
    assert "no journal" in result.output
