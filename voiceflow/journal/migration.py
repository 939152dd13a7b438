"""Journals of version 1: brought over whole, in the order in which they were written.

Version 1 had three tables, each row's JSON in full, and no chain. The links of what is
brought over are made now: they tell of changes from here on, not of earlier ones.
"""

import json
import sqlite3
from typing import Final

from voiceflow.journal.codec import Json, plain_kind
from voiceflow.journal.packing import Documents
from voiceflow.journal.tables import make_tables
from voiceflow.journal.writing import Writer, Written, written

_TABLES: Final = ("record", "event", "run")  # in the order in which they can be dropped
_OLD: Final = "{}_of_version_1"


def migrate(connection: sqlite3.Connection) -> None:
    """Bring a journal of version 1 to this version, within the caller's transaction.

    Raises:
        ValueError: If a row of it cannot be read. Nothing is lost if the caller rolls back.
        sqlite3.Error: If it cannot be written.
    """
    for (trigger,) in connection.execute(
        "SELECT name FROM sqlite_master WHERE type = 'trigger'"
    ).fetchall():
        connection.execute(f'DROP TRIGGER "{trigger}"')
    for table in _TABLES:
        connection.execute(f"ALTER TABLE {table} RENAME TO {_OLD.format(table)}")
    make_tables(connection)
    copy(connection, *(_OLD.format(table) for table in ("run", "event", "record")))
    for table in _TABLES:
        connection.execute(f"DROP TABLE {_OLD.format(table)}")


def copy(connection: sqlite3.Connection, runs: str, events: str, records: str) -> None:
    """Enter all that the tables of version 1 hold.

    A head comes before its first event; the rest is in the order of its rows.

    Args:
        connection: With the tables of this version, and those of version 1.
        runs: Name of the table of heads.
        events: ... of events.
        records: ... of records.

    Raises:
        ValueError: If a row cannot be read.
    """
    writer = Writer(connection, Documents(connection))
    heads = connection.execute(f"SELECT rowid, run_id, header FROM {runs} ORDER BY rowid")
    places: dict[str, int] = {}

    def enter_heads(until: int | None) -> None:
        for rowid, run_id, header in heads:
            what = f"the head of run {run_id}"
            try:
                places[run_id] = writer.run(_object(header, what))
            except (KeyError, TypeError, AttributeError) as error:
                msg = f"{what} lacks what a head has"
                raise ValueError(msg) from error
            if rowid == until:
                return

    found = connection.execute(
        f"SELECT event.run_id, event.seq, event.json, run.rowid FROM {events} AS event"
        f" JOIN {runs} AS run ON run.run_id = event.run_id ORDER BY event.rowid"
    )
    for run_id, seq, event, head in found:
        if run_id not in places:
            enter_heads(head)
        facts = connection.execute(
            f"SELECT json FROM {records} WHERE run_id = ? AND seq = ? ORDER BY n",
            (run_id, seq),
        )
        what = f"run {run_id}: event {seq}"
        writer.event(
            places[run_id],
            run_id,
            seq,
            written("event", _object(event, what)),
            [_record(_object(text, f"{what}: a record")) for (text,) in facts],
        )
    enter_heads(None)


def _record(plain: Json) -> Written:
    return written(plain_kind(plain), plain)


def _object(text: str, what: str) -> Json:
    try:
        plain = json.loads(text)
    except ValueError as error:
        msg = f"{what} is not JSON"
        raise ValueError(msg) from error
    if not isinstance(plain, dict):
        msg = f"{what} is not a JSON object"
        raise ValueError(msg)  # noqa: TRY004 - whoever reads a file looks for ValueError
    return plain
