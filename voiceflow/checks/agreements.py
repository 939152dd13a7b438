"""What readings are compared with, held against the other items of the file."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from voiceflow.checks.model import Item, Reference
from voiceflow.checks.problem import Problem
from voiceflow.checks.validation import did_you_mean
from voiceflow.checks.yaml_tree import Tree, TreePath

_MASSES: Final = frozenset({"kg", "lb"})
_VOLUMES: Final = frozenset({"L", "gal", "qt"})
#: What a density makes of one another; quarts are of oil.
_FUEL: Final = _MASSES | {"L", "gal"}
_SETTINGS: Final = frozenset({"hPa", "inHg"})
_LENGTHS: Final = frozenset({"ft", "m"})
_TEMPERATURES: Final = frozenset({"C", "°C", "F"})
#: Units of one kind can be brought to each other.
_KINDS: Final = (
    _MASSES,
    _VOLUMES,
    _SETTINGS | {"kPa", "psi", "bar"},
    _LENGTHS,
    _TEMPERATURES,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedItem:
    """An item and its path in the file."""

    path: TreePath
    item: Item


def agreement_problems(
    tree: Tree, placed: Mapping[str, PlacedItem], ids: frozenset[str]
) -> Iterator[Problem]:
    """Give what is wrong with the comparisons of a file.

    Args:
        tree: The file.
        placed: Its sound items by name, also those not on this tail: an item that this tail
            has not is never read, so nothing is compared with it.
        ids: The names of all its items, sound or not.
    """
    for each in placed.values():
        spec = each.item.reading
        for index, agreement in enumerate(spec.agrees if spec else ()):
            path = (*each.path, "reading", "agrees", index, "with")
            for what, remedy in _faults(each, agreement.reference, placed, ids):
                yield tree.problem(path, "agreement", what, remedy, item=each.item.id)


def _faults(
    each: PlacedItem, reference: Reference, placed: Mapping[str, PlacedItem], ids: frozenset[str]
) -> Iterator[tuple[str, str]]:
    unit = each.item.reading.unit if each.item.reading else ""
    if reference.elevation and unit not in _LENGTHS:
        yield f"an elevation cannot be compared with {unit or 'a bare number'}", "Use feet."
    if reference.temperature and unit not in _TEMPERATURES:
        yield f"a temperature cannot be compared with {unit or 'a bare number'}", "Use C."
    if reference.setting is not None and unit not in _LENGTHS:
        yield f"an altimeter does not show {unit or 'a bare number'}", "Use feet."
    for name in dict.fromkeys(reference.readings):
        if reference.readings.count(name) > 1:
            yield f"{name} is added up twice", "Name each item once."
    settings = [name for name in (reference.setting, reference.qnh) if name is not None]
    for name in (*reference.readings, *settings):
        other = placed.get(name)
        if name == each.item.id:
            yield "a reading always agrees with itself", "Name another item."
        elif name not in ids:
            yield (
                f"there is no item {name!r} in this file",
                did_you_mean(name, ids, "Name an item of this file that has a reading."),
            )
        elif other is not None and other.item.reading is None:
            yield f"the item {name} has no reading", "Name an item with a reading."
        elif other is not None and other.item.reading is not None:
            theirs = other.item.reading.unit
            if name in settings and theirs not in _SETTINGS:
                yield f"{name} is in {theirs or 'no unit'}, not in hPa or inHg", "Give its unit."
            elif name not in settings and not _goes_with(unit, theirs, reference):
                yield (
                    f"{name} is in {theirs or 'no unit'}, this reading in {unit or 'no unit'}",
                    "Bring both to one unit; litres and kilograms need a density.",
                )


def _goes_with(unit: str, theirs: str, reference: Reference) -> bool:
    if unit == theirs or any({unit, theirs} <= kind for kind in _KINDS):
        return True
    return {unit, theirs} <= _FUEL and reference.density is not None
