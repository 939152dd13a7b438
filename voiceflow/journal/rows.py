"""The rows of a journal in the order in which they were written, for who keeps a copy.

Each comes with its link and the one before it, so that whoever gets it can tell that it
is what was written, and that nothing is missing before it.
"""

import hashlib
import json
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from heapq import merge
from operator import attrgetter
from typing import Final

from voiceflow.dialogue.brief import FindingState
from voiceflow.journal import chain
from voiceflow.journal.codec import to_text
from voiceflow.journal.ledger import FindingStep
from voiceflow.journal.packing import Documents


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """The head of a run: its name, and one line of JSON."""

    run_id: str
    header: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Happening:
    """An event with its records.

    Attributes:
        run_id: Its run.
        seq: Its place in the run, from 0.
        json: The event, one line.
        records: The kind and the line of each record, in order.
        follows: The link of the event before it in the run; of the head, if it is the first.
    """

    run_id: str
    seq: int
    json: str
    records: tuple[tuple[str, str], ...]
    follows: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Sound:
    """A piece of sound, and the SHA-256 of its bytes, hexadecimal."""

    digest: str
    flac: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A row of the chain.

    Attributes:
        place: Its place in the file, from 1.
        before: The link of the place before.
        link: Its own.
        written: What is written there.
    """

    place: int
    before: bytes
    link: bytes
    written: Head | Happening | FindingStep | Sound

    @property
    def line(self) -> str:
        """What the link is made from."""
        return line_of(self.written)

    @property
    def fits(self) -> bool:
        """Whether it is what was written."""
        if isinstance(self.written, Sound):
            digest = hashlib.sha256(self.written.flac).hexdigest()
            if digest != self.written.digest:
                return False
        return chain.link(self.before, self.line) == self.link


def line_of(written: Head | Happening | FindingStep | Sound) -> str:
    """Give the line that the link of a row is made from."""
    match written:
        case Head():
            return chain.run_line(json.loads(written.header))
        case Happening():
            records = [line for _, line in written.records]
            return chain.event_line(written.run_id, written.seq, written.json, records)
        case FindingStep():
            return chain.finding_line(
                written.finding_id,
                str(written.state),
                written.by,
                written.reference,
                written.at,
            )
        case Sound():
            return chain.sound_line(written.digest)


_TABLES: Final = ("run", "event", "finding_step", "sound")
_WITHIN: Final = "place > ? AND place <= ?"


class Rows:
    """The rows of an open journal. Read them within one transaction of the caller's."""

    def __init__(self, connection: sqlite3.Connection, documents: Documents) -> None:
        self._connection = connection
        self._documents = documents

    def last(self) -> int:
        """Give the last place that is taken; 0 in an empty journal."""
        places = [
            self._connection.execute(f"SELECT coalesce(max(place), 0) FROM {table}").fetchone()[0]
            for table in _TABLES
        ]
        return int(max(places))

    def link(self, place: int) -> bytes | None:
        """Give the link of a place; None: there is none. Place 0 is before the first."""
        if place == 0:
            return chain.FIRST
        for table in _TABLES:
            found = self._connection.execute(
                f"SELECT link FROM {table} WHERE place = ?", (place,)
            ).fetchone()
            if found is not None:
                return bytes(found[0])
        return None

    def within(self, after: int, until: int) -> Iterator[Row]:
        """Give the rows after a place and up to another, in order.

        Raises:
            ValueError: If one is missing or cannot be read.
            sqlite3.Error: If the file cannot be read.
        """
        before = self.link(after)
        kinds = (self._heads, self._events, self._steps, self._sounds)
        found = merge(*(kind(after, until) for kind in kinds), key=attrgetter("place"))
        for expected, row in enumerate(found, after + 1):
            if before is None or row.place != expected:
                msg = f"the row at place {expected} is missing"
                raise ValueError(msg)
            yield Row(place=row.place, before=before, link=row.link, written=row.written)
            before = row.link

    # ---- within

    def _heads(self, after: int, until: int) -> Iterator[Row]:
        for place, link, run_id, stored in self._connection.execute(
            f"SELECT place, link, run_id, header FROM run WHERE {_WITHIN} ORDER BY place",
            (after, until),
        ):
            header = to_text(self._documents.unpack_header(stored))
            yield _row(place, link, Head(run_id=run_id, header=header))

    def _events(self, after: int, until: int) -> Iterator[Row]:
        unpack = self._documents.unpack
        for place, link, run_id, seq, form, values, follows in self._connection.execute(
            "SELECT event.place, event.link, run.run_id, event.seq, event.form, event.json,"
            " coalesce(earlier.link, run.link) FROM event JOIN run ON run.place = event.run"
            " LEFT JOIN event AS earlier"
            " ON earlier.run = event.run AND earlier.seq = event.seq - 1"
            " WHERE event.place > ? AND event.place <= ? ORDER BY event.place",
            (after, until),
        ):
            records = tuple(
                (kind, unpack(record_form, record_values))
                for kind, record_form, record_values in self._connection.execute(
                    "SELECT kind, form, json FROM record WHERE place = ? ORDER BY n", (place,)
                )
            )
            happened = Happening(
                run_id=run_id,
                seq=seq,
                json=unpack(form, values),
                records=records,
                follows=bytes(follows),
            )
            yield _row(place, link, happened)

    def _steps(self, after: int, until: int) -> Iterator[Row]:
        for place, link, finding_id, state, by, reference, at in self._connection.execute(
            "SELECT place, link, finding_id, state, by_whom, reference, at FROM finding_step"
            f" WHERE {_WITHIN} ORDER BY place",
            (after, until),
        ):
            step = FindingStep(
                finding_id=finding_id,
                state=FindingState(state),
                by=by,
                reference=reference,
                at=at,
            )
            yield _row(place, link, step)

    def _sounds(self, after: int, until: int) -> Iterator[Row]:
        for place, link, digest, flac in self._connection.execute(
            f"SELECT place, link, digest, flac FROM sound WHERE {_WITHIN} ORDER BY place",
            (after, until),
        ):
            yield _row(place, link, Sound(digest=digest, flac=bytes(flac)))


def _row(place: int, link: bytes, written: Head | Happening | FindingStep | Sound) -> Row:
    # the link before is put in where the tables are brought together
    return Row(place=place, before=b"", link=bytes(link), written=written)
