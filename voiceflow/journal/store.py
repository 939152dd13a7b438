"""The journal file: SQLite, append-only, committed before anything is said of it.

Rows are only ever added, which the database itself enforces (``tables.py``), and each is
linked to the one before it (``chain.py``). An event and its records go in with one
transaction, on disk (write-ahead log, synchronous=FULL) when ``append`` returns. What an
event means is not decided here.

Who may write: a ``Journal`` continues a run after the last event that it has read
or written itself. Has another program added one meanwhile, the number is taken
and the append is refused, so that two programs never mix their events in one run.
"""

import json
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from rapidfuzz import process

from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.brief import CarriedFinding
from voiceflow.dialogue.events import Event
from voiceflow.errors import JournalError
from voiceflow.journal import answers, codec, opening, writing
from voiceflow.journal.answers import Answer
from voiceflow.journal.failures import damaged, mapped, unknown_run
from voiceflow.journal.header import RunHeader
from voiceflow.journal.ledger import FindingStep, Ledger
from voiceflow.journal.packing import Documents
from voiceflow.journal.verifying import Verification, Verifier
from voiceflow.phraseology.prompts import EndingKind

#: How long to wait for another program's transaction.
_BUSY_S = 5.0


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


@dataclass(frozen=True, slots=True, kw_only=True)
class RawEvent:
    """One event as it is written, for who keeps a copy of it.

    Attributes:
        seq: Its place in the run, from 0.
        at_s: Seconds into the run.
        kind: What happened.
        json: The event, one line.
        records: The kind and the line of each record, in order.
        link: Its link in the chain, hexadecimal.
    """

    seq: int
    at_s: float
    kind: str
    json: str
    records: tuple[tuple[str, str], ...]
    link: str


class Journal:
    """An open journal file. Use it in one thread; close it, or use ``with``."""

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        self.path = path
        self._connection = connection
        self._documents = Documents(connection)
        self._writer = writing.Writer(connection, self._documents)
        self._ledger = Ledger(connection, self._documents)
        self._next_seq: dict[str, int] = {}
        self._places: dict[str, int] = {}
        self._is_together = False

    @classmethod
    def open(cls, path: Path, *, create: bool = True) -> Self:
        """Open a journal for writing; one of an earlier version is brought to this one.

        Args:
            path: The file.
            create: Make it, and the folders above it, if it is not there.

        Raises:
            JournalError: If it is not there (and not to be made), is something
                else, is damaged, comes from a newer Voiceflow, or cannot be written.
        """
        path = path.expanduser().absolute()
        return cls(path, opening.connect(path, create=create, busy_s=_BUSY_S))

    @classmethod
    def open_to_read(cls, path: Path) -> Self:
        """Open a journal that is there, for reading; one of an earlier version stays as it is.

        Raises:
            JournalError: If it is not there, is something else, is damaged, or comes from
                a newer Voiceflow.
        """
        path = path.expanduser().absolute()
        return cls(path, opening.connect_to_read(path, busy_s=_BUSY_S))

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

    @contextmanager
    def together(self) -> Iterator[None]:
        """Commit all that is written within at once, or nothing of it.

        For what has been written elsewhere before and is only brought here. A run that is
        going on needs each step on disk.

        Raises:
            JournalError: If it cannot be written.
        """
        with self._transaction():
            self._is_together = True
            try:
                yield
            except BaseException:
                self._next_seq.clear()
                self._places.clear()
                raise
            finally:
                self._is_together = False

    def begin(self, header: RunHeader) -> None:
        """Enter a new run.

        Raises:
            JournalError: If the journal has a run of that name, or cannot be written.
        """
        plain = codec.plain_header(header)
        with self._transaction():
            try:
                place = self._writer.run(plain)
            except sqlite3.IntegrityError as error:
                raise JournalError(
                    self.path,
                    f"there is already a run {header.run_id}",
                    f"Continue it with: voiceflow resume {header.run_id}",
                ) from error
        self._places[header.run_id] = place
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
        happened = writing.written(event.kind, codec.plain_event(event))
        facts = [
            writing.written(codec.record_kind(record), codec.plain_record(record))
            for record in records
        ]
        with self._transaction():
            place = self._place(run_id)
            seq = self._seq(run_id, place)
            try:
                self._writer.event(place, run_id, seq, happened, facts)
            except sqlite3.IntegrityError as error:
                raise JournalError(
                    self.path,
                    f"another program has written event {seq} of run {run_id}",
                    "Let one of the two go on, and close this one.",
                ) from error
        self._next_seq[run_id] = seq + 1
        return seq

    def note_finding(self, step: FindingStep) -> None:
        """Write down what people did about a discrepancy.

        Raises:
            JournalError: If there is no such discrepancy, it was taken back in its run,
                or the file cannot be written.
        """
        with self._readable(step.finding_id, "a record"):
            found = self._ledger.find(step.finding_id)
        if found is None or found.is_withdrawn:
            what = "was taken back in its run" if found else "is not in it"
            raise JournalError(
                self.path,
                f"the finding {step.finding_id} {what}",
                "List what is open with: voiceflow findings",
            )
        with self._transaction():
            self._writer.finding_step(
                finding_id=step.finding_id,
                state=str(step.state),
                by=step.by,
                reference=step.reference,
                at=step.at,
            )

    def keep_sound(self, flac: bytes) -> str:
        """Keep a sound; the same sound is kept once.

        Args:
            flac: The bytes of a FLAC file.

        Returns:
            Its SHA-256, hexadecimal.

        Raises:
            JournalError: If the file cannot be written.
        """
        with self._transaction():
            return self._writer.sound(flac)

    # ---- reading

    def runs(self) -> tuple[RunSummary, ...]:
        """Give every run, in the order they were begun."""
        endings = self._rows(
            "SELECT event.run, record.form, record.json"
            " FROM record JOIN event ON event.place = record.place"
            " WHERE record.kind <> 'outcome' AND record.kind = 'ending'"
            " ORDER BY record.place, record.n"
        )
        ended = {run: (form, values) for run, form, values in endings}
        rows = self._rows(
            "SELECT run.place, run.run_id, run.header,"
            " (SELECT count(*) FROM event WHERE event.run = run.place), last.form, last.json"
            " FROM run LEFT JOIN event AS last ON last.run = run.place AND last.seq ="
            " (SELECT max(event.seq) FROM event WHERE event.run = run.place)"
            " ORDER BY run.place"
        )
        return tuple(
            self._summary(run_id, header, events, (form, values), ended.get(place))
            for place, run_id, header, events, form, values in rows
        )

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
        text = self.raw_header(run_id)
        with self._readable(run_id, "its header"):
            return codec.load_header(text)

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

    def answers(
        self,
        tail: str,
        *,
        since: str | None = None,
        series: str | None = None,
        check_id: str | None = None,
        readings: bool = False,
    ) -> tuple[Answer, ...]:
        """Give the answers that stand in all runs of an aircraft, in journal order.

        Args:
            tail: Registration.
            since: Only of runs that began then or later, ISO 8601; UTC if it has no offset.
            series: Only of this gauge.
            check_id: Only of this check; of a sector, its part.
            readings: Only readings.

        Raises:
            JournalError: If the file cannot be read.
            ValueError: If ``since`` is no time.
        """
        moment = None if since is None else datetime.fromisoformat(since)
        if moment is not None and moment.tzinfo is None:
            moment = moment.replace(tzinfo=UTC)
        with self._readable(f"of {tail}", "an answer"):
            return answers.find_answers(
                self._connection,
                tail,
                since=moment,
                series=series,
                check_id=check_id,
                readings=readings,
            )

    def finding_steps(self, finding_id: str | None = None) -> tuple[FindingStep, ...]:
        """Give what people did about a discrepancy, or about all of them, in that order."""
        with self._readable(finding_id or "any", "what was done about a finding"):
            return self._ledger.steps(finding_id)

    def open_findings(self, tail: str) -> tuple[CarriedFinding, ...]:
        """Give the discrepancies of an aircraft that nobody has cleared, as they were found.

        What was taken back in its run is not among them, nor what is for information only.
        """
        with self._readable(f"of {tail}", "a finding"):
            return self._ledger.open_findings(tail)

    def tails(self) -> tuple[str, ...]:
        """Give every registration that a run was begun with, sorted."""
        return tuple(tail for (tail,) in self._rows("SELECT DISTINCT tail FROM run ORDER BY tail"))

    def sound(self, digest: str) -> bytes:
        """Give a sound by its SHA-256, hexadecimal.

        Raises:
            JournalError: If it is not there.
        """
        for (flac,) in self._rows("SELECT flac FROM sound WHERE digest = ?", digest):
            return bytes(flac)
        raise JournalError(
            self.path, f"no sound {digest}", "Look for it in the journal of its run."
        )

    def verify_chain(self, run_id: str | None = None) -> Verification:
        """Hold what stands in the file against its links, and against what follows from it.

        That the records follow from the events is another matter: ``replay.verify``.

        Args:
            run_id: Only of this run; None: all of it.

        Raises:
            JournalError: If there is no such run, or the file is damaged.
        """
        run = None if run_id is None else self._place(run_id)
        try:
            ((state,),) = self._connection.execute("PRAGMA quick_check(1)").fetchall()
            if state != "ok":
                raise damaged(self.path)
            # as of one moment, though others may write meanwhile
            self._connection.execute("BEGIN")
            try:
                verifier = Verifier(self._connection)
                return verifier.whole() if run is None else verifier.run(run)
            finally:
                self._connection.execute("ROLLBACK")
        except sqlite3.Error as error:
            raise mapped(self.path, error) from error

    def raw_header(self, run_id: str) -> str:
        """Give the head of a run as it is written, the check included: one line of JSON.

        Raises:
            JournalError: If there is no such run or it cannot be read.
        """
        for (stored,) in self._rows("SELECT header FROM run WHERE run_id = ?", run_id):
            with self._readable(run_id, "its header"):
                return codec.to_text(self._documents.unpack_header(stored))
        raise unknown_run(self.path, run_id)

    def raw_events(self, run_id: str, from_seq: int = 0) -> Iterator[RawEvent]:
        """Give the events of a run as they are written, in order.

        Args:
            run_id: The run.
            from_seq: The first one wanted.

        Raises:
            JournalError: If there is no such run or something in it cannot be read.
        """
        run = self._place(run_id)
        facts: dict[int, list[tuple[str, str]]] = {}
        for place, seq, kind, form, values in self._rows(
            "SELECT event.place, event.seq, record.kind, record.form, record.json"
            " FROM event JOIN record ON record.place = event.place"
            " WHERE event.run = ? AND event.seq >= ? ORDER BY record.place, record.n",
            run,
            from_seq,
        ):
            with self._readable(run_id, f"a record of event {seq}"):
                line = self._documents.unpack(form, values)
                facts.setdefault(place, []).append((kind, line))
        for place, seq, form, values, link in self._rows(
            "SELECT place, seq, form, json, link FROM event WHERE run = ? AND seq >= ? ORDER BY seq",
            run,
            from_seq,
        ):
            with self._readable(run_id, f"event {seq}"):
                line = self._documents.unpack(form, values)
                plain = json.loads(line)
                raw = RawEvent(
                    seq=seq,
                    at_s=plain["at_s"],
                    kind=plain["kind"],
                    json=line,
                    records=tuple(facts.get(place, ())),
                    link=link.hex(),
                )
            yield raw

    # ---- within

    def _entries(self, run_id: str, *, with_records: bool) -> tuple[Entry, ...]:
        entries = []
        for raw in self.raw_events(run_id):
            records: list[Record] = []
            if with_records:
                with self._readable(run_id, f"a record of event {raw.seq}"):
                    records.extend(codec.load_record(line) for _, line in raw.records)
            with self._readable(run_id, f"event {raw.seq}"):
                event = codec.load_event(raw.json)
            entries.append(Entry(seq=raw.seq, event=event, records=tuple(records)))
        # whoever read the run may continue it from here; whoever writes it keeps its own place
        self._next_seq.setdefault(run_id, entries[-1].seq + 1 if entries else 0)
        return tuple(entries)

    def _place(self, run_id: str) -> int:
        if run_id not in self._places:
            for (place,) in self._rows("SELECT place FROM run WHERE run_id = ?", run_id):
                self._places[run_id] = place
                break
            else:
                raise unknown_run(self.path, run_id)
        return self._places[run_id]

    def _seq(self, run_id: str, place: int) -> int:
        if run_id not in self._next_seq:
            (last,) = self._connection.execute(
                "SELECT coalesce(max(seq), -1) FROM event WHERE run = ?", (place,)
            ).fetchone()
            return int(last) + 1
        return self._next_seq[run_id]

    def _summary(
        self,
        run_id: str,
        stored: str,
        events: int,
        last: tuple[int | None, str],
        ending: tuple[int, str] | None,
    ) -> RunSummary:
        # only these few fields are read: a run of another version must not hide the others
        with self._readable(run_id, "its header"):
            header = json.loads(stored)
            check = self._documents.parsed(header["check"])
            kind, last_at_s = None, 0.0
            if ending is not None:
                kind = EndingKind(json.loads(self._documents.unpack(*ending))["ending"]["kind"])
            form, values = last
            if form is not None:
                last_at_s = json.loads(self._documents.unpack(form, values))["at_s"]
            return RunSummary(
                run_id=run_id,
                started_at=header["started_at"],
                check_id=check["id"],
                check_title=check["title"],
                tail=check["tail"],
                events=events,
                last_at_s=last_at_s,
                ending=kind,
            )

    @contextmanager
    def _readable(self, run_id: str, what: str) -> Iterator[None]:
        try:
            yield
        except sqlite3.Error as error:
            raise mapped(self.path, error) from error
        except (ValueError, KeyError, TypeError) as error:
            raise JournalError(
                self.path,
                f"run {run_id}: {what} cannot be read by this version",
                "Read it with the version that wrote it, or take the file from a backup.",
            ) from error

    def _rows(self, query: str, *values: str | int) -> list[tuple[Any, ...]]:
        try:
            return self._connection.execute(query, values).fetchall()
        except sqlite3.Error as error:
            raise mapped(self.path, error) from error

    @contextmanager
    def _transaction(self) -> Iterator[None]:
        if self._is_together:
            with self._step():
                yield
            return
        try:
            self._connection.execute("BEGIN IMMEDIATE")
            self._writer.look_anew()
            try:
                yield
                self._connection.execute("COMMIT")
            except BaseException:
                self._writer.forget()
                if self._connection.in_transaction:
                    self._connection.execute("ROLLBACK")
                raise
        except sqlite3.Error as error:
            raise mapped(self.path, error) from error

    @contextmanager
    def _step(self) -> Iterator[None]:
        """One step within a transaction: all of it or nothing."""
        self._connection.execute("SAVEPOINT step")
        try:
            yield
        except BaseException:
            self._writer.forget()
            if self._connection.in_transaction:
                self._connection.execute("ROLLBACK TO step")
            raise
        finally:
            if self._connection.in_transaction:
                self._connection.execute("RELEASE step")
