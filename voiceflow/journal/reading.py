"""Looks into an open journal: runs, what happened in them, what follows from them.

Nothing is written here. What cannot be read is told with its run.
"""

import json
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.brief import CarriedFinding
from voiceflow.dialogue.events import Event
from voiceflow.errors import JournalError
from voiceflow.journal import answers, codec
from voiceflow.journal.answers import Answer
from voiceflow.journal.failures import damaged, mapped, unknown_run
from voiceflow.journal.header import RunHeader
from voiceflow.journal.ledger import FindingStep, Ledger
from voiceflow.journal.naming import find_run
from voiceflow.journal.packing import Documents
from voiceflow.journal.rows import Rows
from voiceflow.journal.verifying import Verification, Verifier
from voiceflow.phraseology.prompts import EndingKind


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
        source: Of a fleet's store, the journal it comes from; empty: the one that is open.
    """

    run_id: str
    started_at: str
    check_id: str
    check_title: str
    tail: str
    events: int
    last_at_s: float
    ending: EndingKind | None
    source: str = ""

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


class Reader:
    """An open journal, to look into."""

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        self.path = path
        self._connection = connection
        self._documents = Documents(connection)
        self._ledger = Ledger(connection, self._documents)
        self._places: dict[str, int] = {}

    @property
    def name(self) -> str:
        """The file, for messages."""
        return str(self.path)

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
        return find_run(
            self.runs(), text, lambda what, remedy: JournalError(self.path, what, remedy)
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

    @contextmanager
    def rows(self) -> Iterator[Rows]:
        """Look at the rows in the order in which they were written, as of one moment.

        Raises:
            JournalError: If one is missing or cannot be read.
        """
        try:
            self._connection.execute("BEGIN")
            try:
                yield Rows(self._connection, self._documents)
            finally:
                self._connection.execute("ROLLBACK")
        except sqlite3.Error as error:
            raise mapped(self.path, error) from error
        except (ValueError, KeyError, TypeError, AttributeError) as error:
            raise JournalError(
                self.path,
                f"it is not as it was written: {error}",
                "See where with: voiceflow journal verify",
            ) from error

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
        return tuple(entries)

    def _place(self, run_id: str) -> int:
        if run_id not in self._places:
            for (place,) in self._rows("SELECT place FROM run WHERE run_id = ?", run_id):
                self._places[run_id] = place
                break
            else:
                raise unknown_run(self.path, run_id)
        return self._places[run_id]

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
