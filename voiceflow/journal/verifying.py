"""Holds what stands in a journal against its links, and against what follows from it.

Told is the first row that does not fit; what comes after it hangs on it. A tail that was
cut off leaves nothing that could tell of it: for that, the last link has to be known from
elsewhere.
"""

import hashlib
import json
import sqlite3
from collections.abc import Iterator
from dataclasses import astuple, dataclass
from heapq import merge
from operator import itemgetter
from typing import Any, Final

from voiceflow.journal import chain
from voiceflow.journal.answers import Tally, lines_of
from voiceflow.journal.codec import plain_kind, to_text
from voiceflow.journal.packing import Documents
from voiceflow.journal.writing import HEAD_COLUMNS, head_columns

_MISSING: Final = "something that was written before it is missing"
_CHANGED: Final = "it is not what was written here, or something before it was changed"
_UNREADABLE: Final = "it cannot be read"


@dataclass(frozen=True, slots=True, kw_only=True)
class Misfit:
    """The first row that does not fit.

    Attributes:
        place: Its place in the file; None: it has none of its own.
        run_id: Its run, if it belongs to one.
        seq: Its event, if it belongs to one; None: the head of the run.
        row: What it is, in words.
        what: What is wrong with it.
    """

    place: int | None
    run_id: str | None
    seq: int | None
    row: str
    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Verification:
    """What came of it.

    Attributes:
        links: How many fit.
        last: The last of these, hexadecimal.
        misfit: The first that does not; None: all do.
    """

    links: int
    last: str
    misfit: Misfit | None


class _MisfitError(Exception):
    def __init__(self, misfit: Misfit) -> None:
        self.misfit = misfit
        super().__init__(misfit.what)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """A row of the chain: what a link is made from, and who it is."""

    place: int
    link: bytes
    table: str
    columns: tuple[Any, ...]


class _Queue:
    """The rows of a table that hang on others, taken as their places come."""

    def __init__(self, rows: Iterator[tuple[Any, ...]]) -> None:
        self._rows = rows
        self._next = next(rows, None)

    def take(self, place: int) -> list[tuple[Any, ...]]:
        """Give the rows up to a place, this one included."""
        taken = []
        while self._next is not None and self._next[0] <= place:
            taken.append(self._next)
            self._next = next(self._rows, None)
        return taken

    def end(self, row: str) -> None:
        """Refuse rows that were not taken."""
        if self._next is not None:
            raise _MisfitError(_loose(self._next[0], row))


_CHAINED: Final = {
    "run": f"{HEAD_COLUMNS}, header",
    "event": "run, seq, form, json",
    "finding_step": "finding_id, state, by_whom, reference, at",
    "sound": "digest, flac",
}
_RECORDS: Final = "SELECT place, n, kind, form, json FROM record {} ORDER BY place, n"
_ANSWERS: Final = """
SELECT answer.place, answer.n, answer.run, line.tail, line.check_id, line.item_id, line.series,
       line.unit, line.minimum, line.maximum, answer.state, answer.value, answer.asked_s,
       answer.answered_s, answer.took_s
FROM answer LEFT JOIN line ON line.line = answer.line
{} ORDER BY answer.place, answer.n
"""


class Verifier:
    """Reads a journal for one verification."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection
        # of its own: nothing that was read or written before is taken for what stands there
        self._documents = Documents(connection)
        self._used: set[int] = set()
        self._runs: dict[int, tuple[str, Tally]] = {}

    def whole(self) -> Verification:
        """Verify all of it.

        Raises:
            sqlite3.Error: If the file cannot be read.
        """
        before, count = chain.FIRST, 0
        records = _Queue(self._connection.execute(_RECORDS.format("")))
        answers = _Queue(self._connection.execute(_ANSWERS.format("")))
        try:
            for row in self._chained():
                if row.place > count + 1:
                    raise self._misfit(row, _MISSING)
                if row.place <= count:
                    raise self._misfit(row, "it stands where something else was written")
                self._fit(row, before, records.take(row.place), answers.take(row.place))
                before, count = row.link, row.place
            records.end("a record")
            answers.end("an answer")
            self._shared()
        except _MisfitError as found:
            return Verification(links=count, last=before.hex(), misfit=found.misfit)
        return Verification(links=count, last=before.hex(), misfit=None)

    def run(self, run: int) -> Verification:
        """Verify the rows of one run, each against the link before it.

        Args:
            run: The place of its head.

        Raises:
            sqlite3.Error: If the file cannot be read.
        """
        link, count = chain.FIRST, 0
        own = "WHERE place IN (SELECT place FROM event WHERE run = ?)"
        records = _Queue(self._connection.execute(_RECORDS.format(own), (run,)))
        answers = _Queue(self._connection.execute(_ANSWERS.format("WHERE run = ?"), (run,)))
        try:
            for row in self._chained(run):
                before = self._before(row.place)
                if before is None:
                    raise self._misfit(row, _MISSING)
                self._fit(row, before, records.take(row.place), answers.take(row.place))
                link, count = row.link, count + 1
            answers.end("an answer")
        except _MisfitError as found:
            return Verification(links=count, last=link.hex(), misfit=found.misfit)
        return Verification(links=count, last=link.hex(), misfit=None)

    # ---- within

    def _chained(self, run: int | None = None) -> Iterator[_Row]:
        """Give the rows of the chain in order; of one run, or all."""
        cursors = []
        for table, columns in _CHAINED.items():
            query = f"SELECT place, link, '{table}', {columns} FROM {table}"
            if run is None:
                cursors.append(self._connection.execute(f"{query} ORDER BY place"))
            elif table in ("run", "event"):
                key = "place" if table == "run" else "run"
                cursors.append(
                    self._connection.execute(f"{query} WHERE {key} = ? ORDER BY place", (run,))
                )
        for place, link, table, *rest in merge(*cursors, key=itemgetter(0)):
            yield _Row(place=place, link=bytes(link), table=table, columns=tuple(rest))

    def _before(self, place: int) -> bytes | None:
        """Give the link of the place before."""
        if place == 1:
            return chain.FIRST
        for table in _CHAINED:
            found = self._connection.execute(
                f"SELECT link FROM {table} WHERE place = ?", (place - 1,)
            ).fetchone()
            if found is not None:
                return bytes(found[0])
        return None

    def _fit(
        self,
        row: _Row,
        before: bytes,
        records: list[tuple[Any, ...]],
        answers: list[tuple[Any, ...]],
    ) -> None:
        """Hold one row against its link, and against what follows from it."""
        if row.table != "event" and records:
            raise _MisfitError(_loose(records[0][0], "a record"))
        try:
            match row.table:
                case "run":
                    line, expected = self._head(row)
                case "event":
                    line, expected = self._event(row, records)
                case "finding_step":
                    line, expected = chain.finding_line(*row.columns), []
                case _:
                    digest, flac = row.columns
                    if hashlib.sha256(flac).hexdigest() != digest:
                        raise self._misfit(row, _CHANGED)
                    line, expected = chain.sound_line(digest), []
        except (ValueError, KeyError, TypeError, AttributeError) as error:
            raise self._misfit(row, _UNREADABLE) from error
        if chain.link(before, line) != row.link:
            raise self._misfit(row, _CHANGED)
        if answers != expected:
            raise self._misfit(row, "the answers listed for it do not follow from it")

    def _head(self, row: _Row) -> tuple[str, list[tuple[Any, ...]]]:
        *columns, stored = row.columns
        header = self._documents.unpack_header(stored)
        self._used.update(self._documents.numbers_in(stored))
        if tuple(columns) != head_columns(header) or to_text(json.loads(stored)) != stored:
            raise self._misfit(row, _CHANGED)
        self._runs[row.place] = (header["run_id"], Tally(lines_of(header["check"])))
        return chain.run_line(header), []

    def _event(
        self, row: _Row, records: list[tuple[Any, ...]]
    ) -> tuple[str, list[tuple[Any, ...]]]:
        run, seq, form, values = row.columns
        if run not in self._runs:
            raise self._misfit(row, "its run is missing")
        run_id, tally = self._runs[run]
        event = self._unpacked(form, values)
        facts = []
        plain = []
        for expected, (place, n, kind, record_form, record_values) in enumerate(records):
            if place != row.place:
                raise _MisfitError(_loose(place, "a record"))
            facts.append(self._unpacked(record_form, record_values))
            plain.append(json.loads(facts[-1]))
            if n != expected or kind != plain_kind(plain[-1]):
                raise self._misfit(row, _CHANGED)
        rows = tally.take(json.loads(event), plain)
        expected_answers = [
            (
                row.place,
                each.n,
                run,
                *astuple(each.line),
                each.state,
                each.value,
                each.asked_s,
                each.answered_s,
                each.took_s,
            )
            for each in rows
        ]
        return chain.event_line(run_id, seq, event, facts), expected_answers

    def _unpacked(self, form: int, values: str) -> str:
        self._used.add(form)
        if to_text(json.loads(values)) != values:
            msg = "the values are not as they are written"
            raise ValueError(msg)
        return self._documents.unpack(form, values)

    def _shared(self) -> None:
        """Look at what rows share: each is used, and is what it was."""
        for number, digest, text in self._connection.execute(
            "SELECT id, digest, json FROM document ORDER BY id"
        ):
            if number not in self._used or hashlib.sha256(text.encode()).digest() != digest:
                raise _MisfitError(_loose(None, f"document {number}"))
        for (line,) in self._connection.execute(
            "SELECT line FROM line WHERE line NOT IN (SELECT line FROM answer)"
        ):
            raise _MisfitError(_loose(None, f"line {line} of a check"))

    def _misfit(self, row: _Row, what: str) -> _MisfitError:
        run_id, seq = None, None
        match row.table:
            case "run":
                run_id = row.columns[0]
                name = f"run {run_id}, its head"
            case "event":
                run, seq = row.columns[:2]
                run_id = self._runs[run][0] if run in self._runs else None
                name = f"run {run_id or 'of no name'}, event {seq}"
            case "finding_step":
                name = f"what was done about the finding {row.columns[0]}"
            case _:
                name = f"sound {row.columns[0]}"
        return _MisfitError(Misfit(place=row.place, run_id=run_id, seq=seq, row=name, what=what))


def _loose(place: int | None, row: str) -> Misfit:
    """Say that a row hangs on nothing that was written."""
    what = "it does not belong to anything that was written"
    return Misfit(place=place, run_id=None, seq=None, row=row, what=what)
