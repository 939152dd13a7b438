"""The tools that every change must satisfy, run as a contributor runs them."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


def run(*command: str) -> None:
    environment = {
        **os.environ,
        "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}",
    }
    done = subprocess.run(
        command, cwd=ROOT, capture_output=True, text=True, check=False, env=environment
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_linter() -> None:
    run("ruff", "check", ".")


def test_formatter() -> None:
    run("ruff", "format", "--check", ".")


@pytest.mark.slow
def test_types() -> None:
    run("mypy")


def test_import_layers() -> None:
    run("lint-imports")
