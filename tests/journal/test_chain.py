"""What is changed, taken away, added or moved in a journal is told, and where."""

import sqlite3
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import closing, suppress
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.journal.conftest import make_entries, make_found, make_header, make_step
from tests.journal.test_replay import HEADER, MAKERS, Maker, run
from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.events import Started, TimePassed
from voiceflow.journal.header import RunHeader
from voiceflow.journal.store import Journal
from voiceflow.journal.verifying import Verification

RUNS = ("a", "b", "c")


@pytest.fixture
def journal_path(path: Path) -> Path:
    """Three runs, mixed as two programs would mix them, a finding and a sound."""
    with Journal.open(path) as journal, Journal.open(path) as other:
        journal.begin(make_header("a"))
        other.begin(make_header("b"))
        for entry in make_entries():
            journal.append("a", *entry)
            other.append("b", *entry)
        journal.append("a", TimePassed(at_s=6.0), [Record(discrepancy=make_found())])
        journal.note_finding(make_step("a"))
        other.keep_sound(b"fLaC")
        journal.begin(make_header("c"))
        for entry in make_entries():
            journal.append("c", *entry)
        other.append("b", TimePassed(at_s=9.0))
    return path


def verified(path: Path, run_id: str | None = None) -> Verification:
    with Journal.open_to_read(path) as journal:
        return journal.verify_chain(run_id)


def tamper(path: Path, statements: str) -> None:
    """Change the file as somebody might who wants to: with the triggers taken away."""
    with closing(sqlite3.connect(path, isolation_level=None)) as outsider:
        for (name,) in outsider.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall():
            outsider.execute(f"DROP TRIGGER {name}")
        outsider.executescript(statements)


def test_what_is_untouched_is_whole(journal_path: Path) -> None:
    whole = verified(journal_path)
    # three heads, 6 events each, two more events, a finding, a sound
    assert (whole.misfit, whole.links) == (None, 3 + 18 + 2 + 2)
    with closing(sqlite3.connect(journal_path)) as outsider:
        (last,) = outsider.execute("SELECT link FROM event WHERE place = 25").fetchone()
    assert whole.last == last.hex()
    assert [verified(journal_path, run_id).misfit for run_id in RUNS] == [None] * 3
    assert [verified(journal_path, run_id).links for run_id in RUNS] == [8, 8, 7]


EVENT = (
    "(SELECT place FROM event WHERE run = (SELECT place FROM run WHERE run_id = 'b') AND seq = 2)"
)
CASES = {
    "a value of an event": (
        f"UPDATE event SET json = replace(json, '0.75', '0.76') WHERE place = {EVENT}",
        ("b", 2),
    ),
    "how a value is written": (
        f"UPDATE event SET json = replace(json, ',', ', ') WHERE place = {EVENT}",
        ("b", 2),
    ),
    "the form of an event": (
        f"UPDATE event SET form = (SELECT form FROM event WHERE seq = 0 LIMIT 1) WHERE place = {EVENT}",
        ("b", 2),
    ),
    "a value of a record": (
        f"UPDATE record SET json = replace(json, '1520', '1530') WHERE place = {EVENT}",
        ("b", 2),
    ),
    "the kind of a record": (
        f"UPDATE record SET kind = 'hold' WHERE n = 1 AND place = {EVENT}",
        ("b", 2),
    ),
    "a record away": (f"DELETE FROM record WHERE n = 1 AND place = {EVENT}", ("b", 2)),
    "the records of an event away": (f"DELETE FROM record WHERE place = {EVENT}", ("b", 2)),
    "a record more": (
        f"INSERT INTO record SELECT place, 2, kind, form, json FROM record WHERE n = 1 AND place = {EVENT}",
        ("b", 2),
    ),
    "a link": (f"UPDATE event SET link = randomblob(32) WHERE place = {EVENT}", ("b", 2)),
    "the number of an event": (f"UPDATE event SET seq = 99 WHERE place = {EVENT}", ("b", 99)),
    "the run of an event": (f"UPDATE event SET seq = 99, run = 1 WHERE place = {EVENT}", ("a", 99)),
    "an event away": (
        f"DELETE FROM answer WHERE place = {EVENT}; DELETE FROM record WHERE place = {EVENT}; DELETE FROM event WHERE place = {EVENT}",
        ("a", 3),
    ),
    "an answer listed": (
        f"UPDATE answer SET value = '1999' WHERE state IS NOT NULL AND place = {EVENT}",
        ("b", 2),
    ),
    "an answer listed away": (f"DELETE FROM answer WHERE place = {EVENT}", ("b", 2)),
    "the head of a run": (
        "UPDATE run SET header = replace(header, '0.1.0', '0.1.1') WHERE run_id = 'c'",
        ("c", None),
    ),
    "the registration of a run": ("UPDATE run SET tail = 'X-SKR9' WHERE run_id = 'c'", ("c", None)),
    "when a run began": (
        "UPDATE run SET started_at = '2026-11-25T09:30:13+00:00' WHERE run_id = 'c'",
        ("c", None),
    ),
    "the name of a run": ("UPDATE run SET run_id = 'd' WHERE run_id = 'c'", ("d", None)),
    "a limit of a check": ("UPDATE document SET json = replace(json, '1500', '1400')", ("a", None)),
    "the words of a form": (
        "UPDATE document SET json = replace(json, 'crew-oxygen', 'covers')",
        ("a", None),
    ),
    "a limit listed": ("UPDATE line SET minimum = '1400'", ("a", 1)),
    "a run away": (
        "DELETE FROM answer WHERE run = 1; DELETE FROM record WHERE place IN (SELECT place FROM event WHERE run = 1); DELETE FROM event WHERE run = 1; DELETE FROM run WHERE place = 1",
        ("b", None),
    ),
    "a run's head away": ("DELETE FROM run WHERE run_id = 'c'", (None, 0)),
    "what was done about a finding": ("UPDATE finding_step SET state = 'rectified'", (None, None)),
    "what was done away": ("DELETE FROM finding_step", (None, None)),
    "a sound": ("UPDATE sound SET flac = x'00'", (None, None)),
    "a sound with its name": ("UPDATE sound SET digest = '00', flac = x'00'", (None, None)),
    "two events in each other's place": (
        """
        CREATE TEMP TABLE held AS SELECT json FROM event WHERE run = 1 AND seq = 3;
        UPDATE event SET json = (SELECT json FROM event WHERE run = 1 AND seq = 4)
        WHERE run = 1 AND seq = 3;
        UPDATE event SET json = (SELECT json FROM held) WHERE run = 1 AND seq = 4
        """,
        ("a", 3),
    ),
    "two rows in each other's place": (
        """
        UPDATE event SET place = 1000 WHERE run = 1 AND seq = 3;
        UPDATE event SET place = place - 2 WHERE run = 1 AND seq = 4;
        UPDATE event SET place = (SELECT place + 2 FROM event WHERE run = 1 AND seq = 4)
        WHERE place = 1000
        """,
        ("a", 4),
    ),
    "a row put in": (
        "INSERT INTO event SELECT 26, run, 99, form, json, randomblob(32) FROM event WHERE run = 1 AND seq = 3",
        ("a", 99),
    ),
    "a row put beside another": (
        "INSERT INTO event SELECT 1, run, 99, form, json, link FROM event WHERE run = 1 AND seq = 3",
        ("a", 99),
    ),
    "a step put in": (
        "INSERT INTO finding_step VALUES (26, 'a/crew-oxygen', 'accepted', 'x', '', '', randomblob(32))",
        (None, None),
    ),
    "a record of nothing": (
        "INSERT INTO record SELECT 400, n, kind, form, json FROM record LIMIT 1",
        (None, None),
    ),
    "an answer of nothing": (
        "INSERT INTO answer SELECT line, run, 400, n, state, value, asked_s, answered_s, took_s FROM answer LIMIT 1",
        (None, None),
    ),
    "a document more": ("INSERT INTO document VALUES (99, randomblob(32), '{}')", (None, None)),
    "a document's name": ("UPDATE document SET digest = randomblob(32) WHERE id = 3", (None, None)),
    "a line more": (
        "INSERT INTO line SELECT 99, 'X', check_id, item_id, series, unit, minimum, maximum FROM line",
        (None, None),
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_each_change_is_told_with_its_place(journal_path: Path, case: str) -> None:
    statements, (run_id, seq) = CASES[case]
    tamper(journal_path, statements)
    found = verified(journal_path).misfit
    assert found is not None
    assert (found.run_id, found.seq) == (run_id, seq), found


@pytest.mark.parametrize(
    ("statement", "seq"),
    [
        (f"UPDATE event SET json = replace(json, '0.75', '0.76') WHERE place = {EVENT}", 2),
        (f"DELETE FROM event WHERE place = {EVENT} - 1", 2),
        (f"DELETE FROM answer WHERE place = {EVENT}", 2),
        ("UPDATE run SET signer = 'x' WHERE run_id = 'b'", None),
        (
            "INSERT INTO answer SELECT line, 2, 400, n, state, value, asked_s, answered_s, took_s FROM answer LIMIT 1",
            None,
        ),
    ],
)
def test_of_one_run_only_its_own_rows_are_told(
    journal_path: Path, statement: str, seq: int | None
) -> None:
    tamper(journal_path, statement)
    found = verified(journal_path, "b").misfit
    assert found is not None
    assert found.seq == seq
    assert verified(journal_path, "c").misfit is None


def test_a_tail_cut_off_shows_only_in_the_last_link(journal_path: Path) -> None:
    """What the help of ``voiceflow journal verify`` warns of."""
    before = verified(journal_path)
    tamper(journal_path, "DELETE FROM event WHERE place = 25")
    after = verified(journal_path)
    assert after.misfit is None
    assert (after.links, after.last == before.last) == (before.links - 1, False)


def test_what_is_verified_is_read_anew(journal_path: Path) -> None:
    with Journal.open(journal_path) as journal:
        journal.runs()
        journal.entries("a")
        tamper(journal_path, "UPDATE document SET json = replace(json, '1500', '1400')")
        assert journal.verify_chain().misfit is not None
        assert journal.verify_chain("a").misfit is not None


@settings(max_examples=25, deadline=None)
@given(runs=st.lists(st.lists(MAKERS, max_size=12), min_size=1, max_size=3))
def test_whatever_was_said_the_journal_is_whole(runs: list[list[Maker]]) -> None:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "journal.sqlite"
        for number, makers in enumerate(runs):
            run(path, makers, replace(HEADER, run_id=f"r{number}"))
        whole = verified(path)
        assert whole.misfit is None
        assert whole.links == sum(len(makers) + 2 for makers in runs)
        for number in range(len(runs)):
            assert verified(path, f"r{number}").misfit is None


def test_what_goes_in_together_is_as_one_by_one(tmp_path: Path) -> None:
    def write(journal: Journal) -> None:
        for run_id in RUNS:
            journal.begin(make_header(run_id))
            for entry in make_entries():
                journal.append(run_id, *entry)

    with Journal.open(tmp_path / "one") as one, Journal.open(tmp_path / "many") as many:
        write(one)
        with many.together():
            write(many)
        assert dump(one) == dump(many)
        assert many.verify_chain().misfit is None


_WRITER = """
import sys
from pathlib import Path
from tests.journal.conftest import make_entries, make_header
from voiceflow.journal.store import Journal
with Journal.open(Path(sys.argv[1])) as journal:
    journal.begin(make_header(sys.argv[2]))
    for entry in make_entries() * 10:
        journal.append(sys.argv[2], *entry)
"""


@pytest.mark.slow
def test_programs_that_write_at_once_make_one_chain(path: Path) -> None:
    Journal.open(path).close()
    writers = [
        subprocess.Popen([sys.executable, "-c", _WRITER, str(path), run_id]) for run_id in RUNS
    ]
    assert [writer.wait() for writer in writers] == [0, 0, 0]
    whole = verified(path)
    assert (whole.misfit, whole.links) == (None, 3 * 61)


class _StoppedError(Exception):
    """Something goes wrong half way."""


def test_together_is_all_or_nothing(path: Path, header: RunHeader) -> None:
    with Journal.open(path) as journal:
        journal.begin(header)
        with suppress(_StoppedError), journal.together():
            journal.begin(make_header("b"))
            journal.append("b", *make_entries()[1])
            journal.append(header.run_id, Started(at_s=0.0))
            raise _StoppedError
        assert [one.events for one in journal.runs()] == [0]
        assert journal.append(header.run_id, *make_entries()[1]) == 0
        # a step that is refused leaves nothing, and the others are kept
        with journal.together():
            journal.begin(make_header("c"))
            with pytest.raises(ValueError, match="JSON"):
                journal.append("c", TimePassed(at_s=float("nan")))
            journal.append("c", *make_entries()[1])
        assert [one.events for one in journal.runs()] == [1, 1]
        assert journal.verify_chain().misfit is None


def dump(journal: Journal) -> Sequence[str]:
    def lines() -> Iterator[str]:
        yield from journal._connection.iterdump()

    return list(lines())
