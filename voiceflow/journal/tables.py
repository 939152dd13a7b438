"""The tables of a journal, version 2, and the triggers that keep them append-only.

Everything that is written down has a ``place``: 1, 2, 3 ... over the whole file, whichever
table it is in. The link beside it follows from the link of the place before and from what
is written there (``chain.py``).

===============  =======================================================================
``document``     A text that many rows share, once: a check, an item of one, settings, or
                 the form of an event or a record (``packing.py``).
``run``          The head of a run.
``event``        What happened in it.
``record``       The facts that an event led to.
``finding_step`` What people did about a discrepancy afterwards.
``sound``        A piece of sound, kept under the SHA-256 of its bytes.
``line``         A line of a check on one aircraft, with the limit that it was held
                 against. It and ``answer`` follow from the rows above (``answers.py``);
                 they are there so that the readings of a gauge over years are found at once.
``answer``       An answer to a line; without a state, that it was taken back.
===============  =======================================================================
"""

import sqlite3

#: "VFJ1" in the file's header: what tells a journal from any other database.
APPLICATION_ID = 0x56464A31
#: Raised when the tables change.
USER_VERSION = 2

_TABLES = (
    """
CREATE TABLE document (
    id INTEGER PRIMARY KEY,
    digest BLOB NOT NULL UNIQUE CHECK (length(digest) = 32),
    json TEXT NOT NULL
)""",
    """
CREATE TABLE run (
    place INTEGER PRIMARY KEY,
    run_id TEXT NOT NULL UNIQUE CHECK (typeof(run_id) = 'text' AND run_id <> ''),
    tail TEXT NOT NULL,
    started_at TEXT NOT NULL,
    signer TEXT NOT NULL,
    temperature_c TEXT,
    hours TEXT,
    header TEXT NOT NULL,
    link BLOB NOT NULL CHECK (length(link) = 32)
)""",
    # what an answer has of its run, without the pages of the heads between
    "CREATE INDEX run_tail ON run (tail, place, run_id, started_at, signer, temperature_c, hours)",
    """
CREATE TABLE event (
    place INTEGER PRIMARY KEY,
    run INTEGER NOT NULL REFERENCES run (place),
    seq INTEGER NOT NULL CHECK (typeof(seq) = 'integer' AND seq >= 0),
    form INTEGER NOT NULL REFERENCES document (id),
    json TEXT NOT NULL,
    link BLOB NOT NULL CHECK (length(link) = 32),
    UNIQUE (run, seq)
)""",
    """
CREATE TABLE record (
    place INTEGER NOT NULL REFERENCES event (place),
    n INTEGER NOT NULL CHECK (typeof(n) = 'integer' AND n >= 0),
    kind TEXT NOT NULL,
    form INTEGER NOT NULL REFERENCES document (id),
    json TEXT NOT NULL,
    PRIMARY KEY (place, n)
) WITHOUT ROWID""",
    # outcomes are many and found through the answers; all else is few and looked for by kind
    "CREATE INDEX record_kind ON record (kind, place, n) WHERE kind <> 'outcome'",
    """
CREATE TABLE finding_step (
    place INTEGER PRIMARY KEY,
    finding_id TEXT NOT NULL,
    state TEXT NOT NULL,
    by_whom TEXT NOT NULL,
    reference TEXT NOT NULL,
    at TEXT NOT NULL,
    link BLOB NOT NULL CHECK (length(link) = 32)
)""",
    """
CREATE TABLE sound (
    place INTEGER PRIMARY KEY,
    digest TEXT NOT NULL UNIQUE,
    flac BLOB NOT NULL,
    link BLOB NOT NULL CHECK (length(link) = 32)
)""",
    """
CREATE TABLE line (
    line INTEGER PRIMARY KEY,
    tail TEXT NOT NULL,
    check_id TEXT NOT NULL,
    item_id TEXT NOT NULL,
    series TEXT NOT NULL,
    unit TEXT NOT NULL,
    minimum TEXT,
    maximum TEXT
)""",
    "CREATE INDEX line_tail ON line (tail, series, check_id, item_id)",
    """
CREATE TABLE answer (
    line INTEGER NOT NULL REFERENCES line (line),
    run INTEGER NOT NULL REFERENCES run (place),
    place INTEGER NOT NULL,
    n INTEGER NOT NULL,
    state TEXT,
    value TEXT,
    asked_s REAL,
    answered_s REAL,
    took_s REAL,
    PRIMARY KEY (line, run, place, n)
) WITHOUT ROWID""",
)
_TRIGGER = """
CREATE TRIGGER {table}_{change} BEFORE {change} ON {table} {when}
BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END
"""
#: A REPLACE deletes without firing the trigger on DELETE, so it is stopped before it inserts.
_SAME_KEY = {
    "document": "id = NEW.id OR digest = NEW.digest",
    "run": "place = NEW.place OR run_id = NEW.run_id",
    "event": "place = NEW.place OR run = NEW.run AND seq = NEW.seq",
    "record": "place = NEW.place AND n = NEW.n",
    "finding_step": "place = NEW.place",
    "sound": "place = NEW.place OR digest = NEW.digest",
    "line": "line = NEW.line",
    "answer": "line = NEW.line AND run = NEW.run AND place = NEW.place AND n = NEW.n",
}


def make_tables(connection: sqlite3.Connection) -> None:
    """Make the tables of an empty journal, within the caller's transaction."""
    for statement in _TABLES:
        connection.execute(statement)
    for table, same_key in _SAME_KEY.items():
        taken = f"WHEN EXISTS (SELECT 1 FROM {table} WHERE {same_key})"
        for change, when in (("UPDATE", ""), ("DELETE", ""), ("INSERT", taken)):
            connection.execute(_TRIGGER.format(table=table, change=change, when=when))
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version = {USER_VERSION}")
