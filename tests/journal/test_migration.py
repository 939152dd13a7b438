"""A journal of version 1 is read as it is, and brought over whole when it is written to."""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from tests.journal.conftest import make_entries, make_found, make_header
from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.events import Event, Started, TimePassed
from voiceflow.errors import JournalError
from voiceflow.journal import codec, opening
from voiceflow.journal.header import RunHeader
from voiceflow.journal.store import Journal
from voiceflow.journal.tables import APPLICATION_ID, USER_VERSION

Entries = list[tuple[Event, tuple[Record, ...]]]

#: The tables of version 1, as the first release made them.
VERSION_1 = """
CREATE TABLE run (
    run_id TEXT NOT NULL UNIQUE CHECK (typeof(run_id) = 'text' AND run_id <> ''),
    header TEXT NOT NULL
);
CREATE TABLE event (
    run_id TEXT NOT NULL REFERENCES run (run_id),
    seq INTEGER NOT NULL CHECK (typeof(seq) = 'integer' AND seq >= 0),
    at_s REAL NOT NULL,
    kind TEXT NOT NULL,
    json TEXT NOT NULL,
    PRIMARY KEY (run_id, seq)
);
CREATE TABLE record (
    run_id TEXT NOT NULL,
    seq INTEGER NOT NULL,
    n INTEGER NOT NULL CHECK (typeof(n) = 'integer' AND n >= 0),
    kind TEXT NOT NULL,
    json TEXT NOT NULL,
    PRIMARY KEY (run_id, seq, n),
    FOREIGN KEY (run_id, seq) REFERENCES event (run_id, seq)
);
"""
SAME_KEY = {
    "run": "run_id = NEW.run_id",
    "event": "run_id = NEW.run_id AND seq = NEW.seq",
    "record": "run_id = NEW.run_id AND seq = NEW.seq AND n = NEW.n",
}
TRIGGER = """
CREATE TRIGGER {table}_{change} BEFORE {change} ON {table} {when}
BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END
"""


def make_version_1(path: Path) -> sqlite3.Connection:
    path.parent.mkdir(exist_ok=True)
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("PRAGMA journal_mode = WAL")
    connection.executescript(VERSION_1)
    for table, same_key in SAME_KEY.items():
        taken = f"WHEN EXISTS (SELECT 1 FROM {table} WHERE {same_key})"
        for change, when in (("UPDATE", ""), ("DELETE", ""), ("INSERT", taken)):
            connection.execute(TRIGGER.format(table=table, change=change, when=when))
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.execute("PRAGMA user_version = 1")
    return connection


def enter(connection: sqlite3.Connection, header: RunHeader) -> None:
    """As version 1 began a run. Its heads had no brief yet."""
    plain = codec.plain_header(header)
    del plain["brief"], plain["clock_given"]
    connection.execute("INSERT INTO run VALUES (?, ?)", (header.run_id, codec.to_text(plain)))


def write(
    connection: sqlite3.Connection, run_id: str, seq: int, event: Event, records: tuple[Record, ...]
) -> None:
    """As version 1 wrote an event. Its records had no parts of a sector yet."""
    connection.execute(
        "INSERT INTO event VALUES (?, ?, ?, ?, ?)",
        (run_id, seq, event.at_s, event.kind, codec.dump_event(event)),
    )
    for n, record in enumerate(records):
        plain = codec.plain_record(record)
        del plain["part"], plain["sign_off"]
        connection.execute(
            "INSERT INTO record VALUES (?, ?, ?, ?, ?)",
            (run_id, seq, n, codec.record_kind(record), codec.to_text(plain)),
        )


RUNS = {"b": make_entries(), "a": make_entries()[:3], "empty": []}


@pytest.fixture
def old(path: Path) -> Path:
    """Three runs of version 1, two of them mixed, one without events."""
    with closing(make_version_1(path)) as connection:
        for run_id in RUNS:
            enter(connection, make_header(run_id))
        for seq, entry in enumerate(RUNS["b"]):
            write(connection, "b", seq, *entry)
            if seq < len(RUNS["a"]):
                write(connection, "a", seq, *RUNS["a"][seq])
        enter(connection, make_header("late"))
        write(connection, "late", 0, Started(at_s=0.0), (Record(discrepancy=make_found()),))
    return path


def texts(path: Path) -> dict[str, list[str]]:
    """Every text of a version 1 file, by run."""
    with closing(sqlite3.connect(path)) as connection:
        found = dict(connection.execute("SELECT run_id, header FROM run ORDER BY rowid").fetchall())
        return {
            run_id: [
                header,
                *(
                    text
                    for (text,) in connection.execute(
                        "SELECT json FROM event WHERE run_id = ? ORDER BY seq", (run_id,)
                    )
                ),
                *(
                    f"{kind} {text}"
                    for kind, text in connection.execute(
                        "SELECT kind, json FROM record WHERE run_id = ? ORDER BY seq, n", (run_id,)
                    )
                ),
            ]
            for run_id, header in found.items()
        }


def texts_now(journal: Journal) -> dict[str, list[str]]:
    found = {}
    for run in journal.runs():
        events = list(journal.raw_events(run.run_id))
        facts = [f"{kind} {line}" for event in events for kind, line in event.records]
        header = journal.raw_header(run.run_id)
        found[run.run_id] = [header, *(event.json for event in events), *facts]
    return found


def test_reading_leaves_it_as_it_is(old: Path) -> None:
    before, content = texts(old), old.read_bytes()
    with Journal.open_to_read(old) as journal:
        assert texts_now(journal) == before
        assert list(before) == [run.run_id for run in journal.runs()]
        for run_id, entries in RUNS.items():
            assert journal.header(run_id) == make_header(run_id)
            assert [(one.event, one.records) for one in journal.entries(run_id)] == entries
        assert len(journal.answers("X-SKR7")) == 2
        assert len(journal.open_findings("X-SKR7")) == 1
        assert journal.verify_chain().misfit is None
        with pytest.raises(JournalError, match="cannot be written"):
            journal.append("a", TimePassed(at_s=9.0))
    assert old.read_bytes() == content


def test_writing_brings_all_of_it_over(old: Path) -> None:
    before = texts(old)
    with Journal.open(old) as journal:
        assert texts_now(journal) == before
        assert journal.verify_chain().misfit is None
        # and it goes on
        assert journal.append("a", TimePassed(at_s=9.0)) == len(RUNS["a"])
        journal.begin(make_header("new"))
    with closing(sqlite3.connect(old)) as connection:
        assert connection.execute("PRAGMA user_version").fetchone() == (USER_VERSION,)
        tables = {
            name
            for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
        }
        assert not any(name.endswith("version_1") for name in tables)
        with pytest.raises(sqlite3.IntegrityError, match="append-only"):
            connection.execute("DELETE FROM event")
        # in the order in which they were written: a head, and what was mixed stays mixed
        order = connection.execute(
            "SELECT run.run_id, event.seq FROM event JOIN run ON run.place = event.run"
            " ORDER BY event.place LIMIT 4"
        ).fetchall()
    assert order == [("b", 0), ("a", 0), ("b", 1), ("a", 1)]
    with Journal.open_to_read(old) as journal:
        assert [run.run_id for run in journal.runs()] == [*before, "new"]
        assert journal.verify_chain().misfit is None


def test_it_is_the_same_as_if_written_now(old: Path, tmp_path: Path) -> None:
    """Links and answers do not tell a run that was brought over from one written now."""
    run_id = "only"
    with closing(make_version_1(tmp_path / "old.sqlite")) as connection:
        plain = codec.plain_header(make_header(run_id))
        connection.execute("INSERT INTO run VALUES (?, ?)", (run_id, codec.to_text(plain)))
        for seq, (event, _) in enumerate(make_entries()):
            write(connection, run_id, seq, event, ())
    with Journal.open(tmp_path / "new.sqlite") as journal:
        journal.begin(make_header(run_id))
        for event, _ in make_entries():
            journal.append(run_id, event)
        expected = [raw.link for raw in journal.raw_events(run_id)]
    with Journal.open(tmp_path / "old.sqlite") as journal:
        assert [raw.link for raw in journal.raw_events(run_id)] == expected


@pytest.mark.parametrize(
    "statement",
    [
        "INSERT INTO event VALUES ('late', 1, 1.0, 'x', 'no json')",
        "INSERT INTO event VALUES ('late', 1, 1.0, 'x', '[]')",
        "INSERT INTO record VALUES ('late', 0, 9, 'x', '{')",
        "INSERT INTO run VALUES ('x', '7')",
        "INSERT INTO run VALUES ('x', '{}')",
        """INSERT INTO run VALUES ('x', '{"check": 7}')""",
    ],
)
@pytest.mark.parametrize("opened", [Journal.open, Journal.open_to_read])
def test_what_cannot_be_read_leaves_all_as_it_was(
    old: Path, statement: str, opened: Callable[[Path], Journal]
) -> None:
    with closing(sqlite3.connect(old, isolation_level=None)) as connection:
        connection.execute(statement)
    before = texts(old)
    with pytest.raises(JournalError, match="journal version 2"):
        opened(old)
    assert texts(old) == before
    with closing(sqlite3.connect(old)) as connection:
        assert connection.execute("PRAGMA user_version").fetchone() == (1,)


def test_a_file_too_large_to_be_looked_through_is_told_when_read(
    path: Path, monkeypatch: pytest.MonkeyPatch, header: RunHeader
) -> None:
    with Journal.open(path) as journal:
        journal.begin(header)
        for entry in make_entries() * 40:
            journal.append(header.run_id, *entry)
    whole = bytearray(path.read_bytes())
    whole[-40_000:] = b"\xa5" * 40_000
    path.write_bytes(whole)
    with pytest.raises(JournalError, match="is damaged"):
        Journal.open_to_read(path)
    monkeypatch.setattr(opening, "_LOOKED_THROUGH", 0)
    with Journal.open_to_read(path) as journal:
        with pytest.raises(JournalError, match="is damaged"):
            journal.entries(header.run_id)
        with pytest.raises(JournalError, match="is damaged"):
            journal.verify_chain()
