"""Finds the check and aircraft files that come with Voiceflow.

In an installed wheel they lie in ``voiceflow/_grammars``, in a checkout in
``grammars`` beside the package.
"""

import re
from collections.abc import Iterable
from pathlib import Path

import voiceflow
from voiceflow.checks.validation import nearest
from voiceflow.errors import UsageError


def grammars_folder() -> Path:
    """Give the folder of the shipped files."""
    package = Path(voiceflow.__file__).parent
    installed = package / "_grammars"
    return installed if installed.is_dir() else package.parent / "grammars"


def shipped_checks() -> tuple[Path, ...]:
    """Give the shipped check files, by name."""
    return _shipped("check")


def shipped_aircraft() -> tuple[Path, ...]:
    """Give the shipped aircraft files, by name."""
    return _shipped("tail")


def shipped_plans() -> tuple[Path, ...]:
    """Give the shipped sector plans, by name."""
    return _shipped("plan")


def is_plan(path: Path) -> bool:
    """Tell whether a file is the plan of a sector and not a check."""
    try:
        return _has_key(path, "plan")
    except (OSError, UnicodeDecodeError):
        return False  # whoever reads it says so


def find_check_or_plan(name_or_path: str) -> Path:
    """Find a check file or the plan of a sector.

    Args:
        name_or_path: A path, or the name of a shipped one.

    Raises:
        UsageError: If there is neither, with the nearest names.
    """
    return _find(name_or_path, "check", (*shipped_checks(), *shipped_plans()))


def find_check(name_or_path: str) -> Path:
    """Find a check file.

    Args:
        name_or_path: A path, or the name of a shipped check ("cockpit-preparation").

    Raises:
        UsageError: If there is neither, with the nearest names.
    """
    return _find(name_or_path, "check", shipped_checks())


def find_aircraft(name_or_path: str) -> Path:
    """Find an aircraft file.

    Args:
        name_or_path: A path, or the name of a shipped aircraft file ("x-skr7").

    Raises:
        UsageError: If there is neither, with the nearest names.
    """
    return _find(name_or_path, "aircraft", shipped_aircraft())


def _shipped(key: str) -> tuple[Path, ...]:
    files = sorted(grammars_folder().rglob("*.yaml"), key=lambda path: path.stem)
    return tuple(path for path in files if _has_key(path, key))


def _has_key(path: Path, key: str) -> bool:
    # the shipped files are ours and have their keys at the beginning of lines; to read
    # all of them as YAML takes 0.3 s, for which the first word would have to wait
    return re.search(rf"^{key}:", path.read_text(encoding="utf-8"), re.MULTILINE) is not None


def _find(name_or_path: str, kind: str, shipped: Iterable[Path]) -> Path:
    by_name = {path.stem: path for path in shipped}
    path = Path(name_or_path)
    if path.is_file():
        return path
    if name_or_path in by_name:
        return by_name[name_or_path]
    near = nearest(path.stem, by_name)
    meant = f"Did you mean {near}? " if near else ""
    what = f"no {kind} file and no shipped {kind} named {name_or_path!r}"
    raise UsageError(what, f"{meant}Shipped: {', '.join(by_name)}.")
