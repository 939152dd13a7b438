"""Holds what stands in the store against the links, and against what follows from it.

It is read back as anybody reads it, and the line of each link is made from that; so what
was lost or changed on the way, or later, is told. A journal whose copies both went on has
two rows at a place; each hangs on the row it followed.
"""

import json
from collections.abc import Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field
from typing import Any, Final

from sqlalchemy import Connection, Select, and_, exists, select, tuple_

from voiceflow.dialogue.brief import FindingState
from voiceflow.fleet import heads, tables
from voiceflow.fleet.keys import EventKeys, Key, among
from voiceflow.fleet.receiving import (
    ASIDE,
    EVENT,
    FINDING,
    RUN,
    answer_columns,
    event_columns,
    run_columns,
)
from voiceflow.journal import chain
from voiceflow.journal.answers import Tally, lines_of
from voiceflow.journal.codec import plain_kind
from voiceflow.journal.ledger import FindingStep
from voiceflow.journal.rows import Happening, Head, Row, Sound
from voiceflow.journal.verifying import Misfit, Verification

_PAGE: Final = 500
_CHANGED: Final = "it is not what was written, or something before it was changed"
_MISSING: Final = "it is missing"
_UNREADABLE: Final = "it cannot be read"
_LOOSE: Final = "it does not belong to anything that was written"

Facts = Mapping[Key, Sequence[tuple[str, str]]]


def documents_of(connection: Connection, wanted: AbstractSet[str]) -> dict[str, str]:
    """Give documents by their digests."""
    document = tables.document.c
    rows = connection.execute(
        select(document.digest, document.json).where(among(document.digest, wanted))
    )
    return {row.digest: row.json for row in rows}


@dataclass(kw_only=True)
class _Content:
    """What the store has for some links."""

    heads: dict[str, Any]
    events: dict[Key, Any]
    facts: Facts
    answers: dict[Key, list[dict[str, Any]]]
    steps: dict[bytes, FindingStep]
    sounds: dict[str, bytes]
    lines: dict[bytes, str]


@dataclass(kw_only=True)
class Verifier:
    """Verifies link by link. What it knows of a run it keeps until that has ended."""

    _tallies: dict[str, tuple[int, Tally]] = field(default_factory=dict)
    _documents: dict[str, str] = field(default_factory=dict)

    def rows(self, connection: Connection, rows: Sequence[Row]) -> Misfit | None:
        """Hold what the store has of some rows of a journal, in order, against their links."""
        link = tables.link.c
        stored = {
            found.link: found
            for found in connection.execute(
                select(tables.link).where(among(link.link, [row.link for row in rows]))
            )
        }
        for row in rows:
            found = stored.get(row.link)
            if found is None:
                return _misfit(row.place, None, None, f"place {row.place}", _MISSING)
            if (found.before, found.place) != (row.before, row.place):
                return _misfit(row.place, found.run_id, found.seq, _name(found), _CHANGED)
        return self._hold(connection, [stored[row.link] for row in rows])

    def whole(self, connection: Connection) -> Verification:
        """Hold all that stands in the store against its links."""
        count, last = 0, chain.FIRST
        source: int | None = None
        place, earlier, same = 0, {chain.FIRST}, set[bytes]()
        for page in self._pages(connection):
            for found in page:
                if found.source != source:
                    source, place, earlier, same = found.source, 0, {chain.FIRST}, set()
                if found.place != place:
                    # what follows a gap hangs on nothing
                    earlier = (same or earlier) if found.place == place + 1 else set()
                    place, same = found.place, set()
                if found.before not in earlier:
                    what = "something that was written before it is missing"
                    misfit = _misfit(place, found.run_id, found.seq, _name(found), what)
                    return Verification(links=count, last=last.hex(), misfit=misfit)
                same.add(found.link)
            misfit_or_none = self._hold(connection, page)
            if misfit_or_none is not None:
                return Verification(links=count, last=last.hex(), misfit=misfit_or_none)
            count, last = count + len(page), page[-1].link
        return Verification(links=count, last=last.hex(), misfit=_loose(connection))

    # ---- within

    def _pages(self, connection: Connection) -> Iterator[list[Any]]:
        link = tables.link.c
        key = tuple_(link.source, link.place, link.link)
        after: tuple[int, int, bytes] = (0, 0, b"")
        while True:
            page = list(
                connection.execute(
                    select(tables.link)
                    .where(key > tuple_(*after))
                    .order_by(link.source, link.place, link.link)
                    .limit(_PAGE)
                )
            )
            if not page:
                return
            yield page
            after = (page[-1].source, page[-1].place, page[-1].link)

    def _hold(self, connection: Connection, links: Sequence[Any]) -> Misfit | None:
        content = _content(connection, links)
        for found in links:
            try:
                what = self._fault(connection, found, content)
            except KeyError:
                what = _MISSING
            except (ValueError, TypeError, AttributeError):
                what = _UNREADABLE
            if what is not None:
                return _misfit(found.place, found.run_id, found.seq, _name(found), what)
        return None

    def _fault(self, connection: Connection, found: Any, content: _Content) -> str | None:
        """Say what is wrong with one row, if anything is."""
        if found.kind == ASIDE:
            line = content.lines[found.link]
            return None if chain.link(found.before, line) == found.link else _CHANGED
        written: Head | Happening | FindingStep | Sound
        as_expected = True
        if found.kind == RUN:
            stored = content.heads[found.run_id]
            header = heads.join(stored.header, lambda wanted: self._shared(connection, wanted))
            written = Head(run_id=found.run_id, header=header)
            columns = run_columns(written, stored.header)
            as_expected = all(getattr(stored, name) == columns[name] for name in columns)
        elif found.kind == EVENT:
            key = (found.run_id, found.seq)
            event = content.events[key]
            written = Happening(
                run_id=found.run_id,
                seq=found.seq,
                json=event.json,
                records=tuple(content.facts.get(key, ())),
                follows=b"",
            )
            columns = event_columns(written)
            as_expected = all(getattr(event, name) == columns[name] for name in columns) and all(
                kind == plain_kind(json.loads(line)) for kind, line in written.records
            )
        elif found.kind == FINDING:
            written = content.steps[found.link]
        else:
            written = Sound(digest=found.digest, flac=content.sounds[found.digest])
        row = Row(place=found.place, before=found.before, link=found.link, written=written)
        if not (row.fits and as_expected):
            return _CHANGED
        if isinstance(written, Happening):
            answers = self._answers(connection, written)
            if answers != content.answers.get((found.run_id, found.seq), []):
                return "the answers listed for it do not follow from it"
        return None

    def _shared(self, connection: Connection, wanted: AbstractSet[str]) -> dict[str, str]:
        lacking = {each for each in wanted if each not in self._documents}
        if lacking:
            self._documents |= documents_of(connection, lacking)
        return {each: self._documents[each] for each in wanted}

    def _answers(self, connection: Connection, happened: Happening) -> list[dict[str, Any]]:
        """Work out the answers that follow from an event."""
        tally = self._tally(connection, happened.run_id, happened.seq)
        records = [json.loads(line) for _, line in happened.records]
        answers = tally.take(json.loads(happened.json), records)
        if not any(record.get("ending") for record in records):
            self._tallies[happened.run_id] = (happened.seq + 1, tally)
        return [answer_columns(each) for each in answers]

    def _tally(self, connection: Connection, run_id: str, seq: int) -> Tally:
        known = self._tallies.pop(run_id, None)
        if known is not None and known[0] == seq:
            return known[1]
        run, event = tables.run.c, tables.event.c
        stored = connection.execute(select(run.header).where(run.run_id == run_id)).scalar_one()
        header = json.loads(heads.join(stored, lambda wanted: self._shared(connection, wanted)))
        tally = Tally(lines_of(header["check"]))
        if seq:
            facts = _facts(
                select(tables.record).where(tables.record.c.run_id == run_id), connection
            )
            for each, line in connection.execute(
                select(event.seq, event.json)
                .where(event.run_id == run_id, event.seq < seq)
                .order_by(event.seq)
            ):
                records = [json.loads(text) for _, text in facts.get((run_id, each), ())]
                tally.take(json.loads(line), records)
        return tally


def _content(connection: Connection, links: Sequence[Any]) -> _Content:
    """Fetch what some links are of."""
    keys = EventKeys((each.run_id, each.seq) for each in links if each.kind == EVENT)
    names = {each.run_id for each in links if each.kind == RUN}
    own = [each.link for each in links]
    digests = [each.digest for each in links if each.digest is not None]
    event, answer, step, sound, aside = (
        tables.event.c,
        tables.answer.c,
        tables.finding_step.c,
        tables.sound.c,
        tables.set_aside.c,
    )
    found = connection.execute
    answers: dict[Key, list[dict[str, Any]]] = {}
    for row in found(
        select(tables.answer)
        .join_from(keys.table, tables.answer, keys.match(answer.run_id, answer.seq))
        .order_by(answer.run_id, answer.seq, answer.n)
    ):
        columns = dict(row._mapping)
        key = (columns.pop("run_id"), columns.pop("seq"))
        del columns["place"]
        answers.setdefault(key, []).append(columns)
    return _Content(
        heads={
            row.run_id: row
            for row in found(select(tables.run).where(among(tables.run.c.run_id, names)))
        },
        events={
            (row.run_id, row.seq): row
            for row in found(
                select(tables.event).join_from(
                    keys.table, tables.event, keys.match(event.run_id, event.seq)
                )
            )
        },
        facts=_facts(
            select(tables.record).join_from(
                keys.table, tables.record, keys.match(tables.record.c.run_id, tables.record.c.seq)
            ),
            connection,
        ),
        answers=answers,
        steps={
            row.link: FindingStep(
                finding_id=row.finding_id,
                state=FindingState(row.state),
                by=row.by_whom,
                reference=row.reference,
                at=row.at,
            )
            for row in found(select(tables.finding_step).where(among(step.link, own)))
        },
        sounds={
            row.digest: row.flac
            for row in found(select(tables.sound).where(among(sound.digest, digests)))
        },
        lines={
            row.link: row.line
            for row in found(select(tables.set_aside).where(among(aside.link, own)))
        },
    )


def _facts(found: Select[Any], connection: Connection) -> dict[Key, list[tuple[str, str]]]:
    record = tables.record.c
    facts: dict[Key, list[tuple[str, str]]] = {}
    for row in connection.execute(found.order_by(record.run_id, record.seq, record.n)):
        facts.setdefault((row.run_id, row.seq), []).append((row.kind, row.json))
    return facts


def _loose(connection: Connection) -> Misfit | None:
    """Name a row that no link is of."""
    run, event, step, link = (
        tables.run.c,
        tables.event.c,
        tables.finding_step.c,
        tables.link.c,
    )
    of_event = and_(link.run_id == event.run_id, link.seq == event.seq, link.kind == EVENT)
    for run_id, seq in connection.execute(
        select(event.run_id, event.seq).where(~exists().where(of_event)).limit(1)
    ):
        return _misfit(None, run_id, seq, f"run {run_id}, event {seq}", _LOOSE)
    of_run = and_(link.run_id == run.run_id, link.kind == RUN)
    for (run_id,) in connection.execute(select(run.run_id).where(~exists().where(of_run)).limit(1)):
        return _misfit(None, run_id, None, f"run {run_id}, its head", _LOOSE)
    of_step = and_(link.link == step.link, link.kind == FINDING)
    for (finding_id,) in connection.execute(
        select(step.finding_id).where(~exists().where(of_step)).limit(1)
    ):
        return _misfit(None, None, None, f"what was done about {finding_id}", _LOOSE)
    return None


def _misfit(place: int | None, run_id: str | None, seq: int | None, row: str, what: str) -> Misfit:
    return Misfit(place=place, run_id=run_id, seq=seq, row=row, what=what)


def _name(found: Any) -> str:
    """Say in words what a link is of."""
    if found.run_id is not None:
        name = "its head" if found.seq is None else f"event {found.seq}"
        return f"run {found.run_id}, {name}"
    return f"sound {found.digest}" if found.digest else f"what was done, at place {found.place}"
