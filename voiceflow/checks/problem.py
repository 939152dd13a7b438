"""A located problem in a file: shared by the loader and by lint."""

from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from typing_extensions import override


class Severity(StrEnum):
    """How bad a problem is."""

    ERROR = "error"  # the file cannot be used
    WARNING = "warning"  # it can, but someone will be misheard or misled


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Problem:
    """One thing wrong at one place.

    Attributes:
        path: The file.
        line: Line, from 1.
        column: Column, from 1.
        rule: Short name of the rule ("limit-off-scale").
        what: What is wrong, without a full stop.
        remedy: What to do, a sentence.
        item: The item it belongs to, if any.
        severity: Error or warning.
    """

    path: Path
    line: int
    column: int
    rule: str
    what: str
    remedy: str
    item: str | None = None
    severity: Severity = Severity.ERROR

    @override
    def __str__(self) -> str:
        item = f"item {self.item}: " if self.item else ""
        return (
            f"{self.path}:{self.line}:{self.column}: {self.severity}: {item}{self.what}. "
            f"{self.remedy} ({self.rule})"
        )
