"""What can go wrong with the store, in our own words.

A server names its refusals by SQLSTATE (PostgreSQL manual, appendix A). While a
connection is being made the client library gives the words alone, so these are looked
through; a server that speaks another language is quoted.
"""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

from psycopg import Error
from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from voiceflow.errors import StoreError
from voiceflow.fleet.address import Address

_GO_ON: Final = "What was taken before is kept; push again, and it goes on from there."
_LATER: Final = "The journals here are whole; try again later."
_ASK: Final = "Ask whoever keeps the database."

#: SQLSTATE, or its class, -> what is wrong, what to do.
_STATES: Final = {
    "28": ("the user or the password is wrong", "Look at the URL, or at ~/.pgpass."),
    "3D000": ("there is no such database on the server", f"Look at its name in the URL. {_ASK}"),
    "42501": (
        "this user has not the rights that it takes",
        f"To read takes SELECT on what is in the schema voiceflow, to push INSERT too. {_ASK}",
    ),
    "42P01": ("a table of the store is missing", f"It was not taken away by Voiceflow. {_ASK}"),
    "42703": ("a column of the store is missing", f"It was not taken away by Voiceflow. {_ASK}"),
    "3F000": ("the tables of the store are missing", f"The first push makes them. {_ASK}"),
    "25006": ("the server takes nothing in: it can only be read", "Name the one that it follows."),
    "25P03": ("the server gave up waiting for this machine", _GO_ON),
    "53100": ("the disk of the server is full", _ASK),
    "53": ("the server has no room for one more", _LATER),
    "55P03": ("another push did not end in time", _GO_ON),
    "57014": ("the server stopped the statement", _GO_ON),
    "57": ("the server is being stopped, or has cut the connection", _GO_ON),
    "40": ("it got in the way of another push", _GO_ON),
    "08": ("the connection was lost", _GO_ON),
}
#: Words while connecting -> one of the above.
_WORDS: Final = (
    (r"password authentication failed|no password supplied|authentication failed", "28"),
    (r'role ".*" does not exist', "28"),
    (r'database ".*" does not exist', "3D000"),
    (r"permission denied", "42501"),
    (r"too many (clients|connections)|remaining connection slots", "53"),
    (r"is (starting up|shutting down|in recovery mode)", "57"),
)
_NO_ANSWER: Final = re.compile(
    r"refused|No such file or directory|could not translate|resolve|not known|timeout|timed out"
    r"|unreachable|No route",
    re.IGNORECASE,
)
_NOT_FROM_HERE: Final = re.compile(r"no pg_hba\.conf entry|pg_hba\.conf rejects")


@contextmanager
def told(address: Address) -> Iterator[None]:
    """Raise our error for one of the libraries'.

    Raises:
        StoreError: With its cause, in which there are statements but no password.
    """
    try:
        yield
    except (SQLAlchemyError, Error) as error:
        raise mapped(address, error) from error


def mapped(address: Address, error: SQLAlchemyError | Error) -> StoreError:
    """Give our error for one of the libraries'."""
    cause = error.orig if isinstance(error, DBAPIError) else error
    state = getattr(cause, "sqlstate", None) or ""
    words = address.without_password(" ".join(str(cause).split()))
    if not state:
        for pattern, meant in _WORDS:
            if re.search(pattern, words):
                state = meant
                break
    found = _STATES.get(state) or _STATES.get(state[:2])
    if found is not None:
        return StoreError(address.name, *found)
    if state:
        return StoreError(address.name, f"the server says: {words} ({state})", _ASK)
    if _NOT_FROM_HERE.search(words):
        what = "the server lets nobody of that name in from this machine"
        return StoreError(address.name, what, _ASK)
    if isinstance(error, DBAPIError) and error.connection_invalidated:
        return StoreError(address.name, *_STATES["08"])
    if _NO_ANSWER.search(words):
        what = "no server answers there"
        return StoreError(address.name, what, f"Look at the host and the port. {_LATER}")
    return StoreError(address.name, f"the server cannot be used: {words}", _ASK)
