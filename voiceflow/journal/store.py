"""The journal file: SQLite, append-only, committed before anything is said of it.

One row a run, an event and a record; rows are only ever added, which the database
itself enforces. An event and its records go in with one transaction, on disk
(write-ahead log, synchronous=FULL) when ``append`` returns. What an event means
is not decided here.

Who may write: a ``Journal`` continues a run after the last event that it has read
or written itself. Has another program added one meanwhile, the number is taken
and the append is refused, so that two programs never mix their events in one run.
"""

import json
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from rapidfuzz import process

from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.events import Event
from voiceflow.errors import JournalError
from voiceflow.journal import codec
from voiceflow.journal.header import RunHeader
from voiceflow.phraseology.prompts import EndingKind

#: "VFJ1" in the file's header: what tells a journal from any other database.
APPLICATION_ID = 0x56464A31
#: Raised when the tables change.
USER_VERSION = 1
#: How long to wait for another program's transaction.
_BUSY_S = 5.0
_SQLITE_MAGIC = b"SQLite format 3\x00"

_TABLES = """
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
)
"""
_TRIGGER = """
CREATE TRIGGER {table}_{change} BEFORE {change} ON {table} {when}
BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END
"""
#: A REPLACE deletes without firing the trigger on DELETE, so it is stopped before it inserts.
_SAME_KEY = {
    "run": "run_id = NEW.run_id",
    "event": "run_id = NEW.run_id AND seq = NEW.seq",
    "record": "run_id = NEW.run_id AND seq = NEW.seq AND n = NEW.n",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class RunSummary:
    """One run in a list.

    Attributes:
        run_id: Its name.
        started_at: ISO 8601 with UTC offset.
        check_id: The check's short name.
        check_title: What the check is called.
        tail: Registration; empty if none was known.
        events: How many events it has.
        last_at_s: Time of the last one, seconds into the run; 0 without events.
        ending: How it ended; None if it has not.
    """

    run_id: str
    started_at: str
    check_id: str
    check_title: str
    tail: str
    events: int
    last_at_s: float
    ending: EndingKind | None

    @property
    def finished(self) -> bool:
        """Whether the run has ended, complete or not."""
        return self.ending is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One event as it stands in the journal, with what it led to.

    Attributes:
        seq: Its place in the run, from 0.
        event: What happened.
        records: The facts written down with it, in order.
    """

    seq: int
    event: Event
    records: tuple[Record, ...]


class Journal:
    """An open journal file. Use it in one thread; close it, or use ``with``."""

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        self.path = path
        self._connection = connection
        self._next_seq: dict[str, int] = {}

    @classmethod
    def open(cls, path: Path, *, create: bool = True) -> Self:
        """Open a journal.

        Args:
            path: The file.
            create: Make it, and the folders above it, if it is not there.

        Raises:
            JournalError: If it is not there (and not to be made), is something
                else, is damaged, comes from a newer Voiceflow, or cannot be written.
        """
        path = path.expanduser().absolute()
        is_new = _look(path, create=create)
        connection: sqlite3.Connection | None = None
        try:
            connection = sqlite3.connect(path, timeout=_BUSY_S, isolation_level=None)
            _refuse_foreign(path, connection, may_be_empty=is_new)
            _prepare(connection)
        except sqlite3.Error as error:
            if connection is not None:
                connection.close()
            raise _mapped(path, error) from error
        except JournalError:
            if connection is not None:
                connection.close()
            raise
        return cls(path, connection)

    def close(self) -> None:
        """Close the file; everything appended is already on disk."""
        self._connection.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        self.close()

    # ---- writing

    def begin(self, header: RunHeader) -> None:
        """Enter a new run.

        Raises:
            JournalError: If the journal has a run of that name, or cannot be written.
        """
        text = codec.dump_header(header)
        with self._transaction() as connection:
            try:
                connection.execute(
                    "INSERT INTO run (run_id, header) VALUES (?, ?)", (header.run_id, text)
                )
            except sqlite3.IntegrityError as error:
                raise JournalError(
                    self.path,
                    f"there is already a run {header.run_id}",
                    f"Continue it with: voiceflow resume {header.run_id}",
                ) from error
        self._next_seq[header.run_id] = 0

    def append(self, run_id: str, event: Event, records: Sequence[Record] = ()) -> int:
        """Write an event and its records in one transaction; on disk when this returns.

        Args:
            run_id: A run of this journal.
            event: What happened.
            records: The facts it led to, in order.

        Returns:
            The event's place in the run, from 0.

        Raises:
            JournalError: If there is no such run, another program has written to
                it since this one last looked, or the file cannot be written. Then
                nothing of the event is in the journal.
        """
        # to text first: a value that cannot be written must not open a transaction
        line = codec.dump_event(event)
        facts = [(codec.record_kind(record), codec.dump_record(record)) for record in records]
        with self._transaction() as connection:
            seq = self._seq(run_id)
            try:
                connection.execute(
                    "INSERT INTO event (run_id, seq, at_s, kind, json) VALUES (?, ?, ?, ?, ?)",
                    (run_id, seq, event.at_s, event.kind, line),
                )
            except sqlite3.IntegrityError as error:
                raise self._refused(run_id, seq) from error
            connection.executemany(
                "INSERT INTO record (run_id, seq, n, kind, json) VALUES (?, ?, ?, ?, ?)",
                [(run_id, seq, n, kind, text) for n, (kind, text) in enumerate(facts)],
            )
        self._next_seq[run_id] = seq + 1
        return seq

    # ---- reading

    def runs(self) -> tuple[RunSummary, ...]:
        """Give every run, in the order they were begun."""
        rows = self._rows(
            "SELECT run.run_id, run.header, count(event.seq), coalesce(max(event.at_s), 0.0),"
            " (SELECT record.json FROM record WHERE record.run_id = run.run_id"
            "  AND record.kind = 'ending' ORDER BY record.seq DESC LIMIT 1)"
            " FROM run LEFT JOIN event ON event.run_id = run.run_id"
            " GROUP BY run.rowid ORDER BY run.rowid"
        )
        return tuple(self._summary(*row) for row in rows)

    def last_unfinished(self) -> RunSummary | None:
        """Give the run begun last among those that have not ended, if there is one."""
        unfinished = [run for run in self.runs() if not run.finished]
        return unfinished[-1] if unfinished else None

    def find(self, text: str) -> RunSummary:
        """Give the run of that name, or the only one whose name begins so.

        Raises:
            JournalError: If there is none, naming the nearest, or several.
        """
        runs = self.runs()
        found = [run for run in runs if run.run_id == text]
        if not found and text:
            found = [run for run in runs if run.run_id.startswith(text)]
        if len(found) == 1:
            return found[0]
        if found:
            names = ", ".join(run.run_id for run in found[-3:])
            what = f"{len(found)} runs begin with {text!r}, the last of them {names}"
            raise JournalError(self.path, what, "Give more of the name.")
        if not runs:
            raise JournalError(
                self.path, f"no run {text!r}: the journal is empty", "Begin one: voiceflow run"
            )
        near = process.extract(text, [run.run_id for run in runs], limit=3, score_cutoff=60)
        meant = f" Did you mean {', '.join(name for name, _, _ in near)}?" if near else ""
        raise JournalError(
            self.path, f"no run {text!r}", f"List the runs with: voiceflow journal.{meant}"
        )

    def header(self, run_id: str) -> RunHeader:
        """Give the head of a run.

        Raises:
            JournalError: If there is no such run or it cannot be read.
        """
        for (text,) in self._rows("SELECT header FROM run WHERE run_id = ?", run_id):
            with self._readable(run_id, "its header"):
                return codec.load_header(text)
        raise self._unknown(run_id)

    def events(self, run_id: str) -> tuple[Event, ...]:
        """Give every event of a run, in order.

        Raises:
            JournalError: If there is no such run or an event cannot be read.
        """
        return tuple(entry.event for entry in self._entries(run_id, with_records=False))

    def records(self, run_id: str) -> tuple[Record, ...]:
        """Give every record of a run, in order.

        Raises:
            JournalError: If there is no such run or a record cannot be read.
        """
        return tuple(record for entry in self.entries(run_id) for record in entry.records)

    def entries(self, run_id: str) -> tuple[Entry, ...]:
        """Give every event of a run with its records, in order.

        Raises:
            JournalError: If there is no such run or something in it cannot be read.
        """
        return self._entries(run_id, with_records=True)

    # ---- within

    def _entries(self, run_id: str, *, with_records: bool) -> tuple[Entry, ...]:
        if not self._rows("SELECT 1 FROM run WHERE run_id = ?", run_id):
            raise self._unknown(run_id)
        facts: dict[int, list[Record]] = {}
        if with_records:
            for seq, text in self._rows(
                "SELECT seq, json FROM record WHERE run_id = ? ORDER BY seq, n", run_id
            ):
                with self._readable(run_id, f"a record of event {seq}"):
                    facts.setdefault(seq, []).append(codec.load_record(text))
        entries = []
        for seq, text in self._rows(
            "SELECT seq, json FROM event WHERE run_id = ? ORDER BY seq", run_id
        ):
            with self._readable(run_id, f"event {seq}"):
                event = codec.load_event(text)
            entries.append(Entry(seq=seq, event=event, records=tuple(facts.get(seq, ()))))
        # whoever read the run may continue it from here; whoever writes it keeps its own place
        self._next_seq.setdefault(run_id, entries[-1].seq + 1 if entries else 0)
        return tuple(entries)

    def _seq(self, run_id: str) -> int:
        if run_id not in self._next_seq:
            (last,) = self._connection.execute(
                "SELECT coalesce(max(seq), -1) FROM event WHERE run_id = ?", (run_id,)
            ).fetchone()
            return int(last) + 1
        return self._next_seq[run_id]

    def _refused(self, run_id: str, seq: int) -> JournalError:
        if not self._connection.execute("SELECT 1 FROM run WHERE run_id = ?", (run_id,)).fetchone():
            return self._unknown(run_id)
        return JournalError(
            self.path,
            f"another program has written event {seq} of run {run_id}",
            "Let one of the two go on, and close this one.",
        )

    def _unknown(self, run_id: str) -> JournalError:
        return JournalError(
            self.path, f"no run {run_id!r}", "List the runs with: voiceflow journal"
        )

    def _summary(
        self, run_id: str, text: str, events: int, last_at_s: float, ending: str | None
    ) -> RunSummary:
        # only these few fields are read: a run of another version must not hide the others
        with self._readable(run_id, "its header"):
            header = json.loads(text)
            kind = None if ending is None else EndingKind(json.loads(ending)["ending"]["kind"])
            return RunSummary(
                run_id=run_id,
                started_at=header["started_at"],
                check_id=header["check"]["id"],
                check_title=header["check"]["title"],
                tail=header["check"]["tail"],
                events=events,
                last_at_s=last_at_s,
                ending=kind,
            )

    @contextmanager
    def _readable(self, run_id: str, what: str) -> Iterator[None]:
        try:
            yield
        except (ValueError, KeyError, TypeError) as error:
            raise JournalError(
                self.path,
                f"run {run_id}: {what} cannot be read by this version",
                "Read it with the version that wrote it, or take the file from a backup.",
            ) from error

    def _rows(self, query: str, *values: str) -> list[tuple[Any, ...]]:
        try:
            return self._connection.execute(query, values).fetchall()
        except sqlite3.Error as error:
            raise _mapped(self.path, error) from error

    @contextmanager
    def _transaction(self) -> Iterator[sqlite3.Connection]:
        try:
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                yield self._connection
                self._connection.execute("COMMIT")
            except BaseException:
                if self._connection.in_transaction:
                    self._connection.execute("ROLLBACK")
                raise
        except sqlite3.Error as error:
            raise _mapped(self.path, error) from error


def _look(path: Path, *, create: bool) -> bool:
    """Look at a path before SQLite does; True if a journal may be made there."""
    try:
        if path.is_dir():
            raise JournalError(
                path, "is a folder, not a journal", f"Name a file in it: {path / 'journal.sqlite'}"
            )
        if path.exists():
            with path.open("rb") as file:
                start = file.read(len(_SQLITE_MAGIC))
            if start and start != _SQLITE_MAGIC:
                raise JournalError(
                    path,
                    "is not a journal",
                    "Name another file with --journal; this one is as it was.",
                )
            return create
        if not create:
            raise JournalError(
                path,
                "there is no journal here",
                "Begin a run first (voiceflow run), or name the journal with --journal.",
            )
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        reason = error.strerror or str(error)
        raise JournalError(
            path, f"cannot be used: {reason}", "Name a file that you may write with --journal."
        ) from error
    return True


def _refuse_foreign(path: Path, connection: sqlite3.Connection, *, may_be_empty: bool) -> None:
    """Refuse a database that is no journal of ours, before anything in it is changed."""
    connection.execute("PRAGMA query_only = ON")
    ((application_id,),) = connection.execute("PRAGMA application_id").fetchall()
    ((version,),) = connection.execute("PRAGMA user_version").fetchall()
    ((tables,),) = connection.execute("SELECT count(*) FROM sqlite_master").fetchall()
    connection.execute("PRAGMA query_only = OFF")
    is_empty = not (application_id or version or tables)
    if is_empty and may_be_empty:
        return
    if application_id != APPLICATION_ID:
        what = "is an empty file" if is_empty else "is another program's database"
        raise JournalError(
            path,
            f"{what}, not a journal",
            "Name another file with --journal; this one is as it was.",
        )
    if version > USER_VERSION:
        raise JournalError(
            path,
            f"was written by a newer Voiceflow (journal version {version}, this one reads {USER_VERSION})",
            "Update Voiceflow, or name another file with --journal.",
        )
    ((state,),) = connection.execute("PRAGMA quick_check(1)").fetchall()
    if state != "ok":
        raise _damaged(path)


def _prepare(connection: sqlite3.Connection) -> None:
    """Set how the file is written, and make the tables if they are not there."""
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA foreign_keys = ON")
    # taking the write lock now tells at once, not at the first answer, that we may not write
    connection.execute("BEGIN IMMEDIATE")
    if not connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]:
        for statement in _TABLES.split(";"):
            connection.execute(statement)
        for table, same_key in _SAME_KEY.items():
            taken = f"WHEN EXISTS (SELECT 1 FROM {table} WHERE {same_key})"
            for change, when in (("UPDATE", ""), ("DELETE", ""), ("INSERT", taken)):
                connection.execute(_TRIGGER.format(table=table, change=change, when=when))
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {USER_VERSION}")
    connection.execute("COMMIT")


def _mapped(path: Path, error: sqlite3.Error) -> JournalError:
    """Give our error for one of SQLite's."""
    code = getattr(error, "sqlite_errorcode", None)
    primary = code & 0xFF if code is not None else None
    match primary:
        case sqlite3.SQLITE_CORRUPT | sqlite3.SQLITE_NOTADB | sqlite3.SQLITE_FORMAT:
            return _damaged(path)
        case sqlite3.SQLITE_BUSY | sqlite3.SQLITE_LOCKED:
            return JournalError(
                path, "another program is writing to it", "Wait for it or close it, and try again."
            )
        case sqlite3.SQLITE_READONLY | sqlite3.SQLITE_CANTOPEN | sqlite3.SQLITE_PERM:
            return JournalError(
                path,
                "cannot be written",
                "Give yourself the right to write the file and its folder, "
                "or name another file with --journal.",
            )
        case sqlite3.SQLITE_FULL | sqlite3.SQLITE_IOERR:
            return JournalError(
                path,
                f"the disk refuses to take it ({error})",
                "Make room or mend the disk; everything confirmed before is kept.",
            )
        case _:
            return JournalError(
                path, f"SQLite reports: {error}", "Keep the file, and name another with --journal."
            )


def _damaged(path: Path) -> JournalError:
    return JournalError(
        path,
        "is damaged",
        "Keep a copy, take the file from a backup, or name another with --journal.",
    )
