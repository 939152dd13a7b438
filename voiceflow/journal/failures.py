"""What can go wrong with the journal's file, in our own words."""

import sqlite3
from pathlib import Path

from voiceflow.errors import JournalError


def mapped(path: Path, error: sqlite3.Error) -> JournalError:
    """Give our error for one of SQLite's."""
    code = getattr(error, "sqlite_errorcode", None)
    primary = code & 0xFF if code is not None else None
    match primary:
        case sqlite3.SQLITE_CORRUPT | sqlite3.SQLITE_NOTADB | sqlite3.SQLITE_FORMAT:
            return damaged(path)
        case sqlite3.SQLITE_BUSY | sqlite3.SQLITE_LOCKED:
            return JournalError(
                path, "another program is writing to it", "Wait for it or close it, and try again."
            )
        case sqlite3.SQLITE_READONLY | sqlite3.SQLITE_CANTOPEN | sqlite3.SQLITE_PERM:
            return JournalError(
                path,
                "cannot be written",
                "Give yourself the right to write the file and its folder, "
                "or name another file with --journal.",
            )
        case sqlite3.SQLITE_FULL | sqlite3.SQLITE_IOERR:
            return JournalError(
                path,
                f"the disk refuses to take it ({error})",
                "Make room or mend the disk; everything confirmed before is kept.",
            )
        case _:
            return JournalError(
                path, f"SQLite reports: {error}", "Keep the file, and name another with --journal."
            )


def damaged(path: Path) -> JournalError:
    """Say that the file is not as SQLite left it."""
    return JournalError(
        path,
        "is damaged",
        "Keep a copy, take the file from a backup, or name another with --journal.",
    )


def unknown_run(path: Path, run_id: str) -> JournalError:
    """Say that there is no such run."""
    return JournalError(path, f"no run {run_id!r}", "List the runs with: voiceflow journal")
