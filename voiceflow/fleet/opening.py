"""A connection to the store, before anything in it is read: is it one, and of which version?"""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

from sqlalchemy import Connection, Engine, create_engine, text

from voiceflow.errors import StoreError
from voiceflow.fleet import tables
from voiceflow.fleet.address import Address
from voiceflow.fleet.failures import told

#: Seconds to wait for a server to answer, unless the URL says otherwise.
_CONNECT_S: Final = 10
#: So that a machine that is cut off in the middle of a batch keeps nobody waiting for long.
_PATIENCE: Final = (
    "SET LOCAL lock_timeout = '60s'",
    "SET LOCAL idle_in_transaction_session_timeout = '60s'",
)


def connect(address: Address, *, make: bool) -> Engine:
    """Open a store; nothing is kept open by this.

    Args:
        address: Where it is.
        make: Make its tables where they are not.

    Raises:
        StoreError: If no server answers or it refuses, there is no store, or one of a
            newer Voiceflow.
    """
    wait = {} if "connect_timeout" in address.url.query else {"connect_timeout": _CONNECT_S}
    with told(address):
        engine = create_engine(
            address.url, connect_args=wait, pool_size=1, max_overflow=0, hide_parameters=True
        )
        try:
            with engine.begin() as connection:
                _look(connection, address, make=make)
        except BaseException:
            engine.dispose()
            raise
    return engine


def _look(connection: Connection, address: Address, *, make: bool) -> None:
    """See that there is a store that this version can use."""
    encoding = connection.execute(text("SHOW server_encoding")).scalar()
    if encoding != "UTF8":
        what = f"the database keeps text as {encoding}, which has not every letter"
        remedy = "Make one with: createdb --encoding=UTF8 --template=template0 NAME"
        raise StoreError(address.name, what, remedy)
    version = tables.version(connection)
    if version is None and make:
        tables.make(connection)
        version = tables.version(connection)
    if version is None:
        what = "there is no store in this database"
        raise StoreError(address.name, what, "Push a journal first: voiceflow journal push URL")
    if version != tables.VERSION:
        what = f"the store is of version {version}, this Voiceflow reads {tables.VERSION}"
        raise StoreError(address.name, what, "Use the Voiceflow that is as new as the store.")


@contextmanager
def transaction(engine: Engine, address: Address) -> Iterator[Connection]:
    """Do all that is within at once, or nothing of it.

    Raises:
        StoreError: If the server refuses, or the connection is lost.
    """
    with told(address), engine.begin() as connection:
        for setting in _PATIENCE:
            connection.execute(text(setting))
        yield connection
