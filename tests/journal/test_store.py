import os
import shutil
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.journal.conftest import make_found, make_step
from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.events import Event, Started, TimePassed
from voiceflow.dialogue.state import Ending
from voiceflow.errors import JournalError
from voiceflow.journal.header import RunHeader
from voiceflow.journal.store import Journal
from voiceflow.journal.tables import APPLICATION_ID, USER_VERSION
from voiceflow.journal.writing import written as written_as
from voiceflow.phraseology.prompts import EndingKind

Entries = list[tuple[Event, tuple[Record, ...]]]


def written(journal: Journal, run_id: str) -> Entries:
    return [(entry.event, entry.records) for entry in journal.entries(run_id)]


def test_what_is_written_is_read(path: Path, header: RunHeader, entries: Entries) -> None:
    with Journal.open(path) as journal:
        journal.begin(header)
        assert [journal.append(header.run_id, *entry) for entry in entries] == list(
            range(len(entries))
        )
    with Journal.open(path, create=False) as journal:
        assert journal.header(header.run_id) == header
        assert written(journal, header.run_id) == entries
        assert journal.events(header.run_id) == tuple(event for event, _ in entries)
        assert journal.records(header.run_id) == tuple(
            record for _, records in entries for record in records
        )


def test_file_says_what_it_is_and_how_it_is_written(path: Path) -> None:
    with Journal.open(path) as journal:
        connection = journal._connection
        pragmas = {
            name: connection.execute(f"PRAGMA {name}").fetchone()[0]
            for name in ("application_id", "user_version", "journal_mode", "synchronous")
        }
    # 2 is FULL: https://www.sqlite.org/pragma.html#pragma_synchronous
    assert pragmas == {
        "application_id": APPLICATION_ID,
        "user_version": USER_VERSION,
        "journal_mode": "wal",
        "synchronous": 2,
    }


@pytest.mark.parametrize(
    "statement",
    [
        "DELETE FROM event",
        "DELETE FROM record WHERE n = 1",
        "DELETE FROM run",
        "DELETE FROM document",
        "DELETE FROM line",
        "DELETE FROM answer",
        "DELETE FROM finding_step",
        "DELETE FROM sound",
        "UPDATE event SET json = '{}'",
        "UPDATE record SET kind = 'x'",
        "UPDATE run SET header = '{}'",
        "UPDATE document SET json = '{}'",
        "UPDATE line SET tail = ''",
        "UPDATE answer SET value = '1'",
        "UPDATE finding_step SET by_whom = ''",
        "UPDATE sound SET flac = x'00'",
        "REPLACE INTO event SELECT place, run, seq, form, '[9.0]', link FROM event",
        "REPLACE INTO event SELECT place + 100, run, seq, form, '[9.0]', link FROM event",
        "REPLACE INTO record SELECT place, n, 'x', form, json FROM record",
        "REPLACE INTO run SELECT place, run_id, '', '', '', NULL, NULL, '{}', link FROM run",
        "REPLACE INTO run SELECT 99, run_id, '', '', '', NULL, NULL, '{}', link FROM run",
        "REPLACE INTO document SELECT id, digest, '{}' FROM document",
        "REPLACE INTO document SELECT NULL, digest, '{}' FROM document",
        "REPLACE INTO line SELECT line, '', check_id, item_id, series, unit, NULL, NULL FROM line",
        "REPLACE INTO answer SELECT line, run, place, n, state, '1', 0, 0, 0 FROM answer",
        "REPLACE INTO finding_step SELECT place, finding_id, state, '', '', at, link FROM finding_step",
        "REPLACE INTO sound SELECT place, digest, x'00', link FROM sound",
        "REPLACE INTO sound SELECT 99, digest, x'00', link FROM sound",
    ],
)
def test_nothing_written_can_be_changed(
    path: Path, header: RunHeader, entries: Entries, statement: str
) -> None:
    with Journal.open(path) as journal:
        journal.begin(header)
        for entry in entries:
            journal.append(header.run_id, *entry)
        journal.append(header.run_id, TimePassed(at_s=6.0), [Record(discrepancy=make_found())])
        journal.note_finding(make_step(header.run_id))
        journal.keep_sound(b"fLaC")
    outsider = sqlite3.connect(path)
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        outsider.execute(statement)
    outsider.rollback()
    outsider.close()
    with Journal.open(path) as journal:
        assert written(journal, header.run_id)[:-1] == entries


def test_every_commit_survives_a_crash_after_it(
    tmp_path: Path, path: Path, header: RunHeader, entries: Entries
) -> None:
    """The files as they lie on disk after each commit hold everything up to it."""
    with Journal.open(path) as journal:
        journal.begin(header)
        for count, entry in enumerate(entries, start=1):
            journal.append(header.run_id, *entry)
            copy = _copy(path, tmp_path / f"crash-{count}")
            with Journal.open(copy, create=False) as reopened:
                assert written(reopened, header.run_id) == entries[:count]
                # and the run goes on there
                assert reopened.append(header.run_id, TimePassed(at_s=99.0)) == count


def test_torn_write_loses_only_what_was_not_committed(
    tmp_path: Path, path: Path, header: RunHeader, entries: Entries
) -> None:
    """Cut the log anywhere within the last commit: an event is there with its records or not."""
    with Journal.open(path) as journal:
        journal.begin(header)
        for entry in entries[:-1]:
            journal.append(header.run_id, *entry)
        log = path.with_name(path.name + "-wal")
        before = log.stat().st_size
        journal.append(header.run_id, *entries[-1])
        after = log.stat().st_size
        assert after > before
        for size in range(before, after, (after - before) // 12):
            copy = _copy(path, tmp_path / f"torn-{size}")
            os.truncate(copy.with_name(copy.name + "-wal"), size)
            with Journal.open(copy, create=False) as reopened:
                assert written(reopened, header.run_id) == entries[:-1]


def _copy(path: Path, folder: Path) -> Path:
    folder.mkdir()
    for suffix in ("", "-wal"):
        source = path.with_name(path.name + suffix)
        if source.exists():
            shutil.copyfile(source, folder / source.name)
    return folder / path.name


_WRITER = """
import sys
from pathlib import Path
from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.events import TimePassed
from voiceflow.journal.store import Journal
journal = Journal.open(Path(sys.argv[1]), create=False)
while True:
    seq = len(journal.events(sys.argv[2]))
    seq = journal.append(sys.argv[2], TimePassed(at_s=float(seq)), [Record(withdrawn_item=str(seq))] * 3)
    print(seq, flush=True)
"""


@pytest.mark.slow
def test_killed_between_appends_nothing_acknowledged_is_lost(path: Path, header: RunHeader) -> None:
    with Journal.open(path) as journal:
        journal.begin(header)
    last = -1
    for lines in (1, 7, 20):
        with subprocess.Popen(
            [sys.executable, "-c", _WRITER, str(path), header.run_id], stdout=subprocess.PIPE
        ) as writer:
            assert writer.stdout is not None
            for _ in range(lines):
                last = int(writer.stdout.readline())
            writer.send_signal(signal.SIGKILL)
            # what it managed to say before it died
            for line in writer.stdout.read().split(b"\n")[:-1]:
                last = int(line)
        assert writer.returncode == -signal.SIGKILL
        with Journal.open(path, create=False) as journal:
            entries = journal.entries(header.run_id)
        assert len(entries) >= last + 1
        for place, entry in enumerate(entries):
            assert entry.seq == place
            assert entry.event == TimePassed(at_s=float(place))
            assert entry.records == (Record(withdrawn_item=str(place)),) * 3


def test_second_writer_of_a_run_is_refused(path: Path, header: RunHeader) -> None:
    first = Journal.open(path)
    first.begin(header)
    first.append(header.run_id, Started(at_s=0.0))
    second = Journal.open(path)
    events = second.events(header.run_id)
    # the first goes on after the second has read: the second must not add to what it has not seen
    first.append(header.run_id, TimePassed(at_s=1.0))
    with pytest.raises(JournalError, match="another program has written event 1"):
        second.append(header.run_id, TimePassed(at_s=2.0))
    assert len(events) == 1
    # taken over by a third, which has read it all: then the first is refused, and stays so
    third = Journal.open(path)
    third.events(header.run_id)
    third.append(header.run_id, TimePassed(at_s=3.0))
    for _ in range(2):
        with pytest.raises(JournalError, match="another program has written event 2"):
            first.append(header.run_id, TimePassed(at_s=4.0))
        first.events(header.run_id)
    assert [event.at_s for event in third.events(header.run_id)] == [0.0, 1.0, 3.0]
    for journal in (first, second, third):
        journal.close()


def test_write_lock_of_another_program_is_named(
    path: Path, header: RunHeader, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("voiceflow.journal.store._BUSY_S", 0.0)
    with Journal.open(path) as journal:
        other = sqlite3.connect(path, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(JournalError, match="another program is writing"):
            journal.begin(header)
        other.execute("ROLLBACK")
        other.close()
        journal.begin(header)


def test_event_that_cannot_be_written_leaves_nothing(path: Path, header: RunHeader) -> None:
    with Journal.open(path) as journal:
        journal.begin(header)
        with pytest.raises(ValueError, match="JSON"):
            journal.append(header.run_id, Started(at_s=float("nan")))
        assert journal.append(header.run_id, Started(at_s=0.0)) == 0


def test_same_run_twice_and_unknown_run_are_refused(path: Path, header: RunHeader) -> None:
    with Journal.open(path) as journal:
        journal.begin(header)
        with pytest.raises(JournalError, match="already a run") as refused:
            journal.begin(header)
        assert f"voiceflow resume {header.run_id}" in refused.value.remedy
        for ask in (journal.header, journal.events, journal.records, journal.entries):
            with pytest.raises(JournalError, match="no run 'other'"):
                ask("other")
        with pytest.raises(JournalError, match="no run 'other'"):
            journal.append("other", Started(at_s=0.0))


# ---- runs


def _ending(at_s: float, kind: EndingKind) -> tuple[Event, list[Record]]:
    ending = Ending(kind=kind, at_item=None, open_items=(), at_s=at_s)
    return TimePassed(at_s=at_s), [Record(ending=ending)]


def test_runs_are_listed(
    path: Path, header_named: Callable[[str], RunHeader], entries: Entries
) -> None:
    with Journal.open(path) as journal:
        assert journal.runs() == ()
        assert journal.last_unfinished() is None
        for name in ("20261125-1", "20261126-2", "20261127-3", "20261128-4"):
            journal.begin(header_named(name))
        for entry in entries:
            journal.append("20261126-2", *entry)
        journal.append("20261127-3", Started(at_s=0.0))
        journal.append("20261127-3", *_ending(7.5, EndingKind.COMPLETE_EXCEPT))
        journal.append("20261128-4", *_ending(8.0, EndingKind.ABANDONED))
        runs = journal.runs()
        assert [(run.run_id, run.events, run.last_at_s, run.ending) for run in runs] == [
            ("20261125-1", 0, 0.0, None),
            ("20261126-2", 6, 5.0, None),
            ("20261127-3", 2, 7.5, EndingKind.COMPLETE_EXCEPT),
            ("20261128-4", 1, 8.0, EndingKind.ABANDONED),
        ]
        assert [run.finished for run in runs] == [False, False, True, True]
        assert runs[0].check_title == "Cockpit preparation"
        assert runs[0].check_id == "cockpit-preparation"
        assert runs[0].tail == "X-SKR7"
        assert runs[0].started_at == "2026-11-25T09:30:12+00:00"
        last = journal.last_unfinished()
        assert last is not None
        assert last.run_id == "20261126-2"


def test_run_is_found_by_the_start_of_its_name(
    path: Path, header_named: Callable[[str], RunHeader]
) -> None:
    with Journal.open(path) as journal:
        with pytest.raises(JournalError, match="the journal is empty"):
            journal.find("2026")
        for name in ("20261125-090000-aaaa", "20261125-090000-aaaab", "20261126-100000-bbbb"):
            journal.begin(header_named(name))
        assert journal.find("20261126").run_id == "20261126-100000-bbbb"
        assert journal.find("20261125-090000-aaaa").run_id == "20261125-090000-aaaa"
        with pytest.raises(JournalError, match="2 runs begin with '20261125'"):
            journal.find("20261125")
        with pytest.raises(JournalError, match="20261126-100000-bbbb"):
            journal.find("20261126-100001-bbbb")
        with pytest.raises(JournalError, match="no run ''"):
            journal.find("")


# ---- files that are no journal


def _text(path: Path) -> None:
    path.write_text("Dear diary,\n" * 200)


def _short(path: Path) -> None:
    path.write_bytes(b"\x00")


def _folder(path: Path) -> None:
    path.mkdir()


def _other_database(path: Path) -> None:
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE event (x)")
    connection.commit()
    connection.close()


def _newer(path: Path) -> None:
    Journal.open(path).close()
    connection = sqlite3.connect(path)
    connection.execute(f"PRAGMA user_version = {USER_VERSION + 1}")
    connection.close()


def _damaged(path: Path) -> None:
    Journal.open(path).close()
    whole = bytearray(path.read_bytes())
    whole[4096:8192] = b"\xa5" * 4096
    path.write_bytes(whole)


def _cut(path: Path) -> None:
    Journal.open(path).close()
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2])


def _head_only(path: Path) -> None:
    path.write_bytes(b"SQLite format 3\x00" + b"\xff" * 300)


def _under_a_file(path: Path) -> None:
    path.parent.rmdir()
    path.parent.write_text("a file where a folder should be")


@pytest.mark.parametrize("create", [True, False])
@pytest.mark.parametrize(
    ("make", "what"),
    [
        (_text, "is not a journal"),
        (_short, "is not a journal"),
        (_folder, "is a folder"),
        (_other_database, "another program's database"),
        (_newer, "newer Voiceflow"),
        (_damaged, "is damaged"),
        (_cut, "is damaged"),
        (_head_only, "is damaged"),
        (_under_a_file, "cannot be used|no journal here"),
    ],
)
def test_other_files_are_refused_and_left_as_they_were(
    path: Path, make: Callable[[Path], None], what: str, create: bool
) -> None:
    path.parent.mkdir()
    make(path)
    before = path.read_bytes() if path.is_file() else None
    with pytest.raises(JournalError, match=what) as refused:
        Journal.open(path, create=create)
    assert str(path) in str(refused.value)
    assert refused.value.remedy.endswith((".", str(path / "journal.sqlite")))
    if before is not None:
        assert path.read_bytes() == before


def test_missing_and_empty_files(path: Path, header: RunHeader) -> None:
    with pytest.raises(JournalError, match="there is no journal here"):
        Journal.open(path, create=False)
    assert not path.parent.exists()
    path.parent.mkdir()
    path.touch()
    with pytest.raises(JournalError, match="empty file"):
        Journal.open(path, create=False)
    # killed between making the file and its tables: an empty file may become a journal
    with Journal.open(path) as journal:
        journal.begin(header)


@pytest.mark.skipif(sys.platform == "win32", reason="Unix permissions")
def test_file_without_write_permission_is_refused(path: Path) -> None:
    Journal.open(path).close()
    path.chmod(0o444)
    path.parent.chmod(0o555)
    try:
        if os.access(path, os.W_OK):
            # root writes anyway; SQLite then works, and there is nothing to refuse
            pytest.skip("this user may write everything")
        with pytest.raises(JournalError, match="cannot be written"):
            Journal.open(path)
    finally:
        path.parent.chmod(0o755)


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="/proc takes no files")
def test_place_that_takes_no_files_is_refused() -> None:
    with pytest.raises(JournalError, match="cannot be used"):
        Journal.open(Path("/proc/voiceflow/journal.sqlite"))


def test_write_that_sqlite_forbids_is_refused(path: Path, header: RunHeader) -> None:
    with Journal.open(path) as journal:
        journal.begin(header)
        journal._connection.execute("PRAGMA query_only = ON")
        with pytest.raises(JournalError, match="cannot be written"):
            journal.append(header.run_id, Started(at_s=0.0))
        journal._connection.execute("PRAGMA query_only = OFF")
        assert journal.append(header.run_id, Started(at_s=0.0)) == 0


def test_full_disk_keeps_what_was_written(path: Path, header: RunHeader, entries: Entries) -> None:
    with Journal.open(path) as journal:
        journal.begin(header)
        # SQLite's own limit stands for the disk's: the same error code
        pages = journal._connection.execute("PRAGMA page_count").fetchone()[0]
        journal._connection.execute(f"PRAGMA max_page_count = {pages}")
        count = 0
        refused: JournalError | None = None
        while refused is None:
            try:
                journal.append(header.run_id, *entries[1])
                count += 1
            except JournalError as error:
                refused = error
    assert "the disk refuses" in refused.what
    assert count > 0
    with Journal.open(path) as journal:
        assert written(journal, header.run_id) == [entries[1]] * count


def test_unreadable_row_is_named(path: Path, header: RunHeader) -> None:
    with Journal.open(path) as journal:
        journal.begin(header)
        journal.append(header.run_id, Started(at_s=0.0))
        with journal._transaction():
            unheard_of = written_as("event", {"kind": "hovered", "at_s": 1.0})
            journal._writer.event(1, header.run_id, 1, unheard_of, [])
        with pytest.raises(JournalError, match="event 1 cannot be read by this version"):
            journal.events(header.run_id)
        assert [run.events for run in journal.runs()] == [2]
