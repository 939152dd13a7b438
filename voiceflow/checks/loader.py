"""Check and aircraft files in, checks ready to run out, or every problem at once.

Reads files and nothing else; shapes are in ``file.py`` and ``aircraft.py``, the
rules of an item in ``resolve.py``.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final

from voiceflow.checks.agreements import PlacedItem, agreement_problems
from voiceflow.checks.aircraft import (
    Aircraft,
    AircraftFile,
    Gauge,
    NamedLimit,
    Oil,
    Oxygen,
    OxygenFile,
)
from voiceflow.checks.aircraft_parts import batteries, fuel, hydraulics, named_limit, tyres
from voiceflow.checks.computing import Compute
from voiceflow.checks.file import CheckFile, HeaderFile, ItemFile
from voiceflow.checks.model import Check, ComputedLimit, Item, Source
from voiceflow.checks.problem import Problem
from voiceflow.checks.resolve import (
    AircraftNames,
    ItemResolver,
    folded,
    made_scale,
    scale_fault,
)
from voiceflow.checks.validation import nearest, validate
from voiceflow.checks.yaml_tree import Tree, TreePath, read_tree
from voiceflow.errors import CheckFileError

#: Nothing is known but the aircraft's own equipment.
NO_SITUATION: Final[Mapping[str, str]] = MappingProxyType({})


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenItem:
    """An item as far as it could be read, and where it stands.

    Attributes:
        path: Its path in the tree.
        item: The item; None if something in it stops it from running.
        is_fitted: This tail has the equipment that the item is about.
        computed: The limits in it that were worked out.
    """

    path: TreePath
    item: Item | None
    is_fitted: bool
    computed: tuple[ComputedLimit, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadCheck:
    """All that was read of a check file, sound or not.

    Attributes:
        tree: The file's values and places.
        header: What stands above the items, with stand-ins where it is wrong; None if
            the file has no keys at all.
        items: Every item that could be read, also those not on this tail.
        check: The check; None if there is any problem.
        problems: Every problem, in file order, those of the check file first.
    """

    tree: Tree
    header: HeaderFile | None
    items: tuple[WrittenItem, ...]
    check: Check | None
    problems: tuple[Problem, ...]


def load_check(
    path: Path,
    aircraft_path: Path | None = None,
    *,
    languages: Collection[str] | None = None,
    compute: Compute | None = None,
    situation: Mapping[str, str] = NO_SITUATION,
) -> Check:
    """Load a check for one aircraft.

    Args:
        path: The check file.
        aircraft_path: The aircraft file; none: the one that the check file names, if any.
        languages: Codes of the language packs there are; none: not compared.
        compute: Works out limits for the day; none: a check that wants one has a problem.
        situation: What items' ``when`` may ask for beside the equipment; goes before it.

    Raises:
        CheckFileError: With every problem of both files.
    """
    read = read_check(
        path, aircraft_path, languages=languages, compute=compute, situation=situation
    )
    if read.check is None:
        raise CheckFileError(read.problems)
    return read.check


def load_aircraft(path: Path) -> Aircraft:
    """Load an aircraft file.

    Raises:
        CheckFileError: With every problem of the file.
    """
    names, problems = _read_aircraft(path)
    if problems or names.aircraft is None:
        raise CheckFileError(problems)
    return names.aircraft


def read_check(
    path: Path,
    aircraft_path: Path | None = None,
    *,
    languages: Collection[str] | None = None,
    compute: Compute | None = None,
    situation: Mapping[str, str] = NO_SITUATION,
) -> ReadCheck:
    """Read a check file as far as it can be read, for ``load_check`` and for lint.

    Args:
        path: The check file.
        aircraft_path: The aircraft file; none: the one that the check file names, if any.
        languages: Codes of the language packs there are; none: not compared.
        compute: Works out limits for the day; none: a check that wants one has a problem.
        situation: What items' ``when`` may ask for beside the equipment; goes before it.
    """
    tree = read_tree(path)
    if not isinstance(tree.value, dict):
        remedy = "Begin with check: and the check's name."
        return ReadCheck(
            tree=tree,
            header=None,
            items=(),
            check=None,
            problems=tree.problems or (_no_keys(tree, remedy),),
        )
    problems = list(tree.problems)
    header, header_problems, cut = _validate_header(tree)
    problems += header_problems
    names = AircraftNames()
    aircraft_problems: tuple[Problem, ...] = ()
    if aircraft_path is None and header.aircraft_file is not None:
        aircraft_path = path.parent / header.aircraft_file
        if not _exists(aircraft_path):
            # blame the key, not the file: it is the key that has to be changed
            problems.append(_missing_aircraft(tree, header.aircraft_file))
            aircraft_path = None
            names = AircraftNames(is_broken=True)
    if aircraft_path is not None:
        names, aircraft_problems = _read_aircraft(aircraft_path)
    elif "aircraft_file" in cut:
        names = AircraftNames(is_broken=True)
    names = _in_situation(replace(names, compute=compute), situation)
    problems += _compare_header(tree, header, cut, names, languages)
    items, item_problems = _read_items(tree, names)
    problems += item_problems
    ordered = (*sorted(problems), *sorted(aircraft_problems))
    check = None if ordered else _made(tree, header, items, names)
    return ReadCheck(tree=tree, header=header, items=items, check=check, problems=ordered)


def _in_situation(names: AircraftNames, situation: Mapping[str, str]) -> AircraftNames:
    """Give what the aircraft offers in a situation, which is asked for like equipment."""
    if names.aircraft is None or not situation:
        return names
    fitted = {**names.aircraft.equipment, **situation}
    return replace(
        names,
        aircraft=replace(names.aircraft, equipment=fitted),
        equipment=names.equipment | situation.keys(),
    )


# --- the header ---


_HEADER_STAND_INS: Mapping[str, Any] = {
    "check": "unnamed",
    "title": "unnamed",
    "kind": "flow",
    "aircraft": "unnamed",
    "source": {"document": "unnamed", "revision": "unnamed"},
}
_ITEM_STAND_INS: Mapping[str, Any] = {"id": "unnamed", "challenge": "unnamed"}


def _validate_header(tree: Tree) -> tuple[HeaderFile, tuple[Problem, ...], frozenset[str]]:
    above = {key: value for key, value in tree.value.items() if key != "items"}
    validated = validate(
        tree, above, (), HeaderFile, known_as=CheckFile, stand_ins=_HEADER_STAND_INS
    )
    assert validated.model is not None, "a header with stand-ins is whole"
    return validated.model, validated.problems, validated.cut


def _exists(path: Path) -> bool:
    try:
        return path.exists()
    except (OSError, ValueError):  # a name that no file can have
        return False


def _missing_aircraft(tree: Tree, name: str) -> Problem:
    return tree.problem(
        ("aircraft_file",),
        "no-aircraft-file",
        f"there is no aircraft file {name!r} beside this file",
        "Put its name right; it is looked up from the folder of the check file.",
    )


def _compare_header(
    tree: Tree,
    header: HeaderFile,
    cut: frozenset[str],
    names: AircraftNames,
    languages: Collection[str] | None,
) -> list[Problem]:
    problems = []
    if languages is not None and header.language not in languages:
        problems.append(
            tree.problem(
                ("language",),
                "unknown-language",
                f"there is no language pack {header.language!r}",
                f"There are {', '.join(sorted(languages))}.",
            )
        )
    aircraft = names.aircraft
    if (
        aircraft is not None
        and "aircraft" not in cut
        and folded(aircraft.type) != folded(header.aircraft)
    ):
        problems.append(
            tree.problem(
                ("aircraft",),
                "other-aircraft",
                f"this check is for {header.aircraft}, the aircraft file for "
                f"{aircraft.type}, {aircraft.tail}",
                "Use the aircraft file of this type.",
            )
        )
    return problems


# --- the items ---


def _read_items(tree: Tree, names: AircraftNames) -> tuple[tuple[WrittenItem, ...], list[Problem]]:
    if "items" not in tree.value and any(
        nearest(key, CheckFile.model_fields) == "items" for key in tree.value
    ):
        return (), []  # the unknown key is reported
    if "items" not in tree.value:
        what, remedy = "the key 'items' is missing", "Add items: with the lines of the check."
        return (), [tree.problem((), "missing-key", what, remedy)]
    written = tree.value["items"]
    if not isinstance(written, list):
        what, remedy = "items: a list is wanted", "Begin each item with a hyphen: - id: ..."
        return (), [tree.problem(("items",), "wrong-type", what, remedy)]
    if not written:
        return (), [tree.problem(("items",), "no-items", "there are no items", "Add one.")]
    problems: list[Problem] = []
    items: list[WrittenItem] = []
    first_lines: dict[str, int] = {}
    for index, value in enumerate(written):
        base: TreePath = ("items", index)
        name = value.get("id") if isinstance(value, dict) else None
        label = name if isinstance(name, str) and name.strip() else f"no. {index + 1}"
        if label in first_lines:
            problems.append(
                tree.problem(
                    (*base, "id"),
                    "duplicate-id",
                    f"the name {label!r} is taken by the item in line {first_lines[label]}",
                    "Give this item another id.",
                    item=label,
                )
            )
        first_lines.setdefault(label, tree.place(base).line)
        validated = validate(tree, value, base, ItemFile, item=label, stand_ins=_ITEM_STAND_INS)
        problems += validated.problems
        if validated.model is not None:
            resolver = ItemResolver(tree, base, validated.model, label, validated.cut, names)
            is_fitted = resolver.is_fitted()
            item = resolver.item()
            problems += resolver.problems
            computed = tuple(resolver.computed)
            items.append(WrittenItem(path=base, item=item, is_fitted=is_fitted, computed=computed))
    placed = {
        each.item.id: PlacedItem(path=each.path, item=each.item)
        for each in items
        if each.item is not None
    }
    problems += agreement_problems(tree, placed, frozenset(first_lines))
    if not problems and not any(item.is_fitted for item in items):
        problems.append(
            tree.problem(
                ("items",),
                "no-items",
                "this aircraft has the equipment of none of the items",
                "Look at when: of the items and at equipment: in the aircraft file.",
            )
        )
    return tuple(items), problems


def _made(
    tree: Tree, header: HeaderFile, items: tuple[WrittenItem, ...], names: AircraftNames
) -> Check:
    aircraft = names.aircraft
    return Check(
        id=header.check,
        title=header.title,
        kind=header.kind,
        language=header.language,
        aircraft=header.aircraft,
        tail=aircraft.tail if aircraft is not None else "",
        source=Source(document=header.source.document, revision=header.source.revision),
        interrupted=header.interrupted,
        items=tuple(each.item for each in items if each.is_fitted and each.item is not None),
        check_digest=tree.digest,
        aircraft_digest=aircraft.digest if aircraft is not None else "",
        computed=tuple(
            dict.fromkeys(limit for each in items if each.is_fitted for limit in each.computed)
        ),
    )


# --- the aircraft ---


def _read_aircraft(path: Path) -> tuple[AircraftNames, tuple[Problem, ...]]:
    tree = read_tree(path)
    if not isinstance(tree.value, dict):
        remedy = "Begin with aircraft: and the type."
        return AircraftNames(is_broken=True), tree.problems or (_no_keys(tree, remedy),)
    problems = list(tree.problems)
    validated = validate(tree, tree.value, (), AircraftFile)
    problems += validated.problems
    written = validated.model
    gauges: dict[str, Gauge] = {}
    if written is not None:
        for name, gauge in written.gauges.items():
            fault = scale_fault(gauge.scale)
            if fault is None:
                gauges[name] = Gauge(scale=made_scale(gauge.scale), unit=gauge.unit or "")
            else:
                place = ("gauges", name, "scale", fault.key)
                problems.append(tree.problem(place, fault.rule, fault.what, fault.remedy))
    aircraft = None
    if written is not None:
        aircraft = Aircraft(
            type=written.aircraft,
            tail=written.tail,
            operator=written.operator or "",
            equipment=dict(written.equipment),
            gauges=gauges,
            limits={name: named_limit(limit) for name, limit in written.limits.items()},
            digest=tree.digest,
            oxygen=None if written.oxygen is None else _oxygen(written.oxygen),
            oil=None
            if written.oil is None
            else Oil(
                minimum=named_limit(written.oil.minimum),
                consumption=named_limit(written.oil.consumption),
            ),
            tyres=tyres(written),
            hydraulics=hydraulics(written),
            batteries=batteries(written),
            fuel=fuel(written),
        )
    names = AircraftNames(
        aircraft=aircraft,
        is_broken=written is None,
        has_file=True,
        gauges=_names_in(tree.value, "gauges"),
        limits=_names_in(tree.value, "limits"),
        equipment=_names_in(tree.value, "equipment"),
    )
    return names, tuple(sorted(problems))


#: Where a file does not say: rated at 70 F, as cylinders usually are, and empty at nothing.
_RATED_AT: Final = NamedLimit(value=Decimal(21), unit="C")
_NOTHING: Final = Decimal(0)


def _oxygen(written: OxygenFile) -> Oxygen:
    cylinder = written.cylinder
    full = named_limit(cylinder.full)
    empty = NamedLimit(value=_NOTHING, unit=full.unit)
    return Oxygen(
        volume=named_limit(cylinder.volume),
        full=full,
        full_at=_RATED_AT if cylinder.full_at is None else named_limit(cylinder.full_at),
        empty=empty if cylinder.empty is None else named_limit(cylinder.empty),
        flow=named_limit(written.flow),
        lasting_s=written.lasting,
    )


def _names_in(value: Mapping[str, Any], section: str) -> frozenset[str]:
    inside = value.get(section)
    return frozenset(inside) if isinstance(inside, dict) else frozenset()


# --- telling ---


def _no_keys(tree: Tree, remedy: str) -> Problem:
    what = "the file is no list of keys and values"
    return tree.problem((), "wrong-type", what, remedy)
