"""Puts rows into a journal: each with its link, and with the answers that follow from it.

The caller has begun a transaction that nobody else can write beside; the link before is
read in it. Values are plain JSON here, as they are stored.
"""

import hashlib
import json
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from voiceflow.journal import chain
from voiceflow.journal.answers import AnswerRow, Line, Tally, lines_of
from voiceflow.journal.codec import Json, to_text
from voiceflow.journal.packing import Documents

_LAST_LINK: Final = (
    "SELECT place, link FROM ("
    + " UNION ALL ".join(
        f"SELECT * FROM (SELECT place, link FROM {table} ORDER BY place DESC LIMIT 1)"
        for table in ("event", "run", "finding_step", "sound")
    )
    + ") ORDER BY place DESC LIMIT 1"
)


def last_link(connection: sqlite3.Connection) -> tuple[int, bytes]:
    """Give the last place that is taken, 0 in an empty journal, and its link."""
    row = connection.execute(_LAST_LINK).fetchone()
    return (0, chain.FIRST) if row is None else (int(row[0]), bytes(row[1]))


#: What the table of runs has of a head, beside all of it.
HEAD_COLUMNS: Final = "run_id, tail, started_at, signer, temperature_c, hours"


def head_columns(header: Json) -> tuple[str, str, str, str, str | None, str | None]:
    """Give what the table of runs has of a head: ``HEAD_COLUMNS``."""
    brief = header.get("brief") or {}
    conditions = brief.get("conditions") or {}
    return (
        header["run_id"],
        header["check"]["tail"],
        header["started_at"],
        brief.get("signer", ""),
        conditions.get("temperature_c"),
        conditions.get("hours"),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """An event or a record on its way into the journal.

    Attributes:
        kind: What it is.
        plain: As JSON's own types.
        text: The same as one line.
    """

    kind: str
    plain: Json
    text: str


def written(kind: str, plain: Json) -> Written:
    """Give it as a line too.

    Raises:
        ValueError: If JSON does not have a number in it.
    """
    return Written(kind=kind, plain=plain, text=to_text(plain))


class Writer:
    """Writes within the caller's transaction."""

    def __init__(self, connection: sqlite3.Connection, documents: Documents) -> None:
        self._connection = connection
        self._documents = documents
        self._tallies: dict[int, tuple[int, Tally]] = {}
        self._lines: dict[Line, int] = {}
        self._last: tuple[int, bytes] | None = None

    def look_anew(self) -> None:
        """Begin a transaction: others may have written since the last one."""
        self._last = None

    def forget(self) -> None:
        """Drop what is known here: the transaction in which it was written came to nothing."""
        self._documents.forget()
        self._tallies.clear()
        self._lines.clear()
        self._last = None

    def run(self, header: Json) -> int:
        """Enter the head of a run; give its place.

        Raises:
            sqlite3.IntegrityError: If there is a run of that name.
        """
        place, link = self._next(chain.run_line(header))
        self._connection.execute(
            f"INSERT INTO run (place, {HEAD_COLUMNS}, header, link)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (place, *head_columns(header), self._documents.pack_header(header), link),
        )
        self._tallies[place] = (0, Tally(lines_of(header["check"])))
        return place

    def event(
        self, run: int, run_id: str, seq: int, event: Written, records: Sequence[Written]
    ) -> None:
        """Enter an event with its records.

        Raises:
            sqlite3.IntegrityError: If the run has an event of that number.
        """
        tally = self._tally(run, seq)
        line = chain.event_line(run_id, seq, event.text, [record.text for record in records])
        place, link = self._next(line)
        self._connection.execute(
            "INSERT INTO event (place, run, seq, form, json, link) VALUES (?, ?, ?, ?, ?, ?)",
            (place, run, seq, *self._documents.pack(event.plain), link),
        )
        self._connection.executemany(
            "INSERT INTO record (place, n, kind, form, json) VALUES (?, ?, ?, ?, ?)",
            [
                (place, n, record.kind, *self._documents.pack(record.plain))
                for n, record in enumerate(records)
            ],
        )
        self._connection.executemany(
            "INSERT INTO answer (line, run, place, n, state, value, asked_s, answered_s, took_s)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
            [
                self._answer(run, place, row)
                for row in tally.take(event.plain, [record.plain for record in records])
            ],
        )
        self._tallies[run] = (seq + 1, tally)

    def finding_step(
        self, *, finding_id: str, state: str, by: str, reference: str, at: str
    ) -> None:
        """Enter what people did about a discrepancy."""
        place, link = self._next(chain.finding_line(finding_id, state, by, reference, at))
        self._connection.execute(
            "INSERT INTO finding_step (place, finding_id, state, by_whom, reference, at, link)"
            " VALUES (?, ?, ?, ?, ?, ?, ?)",
            (place, finding_id, state, by, reference, at, link),
        )

    def sound(self, flac: bytes) -> str:
        """Enter a sound unless it is there; give its SHA-256, hexadecimal."""
        digest = hashlib.sha256(flac).hexdigest()
        if not self._connection.execute(
            "SELECT 1 FROM sound WHERE digest = ?", (digest,)
        ).fetchone():
            place, link = self._next(chain.sound_line(digest))
            self._connection.execute(
                "INSERT INTO sound (place, digest, flac, link) VALUES (?, ?, ?, ?)",
                (place, digest, flac, link),
            )
        return digest

    # ---- within

    def _next(self, line: str) -> tuple[int, bytes]:
        place, before = self._last or last_link(self._connection)
        self._last = place + 1, chain.link(before, line)
        return self._last

    def _tally(self, run: int, seq: int) -> Tally:
        """Give the tally of a run before this event, from its rows if need be."""
        known = self._tallies.pop(run, None)
        if known is not None and known[0] == seq:
            return known[1]
        (header,) = self._connection.execute(
            "SELECT header FROM run WHERE place = ?", (run,)
        ).fetchone()
        tally = Tally(lines_of(self._documents.unpack_header(header)["check"]))
        unpack = self._documents.unpack
        for place, form, values in self._connection.execute(
            "SELECT place, form, json FROM event WHERE run = ? AND seq < ? ORDER BY seq",
            (run, seq),
        ).fetchall():
            records = self._connection.execute(
                "SELECT form, json FROM record WHERE place = ? ORDER BY n", (place,)
            ).fetchall()
            tally.take(
                json.loads(unpack(form, values)),
                [json.loads(unpack(*record)) for record in records],
            )
        return tally

    def _answer(self, run: int, place: int, row: AnswerRow) -> tuple[object, ...]:
        return (
            self._line(row.line),
            run,
            place,
            row.n,
            row.state,
            row.value,
            row.asked_s,
            row.answered_s,
            row.took_s,
        )

    def _line(self, line: Line) -> int:
        if line not in self._lines:
            columns = (
                line.tail,
                line.series,
                line.check_id,
                line.item_id,
                line.unit,
                line.minimum,
                line.maximum,
            )
            row = self._connection.execute(
                "SELECT line FROM line WHERE tail = ? AND series = ? AND check_id = ?"
                " AND item_id = ? AND unit = ? AND minimum IS ? AND maximum IS ?",
                columns,
            ).fetchone()
            if row is None:
                cursor = self._connection.execute(
                    "INSERT INTO line (tail, series, check_id, item_id, unit, minimum, maximum)"
                    " VALUES (?, ?, ?, ?, ?, ?, ?)",
                    columns,
                )
                row = (cursor.lastrowid,)
            self._lines[line] = int(row[0])
        return self._lines[line]
