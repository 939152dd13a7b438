"""A sector at the keyboard: several checks in one run, and the signature."""

from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from voiceflow.cli.main import cli
from voiceflow.dialogue.brief import FindingState
from voiceflow.journal.ledger import FindingStep
from voiceflow.journal.store import Journal

CHECK = """
check: {name}
title: {title}
kind: flow
aircraft: Skerry 42
aircraft_file: tail.yaml
source: {{document: Northmark Air Ferries OM-B (invented), revision: 1}}
items:
  - {{id: chocks, challenge: Chocks, expect: [in place], not_as_expected: [gone]}}
  - {{id: lamps, challenge: Lamps, expect: [both lit], when: {{flight-of-day: first}}}}
"""
TAIL = """
aircraft: Skerry 42
tail: X-SKR7
equipment: {flight-of-day: first}
"""
PLAN = """
plan: two
title: Northmark two
captain: Ada Norberg
situation: {flight-of-day: later}
checks: [outside.yaml, inside.yaml]
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, title in (("outside", "Walk-round"), ("inside", "Before start")):
        text = CHECK.format(name=name, title=title)
        (tmp_path / f"{name}.yaml").write_text(text, encoding="utf-8")
    (tmp_path / "tail.yaml").write_text(TAIL, encoding="utf-8")
    (tmp_path / "plan.yaml").write_text(PLAN, encoding="utf-8")
    return tmp_path


def run(folder: Path, lines: str, *options: str) -> tuple[int, str]:
    arguments = ["run", str(folder / "plan.yaml"), "--typed"]
    arguments += ["--journal", str(folder / "journal.sqlite"), *options]
    result = CliRunner().invoke(cli, arguments, input=lines)
    return result.exit_code, result.output


def test_a_sector_ends_signed(folder: Path) -> None:
    status, output = run(folder, "in place\ncontinue\nin place\naffirm\n")
    assert status == 0, output
    assert "Two checks." in output
    assert "Walk-round complete. Next, before start, one item. Say continue to begin." in output
    assert "Confirm: sign as Ada Norberg?" in output
    assert "Signed, Ada Norberg." in output
    with Journal.open(folder / "journal.sqlite") as journal:
        (found,) = journal.runs()
        records = journal.records(found.run_id)
    assert [record.sign_off.by for record in records if record.sign_off] == ["Ada Norberg"]
    assert [record.part.check_id for record in records if record.part] == ["outside", "inside"]


def test_an_unsigned_sector_is_resumed_at_the_signature(folder: Path) -> None:
    status, output = run(folder, "in place\ncontinue\nin place\n")
    assert status == 1, output
    resumed = CliRunner().invoke(
        cli,
        ["resume", "--typed", "--journal", str(folder / "journal.sqlite")],
        input="affirm\n",
    )
    assert resumed.exit_code == 0, resumed.output
    assert "Signed, Ada Norberg." in resumed.output


def test_the_command_line_goes_before_the_plan(folder: Path) -> None:
    status, output = run(
        folder,
        "in place\nboth lit\ncontinue\nin place\nboth lit\naffirm\n",
        "--situation",
        "flight-of-day=first",
        "--captain",
        "Bo Lind",
    )
    assert status == 0, output
    assert "Signed, Bo Lind." in output


def test_a_single_check_can_be_signed_too(folder: Path) -> None:
    arguments = ["run", str(folder / "outside.yaml"), "--typed", "--captain", "Bo Lind"]
    arguments += ["--journal", str(folder / "journal.sqlite")]
    result = CliRunner().invoke(cli, arguments, input="in place\nboth lit\nnegative\n")
    assert "Not signed." in result.output
    assert result.exit_code == 0


def test_what_was_found_is_told_in_the_next_run_until_somebody_clears_it(folder: Path) -> None:
    run(folder, "gone\naffirm\ncontinue\nin place\naffirm\n")
    _, output = run(folder, "in place\nlist the findings\ncontinue\nin place\naffirm\n")
    assert "One discrepancy carried over. Chocks, gone, still open." in output
    assert "Carried over: chocks, gone, still open. Chocks." in output
    # this run itself found nothing, and does not clear it
    assert "No discrepancies. Carried over: chocks, gone, still open." in output
    assert "Northmark two complete." in output
    with Journal.open(folder / "journal.sqlite") as journal:
        (carried,) = journal.open_findings("X-SKR7")
        step = FindingStep(
            finding_id=carried.finding_id,
            state=FindingState.DEFERRED,
            by="M Sund",
            reference="defect 42",
            at="2026-11-27T06:00:00+00:00",
        )
        journal.note_finding(step)
        _, output = run(folder, "")
        assert "Chocks, gone, deferred by M Sund, reference defect forty two." in output
        journal.note_finding(replace(step, state=FindingState.RECTIFIED))
    _, output = run(folder, "")
    assert "carried over" not in output


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--situation", "first"), "not NAME=KIND"),
        (("--starts-at", "noon"), "no clock time"),
        (("--starts-at", "2026-11-27T05:10"), "offset"),
    ],
)
def test_wishes_that_make_no_sense_are_told(
    folder: Path, options: tuple[str, ...], told: str
) -> None:
    status, output = run(folder, "", *options)
    assert status == 2
    assert told in output


def test_a_plan_with_a_missing_check_says_so(folder: Path) -> None:
    (folder / "plan.yaml").write_text(PLAN.replace("inside.yaml", "gone"), encoding="utf-8")
    status, output = run(folder, "")
    assert status == 2
    assert "'gone'" in output


def test_a_plan_is_linted_with_its_checks(folder: Path) -> None:
    plan = folder / "plan.yaml"
    result = CliRunner().invoke(cli, ["lint", str(plan)])
    assert result.exit_code == 0, result.output
    assert "2 files: 0 errors" in result.output
    (folder / "inside.yaml").write_text(
        CHECK.format(name="inside", title="Before start").replace("[both lit]", "[]"),
        encoding="utf-8",
    )
    plan.write_text(PLAN.replace("captain: Ada Norberg", "crew: 0"), encoding="utf-8")
    result = CliRunner().invoke(cli, ["lint", str(plan)])
    assert result.exit_code == 2
    assert "crew 0 people cannot be" in result.output


def test_items_of_a_plan_are_named_by_their_check(folder: Path) -> None:
    result = CliRunner().invoke(cli, ["phrases", str(folder / "plan.yaml"), "inside.chocks"])
    assert result.exit_code == 0, result.output
    assert "in place" in result.output
