"""YAML text -> plain values, with the place of each.

Works on the node graph, not on loaded objects, because only the nodes know every
duplicate key, the place of each scalar and whether it was quoted. What the keys
mean belongs to ``file.py`` and ``aircraft.py``.
"""

import hashlib
import re
import warnings
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.composer import Composer, ComposerError
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode
from ruamel.yaml.reader import ReaderError
from typing_extensions import override

from voiceflow.checks.problem import Problem, Severity

#: A check file is written by hand: more than this is some other file.
LARGEST_BYTES = 1_000_000
#: Values in one file, counted after aliases are followed (an alias of aliases of
#: aliases can stand for millions in a few lines).
MOST_VALUES = 50_000
#: Groups and lists inside each other; a check file has five. Deeper ones would
#: fill the stack.
DEEPEST = 50

TreePath = tuple[str | int, ...]

_PLAIN_NUMBER = re.compile(r"[-+]?[0-9]{1,12}(\.[0-9]{1,12})?")
_NUMBER_TAGS = frozenset({"tag:yaml.org,2002:int", "tag:yaml.org,2002:float"})
_BOOLEANS = {"true": True, "false": False}
_KNOWN_TAGS = frozenset(
    f"tag:yaml.org,2002:{name}"
    for name in ("str", "int", "float", "bool", "null", "timestamp", "seq", "map", "merge", "value")
)


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Place:
    """A place in a text, line and column from 1."""

    line: int = 1
    column: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Tree:
    """The values of one file and their places.

    Attributes:
        path: The file.
        digest: SHA-256 of its bytes, hexadecimal; empty if it could not be read.
        value: dict, list, str, int, Decimal, bool or None, nested; None if the file
            could not be read at all.
        values_at: Path of keys and indices -> place of the value.
        keys_at: Path of keys and indices -> place of the key, for values in a mapping.
        unquoted: Paths of text values written without quotes.
        problems: What is wrong with the text itself.
    """

    path: Path
    digest: str = ""
    value: Any = None
    values_at: Mapping[TreePath, Place] = field(default_factory=dict)
    keys_at: Mapping[TreePath, Place] = field(default_factory=dict)
    unquoted: frozenset[TreePath] = frozenset()
    problems: tuple[Problem, ...] = ()

    def place(self, path: TreePath, *, of_key: bool = False) -> Place:
        """Give the place of a value, or of the nearest thing around it that has one.

        Args:
            path: Keys and indices from the top.
            of_key: Point at the key rather than at its value.
        """
        if of_key and path in self.keys_at:
            return self.keys_at[path]
        while path and path not in self.values_at:
            path = path[:-1]
        return self.values_at.get(path, Place())

    def problem(
        self,
        path: TreePath,
        rule: str,
        what: str,
        remedy: str,
        *,
        of_key: bool = False,
        item: str | None = None,
        severity: Severity = Severity.ERROR,
    ) -> Problem:
        """Make a problem at a place of the file.

        Args:
            path: Keys and indices from the top.
            rule: Short name of the rule.
            what: What is wrong, without a full stop.
            remedy: What to do, a sentence.
            of_key: Point at the key rather than at its value.
            item: The item that it belongs to, if any.
            severity: Error or warning.
        """
        place = self.place(path, of_key=of_key)
        return Problem(
            path=self.path,
            line=place.line,
            column=place.column,
            rule=rule,
            what=what,
            remedy=remedy,
            item=item,
            severity=severity,
        )


def read_tree(path: Path) -> Tree:
    """Read a YAML file.

    Args:
        path: The file.

    Returns:
        Its values with their places. What cannot be read is in ``problems``, never
        raised; duplicate keys are problems, and the first of them counts.
    """
    data = _read_bytes(path)
    if isinstance(data, Problem):
        return Tree(path=path, problems=(data,))
    digest = hashlib.sha256(data).hexdigest()
    text = _decode(path, data)
    if isinstance(text, Problem):
        return Tree(path=path, digest=digest, problems=(text,))
    node = _compose(path, text)
    if isinstance(node, Problem):
        return Tree(path=path, digest=digest, problems=(node,))
    if node is None:
        problem = Problem(
            path=path,
            line=1,
            column=1,
            rule="empty-file",
            what="the file is empty",
            remedy="Write a check into it; the shipped ones in grammars/ are examples.",
        )
        return Tree(path=path, digest=digest, problems=(problem,))
    builder = _Builder(path)
    value = builder.build(node, ())
    return Tree(
        path=path,
        digest=digest,
        value=value,
        values_at=builder.values_at,
        keys_at=builder.keys_at,
        unquoted=frozenset(builder.unquoted),
        problems=tuple(builder.problems),
    )


def _read_bytes(path: Path) -> bytes | Problem:
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_BYTES + 1)
    except FileNotFoundError:
        what, remedy = "there is no such file", "Look at the name and the folder."
    except IsADirectoryError:
        what, remedy = "this is a folder, not a file", "Name a file in it."
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        what, remedy = f"the file cannot be read: {reason}", "Look at its name and permissions."
    else:
        if len(data) <= LARGEST_BYTES:
            return data
        what = f"the file is larger than {LARGEST_BYTES // 1000} kB"
        remedy = "A check file is a few pages of text: this is some other file, or needs splitting."
        return Problem(path=path, line=1, column=1, rule="too-large", what=what, remedy=remedy)
    return Problem(path=path, line=1, column=1, rule="unreadable", what=what, remedy=remedy)


def _decode(path: Path, data: bytes) -> str | Problem:
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        before = data[: error.start].decode("utf-8")
        what = f"byte 0x{data[error.start]:02X} is not UTF-8 text"
    else:
        if "\0" not in text:
            return text.removeprefix("\ufeff")
        before = text[: text.index("\0")]
        what = "there is a zero byte in it, so this is not a text file"
    return Problem(
        path=path,
        line=before.count("\n") + 1,
        column=len(before) - before.rfind("\n"),
        rule="not-utf-8",
        what=what,
        remedy="Save the file as UTF-8 text, or name the right file.",
    )


def _compose(path: Path, text: str) -> Node | Problem | None:
    yaml = YAML(typ="rt", pure=True)
    yaml.Composer = _ShallowComposer
    try:
        with warnings.catch_warnings():
            # a reused anchor is allowed by YAML 1.2; we follow the last one, as it says
            warnings.simplefilter("ignore")
            node: Node | None = yaml.compose(text)
    except MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        what = " ".join(str(part) for part in (error.context, error.problem) if part)
        line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
    except ReaderError as error:
        before = text[: error.position]
        what = f"character U+{ord(text[error.position]):04X} may not stand in a YAML file"
        line, column = before.count("\n") + 1, len(before) - before.rfind("\n")
    except (
        YAMLError,
        ValueError,
        ArithmeticError,
        AssertionError,
        LookupError,
        TypeError,
        AttributeError,
    ) as error:
        # ruamel.yaml lets a few of its own slips through: "\\UFFFFFFFF" is no character
        what, line, column = f"not YAML: {str(error) or type(error).__name__}", 1, 1
    else:
        return node
    return Problem(
        path=path,
        line=line,
        column=column,
        rule="syntax",
        what=" ".join(what.split()),
        remedy="Put it right as YAML: spaces for indenting, a space after each colon, "
        "quotes round text with a colon or # in it.",
    )


class _ShallowComposer(Composer):
    """Refuses deep nesting at once, instead of when the stack is full."""

    _depth = 0

    @override
    def compose_node(self, parent: Node | None, index: Any) -> Any:
        self._depth += 1
        if self._depth > DEEPEST:
            mark = self.parser.peek_event().start_mark
            raise ComposerError(None, None, "the file is nested too deeply", mark)
        try:
            return super().compose_node(parent, index)
        finally:
            self._depth -= 1


class _Builder:
    """Turns nodes into values and remembers where they stood."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.values_at: dict[TreePath, Place] = {}
        self.keys_at: dict[TreePath, Place] = {}
        self.unquoted: set[TreePath] = set()
        self.problems: list[Problem] = []
        self._open: set[int] = set()
        self._count = 0
        self._is_full = False

    def build(self, node: Node, path: TreePath) -> Any:
        place = _place(node)
        self.values_at[path] = place
        self._count += 1
        if self._count > MOST_VALUES:
            if not self._is_full:
                self._is_full = True
                self._problem(
                    place,
                    "too-large",
                    f"the file holds more than {MOST_VALUES} values",
                    "Split it, or look for aliases (*name) that multiply.",
                )
            return None
        if id(node) in self._open:
            self._problem(
                place, "syntax", "an alias (*name) stands inside itself", "Write the value out."
            )
            return None
        tag = str(node.tag) if node.tag is not None else ""
        if tag not in _KNOWN_TAGS:
            self._problem(place, "unknown-tag", f"the tag {tag} means nothing here", "Take it out.")
        self._open.add(id(node))
        try:
            if isinstance(node, MappingNode):
                return self._mapping(node, path)
            if isinstance(node, SequenceNode):
                return [self.build(child, (*path, i)) for i, child in enumerate(node.value)]
            return self._scalar(node, tag, path)
        finally:
            self._open.discard(id(node))

    def _mapping(self, node: MappingNode, path: TreePath) -> dict[str, Any]:
        result: dict[str, Any] = {}
        for key_node, value_node in node.value:
            if not isinstance(key_node, ScalarNode):
                self._problem(
                    _place(key_node), "syntax", "a key must be a word", "Write key: value."
                )
                continue
            key = str(key_node.value)
            if key in result:
                first = self.keys_at[(*path, key)]
                self._problem(
                    _place(key_node),
                    "duplicate-key",
                    f"the key {key!r} stands here for the second time (first in line {first.line})",
                    "Keep one of them.",
                )
                continue
            self.keys_at[(*path, key)] = _place(key_node)
            result[key] = self.build(value_node, (*path, key))
        return result

    def _scalar(self, node: Node, tag: str, path: TreePath) -> Any:
        text = str(node.value)
        is_plain = not getattr(node, "style", None)  # quotes and blocks have one
        if is_plain and tag in _NUMBER_TAGS and _PLAIN_NUMBER.fullmatch(text):
            return Decimal(text) if "." in text else int(text)
        if is_plain and tag.endswith(":bool") and text.lower() in _BOOLEANS:
            return _BOOLEANS[text.lower()]
        if is_plain and tag.endswith(":null"):
            return None
        if is_plain:
            self.unquoted.add(path)
        return text

    def _problem(self, place: Place, rule: str, what: str, remedy: str) -> None:
        self.problems.append(
            Problem(
                path=self.path,
                line=place.line,
                column=place.column,
                rule=rule,
                what=what,
                remedy=remedy,
            )
        )


def _place(node: Node) -> Place:
    return Place(line=node.start_mark.line + 1, column=node.start_mark.column + 1)
