"""The order of what comes from several journals: each in its own, the oldest next."""

from collections.abc import Callable, Iterable
from datetime import UTC, datetime
from heapq import merge
from typing import TypeVar

T = TypeVar("T")


def moment(text: str) -> datetime | None:
    """Read a clock time, ISO 8601; UTC if it has no offset. None: it is none."""
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        return None
    return found.replace(tzinfo=UTC) if found.tzinfo is None else found


def in_order(
    rows: Iterable[T], journal: Callable[[T], int], began: Callable[[T], datetime | None]
) -> list[T]:
    """Put rows of several journals in one order.

    Of one journal the order is kept, whatever its clock said: it is the order in which
    things were written down.

    Args:
        rows: Those of each journal in its order.
        journal: Tells which one a row is from.
        began: Its clock time; None: it has none.
    """
    of_each: dict[int, list[T]] = {}
    for row in rows:
        of_each.setdefault(journal(row), []).append(row)
    first = datetime.min.replace(tzinfo=UTC)
    return list(merge(*of_each.values(), key=lambda row: began(row) or first))
