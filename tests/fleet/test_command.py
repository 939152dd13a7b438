"""``voiceflow journal push`` and what reads from a store, as people use them."""

import json
import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from tests.builders import make_check, make_gauge, make_item
from tests.cli.conftest import GOOD, Voiceflow
from tests.fleet.server import Server
from tests.history.kept import keep_runs
from voiceflow.journal.store import Journal

LOW = "removed\none zero zero zero\naffirm\n"


@pytest.fixture
def two_runs(voiceflow: Voiceflow, home: Path) -> list[str]:
    """The names of two runs, one with a discrepancy that was deferred."""
    for typed in (LOW, GOOD):
        voiceflow("run", "small.yaml", "--typed", typed=typed)
    with Journal.open_to_read(home / "journal.sqlite") as journal:
        names = [run.run_id for run in journal.runs()]
    deferred = ("defer", f"{names[0]}/oxygen", "--by", "Bo Lind", "--reference", "35-1")
    assert voiceflow("findings", *deferred).exit_code == 0
    return names


def test_pushing_tells_what_it_pushed(
    voiceflow: Voiceflow, two_runs: list[str], url: str, database: str, home: Path
) -> None:
    before = (home / "journal.sqlite").read_bytes()
    with Journal.open_to_read(home / "journal.sqlite") as journal:
        events = sum(len(journal.events(run_id)) for run_id in two_runs)
    first = voiceflow("journal", "push", url)
    assert first.exit_code == 0, first.output
    assert f"pushed 2 runs, {events} events, 1 step about a finding." in first.stdout
    assert first.stdout.startswith(f"{database} on /tmp/")
    again = voiceflow("journal", "push", url)
    assert again.exit_code == 0
    assert f"nothing to push, it has all {events + 3} rows of this journal." in again.stdout
    assert (home / "journal.sqlite").read_bytes() == before
    whole = voiceflow("journal", "verify", "--store", url)
    assert (whole.exit_code, whole.stdout) == (0, f"{events + 3} links: the store is whole.\n")


def test_the_store_lists_what_the_journal_lists(
    voiceflow: Voiceflow, two_runs: list[str], url: str
) -> None:
    voiceflow("journal", "push", url)
    local = [
        json.loads(line) for line in voiceflow("journal", "list", "--json").stdout.splitlines()
    ]
    store = voiceflow("journal", "list", "--store", url, "--json").stdout.splitlines()
    listed = [json.loads(line) for line in store]
    sources = {row.pop("source") for row in listed}
    assert listed == local
    assert [row["run_id"] for row in listed] == two_runs
    (source,) = sources
    table = voiceflow("journal", "list", "--store", url).stdout
    assert table.count(source[:8]) == 2


@pytest.mark.parametrize("which", [0, 1, None])
def test_a_report_from_the_store_is_the_same(
    voiceflow: Voiceflow, two_runs: list[str], url: str, home: Path, which: int | None
) -> None:
    voiceflow("journal", "push", url)
    run = () if which is None else (two_runs[which],)
    kinds = ("html", "csv", "json", "log")

    def files(name: str) -> list[str]:
        return [word for kind in kinds for word in (f"--{kind}", f"{name}.{kind}")]

    assert voiceflow("report", *run, *files("local")).exit_code == 0
    made = voiceflow("report", *run, "--store", url, *files("store"))
    assert made.exit_code == 0, made.output
    for kind in kinds:
        assert (home / f"store.{kind}").read_bytes() == (home / f"local.{kind}").read_bytes()


def test_a_report_from_the_store_goes_where_you_are(
    voiceflow: Voiceflow, two_runs: list[str], url: str, home: Path
) -> None:
    voiceflow("journal", "push", url)
    made = voiceflow("report", two_runs[0][:15], "--store", url)
    if made.exit_code:  # both were begun in one second
        made = voiceflow("report", two_runs[0], "--store", url)
    assert made.stdout.splitlines() == [
        str(home / f"voiceflow-{two_runs[0]}.{kind}") for kind in ("html", "csv")
    ]


def test_what_was_set_aside_is_told(
    voiceflow: Voiceflow, two_runs: list[str], url: str, home: Path
) -> None:
    shutil.copy(home / "journal.sqlite", home / "copy.sqlite")
    begun = voiceflow("run", "small.yaml", "--typed", typed="removed\n")
    assert begun.exit_code == 1
    with Journal.open_to_read(home / "journal.sqlite") as journal:
        (run_id,) = [run.run_id for run in journal.runs() if run.run_id not in two_runs]
    shutil.copy(home / "journal.sqlite", home / "copy.sqlite")
    voiceflow("resume", run_id, "--typed", typed="one six zero zero\n")
    voiceflow("resume", run_id, "--typed", "--journal", "copy.sqlite", typed="one five zero zero\n")
    assert voiceflow("journal", "push", url).exit_code == 0
    aside = voiceflow("journal", "push", url, "--journal", "copy.sqlite")
    assert aside.exit_code == 1
    assert f"Run {run_id}: the store has another from event " in aside.stdout
    assert "nothing overwritten" in aside.stdout
    assert "this file does not have" in aside.stdout
    again = voiceflow("journal", "push", url, "--journal", "copy.sqlite", "--json")
    told = json.loads(again.stdout)
    assert (again.exit_code, told["aside"], told["runs"], told["events"]) == (1, [], 0, 0)
    assert told["aside_before"] > 0
    assert voiceflow("journal", "verify", "--store", url).exit_code == 0


def test_a_store_that_is_not_whole(
    voiceflow: Voiceflow, two_runs: list[str], url: str, server: Server, database: str
) -> None:
    voiceflow("journal", "push", url)
    with server.connect(database) as owner:
        owner.execute(b"DROP TRIGGER append_only ON voiceflow.event")
        owner.execute(b"UPDATE voiceflow.event SET at_s = 99 WHERE seq = 1")
    told = voiceflow("journal", "verify", "--store", url)
    assert told.exit_code == 1
    assert f"run {two_runs[0]}, event 1: it is not what was written" in told.stdout


def test_an_empty_journal_and_an_empty_store(voiceflow: Voiceflow, url: str, home: Path) -> None:
    Journal.open(home / "journal.sqlite").close()
    pushed = voiceflow("journal", "push", url)
    assert (pushed.exit_code, "this journal is empty" in pushed.stdout) == (0, True)
    assert "No runs yet" in voiceflow("journal", "list", "--store", url).stdout
    report = voiceflow("report", "--store", url)
    assert report.exit_code == 2
    assert "there is no run in it" in report.stderr


def test_a_trend_over_the_journals_of_two_machines(
    voiceflow: Voiceflow, url: str, home: Path
) -> None:
    """The days by turns on two machines give what one machine would have."""
    check = make_check(make_gauge(), make_item())
    values = [1450 - 12 * day for day in range(10)]
    first = datetime.now(UTC) - timedelta(days=10)
    keep_runs(home / "journal.sqlite", check, {"oxygen": values}, first=first)
    for machine in (0, 1):
        file, begun = home / f"{machine}.sqlite", first + timedelta(days=machine)
        readings = {"oxygen": values[machine::2]}
        keep_runs(file, check, readings, first=begun, every_h=48.0, prefix=f"m{machine}")
        assert voiceflow("journal", "push", url, "--journal", str(file)).exit_code == 0
    local = json.loads(voiceflow("trend", "X-SKR7", "--json").stdout)
    shared = json.loads(voiceflow("trend", "X-SKR7", "--store", url, "--json").stdout)
    # worked out at two moments
    assert shared.pop("ahead") == pytest.approx(local.pop("ahead"), abs=0.01)
    assert shared == local
    assert shared["slope"] == pytest.approx(-12.0)
    page = voiceflow("trend", "X-SKR7", "--store", url)
    assert str(home / "voiceflow-trend-X-SKR7.html") in page.stdout
    unknown = voiceflow("trend", "X-SKR6", "--store", url)
    assert unknown.exit_code == 2
    assert "Did you mean X-SKR7?" in unknown.stderr
