"""A journal's file before anything in it is read: is it one, and of which version?"""

import sqlite3
from pathlib import Path
from typing import Final

from voiceflow.errors import JournalError
from voiceflow.journal.failures import damaged, mapped
from voiceflow.journal.migration import copy, migrate
from voiceflow.journal.tables import APPLICATION_ID, USER_VERSION, make_tables

_SQLITE_MAGIC: Final = b"SQLite format 3\x00"
#: Bytes. A larger file is not looked through before it is used, because that reads all of
#: it (0.2 s for 140 MB out of memory) while the person waits for the first word; what is
#: damaged is told when it is read, and by ``voiceflow journal verify``.
_LOOKED_THROUGH: Final = 16_000_000


def connect(path: Path, *, create: bool, busy_s: float) -> sqlite3.Connection:
    """Open a journal for writing; one of an earlier version is brought to this one.

    Args:
        path: The file.
        create: Make it, and the folders above it, if it is not there.
        busy_s: How long to wait for another program's transaction.

    Raises:
        JournalError: As ``Journal.open`` says.
    """
    is_new = _look(path, create=create)
    connection: sqlite3.Connection | None = None
    try:
        connection = sqlite3.connect(path, timeout=busy_s, isolation_level=None)
        _refuse_foreign(path, connection, may_be_empty=is_new)
        _prepare(path, connection)
    except sqlite3.Error as error:
        if connection is not None:
            connection.close()
        raise mapped(path, error) from error
    except JournalError:
        if connection is not None:
            connection.close()
        raise
    return connection


def connect_to_read(path: Path, *, busy_s: float) -> sqlite3.Connection:
    """Open a journal for reading; the file stays as it is, of whichever version.

    Raises:
        JournalError: As ``Journal.open`` says.
    """
    _look(path, create=False)
    connection: sqlite3.Connection | None = None
    try:
        connection = sqlite3.connect(path, timeout=busy_s, isolation_level=None)
        version = _refuse_foreign(path, connection, may_be_empty=False)
        if version < USER_VERSION:
            connection.close()
            connection = _brought_over(path, busy_s=busy_s)
        connection.execute("PRAGMA query_only = ON")
    except sqlite3.Error as error:
        if connection is not None:
            connection.close()
        raise mapped(path, error) from error
    except JournalError:
        if connection is not None:
            connection.close()
        raise
    return connection


def _brought_over(path: Path, *, busy_s: float) -> sqlite3.Connection:
    """Give a journal of version 1 as one of this version, in memory."""
    connection = sqlite3.connect(":memory:", timeout=busy_s, isolation_level=None)
    try:
        connection.execute("ATTACH ? AS old", (str(path),))
        connection.execute("BEGIN")
        make_tables(connection)
        copy(connection, "old.run", "old.event", "old.record")
        connection.execute("COMMIT")
        connection.execute("DETACH old")
    except ValueError as error:
        connection.close()
        raise _unreadable(path, error) from error
    except BaseException:
        connection.close()
        raise
    return connection


def _look(path: Path, *, create: bool) -> bool:
    """Look at a path before SQLite does; True if a journal may be made there."""
    try:
        if path.is_dir():
            raise JournalError(
                path, "is a folder, not a journal", f"Name a file in it: {path / 'journal.sqlite'}"
            )
        if path.exists():
            with path.open("rb") as file:
                start = file.read(len(_SQLITE_MAGIC))
            if start and start != _SQLITE_MAGIC:
                raise JournalError(
                    path,
                    "is not a journal",
                    "Name another file with --journal; this one is as it was.",
                )
            return create
        if not create:
            raise JournalError(
                path,
                "there is no journal here",
                "Begin a run first (voiceflow run), or name the journal with --journal.",
            )
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        reason = error.strerror or str(error)
        raise JournalError(
            path, f"cannot be used: {reason}", "Name a file that you may write with --journal."
        ) from error
    return True


def _refuse_foreign(path: Path, connection: sqlite3.Connection, *, may_be_empty: bool) -> int:
    """Refuse a database that is no journal of ours, before anything in it is changed.

    Returns:
        Its version.
    """
    connection.execute("PRAGMA query_only = ON")
    ((application_id,),) = connection.execute("PRAGMA application_id").fetchall()
    ((version,),) = connection.execute("PRAGMA user_version").fetchall()
    ((tables,),) = connection.execute("SELECT count(*) FROM sqlite_master").fetchall()
    connection.execute("PRAGMA query_only = OFF")
    is_empty = not (application_id or version or tables)
    if is_empty and may_be_empty:
        return USER_VERSION
    if application_id != APPLICATION_ID:
        what = "is an empty file" if is_empty else "is another program's database"
        raise JournalError(
            path,
            f"{what}, not a journal",
            "Name another file with --journal; this one is as it was.",
        )
    if version > USER_VERSION:
        raise JournalError(
            path,
            f"was written by a newer Voiceflow (journal version {version}, this one reads {USER_VERSION})",
            "Update Voiceflow, or name another file with --journal.",
        )
    if path.stat().st_size <= _LOOKED_THROUGH:
        ((state,),) = connection.execute("PRAGMA quick_check(1)").fetchall()
        if state != "ok":
            raise damaged(path)
    return int(version)


def _prepare(path: Path, connection: sqlite3.Connection) -> None:
    """Set how the file is written; make the tables, or bring old ones to this version."""
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA foreign_keys = ON")
    # taking the write lock now tells at once, not at the first answer, that we may not write
    connection.execute("BEGIN IMMEDIATE")
    try:
        # in the lock: another program may have done it meanwhile
        if not connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]:
            make_tables(connection)
        elif connection.execute("PRAGMA user_version").fetchone()[0] < USER_VERSION:
            migrate(connection)
    except ValueError as error:
        connection.execute("ROLLBACK")
        raise _unreadable(path, error) from error
    connection.execute("COMMIT")


def _unreadable(path: Path, error: ValueError) -> JournalError:
    return JournalError(
        path,
        f"cannot be brought to journal version {USER_VERSION}: {error}",
        "Read it with the version that wrote it, or take the file from a backup; this one is as it was.",
    )
