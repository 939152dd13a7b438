"""Finds and loads the check that was typed, and an item of it."""

from pathlib import Path

from rapidfuzz import process

from voiceflow.checks.model import Check, Item
from voiceflow.checks.shipped import find_aircraft, find_check
from voiceflow.errors import UnknownItemError
from voiceflow.limits.computed import SOME_DAY, Conditions
from voiceflow.session.vocabulary import find_own_words, load_own_check


def load(check: str, aircraft: str | None) -> Check:
    """Load a check for one aircraft, without anybody's own words.

    Args:
        check: A path, or the name of a shipped check.
        aircraft: A path, or the name of a shipped aircraft file; None: the one that
            the check file names.

    Raises:
        UsageError: If there is no such file.
        CheckFileError: With every problem of the files.
    """
    aircraft_path = find_aircraft(aircraft) if aircraft is not None else None
    return load_own_check(find_check(check), aircraft_path, None, SOME_DAY)


def load_own(
    check: str, aircraft: str | None, own_words: Path | None, conditions: Conditions = SOME_DAY
) -> Check:
    """Load a check for one aircraft with the person's own words in it.

    Args:
        check: A path, or the name of a shipped check.
        aircraft: A path, or the name of a shipped aircraft file; None: the one that
            the check file names.
        own_words: The personal file; None: the one in the usual place, if any.
        conditions: Of the day, for limits that are worked out.

    Raises:
        UsageError: If there is no such file.
        CheckFileError: With every problem of the files.
    """
    aircraft_path = find_aircraft(aircraft) if aircraft is not None else None
    return load_own_check(find_check(check), aircraft_path, find_own_words(own_words), conditions)


def find_item(check: Check, item_id: str) -> Item:
    """Give the item of that name.

    Raises:
        UnknownItemError: If there is none, with the names that look like it.
    """
    try:
        return check.item(item_id)
    except KeyError:
        names = [item.id for item in check.items]
        near = process.extract(item_id, names, limit=3, score_cutoff=60)
        raise UnknownItemError(check.id, item_id, [name for name, _, _ in near]) from None


def item_before(check: Check, item: Item) -> Item | None:
    """Give the item that is normally answered before this one; None for the first."""
    position = check.position(item.id)
    return check.items[position - 1] if position else None
