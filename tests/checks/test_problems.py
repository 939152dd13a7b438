"""Every mistake in tests/data/checks/problems.yaml is reported as written there."""

from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML

from voiceflow.checks.loader import load_check, read_check
from voiceflow.checks.problem import Problem, Severity
from voiceflow.errors import CheckFileError

DATA = Path(__file__).parent.parent / "data" / "checks"
TABLE: dict[str, Any] = YAML(typ="safe").load(DATA / "problems.yaml")
CASES: list[dict[str, Any]] = TABLE["cases"]


def write(folder: Path, text: str) -> Path:
    for name in ("aircraft.yaml", "broken-aircraft.yaml"):
        (folder / name).write_bytes((DATA / name).read_bytes())
    path = folder / "check.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def short(problem: Problem, path: Path) -> str:
    file = "" if problem.path == path else f"{problem.path.name}:"
    item = f" {problem.item}" if problem.item else ""
    return f"{file}{problem.line}:{problem.column} {problem.rule}{item}"


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_mistake_is_reported_where_it_stands(case: dict[str, Any], tmp_path: Path) -> None:
    text = case["text"] if "text" in case else TABLE["head"] + case["items"]
    path = write(tmp_path, text)
    read = read_check(path, languages=("en", "ko"))
    assert read.check is None
    assert [short(problem, path) for problem in read.problems] == case["problems"]
    for problem in read.problems:
        assert problem.severity is Severity.ERROR
        assert problem.what
        assert not problem.what.endswith(".")
        assert problem.remedy.endswith((".", "?"))


def test_names_of_cases_are_unique() -> None:
    names = [case["name"] for case in CASES]
    assert len(set(names)) == len(names)


def test_five_mistakes_give_exactly_these_five() -> None:
    with pytest.raises(CheckFileError) as caught:
        load_check(DATA / "five-mistakes.yaml")
    found = [(each.line, each.rule, each.item) for each in caught.value.problems]
    assert found == [
        (9, "unknown-key", "covers"),
        (15, "limit-off-scale", "oxygen"),
        (16, "duplicate-id", "oxygen"),
        (21, "bad-duration", "gyro"),
        (25, "both-right-and-wrong", "chocks"),
    ]


def test_message_names_place_item_and_way_out() -> None:
    with pytest.raises(CheckFileError) as caught:
        load_check(DATA / "five-mistakes.yaml")
    lines = str(caught.value).splitlines()
    assert lines[1] == (
        f"{DATA / 'five-mistakes.yaml'}:15:16: error: item oxygen: minimum 2400 psi lies above "
        "the gauge, which ends at 2000 psi. Lower minimum or raise scale: to. (limit-off-scale)"
    )
    assert "Did you mean 'expect'?" in lines[0]
