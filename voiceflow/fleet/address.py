"""Where the store is: its URL, read without ever repeating the password in it."""

from dataclasses import dataclass
from typing import Final

from sqlalchemy import URL, make_url
from sqlalchemy.exc import ArgumentError
from typing_extensions import override

from voiceflow.errors import UsageError

#: As people write it, and as SQLAlchemy wants it.
_SCHEMES: Final = ("postgresql", "postgres", "postgresql+psycopg")
_DRIVER: Final = "postgresql+psycopg"
_FORM: Final = "Write it as postgresql://USER@HOST/DATABASE; a password may stand in ~/.pgpass."


@dataclass(frozen=True, slots=True, kw_only=True)
class Address:
    """Where the store is.

    Attributes:
        url: For SQLAlchemy; it may hold the password, so it is never shown.
        name: The database and its host, for messages.
    """

    url: URL
    name: str

    @override
    def __repr__(self) -> str:
        return f"Address({self.name!r})"

    def without_password(self, text: str) -> str:
        """Give somebody else's words about this address without its password."""
        return text.replace(self.url.password, "***") if self.url.password else text


def parse(text: str) -> Address:
    """Read a URL.

    Raises:
        UsageError: If it is none of a PostgreSQL database. The text is not repeated:
            there may be a password in it.
    """
    try:
        url = make_url(text.strip())
    except (ArgumentError, ValueError):
        # without its cause: that repeats the text
        what = "the store's URL cannot be read"
        raise UsageError(what, _FORM) from None
    if url.drivername not in _SCHEMES:
        what = "the store's URL is not one of a PostgreSQL database"
        raise UsageError(what, _FORM)
    secret = url.query.get("password")
    if isinstance(secret, str):
        # where SQLAlchemy, too, knows it for what it is
        url = url.difference_update_query(["password"]).set(password=secret)
    host = url.host or url.query.get("host") or "this machine"
    host = host if isinstance(host, str) else ", ".join(host)
    port = "" if url.port is None else f":{url.port}"
    database = url.database or "the usual database"
    return Address(url=url.set(drivername=_DRIVER), name=f"{database} on {host}{port}")
