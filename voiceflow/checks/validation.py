"""Values of a file against a pydantic model -> the model, and every problem with its place.

One mistake must not hide another: what is wrong is cut out and the rest is
validated again, so that the caller can still hold the sound fields against each
other. Only the first round's problems are reported; the later ones are of our cutting.
"""

import copy
import typing
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Generic, TypeVar

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails
from rapidfuzz import fuzz, process, utils

from voiceflow.checks.fields import shown
from voiceflow.checks.problem import Problem
from voiceflow.checks.yaml_tree import Tree, TreePath

M = TypeVar("M", bound=BaseModel)

#: Below this likeness (rapidfuzz ratio, 0 to 100) a suggestion confuses more than it
#: helps: "expct" and "expect" have 91, "area" and "aircraft" 50.
NEAR_ENOUGH = 65


@dataclass(frozen=True, slots=True, kw_only=True)
class Validated(Generic[M]):
    """What came of validating a group of keys.

    Attributes:
        model: The model; None if not even the sound keys make one.
        problems: Every problem, in no order.
        cut: Names of the top keys that were cut out, in whole or in part.
    """

    model: M | None
    problems: tuple[Problem, ...]
    cut: frozenset[str]


def validate(
    tree: Tree,
    value: Any,
    base: TreePath,
    model: type[M],
    *,
    item: str | None = None,
    known_as: type[BaseModel] | None = None,
    stand_ins: Mapping[str, Any] = MappingProxyType({}),
) -> Validated[M]:
    """Validate one group of keys of a file.

    Args:
        tree: The file.
        value: The group, as it stands in the tree at ``base``.
        base: Its path.
        model: What it should be.
        item: The item that it belongs to, for the messages.
        known_as: A model with more keys, for "did you mean": the whole of which
            ``model`` is a part.
        stand_ins: For each required key, a value to put in its place where it is
            missing or wrong, so that the other keys still make a model. The key
            counts as cut.
    """
    problems: list[Problem] = []
    cut: set[str] = set()
    value = copy.deepcopy(value)
    is_first = True
    while True:
        try:
            made = model.model_validate(value)
        except ValidationError as error:
            details = error.errors(include_url=False)
        else:
            return Validated(model=made, problems=tuple(problems), cut=frozenset(cut))
        places = [_located(value, detail["loc"]) for detail in details]
        if is_first:
            meant = _meant(known_as or model, details)
            problems = [
                _problem(tree, base, path, detail, known_as or model, item)
                for path, detail in zip(places, details, strict=True)
                if detail["type"] != "missing" or detail["loc"] not in meant
            ]
            is_first = False
        for path, detail in zip(places, details, strict=True):
            key = str(detail["loc"][0]) if detail["loc"] else ""
            if path:
                key = str(path[0])
                _cut(value, path)
            elif key in stand_ins:
                value[key] = stand_ins[key]
            else:
                return Validated(model=None, problems=tuple(problems), cut=frozenset(cut))
            cut.add(key)


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Give the known word that is most like this one, if any is near enough."""
    found = process.extractOne(
        word,
        sorted(known),
        scorer=fuzz.ratio,
        processor=utils.default_process,
        score_cutoff=NEAR_ENOUGH,
    )
    return found[0] if found else None


def did_you_mean(word: str, known: Iterable[str], otherwise: str) -> str:
    """Give a remedy for an unknown word: the nearest known one, or what else to do."""
    near = nearest(word, known)
    return f"Did you mean {near!r}?" if near else otherwise


def _meant(
    model: type[BaseModel], details: Iterable[ErrorDetails]
) -> frozenset[tuple[int | str, ...]]:
    """Give the locations of keys that unknown keys are probably meant to be.

    "expct" for "expect" is one mistake, not an unknown key and a missing one.
    """
    meant = set()
    for detail in details:
        if detail["type"] == "extra_forbidden":
            *group, key = detail["loc"]
            near = nearest(str(key), _known_keys(_model_at(model, tuple(group))))
            if near is not None:
                meant.add((*group, near))
    return frozenset(meant)


def _located(value: Any, loc: tuple[int | str, ...]) -> TreePath:
    """Give the part of an error's location that exists in the file.

    Pydantic's locations also hold the tags of unions and the names of keys that
    are missing.
    """
    path: list[int | str] = []
    for part in loc:
        is_key = isinstance(value, dict) and part in value
        is_index = isinstance(value, list) and isinstance(part, int)
        if is_key or is_index:
            value = value[part]
            path.append(part)
    return tuple(path)


def _cut(value: Any, path: TreePath) -> None:
    """Take the value at a path out of its mapping (a list goes out as a whole)."""
    parents = [value]
    for part in path[:-1]:
        try:
            parents.append(parents[-1][part])
        except (KeyError, IndexError, TypeError):
            return  # an earlier cut took it along
    inmost = max(depth for depth, parent in enumerate(parents) if isinstance(parent, dict))
    parents[inmost].pop(path[inmost], None)


def _problem(
    tree: Tree,
    base: TreePath,
    path: TreePath,
    detail: ErrorDetails,
    model: type[BaseModel],
    item: str | None,
) -> Problem:
    kind = detail["type"]
    found = shown(detail["input"])
    of_key = False
    match kind:
        case "refused":
            context = detail["ctx"]
            rule, what, remedy = context["rule"], context["what"], context["remedy"]
            what = f"{_named(path)}{what}"
        case "missing":
            key = str(detail["loc"][-1])
            field = _known_keys(_model_at(model, detail["loc"][:-1]))[key]
            rule, what, remedy = "missing-key", f"the key {key!r} is missing", f"Add {key}: {field}"
            of_key = True
        case "extra_forbidden":
            known = _known_keys(_model_at(model, detail["loc"][:-1]))
            rule, what = "unknown-key", f"the key {path[-1]!r} is not known here"
            remedy = did_you_mean(str(path[-1]), known, f"Known here: {', '.join(known)}.")
            of_key = True
        case "enum":
            expected = detail["ctx"]["expected"]
            known = {
                word.strip("'"): "" for part in expected.split(", ") for word in part.split(" or ")
            }
            rule, what = "unknown-word", f"{_named(path)}{found} is not one of {expected}"
            remedy = did_you_mean(str(detail["input"]), known, "Write one of these.")
        case "tuple_type":
            rule, what = "wrong-type", f"{_named(path)}a list is wanted, not {found}"
            remedy = "Write it with brackets, such as [removed, both removed]."
        case _:  # model_type, dict_type, model_attributes_type: the rest of what our models can say
            rule, what = "wrong-type", f"{_named(path)}a group of keys is wanted, not {found}"
            remedy = "Write key: value lines, indented under it."
    return tree.problem((*base, *path), rule, what, remedy, of_key=of_key, item=item)


def _named(path: TreePath) -> str:
    """Give the keys of a path as the beginning of a message ("reading scale step: ")."""
    words = [str(part) if isinstance(part, str) else f"no. {part + 1}" for part in path]
    return f"{' '.join(words)}: " if words else ""


def _known_keys(model: type[BaseModel]) -> dict[str, str]:
    return {
        field.alias or name: (field.description or "").rstrip(".") + "."
        for name, field in model.model_fields.items()
    }


def _model_at(model: type[BaseModel], loc: tuple[int | str, ...]) -> type[BaseModel]:
    """Give the model that an error's location leads to."""
    for part in loc:
        fields = {field.alias or name: field for name, field in model.model_fields.items()}
        if part in fields:
            inside = {each.__name__: each for each in _models_in(fields[str(part)].annotation)}
            if inside:
                tagged = (inside[str(tag)] for tag in loc if tag in inside)
                model = next(tagged, next(iter(inside.values())))
    return model


def _models_in(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    else:
        for inner in typing.get_args(annotation):
            yield from _models_in(inner)
