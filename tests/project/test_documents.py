"""README and DEVELOPERS say what is so."""

import re
import subprocess
from pathlib import Path
from typing import get_args

import pytest

import voiceflow
from voiceflow.dialogue.events import Event
from voiceflow.dialogue.machine import TRANSITIONS
from voiceflow.dialogue.state import Phase

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
CARD = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "voiceflow",
    "grammars",
    "tests",
    "audio_fixtures",
}


def tracked() -> list[str]:
    done = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    if done.returncode != 0:
        pytest.skip("not a git checkout")
    return done.stdout.splitlines()


def test_top_level_is_as_laid_out() -> None:
    top = {name.split("/")[0] for name in tracked()}
    assert {name for name in top if not name.startswith(".")} == CARD


def command_after(marker: str) -> str:
    match = re.search(rf"<!-- {marker} -->\n```sh\n(.+)\n```", README)
    assert match is not None, marker
    return match.group(1)


def test_the_two_command_lines_are_one_line_each() -> None:
    demo = command_after("the demo command")
    tests = command_after("the test command")
    assert demo.endswith("voiceflow demo")
    assert tests.endswith("pytest")
    assert "[test]" in tests


def test_every_folder_is_in_the_folder_table() -> None:
    folders = {path.parent.name for path in (ROOT / "voiceflow").glob("*/__init__.py")}
    for folder in folders:
        assert f"`{folder}/`" in DEVELOPERS, folder


def transition_table() -> str:
    """Draw the dialogue's table as DEVELOPERS.md shows it."""
    phases = list(Phase)
    rows = ["| event | " + " | ".join(phases) + " |", "|---" * (len(phases) + 1) + "|"]
    for event in get_args(Event):
        cells = []
        for phase in phases:
            name = TRANSITIONS[phase, event].__name__
            cells.append("–" if name == "ignore" else name.strip("_").replace("_", " "))
        rows.append(f"| {event.__name__} | " + " | ".join(cells) + " |")
    return "\n".join(rows)


def test_the_table_of_the_dialogue_is_current() -> None:
    assert transition_table() in DEVELOPERS, f"paste into DEVELOPERS.md:\n{transition_table()}"


def test_public_names_are_sorted_and_exist() -> None:
    assert voiceflow.__all__ == sorted(voiceflow.__all__)
    for name in voiceflow.__all__:
        assert hasattr(voiceflow, name)


def test_version_has_its_changes_in_the_readme() -> None:
    assert f"### {voiceflow.__version__}" in README
