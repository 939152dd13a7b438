"""What nobody has cleared is listed; what people decide is written down, and told next time."""

import json
import sqlite3
from contextlib import closing
from datetime import datetime
from pathlib import Path

import pytest

from tests.cli.conftest import GOOD, Voiceflow
from voiceflow.journal.store import Journal

LOW = "removed\none zero zero zero\naffirm\n"
TAIL = """
aircraft: Skerry 42
tail: {tail}
"""


@pytest.fixture
def finding(voiceflow: Voiceflow, home: Path) -> str:
    """The name of a discrepancy: the oxygen of X-SKR7 was too low."""
    for tail in ("X-SKR7", "X-SKR9"):
        (home / f"{tail}.yaml").write_text(TAIL.format(tail=tail), encoding="utf-8")
    ran = voiceflow("run", "small.yaml", "--typed", "--aircraft", "X-SKR7.yaml", typed=LOW)
    assert ran.exit_code == 1, ran.output
    voiceflow("run", "small.yaml", "--typed", "--aircraft", "X-SKR9.yaml", typed=GOOD)
    with Journal.open_to_read(home / "journal.sqlite") as journal:
        return f"{journal.runs()[0].run_id}/oxygen"


def listed(voiceflow: Voiceflow, *arguments: str) -> list[dict[str, str]]:
    result = voiceflow("findings", *arguments, "--json")
    assert result.exit_code == 0, result.output
    return [json.loads(line) for line in result.stdout.splitlines()]


def test_what_is_open_is_listed(voiceflow: Voiceflow, finding: str) -> None:
    (found,) = listed(voiceflow)
    assert datetime.fromisoformat(found.pop("found_at")).tzinfo is not None
    assert found == {
        "finding_id": finding,
        "tail": "X-SKR7",
        "check_id": "small",
        "item_id": "oxygen",
        "challenge": "Crew oxygen",
        "reason": "outside-limits",
        "phrase": None,
        "value": "1000",
        "unit": "psi",
        "action": "maintenance",
        "say": "Call maintenance",
        "state": "open",
        "by": "",
        "reference": "",
    }
    assert listed(voiceflow, "X-SKR7") != []
    assert listed(voiceflow, "X-SKR9") == []
    text = voiceflow("findings", "X-SKR7").stdout
    for part in (finding, "Crew oxygen", "1000\N{NO-BREAK SPACE}psi", "Call maintenance", "open"):
        assert part in text
    assert voiceflow("findings", "X-SKR9").stdout == "Nothing is open.\n"


def test_a_deferred_finding_stays_and_says_by_whom(voiceflow: Voiceflow, finding: str) -> None:
    done = voiceflow(
        "findings", "defer", finding, "--by", "Bo Lind", "--reference", "Deferred item 35-1"
    )
    assert done.exit_code == 0, done.output
    assert f"{finding}: deferred by Bo Lind, Deferred item 35-1" in done.stdout
    assert "still told" in done.stdout
    (found,) = listed(voiceflow)
    assert (found["state"], found["by"], found["reference"]) == (
        "deferred",
        "Bo Lind",
        "Deferred item 35-1",
    )
    assert "deferred by Bo Lind" in " ".join(voiceflow("findings").stdout.split())


@pytest.mark.parametrize(
    ("action", "state", "reference"),
    [("rectify", "rectified", "Work order 881"), ("accept", "accepted", "")],
)
def test_a_cleared_finding_is_listed_no_more(
    voiceflow: Voiceflow, home: Path, finding: str, action: str, state: str, reference: str
) -> None:
    options = ["--reference", reference] if reference else []
    done = voiceflow("findings", action, finding, "--by", "Ada Norberg", *options, "--json")
    assert done.exit_code == 0, done.output
    step = json.loads(done.stdout)
    assert (step["finding_id"], step["state"]) == (finding, state)
    assert (step["by"], step["reference"]) == ("Ada Norberg", reference)
    assert datetime.fromisoformat(step["at"]).tzinfo is not None
    assert listed(voiceflow) == []
    with Journal.open_to_read(home / "journal.sqlite") as journal:
        (kept,) = journal.finding_steps(finding)
        assert kept.at == step["at"]
        # the record of the run is as it was
        records = journal.records(finding.partition("/")[0])
    assert any(record.discrepancy for record in records)


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("defer", "{}", "--by", "Bo Lind"), "needs a reference"),
        (("rectify", "{}", "--by", "Bo Lind", "--reference", " "), "needs a reference"),
        (("defer", "{}", "--reference", "35-1"), "--by NAME"),
        (("accept", "{}", "--by", " "), "--by NAME"),
        (("accept", "{}x", "--by", "Bo Lind"), "Did you mean {}?"),
        (("accept", "nothing", "--by", "Bo Lind"), "List what is open"),
        (("accept", "--by", "Bo Lind"), "the ID of one finding"),
        (("accept", "{}", "{}", "--by", "Bo Lind"), "the ID of one finding"),
        (("X-SKR7", "--by", "Bo Lind"), "belong to defer, rectify or accept"),
        (("X-SKR7", "X-SKR9"), "one TAIL"),
        (("X-SKR1",), "There are runs of: X-SKR7, X-SKR9."),
    ],
)
def test_what_makes_no_sense_is_told_and_writes_nothing(
    voiceflow: Voiceflow, finding: str, arguments: tuple[str, ...], told: str
) -> None:
    result = voiceflow("findings", *(word.format(finding) for word in arguments))
    assert result.exit_code == 2
    assert told.format(finding) in result.output
    (found,) = listed(voiceflow)
    assert found["state"] == "open"


def test_the_whole_journal_is_verified_and_its_last_link_told(
    voiceflow: Voiceflow, home: Path, finding: str
) -> None:
    voiceflow("findings", "accept", finding, "--by", "Ada Norberg")
    result = voiceflow("journal", "verify")
    assert result.exit_code == 0, result.output
    with closing(sqlite3.connect(home / "journal.sqlite")) as connection:
        place, link = connection.execute("SELECT place, link FROM finding_step").fetchone()
    assert f"2 runs, {place} links, replayed: the journal is whole." in result.stdout
    assert f"Last link: {link.hex()}" in result.stdout
    one = voiceflow("journal", "verify", finding.partition("/")[0])
    assert one.exit_code == 0
    assert "Last link" in one.stdout
    # what was noted is no longer the last one after the next thing is written
    voiceflow("findings", "accept", finding, "--by", "Ada Norberg")
    assert link.hex() not in voiceflow("journal", "verify").stdout


def test_a_row_that_was_changed_is_told(voiceflow: Voiceflow, home: Path, finding: str) -> None:
    run_id = finding.partition("/")[0]
    with closing(sqlite3.connect(home / "journal.sqlite", isolation_level=None)) as outsider:
        outsider.execute("DROP TRIGGER record_UPDATE")
        outsider.execute(
            "UPDATE record SET json = replace(json, '1000', '1600') WHERE kind = 'outcome'"
        )
        (seq,) = outsider.execute(
            "SELECT seq FROM event WHERE run = 1 AND place IN"
            " (SELECT place FROM record WHERE json LIKE '%1600%')"
        ).fetchone()
    for arguments in ((), (run_id,)):
        result = voiceflow("journal", "verify", *arguments)
        assert result.exit_code == 1
        assert f"run {run_id}, event {seq}: it is not what was written here" in result.stdout


def test_the_help_says_what_links_cannot_tell(voiceflow: Voiceflow) -> None:
    told = " ".join(voiceflow("journal", "verify", "--help").stdout.split())
    assert "cannot tell that the end of a journal was cut off" in told
