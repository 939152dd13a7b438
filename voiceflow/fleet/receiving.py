"""Puts rows of a journal into the store, within the caller's transaction.

What the store has already is left as it is. A row that does not go with it is set aside:
a head of a run that is there with another head, an event that is there with other words
(the journal was copied, and both copies went on), and every event that follows one of
these. So no run is ever put together from two.

Whoever puts rows in holds a lock on the journal and on each run of the batch, always
taken in one order, and puts in what machines share in the order of its digests; so two
who push at the same time wait for each other, and never both.
"""

import hashlib
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, Final

from sqlalchemy import Connection, Table, select, text
from sqlalchemy.dialects.postgresql import insert

from voiceflow.fleet import heads, tables
from voiceflow.fleet.keys import EventKeys, among
from voiceflow.fleet.order import moment
from voiceflow.journal.answers import AnswerRow
from voiceflow.journal.codec import Json
from voiceflow.journal.ledger import FindingStep
from voiceflow.journal.rows import Happening, Head, Row, Sound
from voiceflow.journal.writing import head_columns

#: What a link is of.
RUN: Final = "run"
EVENT: Final = "event"
FINDING: Final = "finding"
SOUND: Final = "sound"
ASIDE: Final = "aside"

#: In this order, because of what refers to what.
_ORDER: Final = (
    tables.document,
    tables.sound,
    tables.run,
    tables.event,
    tables.record,
    tables.answer,
    tables.link,
    tables.finding_step,
    tables.set_aside,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Parcel:
    """A row on its way, with the answers that follow from it."""

    row: Row
    answers: tuple[AnswerRow, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What came of a batch.

    Attributes:
        rows: Those that the store did not have.
        aside: Those of them that were set aside.
    """

    rows: tuple[Row, ...]
    aside: tuple[Row, ...]


def find_source(connection: Connection, first_link: bytes) -> int:
    """Give the number of a journal, by the first link of its chain; a new one if need be."""
    column = tables.source.c
    known = select(column.id).where(column.first_link == first_link)
    number = connection.execute(known).scalar()
    if number is None:
        new = insert(tables.source).values(first_link=first_link)
        connection.execute(new.on_conflict_do_nothing())
        number = connection.execute(known).scalar_one()
    return int(number)


def take(connection: Connection, source: int, parcels: Sequence[Parcel]) -> Taken:
    """Put rows in that follow one another in a journal, and follow what was put in before.

    Args:
        connection: In a transaction.
        source: The journal's number.
        parcels: The rows, each of which fits its link.
    """
    _lock(connection, source, parcels)
    links = tables.link.c
    there = set(
        connection.execute(
            select(links.link).where(among(links.link, [each.row.link for each in parcels]))
        ).scalars()
    )
    fresh = [each for each in parcels if each.row.link not in there]
    batch = _Batch(source=source, store=_Before.look(connection, fresh))
    for parcel in fresh:
        batch.add(parcel)
    for table in _ORDER:
        rows = batch.rows.get(table.name)
        if rows:
            connection.execute(insert(table).on_conflict_do_nothing(), rows)
    return Taken(rows=tuple(each.row for each in fresh), aside=tuple(batch.aside))


def _lock(connection: Connection, source: int, parcels: Iterable[Parcel]) -> None:
    written = [parcel.row.written for parcel in parcels]
    names = {f"source {source}"}
    names.update(f"run {each.run_id}" for each in written if isinstance(each, Head | Happening))
    keys = {
        int.from_bytes(hashlib.sha256(name.encode()).digest()[:8], "big", signed=True)
        for name in names
    }
    for key in sorted(keys):
        connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": key})


@dataclass(kw_only=True)
class _Before:
    """What the store has of the runs of a batch.

    Attributes:
        heads: The heads of these runs, as they are stored.
        events: The events of the batch that are there, with their records.
        aside: Links of rows set aside, which rows of the batch follow.
    """

    heads: dict[str, str]
    events: dict[tuple[str, int], tuple[str, tuple[tuple[str, str], ...]]]
    aside: set[bytes]

    @classmethod
    def look(cls, connection: Connection, parcels: Sequence[Parcel]) -> "_Before":
        written = [parcel.row.written for parcel in parcels]
        new = [each.run_id for each in written if isinstance(each, Head)]
        happened = [each for each in written if isinstance(each, Happening)]
        keys = EventKeys((each.run_id, each.seq) for each in happened)
        run, event, record, link = (
            tables.run.c,
            tables.event.c,
            tables.record.c,
            tables.link.c,
        )
        stored = connection.execute(select(run.run_id, run.header).where(among(run.run_id, new)))
        facts: dict[tuple[str, int], list[tuple[str, str]]] = {}
        for run_id, seq, kind, line in connection.execute(
            select(record.run_id, record.seq, record.kind, record.json)
            .join_from(keys.table, tables.record, keys.match(record.run_id, record.seq))
            .order_by(record.run_id, record.seq, record.n)
        ):
            facts.setdefault((run_id, seq), []).append((kind, line))
        events = {
            (run_id, seq): (line, tuple(facts.get((run_id, seq), ())))
            for run_id, seq, line in connection.execute(
                select(event.run_id, event.seq, event.json).join_from(
                    keys.table, tables.event, keys.match(event.run_id, event.seq)
                )
            )
        }
        aside = connection.execute(
            select(link.link).where(
                among(link.link, [each.follows for each in happened]), link.kind == ASIDE
            )
        ).scalars()
        return cls(
            heads={row.run_id: row.header for row in stored},
            events=events,
            aside=set(aside),
        )


@dataclass(kw_only=True)
class _Batch:
    """The rows of each table that a batch amounts to."""

    source: int
    store: _Before
    aside: list[Row] = field(default_factory=list)
    _rows: dict[str, list[Json]] = field(default_factory=dict)
    _documents: dict[str, str] = field(default_factory=dict)

    @property
    def rows(self) -> dict[str, list[Json]]:
        documents = [
            {"digest": digest, "json": self._documents[digest]}
            for digest in sorted(self._documents)
        ]
        sounds = sorted(self._rows.get("sound", ()), key=lambda row: str(row["digest"]))
        return self._rows | {"document": documents, "sound": sounds}

    def add(self, parcel: Parcel) -> None:
        row = parcel.row
        match row.written:
            case Head():
                self._head(row, row.written)
            case Happening():
                self._event(row, row.written, parcel.answers)
            case FindingStep():
                step = row.written
                self._link(row, FINDING)
                self._put(
                    tables.finding_step,
                    link=row.link,
                    finding_id=step.finding_id,
                    state=str(step.state),
                    by_whom=step.by,
                    reference=step.reference,
                    at=step.at,
                )
            case Sound():
                sound = row.written
                self._link(row, SOUND, digest=sound.digest)
                self._put(tables.sound, digest=sound.digest, flac=sound.flac)

    # ---- within

    def _head(self, row: Row, head: Head) -> None:
        stored, documents = heads.split(head.header)
        there = self.store.heads.get(head.run_id)
        if there is not None and there != stored:
            self._set_aside(row, head.run_id, None)
            return
        self._link(row, RUN, run_id=head.run_id)
        if there is not None:
            return
        self._documents |= documents
        self._put(tables.run, source=self.source, place=row.place, **run_columns(head, stored))

    def _event(self, row: Row, happened: Happening, answers: Sequence[AnswerRow]) -> None:
        run_id, seq = happened.run_id, happened.seq
        there = self.store.events.get((run_id, seq))
        other = there is not None and there != (happened.json, happened.records)
        if other or happened.follows in self.store.aside:
            self._set_aside(row, run_id, seq)
            return
        self._link(row, EVENT, run_id=run_id, seq=seq)
        if there is not None:
            return
        self._put(tables.event, **event_columns(happened))
        for n, (kind, line) in enumerate(happened.records):
            self._put(tables.record, run_id=run_id, seq=seq, n=n, kind=kind, json=line)
        for answer in answers:
            columns = answer_columns(answer)
            self._put(tables.answer, run_id=run_id, seq=seq, place=row.place, **columns)

    def _set_aside(self, row: Row, run_id: str, seq: int | None) -> None:
        self.aside.append(row)
        self.store.aside.add(row.link)
        self._link(row, ASIDE, run_id=run_id, seq=seq)
        self._put(tables.set_aside, link=row.link, line=row.line)

    def _link(
        self,
        row: Row,
        kind: str,
        *,
        run_id: str | None = None,
        seq: int | None = None,
        digest: str | None = None,
    ) -> None:
        self._put(
            tables.link,
            link=row.link,
            before=row.before,
            source=self.source,
            place=row.place,
            kind=kind,
            run_id=run_id,
            seq=seq,
            digest=digest,
        )

    def _put(self, table: Table, **columns: object) -> None:
        self._rows.setdefault(table.name, []).append(columns)


def run_columns(head: Head, stored: str) -> dict[str, Any]:
    """Give what the table of runs has of a head."""
    header = json.loads(head.header)
    run_id, tail, started_at, signer, temperature_c, hours = head_columns(header)
    return {
        "run_id": run_id,
        "tail": tail,
        "started_at": started_at,
        "started": moment(started_at),
        "signer": signer,
        "temperature_c": _number(temperature_c),
        "hours": _number(hours),
        "check_id": header["check"]["id"],
        "check_title": header["check"]["title"],
        "header": stored,
    }


def event_columns(happened: Happening) -> dict[str, Any]:
    """Give what the table of events has of one."""
    plain = json.loads(happened.json)
    return {
        "run_id": happened.run_id,
        "seq": happened.seq,
        "at_s": plain["at_s"],
        "kind": plain["kind"],
        "json": happened.json,
    }


def answer_columns(answer: AnswerRow) -> dict[str, Any]:
    """Give what the table of answers has of one, its run and place apart."""
    return {
        "n": answer.n,
        "tail": answer.line.tail,
        "check_id": answer.line.check_id,
        "item_id": answer.line.item_id,
        "series": answer.line.series,
        "unit": answer.line.unit,
        "minimum": _number(answer.line.minimum),
        "maximum": _number(answer.line.maximum),
        "state": answer.state,
        "value": _number(answer.value),
        "asked_s": answer.asked_s,
        "answered_s": answer.answered_s,
        "took_s": answer.took_s,
    }


def _number(given: str | None) -> Decimal | None:
    return None if given is None else Decimal(given)
