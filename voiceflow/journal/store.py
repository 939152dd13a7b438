"""The journal file: SQLite, append-only, committed before anything is said of it.

Rows are only ever added, which the database itself enforces (``tables.py``), and each is
linked to the one before it (``chain.py``). An event and its records go in with one
transaction, on disk (write-ahead log, synchronous=FULL) when ``append`` returns. What an
event means is not decided here.

Who may write: a ``Journal`` continues a run after the last event that it has read
or written itself. Has another program added one meanwhile, the number is taken
and the append is refused, so that two programs never mix their events in one run.
"""

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import Self

from typing_extensions import override

from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.events import Event
from voiceflow.errors import JournalError
from voiceflow.journal import codec, opening, writing
from voiceflow.journal.failures import mapped
from voiceflow.journal.header import RunHeader
from voiceflow.journal.ledger import FindingStep
from voiceflow.journal.reading import Entry, RawEvent, Reader, RunSummary

__all__ = ["Entry", "Journal", "RawEvent", "RunSummary"]

#: How long to wait for another program's transaction.
_BUSY_S = 5.0


class Journal(Reader):
    """An open journal file. Use it in one thread; close it, or use ``with``."""

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        super().__init__(path, connection)
        self._writer = writing.Writer(connection, self._documents)
        self._next_seq: dict[str, int] = {}
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

    # ---- within

    @override
    def _entries(self, run_id: str, *, with_records: bool) -> tuple[Entry, ...]:
        entries = super()._entries(run_id, with_records=with_records)
        # whoever read the run may continue it from here; whoever writes it keeps its own place
        self._next_seq.setdefault(run_id, entries[-1].seq + 1 if entries else 0)
        return entries

    def _seq(self, run_id: str, place: int) -> int:
        if run_id not in self._next_seq:
            (last,) = self._connection.execute(
                "SELECT coalesce(max(seq), -1) FROM event WHERE run = ?", (place,)
            ).fetchone()
            return int(last) + 1
        return self._next_seq[run_id]

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
