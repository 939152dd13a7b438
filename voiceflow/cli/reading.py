"""Opens what runs are read from: a journal, or the fleet's store."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from voiceflow.cli.running import open_journal
from voiceflow.errors import UsageError
from voiceflow.fleet import requirement
from voiceflow.journal.asking import RunReader

if TYPE_CHECKING:
    from voiceflow.fleet.store import Store


@contextmanager
def open_reader(path: Path | None, store: str | None) -> Iterator[RunReader]:
    """Open the store if one is named, else the journal.

    Raises:
        UsageError: If both are named, or what a store needs is not installed.
    """
    if store is None:
        with open_journal(path, to_read=True) as journal:
            yield journal
        return
    if path is not None:
        raise UsageError("--journal and --store name two places to read from", "Give one of them.")
    with open_store(store) as opened:
        yield opened


def open_store(url: str, *, make: bool = False) -> "Store":
    """Open the fleet's store.

    Args:
        url: Its URL.
        make: Make its tables where they are not.

    Raises:
        UsageError: If what it needs is not installed, or the URL is none.
    """
    requirement.require()
    # only now: a plain installation has nothing that it needs
    from voiceflow.fleet.store import Store

    return Store.open(url, make=make)
