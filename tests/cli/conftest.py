from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from voiceflow.cli.main import cli

CHECK = """\
check: small
title: Small check
kind: challenge-response
language: en
aircraft: Skerry 42
source: {document: Northmark Air Ferries OM-B (invented), revision: 4}
items:
  - id: covers
    challenge: Pitot covers
    expect: [removed]
    not_as_expected: [fitted]
  - id: oxygen
    challenge: Crew oxygen
    reading:
      names: [oxygen]
      unit: psi
      scale: {from: 0, to: 2000, step: 10}
      minimum: 1200
    outside: {action: maintenance, say: Call maintenance}
"""
#: Answers that complete it.
GOOD = "removed\none six zero zero\n"

Voiceflow = Callable[..., Result]


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of one's own: no journal, no models, one small check file."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("VOICEFLOW_JOURNAL", str(tmp_path / "journal.sqlite"))
    monkeypatch.delenv("VOSK_MODEL_PATH", raising=False)
    (tmp_path / "small.yaml").write_text(CHECK, encoding="utf-8")
    return tmp_path


@pytest.fixture
def voiceflow(home: Path) -> Voiceflow:
    """Runs the command line as a shell would, but in this process."""

    def run(*arguments: str, typed: str = "") -> Result:
        return CliRunner().invoke(cli, list(arguments), input=typed)

    return run
