"""The manifest of a set of recordings: one row a recording, and what it means.

A manifest is a CSV file in UTF-8 with a header. Everything wrong with it is
reported at once, each with its line. No sound is read here.
"""

import csv
import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from enum import StrEnum
from pathlib import Path

from typing_extensions import override

from voiceflow.checks.problem import Problem
from voiceflow.errors import ManifestError
from voiceflow.evaluation.noise import Noise
from voiceflow.grammar.meaning import (
    Command,
    Meaning,
    NoMatch,
    Reading,
    Response,
    ResponseState,
)
from voiceflow.phraseology.commands import CommandName

#: Columns that a manifest must have; those of OPTIONAL and others may follow.
COLUMNS = (
    "file",
    "part",
    "check",
    "item",
    "text",
    "voice",
    "noise",
    "snr_db",
    "kind",
    "state",
    "phrase",
    "value",
    "unit",
    "command",
    "form",
    "speech_start_s",
    "speech_end_s",
    "how_made",
    "licence",
    "sha256",
)

#: ``role``: what the row may be used for ("train", or "score", which is meant if it is
#: empty). ``mixed``: "yes" if the noise is not in the file but put over it when measured.
OPTIONAL = ("role", "mixed")
MIXED = "yes"

KINDS = ("response", "reading", "command", "none")
CLEAN = "clean"
#: The part of a set that the criteria are about; other parts are shown, not judged.
MAIN = "main"


class Role(StrEnum):
    """What a recording may be used for: to set weights and thresholds, or to score them."""

    TRAIN = "train"
    SCORE = "score"


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One recording.

    Attributes:
        path: The recording.
        file: Its name as in the manifest.
        part: Which part of the set it belongs to; the criteria are about MAIN.
        check: Check file that it belongs to: a shipped check's name or a path.
        item: Item whose grammar listens.
        text: The words said, in the grammar's spelling.
        voice: Who speaks ("flite slt").
        noise: What noise was added, or "clean".
        snr_db: Speech over noise, decibels; None where clean.
        meaning: What it means at the item.
        form: How it is said ("digits", "natural", ...): for counting only.
        speech_start_s: Where speech starts in the recording, seconds.
        speech_end_s: Where speech ends in the recording, seconds.
        how_made: Where the recording comes from; says "synthetic" of made speech.
        licence: Its licence, plainly.
        sha256: Digest of the file's bytes, hexadecimal.
        line: Line in the manifest.
        role: Whether it may score.
        mixed: Whether the noise is put over it when it is measured.
        talkers: Recordings that babble is made of, where it is mixed in.
    """

    path: Path
    file: str
    part: str
    check: str
    item: str
    text: str
    voice: str
    noise: str
    snr_db: float | None
    meaning: Meaning
    form: str
    speech_start_s: float
    speech_end_s: float
    how_made: str
    licence: str
    sha256: str
    line: int
    role: Role = Role.SCORE
    mixed: bool = False
    talkers: tuple[Path, ...] = ()

    @property
    def key(self) -> str:
        """What tells it from every other: its file, and the noise that is put over it."""
        return f"{self.file} + {self.condition}" if self.mixed else self.file

    @property
    def kind(self) -> str:
        """What it amounts to: response, reading, command or none."""
        return "none" if isinstance(self.meaning, NoMatch) else self.meaning.kind

    @property
    def condition(self) -> str:
        """The noise in one phrase: "clean", "pink 15 dB"."""
        return CLEAN if self.snr_db is None else f"{self.noise} {self.snr_db:g} dB"

    @property
    def is_synthetic(self) -> bool:
        """Whether a machine speaks."""
        return "synthetic" in self.how_made

    @override
    def __str__(self) -> str:
        return self.key


class _FieldError(Exception):
    """A field that cannot be: caught in this module and given its place."""

    def __init__(self, column: str, what: str, remedy: str) -> None:
        self.column = column
        self.what = what
        self.remedy = remedy
        super().__init__(what)


def load_manifest(path: Path) -> tuple[Row, ...]:
    """Read a manifest.

    Args:
        path: The CSV file; recordings are named relative to its folder.

    Returns:
        The rows, in file order; at least one.

    Raises:
        ManifestError: With every problem of the file: its line, its column, what
            to do. A recording that does not exist is one of them.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except OSError as error:
        raise ManifestError(
            (
                _problem(
                    path,
                    1,
                    1,
                    "manifest-unreadable",
                    f"the manifest cannot be read: {error.strerror or error}",
                    "Give the path of a manifest.csv.",
                ),
            )
        ) from error
    except UnicodeDecodeError as error:
        raise ManifestError(
            (
                _problem(
                    path,
                    1,
                    1,
                    "manifest-not-text",
                    "this is not a text file in UTF-8",
                    "Give the path of a manifest.csv, not of a recording.",
                ),
            )
        ) from error
    reader = csv.DictReader(text.splitlines())
    header = reader.fieldnames or ()
    missing = [column for column in COLUMNS if column not in header]
    if missing:
        raise ManifestError(
            (
                _problem(
                    path,
                    1,
                    1,
                    "column-missing",
                    f"the header lacks {', '.join(missing)}",
                    f"A manifest has the columns {', '.join(COLUMNS)}.",
                ),
            )
        )
    rows: list[Row] = []
    problems: list[Problem] = []
    seen: dict[str, int] = {}
    for fields in reader:
        line = reader.line_num
        try:
            row = _row(path, line, fields)
        except _FieldError as error:
            column = header.index(error.column) + 1
            problems.append(
                _problem(path, line, column, f"manifest-{error.column}", error.what, error.remedy)
            )
            continue
        if row.key in seen:
            problems.append(
                _problem(
                    path,
                    line,
                    header.index("file") + 1,
                    "manifest-file",
                    f"{row.key} is already on line {seen[row.key]}",
                    "Name each recording once in each noise.",
                )
            )
            continue
        seen[row.key] = line
        rows.append(row)
    if not rows and not problems:
        problems.append(
            _problem(path, 1, 1, "manifest-empty", "there are no rows", "Add a recording.")
        )
    if problems:
        raise ManifestError(tuple(problems))
    return tuple(rows)


def digest(path: Path) -> str:
    """Give the SHA-256 of a file's bytes, hexadecimal."""
    return hashlib.sha256(path.read_bytes()).hexdigest()


def _problem(path: Path, line: int, column: int, rule: str, what: str, remedy: str) -> Problem:
    return Problem(path=path, line=line, column=column, rule=rule, what=what, remedy=remedy)


def _row(manifest: Path, line: int, fields: Mapping[str, str | None]) -> Row:
    def given(column: str) -> str:
        value = (fields.get(column) or "").strip()
        if not value:
            raise _FieldError(column, f"{column} is empty", f"Fill in {column}.")
        return value

    def number(column: str, make: Callable[[str], float]) -> float:
        value = given(column)
        try:
            return make(value)
        except ValueError as error:
            raise _FieldError(
                column, f"{column} {value!r} is not a number", "Write a number."
            ) from error

    file = given("file")
    recording = manifest.parent / file
    if not recording.is_file():
        raise _FieldError("file", f"there is no recording {file}", "Make it, or remove the row.")
    noise = given("noise")
    if noise == CLEAN:
        if (fields.get("snr_db") or "").strip():
            raise _FieldError("snr_db", "a clean recording has no snr_db", "Leave it empty.")
        snr_db = None
    else:
        snr_db = number("snr_db", float)
    role = (fields.get("role") or "").strip() or Role.SCORE
    if role not in set(Role):
        raise _FieldError("role", f"there is no role {role!r}", f"Write {' or '.join(Role)}.")
    mixed = (fields.get("mixed") or "").strip()
    if mixed not in {"", MIXED}:
        raise _FieldError("mixed", f"mixed is {mixed!r}", f"Write {MIXED}, or nothing.")
    if mixed and noise not in {Noise.PINK, Noise.BROWN, Noise.FANS}:
        raise _FieldError(
            "mixed", f"{noise} cannot be mixed in", "Write pink, brown or fans as noise."
        )
    start_s = number("speech_start_s", float)
    end_s = number("speech_end_s", float)
    if end_s <= start_s:
        raise _FieldError(
            "speech_end_s", "speech ends before it starts", "Write seconds from the start."
        )
    return Row(
        path=recording,
        file=file,
        part=given("part"),
        check=given("check"),
        item=given("item"),
        text=given("text"),
        voice=given("voice"),
        noise=noise,
        snr_db=snr_db,
        meaning=_meaning(given, fields),
        form=(fields.get("form") or "").strip(),
        speech_start_s=start_s,
        speech_end_s=end_s,
        how_made=given("how_made"),
        licence=given("licence"),
        sha256=given("sha256"),
        line=line,
        role=Role(role),
        mixed=bool(mixed),
    )


def _meaning(given: Callable[[str], str], fields: Mapping[str, str | None]) -> Meaning:
    kind = given("kind")
    match kind:
        case "none":
            return NoMatch()
        case "command":
            name = given("command")
            try:
                return Command(name=CommandName(name))
            except ValueError as error:
                raise _FieldError(
                    "command",
                    f"there is no command {name!r}",
                    f"The commands are {', '.join(CommandName)}.",
                ) from error
        case "reading":
            value = given("value")
            try:
                number = Decimal(value)
            except InvalidOperation as error:
                raise _FieldError(
                    "value", f"value {value!r} is not a number", "Write a number."
                ) from error
            return Reading(value=number, unit=(fields.get("unit") or "").strip())
        case "response":
            state = given("state")
            try:
                return Response(phrase=given("phrase"), state=ResponseState(state))
            except ValueError as error:
                raise _FieldError(
                    "state",
                    f"there is no state {state!r}",
                    f"The states are {', '.join(ResponseState)}.",
                ) from error
        case _:
            raise _FieldError(
                "kind", f"there is no kind {kind!r}", f"The kinds are {', '.join(KINDS)}."
            )
