"""The store's tables, version 1, in a schema of their own, and the trigger that keeps them.

===============  =======================================================================
``store``        The version of these tables.
``source``       A journal that was pushed here, known by the first link of its chain.
``document``     A text that many heads share (``heads.py``).
``run``          The head of a run; its ``source`` and ``place`` tell where it was written.
``event``        What happened in it, as it was written.
``record``       The facts that an event led to.
``answer``       What the records answer to the lines of a check, as columns; without a
                 state, that an answer was taken back. It follows from the rows above
                 (``voiceflow.journal.answers``).
``sound``        A piece of sound under the SHA-256 of its bytes.
``link``         Every row of every journal: its link, the one before, and what it is of.
                 ``kind`` is run, event, finding, sound, or aside.
``finding_step`` What people did about a discrepancy.
``set_aside``    A row that does not go with what was here before it: the line that its
                 link was made from. It is kept, and no question is answered from it.
===============  =======================================================================

Nothing is ever changed or deleted: a trigger on each table refuses it. The owner of the
database can take triggers away; the links are there to tell.
"""

from typing import Final

from sqlalchemy import (
    BigInteger,
    Column,
    Connection,
    DateTime,
    Double,
    ForeignKey,
    ForeignKeyConstraint,
    Identity,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Numeric,
    Table,
    Text,
    inspect,
    text,
)
from sqlalchemy.schema import CreateSchema

#: Raised when the tables change.
VERSION: Final = 1
SCHEMA: Final = "voiceflow"
#: Two who make the tables at the same time wait for each other: "voiceflo" as a number.
_MAKING: Final = int.from_bytes(b"voiceflo", "big", signed=True)

metadata = MetaData(schema=SCHEMA)

store = Table("store", metadata, Column("version", Integer, primary_key=True, autoincrement=False))
source = Table(
    "source",
    metadata,
    Column("id", Integer, Identity(always=True), primary_key=True),
    Column("first_link", LargeBinary, nullable=False, unique=True),
)
document = Table(
    "document",
    metadata,
    Column("digest", Text, primary_key=True),
    Column("json", Text, nullable=False),
)
run = Table(
    "run",
    metadata,
    Column("run_id", Text, primary_key=True),
    Column("source", ForeignKey(source.c.id), nullable=False),
    Column("place", BigInteger, nullable=False),
    Column("tail", Text, nullable=False),
    Column("started_at", Text, nullable=False),
    # the same as a moment; null if it is none
    Column("started", DateTime(timezone=True)),
    Column("signer", Text, nullable=False),
    Column("temperature_c", Numeric),
    Column("hours", Numeric),
    Column("check_id", Text, nullable=False),
    Column("check_title", Text, nullable=False),
    Column("header", Text, nullable=False),
    Index("run_tail", "tail", "started"),
)
event = Table(
    "event",
    metadata,
    Column("run_id", ForeignKey(run.c.run_id), primary_key=True),
    Column("seq", Integer, primary_key=True, autoincrement=False),
    Column("at_s", Double, nullable=False),
    Column("kind", Text, nullable=False),
    Column("json", Text, nullable=False),
)
record = Table(
    "record",
    metadata,
    Column("run_id", Text, primary_key=True),
    Column("seq", Integer, primary_key=True, autoincrement=False),
    Column("n", Integer, primary_key=True, autoincrement=False),
    Column("kind", Text, nullable=False),
    Column("json", Text, nullable=False),
    ForeignKeyConstraint(["run_id", "seq"], [event.c.run_id, event.c.seq]),
    Index("record_ending", "run_id", postgresql_where=text("kind = 'ending'")),
)
answer = Table(
    "answer",
    metadata,
    Column("run_id", Text, primary_key=True),
    Column("seq", Integer, primary_key=True, autoincrement=False),
    Column("n", Integer, primary_key=True, autoincrement=False),
    Column("place", BigInteger, nullable=False),
    Column("tail", Text, nullable=False),
    Column("check_id", Text, nullable=False),
    Column("item_id", Text, nullable=False),
    Column("series", Text, nullable=False),
    Column("unit", Text, nullable=False),
    Column("minimum", Numeric),
    Column("maximum", Numeric),
    Column("state", Text),
    Column("value", Numeric),
    Column("asked_s", Double),
    Column("answered_s", Double),
    Column("took_s", Double),
    ForeignKeyConstraint(["run_id", "seq", "n"], [record.c.run_id, record.c.seq, record.c.n]),
    Index("answer_tail", "tail", "series", "check_id", "item_id"),
)
sound = Table(
    "sound",
    metadata,
    Column("digest", Text, primary_key=True),
    Column("flac", LargeBinary, nullable=False),
)
link = Table(
    "link",
    metadata,
    Column("link", LargeBinary, primary_key=True),
    Column("before", LargeBinary, nullable=False),
    Column("source", ForeignKey(source.c.id), nullable=False),
    Column("place", BigInteger, nullable=False),
    Column("kind", Text, nullable=False),
    Column("run_id", Text),
    Column("seq", Integer),
    Column("digest", ForeignKey(sound.c.digest)),
    Index("link_place", "source", "place"),
    Index("link_run", "run_id", "seq"),
)
finding_step = Table(
    "finding_step",
    metadata,
    Column("link", ForeignKey(link.c.link), primary_key=True),
    Column("finding_id", Text, nullable=False, index=True),
    Column("state", Text, nullable=False),
    Column("by_whom", Text, nullable=False),
    Column("reference", Text, nullable=False),
    Column("at", Text, nullable=False),
)
set_aside = Table(
    "set_aside",
    metadata,
    Column("link", ForeignKey(link.c.link), primary_key=True),
    Column("line", Text, nullable=False),
)

_REFUSE: Final = f"""
CREATE FUNCTION {SCHEMA}.refuse() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN RAISE EXCEPTION 'the store is append-only'; END $$
"""
_TRIGGER: Final = """
CREATE TRIGGER append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON {schema}.{table}
FOR EACH STATEMENT EXECUTE FUNCTION {schema}.refuse()
"""


def version(connection: Connection) -> int | None:
    """Give the version of the tables that are there; None: there are none."""
    if not inspect(connection).has_table(store.name, schema=SCHEMA):
        return None
    found: int | None = connection.execute(store.select()).scalar()
    return found


def make(connection: Connection) -> None:
    """Make the tables where they are not, in a transaction of the caller's."""
    connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _MAKING})
    if version(connection) is not None:
        return  # another has made them meanwhile
    connection.execute(CreateSchema(SCHEMA, if_not_exists=True))
    metadata.create_all(connection, checkfirst=False)
    connection.execute(text(_REFUSE))
    for table in metadata.sorted_tables:
        connection.execute(text(_TRIGGER.format(schema=SCHEMA, table=table.name)))
    connection.execute(store.insert(), {"version": VERSION})
