"""What readings are compared with, held against the other items of the file."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from voiceflow.checks.model import Item, Reference
from voiceflow.checks.problem import Problem
from voiceflow.checks.validation import did_you_mean
from voiceflow.checks.yaml_tree import Tree, TreePath

_MASSES: Final = frozenset({"kg", "lb"})
_VOLUMES: Final = frozenset({"L", "gal"})
_FUEL: Final = _MASSES | _VOLUMES
_PRESSURES: Final = frozenset({"hPa", "inHg"})


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedItem:
    """An item and its path in the file; ``is_fitted``: this tail has it."""

    path: TreePath
    item: Item
    is_fitted: bool


def agreement_problems(
    tree: Tree, placed: Mapping[str, PlacedItem], ids: frozenset[str]
) -> Iterator[Problem]:
    """Give what is wrong with the comparisons of a file.

    Args:
        tree: The file.
        placed: Its sound items by name.
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
    if reference.elevation and unit not in {"ft", "m"}:
        yield f"an elevation cannot be compared with {unit or 'a bare number'}", "Use feet."
    if reference.temperature and unit not in {"C", "°C", "F"}:
        yield f"a temperature cannot be compared with {unit or 'a bare number'}", "Use C."
    if reference.setting is not None and unit not in {"ft", "m"}:
        yield f"an altimeter does not show {unit or 'a bare number'}", "Use feet."
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
            if name in settings and theirs not in _PRESSURES:
                yield f"{name} is in {theirs or 'no unit'}, not in hPa or inHg", "Give its unit."
            elif name not in settings and not _goes_with(unit, theirs, reference):
                yield (
                    f"{name} is in {theirs or 'no unit'}, this reading in {unit or 'no unit'}",
                    "Bring both to one unit; litres and kilograms need a density.",
                )


def _goes_with(unit: str, theirs: str, reference: Reference) -> bool:
    if unit == theirs:
        return True
    if {unit, theirs} <= _FUEL:
        is_alike = {unit, theirs} <= _MASSES or {unit, theirs} <= _VOLUMES
        return is_alike or reference.density is not None
    return {unit, theirs} <= _PRESSURES
