"""Pushes a journal to the store: all that the store does not have yet, batch by batch.

Each batch is one transaction, and what it put in is held against the links before it is
committed. A push that is cut off has pushed the batches before; the next one asks what
the store has, and goes on from there. Nothing is written in the journal.
"""

import json
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

from sqlalchemy import Connection, func, select

from voiceflow.errors import JournalError, StoreError
from voiceflow.fleet import tables
from voiceflow.fleet.receiving import ASIDE, Parcel, find_source, take
from voiceflow.fleet.store import Store
from voiceflow.fleet.verifying import Verifier
from voiceflow.journal.answers import AnswerRow, Tally, lines_of
from voiceflow.journal.ledger import FindingStep
from voiceflow.journal.reading import Reader
from voiceflow.journal.rows import Happening, Head, Row, Rows, Sound

#: A batch ends with this many rows, or bytes of sound.
BATCH_ROWS: Final = 500
_BATCH_BYTES: Final = 4_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Pushed:
    """What came of a push.

    Attributes:
        runs: Heads that the store took.
        events: Events, each with its records.
        steps: What people did about findings.
        sounds: Pieces of sound.
        has: Rows of this journal that the store has now.
        aside: Rows that were set aside now: the store has others in their places.
        aside_before: How many were set aside in pushes before, of this journal or a copy.
        ahead: How many rows the store has of this journal that the file does not have: it
            is an older copy, or its end was cut off.
    """

    runs: int
    events: int
    steps: int
    sounds: int
    has: int
    aside: tuple[Row, ...]
    aside_before: int
    ahead: int

    @property
    def rows(self) -> int:
        """How many rows the store did not have before."""
        return self.runs + self.events + self.steps + self.sounds + len(self.aside)

    @property
    def agrees(self) -> bool:
        """Whether the store and the journal say the same."""
        return not (self.aside or self.aside_before or self.ahead)


def push(
    journal: Reader,
    store: Store,
    *,
    batch_rows: int = BATCH_ROWS,
    moved: Callable[[int, int], None] | None = None,
) -> Pushed:
    """Push all that the store does not have; of a run that goes on, what there is by now.

    Args:
        journal: An open journal.
        store: An open store.
        batch_rows: A batch ends with this many rows.
        moved: Told after each batch how many rows of how many are there.

    Raises:
        JournalError: If the journal cannot be read, or is not as it was written; what is
            before that place has been pushed.
        StoreError: If the store refuses, or the connection is lost; likewise.
    """
    with store.transaction() as connection:
        start = _Start.look(connection, journal)
    pusher = _Pusher(journal=journal, store=store, batch_rows=batch_rows)
    done = start.place
    while done < start.last:
        done = pusher.batch(done, start.last)
        if moved is not None:
            moved(done, start.last)
    return Pushed(
        runs=pusher.counted(Head),
        events=pusher.counted(Happening),
        steps=pusher.counted(FindingStep),
        sounds=pusher.counted(Sound),
        has=start.last,
        aside=tuple(pusher.aside),
        aside_before=start.aside,
        ahead=start.ahead,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Start:
    """Where to begin.

    Attributes:
        place: The last place of the journal that the store has.
        last: The last place of the journal.
        aside: How many rows were set aside before.
        ahead: How many rows the store has that the journal does not have.
    """

    place: int
    last: int
    aside: int = 0
    ahead: int = 0

    @classmethod
    def look(cls, connection: Connection, journal: Reader) -> "_Start":
        link, source = tables.link.c, tables.source.c
        with journal.rows() as rows:
            first = rows.link(1)
        if first is None:
            return cls(place=0, last=0)
        number = connection.execute(select(source.id).where(source.first_link == first)).scalar()
        there, aside = connection.execute(
            select(func.count(), func.count().filter(link.kind == ASIDE))
            .select_from(tables.link)
            .where(link.source == number)
        ).one()
        highest = connection.execute(
            select(link.place, link.link)
            .where(link.source == number)
            .order_by(link.place.desc(), link.link)
            .limit(1)
        ).first()
        # looked at after the store: another push may have read newer rows of this file
        with journal.rows() as rows:
            last = rows.last()
            if highest is None:
                place = 0
            elif rows.link(highest.place) == highest.link:
                place = highest.place
            else:
                place = _common(connection, rows, min(highest.place, last))
        return cls(place=place, last=last, aside=aside, ahead=there - place)


def _common(connection: Connection, rows: Rows, until: int) -> int:
    """Give the last place of the journal that the store has: it has all before it, too."""
    link = tables.link.c
    has, lacks = 0, until + 1
    while lacks - has > 1:
        middle = (has + lacks) // 2
        found = connection.execute(select(link.place).where(link.link == rows.link(middle)))
        if found.first() is not None:
            has = middle
        else:
            lacks = middle
    return has


@dataclass(kw_only=True)
class _Pusher:
    """Pushes batches, one after the other."""

    journal: Reader
    store: Store
    batch_rows: int
    aside: list[Row] = field(default_factory=list)
    _counts: dict[type, int] = field(default_factory=dict)
    _tallies: dict[str, tuple[int, Tally]] = field(default_factory=dict)
    _verifier: Verifier = field(default_factory=Verifier)

    def counted(self, kind: type) -> int:
        """Give how many rows of a kind the store took."""
        return self._counts.get(kind, 0)

    def batch(self, after: int, last: int) -> int:
        """Push one batch; give the place up to which the store has the journal."""
        with self.journal.rows() as rows:
            first_link = rows.link(1)
            batch = self._read(rows, after, last)
        parcels = [Parcel(row=row, answers=self._answers(row)) for row in batch]
        with self.store.transaction() as connection:
            source = find_source(connection, first_link or b"")
            taken = take(connection, source, parcels)
            misfit = self._verifier.rows(connection, batch)
            if misfit is not None:
                raise StoreError(
                    self.store.name,
                    f"{misfit.row}: as the store keeps it, {misfit.what}",
                    "Nothing of this batch was put in. Tell whoever keeps the database.",
                )
        set_aside = {row.link for row in taken.aside}
        self.aside += taken.aside
        for row in taken.rows:
            if row.link not in set_aside:
                kind = type(row.written)
                self._counts[kind] = self._counts.get(kind, 0) + 1
        return batch[-1].place

    # ---- within

    def _read(self, rows: Rows, after: int, last: int) -> list[Row]:
        batch: list[Row] = []
        size = 0
        for row in rows.within(after, min(last, after + self.batch_rows)):
            if not row.fits:
                raise JournalError(
                    self.journal.path,
                    f"what stands at place {row.place} is not what was written there",
                    "It is not pushed, nor what follows. See it with: voiceflow journal verify",
                )
            batch.append(row)
            size += len(row.written.flac) if isinstance(row.written, Sound) else 0
            if size >= _BATCH_BYTES:
                break
        if not batch:
            msg = f"the row at place {after + 1} is missing"
            raise ValueError(msg)
        return batch

    def _answers(self, row: Row) -> tuple[AnswerRow, ...]:
        """Work out the answers that follow from a row."""
        happened = row.written
        if not isinstance(happened, Happening):
            return ()
        tally = self._tally(happened.run_id, happened.seq)
        records = [json.loads(line) for _, line in happened.records]
        answers = tally.take(json.loads(happened.json), records)
        if not any(record.get("ending") for record in records):
            self._tallies[happened.run_id] = (happened.seq + 1, tally)
        return tuple(answers)

    def _tally(self, run_id: str, seq: int) -> Tally:
        known = self._tallies.pop(run_id, None)
        if known is not None and known[0] == seq:
            return known[1]
        tally = Tally(lines_of(json.loads(self.journal.raw_header(run_id))["check"]))
        if seq:
            for raw in self.journal.raw_events(run_id):
                if raw.seq == seq:
                    break
                records = [json.loads(line) for _, line in raw.records]
                tally.take(json.loads(raw.json), records)
        return tally
