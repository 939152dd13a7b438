"""The store, to look into: it answers what a journal answers (``journal.asking``).

Of one journal everything comes in the order in which it was written there; what comes
from several is put together by its time (``order.py``).
"""

import json
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from types import TracebackType
from typing import Any, Self

from sqlalchemy import Connection, Engine, Select, func, literal_column, select, text, true

from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.brief import FindingState
from voiceflow.dialogue.events import Event
from voiceflow.errors import StoreError
from voiceflow.fleet import answering, heads, opening, tables
from voiceflow.fleet.address import Address, parse
from voiceflow.fleet.failures import told
from voiceflow.fleet.order import in_order, moment
from voiceflow.fleet.receiving import EVENT
from voiceflow.fleet.verifying import Verifier, documents_of
from voiceflow.journal import codec
from voiceflow.journal.answers import Answer
from voiceflow.journal.header import RunHeader
from voiceflow.journal.ledger import FindingStep
from voiceflow.journal.naming import find_run
from voiceflow.journal.reading import Entry, RawEvent, RunSummary
from voiceflow.journal.verifying import Verification
from voiceflow.phraseology.prompts import EndingKind


class Store:
    """An open store. Use it in one thread; close it, or use ``with``."""

    def __init__(self, address: Address, engine: Engine) -> None:
        self.address = address
        self.engine = engine

    @classmethod
    def open(cls, url: str, *, make: bool = False) -> Self:
        """Open a store.

        Args:
            url: Of its database: ``postgresql://USER@HOST/DATABASE``.
            make: Make its tables where they are not.

        Raises:
            UsageError: If that is no such URL.
            StoreError: If no server answers or it refuses, there is no store in the
                database, or one of a newer Voiceflow.
        """
        address = parse(url)
        return cls(address, opening.connect(address, make=make))

    @property
    def name(self) -> str:
        """Its database and host, for messages."""
        return self.address.name

    def close(self) -> None:
        """Close the connection."""
        self.engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        self.close()

    def transaction(self) -> AbstractContextManager[Connection]:
        """Do all that is within at once, or nothing of it."""
        return opening.transaction(self.engine, self.address)

    # ---- questions

    def runs(self) -> tuple[RunSummary, ...]:
        """Give every run, in the order they were begun."""
        run, event, record = tables.run.c, tables.event.c, tables.record.c
        last = (
            select(event.seq, event.at_s)
            .where(event.run_id == run.run_id)
            .order_by(event.seq.desc())
            .limit(1)
            .lateral()
        )
        ending = (
            select(record.json)
            .where(record.run_id == run.run_id, record.kind == "ending")
            .order_by(record.seq.desc(), record.n.desc())
            .limit(1)
            .lateral()
        )
        query = (
            select(
                run.run_id,
                run.source,
                run.started_at,
                run.started,
                run.check_id,
                run.check_title,
                run.tail,
                tables.source.c.first_link,
                last.c.seq,
                last.c.at_s,
                ending.c.json,
            )
            .select_from(
                tables.run.join(tables.source).outerjoin(last, true()).outerjoin(ending, true())
            )
            .order_by(run.source, run.place)
        )
        found = in_order(self._rows(query), lambda row: row.source, lambda row: row.started)
        return tuple(self._summary(row) for row in found)

    def find(self, text: str) -> RunSummary:
        """Give the run of that name, or the only one whose name begins so.

        Raises:
            StoreError: If there is none, naming the nearest, or several.
        """
        return find_run(self.runs(), text, lambda what, do: StoreError(self.name, what, do))

    def raw_header(self, run_id: str) -> str:
        """Give the head of a run as it is written, the check included: one line of JSON.

        Raises:
            StoreError: If there is no such run or it cannot be read.
        """
        run = tables.run.c
        with self._reading() as connection, self._readable(run_id, "its header"):
            stored = connection.execute(select(run.header).where(run.run_id == run_id)).scalar()
            if stored is not None:
                return heads.join(stored, lambda wanted: documents_of(connection, wanted))
        raise self._unknown(run_id)

    def header(self, run_id: str) -> RunHeader:
        """Give the head of a run.

        Raises:
            StoreError: If there is no such run or it cannot be read.
        """
        text = self.raw_header(run_id)
        with self._readable(run_id, "its header"):
            return codec.load_header(text)

    def raw_events(self, run_id: str, from_seq: int = 0) -> Iterator[RawEvent]:
        """Give the events of a run as they are written, in order.

        Args:
            run_id: The run.
            from_seq: The first one wanted.

        Raises:
            StoreError: If there is no such run.
        """
        run, event, record, link = (
            tables.run.c,
            tables.event.c,
            tables.record.c,
            tables.link.c,
        )
        if not self._rows(select(run.run_id).where(run.run_id == run_id)):
            raise self._unknown(run_id)
        facts: dict[int, list[tuple[str, str]]] = {}
        for seq, kind, line in self._rows(
            select(record.seq, record.kind, record.json)
            .where(record.run_id == run_id, record.seq >= from_seq)
            .order_by(record.seq, record.n)
        ):
            facts.setdefault(seq, []).append((kind, line))
        own = (
            select(link.link)
            .where(link.run_id == event.run_id, link.seq == event.seq, link.kind == EVENT)
            .order_by(link.source, link.place)
            .limit(1)
            .scalar_subquery()
        )
        for seq, at_s, kind, line, linked in self._rows(
            select(event.seq, event.at_s, event.kind, event.json, own)
            .where(event.run_id == run_id, event.seq >= from_seq)
            .order_by(event.seq)
        ):
            yield RawEvent(
                seq=seq,
                at_s=at_s,
                kind=kind,
                json=line,
                records=tuple(facts.get(seq, ())),
                link="" if linked is None else linked.hex(),
            )

    def events(self, run_id: str) -> tuple[Event, ...]:
        """Give every event of a run, in order.

        Raises:
            StoreError: If there is no such run or an event cannot be read.
        """
        return tuple(self._event(run_id, raw) for raw in self.raw_events(run_id))

    def entries(self, run_id: str) -> tuple[Entry, ...]:
        """Give every event of a run with its records, in order.

        Raises:
            StoreError: If there is no such run or something in it cannot be read.
        """
        return tuple(
            Entry(
                seq=raw.seq,
                event=self._event(run_id, raw),
                records=tuple(self._record(run_id, raw.seq, line) for _, line in raw.records),
            )
            for raw in self.raw_events(run_id)
        )

    def answers(
        self,
        tail: str,
        *,
        since: str | None = None,
        series: str | None = None,
        check_id: str | None = None,
        readings: bool = False,
    ) -> tuple[Answer, ...]:
        """Give the answers that stand in all runs of an aircraft; see ``Journal.answers``.

        Raises:
            StoreError: If the store cannot be read.
            ValueError: If ``since`` is no time.
        """
        query = answering.query(
            tail, since=since, series=series, check_id=check_id, readings=readings
        )
        found = in_order(self._rows(query), lambda row: row.source, lambda row: row.started)
        with self._readable(f"of {tail}", "an answer"):
            return tuple(answering.answer(tail, row) for row in found)

    def finding_steps(self, finding_id: str | None = None) -> tuple[FindingStep, ...]:
        """Give what people did about a discrepancy, or about all of them, in that order."""
        step, link = tables.finding_step.c, tables.link.c
        query = (
            select(step.finding_id, step.state, step.by_whom, step.reference, step.at, link.source)
            .join_from(tables.finding_step, tables.link)
            .order_by(link.source, link.place)
        )
        if finding_id is not None:
            query = query.where(step.finding_id == finding_id)
        found = in_order(self._rows(query), lambda row: row.source, lambda row: moment(row.at))
        with self._readable(finding_id or "any", "what was done about a finding"):
            return tuple(
                FindingStep(
                    finding_id=row.finding_id,
                    state=FindingState(row.state),
                    by=row.by_whom,
                    reference=row.reference,
                    at=row.at,
                )
                for row in found
            )

    def tails(self) -> tuple[str, ...]:
        """Give every registration that a run was begun with, sorted."""
        # sorted here: a database sorts as its language does
        return tuple(sorted(row.tail for row in self._rows(select(tables.run.c.tail).distinct())))

    def sound(self, digest: str) -> bytes:
        """Give a sound by its SHA-256, hexadecimal.

        Raises:
            StoreError: If it is not there.
        """
        sound = tables.sound.c
        for (flac,) in self._rows(select(sound.flac).where(sound.digest == digest)):
            return bytes(flac)
        raise StoreError(self.name, f"no sound {digest}", "Push the journal of its run.")

    def size(self) -> int:
        """Give how large the store is, indexes included, in bytes."""
        tell = func.sum(func.pg_total_relation_size(literal_column("oid")))
        names = [table.name for table in tables.metadata.sorted_tables]
        query = select(tell).where(
            literal_column("relname").in_(names),
            literal_column("relnamespace") == literal_column(f"'{tables.SCHEMA}'::regnamespace"),
        )
        ((size,),) = self._rows(query.select_from(text("pg_class")))
        return int(size)

    def verify_chain(self) -> Verification:
        """Hold all that stands in the store against its links, and what follows from it.

        Raises:
            StoreError: If it cannot be read.
        """
        with self._reading() as connection:
            # as of one moment, though others may push meanwhile
            connection.execution_options(isolation_level="REPEATABLE READ")
            return Verifier().whole(connection)

    # ---- within

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        with told(self.address), self.engine.connect() as connection:
            yield connection

    def _rows(self, query: Select[Any]) -> list[Any]:
        with self._reading() as connection:
            return list(connection.execute(query).all())

    def _summary(self, row: Any) -> RunSummary:
        with self._readable(row.run_id, "how it ended"):
            ending = None
            if row.json is not None:
                ending = EndingKind(json.loads(row.json)["ending"]["kind"])
        return RunSummary(
            run_id=row.run_id,
            started_at=row.started_at,
            check_id=row.check_id,
            check_title=row.check_title,
            tail=row.tail,
            events=0 if row.seq is None else row.seq + 1,
            last_at_s=0.0 if row.at_s is None else row.at_s,
            ending=ending,
            source=row.first_link.hex(),
        )

    def _event(self, run_id: str, raw: RawEvent) -> Event:
        with self._readable(run_id, f"event {raw.seq}"):
            return codec.load_event(raw.json)

    def _record(self, run_id: str, seq: int, line: str) -> Record:
        with self._readable(run_id, f"a record of event {seq}"):
            return codec.load_record(line)

    def _unknown(self, run_id: str) -> StoreError:
        do = "List the runs with: voiceflow journal list --store URL"
        return StoreError(self.name, f"no run {run_id!r}", do)

    @contextmanager
    def _readable(self, run_id: str, what: str) -> Iterator[None]:
        try:
            yield
        except (ValueError, KeyError, TypeError) as error:
            raise StoreError(
                self.name,
                f"run {run_id}: {what} cannot be read by this version",
                "Read it with the version that wrote it.",
            ) from error
