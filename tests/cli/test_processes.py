"""Real processes: signals, statuses, what is loaded."""

import os
import shlex
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from voiceflow.journal.store import Journal

pytestmark = pytest.mark.skipif(os.name == "nt", reason="signals of this kind are Unix's")


class Typist:
    """A run in a process of its own, at whose keyboard a test sits."""

    def __init__(self, home: Path, *arguments: str) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-m", "voiceflow", *arguments],
            cwd=home,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )

    def until(self, text: str) -> str:
        """Read what is printed until this text has come."""
        assert self.process.stdout is not None
        seen = b""
        while text.encode() not in seen:
            piece = os.read(self.process.stdout.fileno(), 4096)
            if not piece:
                pytest.fail(f"{text!r} did not come, only {seen!r}")
            seen += piece
        return seen.decode()

    def type(self, line: str) -> None:
        """Type a line."""
        assert self.process.stdin is not None
        self.process.stdin.write(f"{line}\n".encode())
        self.process.stdin.flush()

    def end(self) -> tuple[int, str]:
        """Wait for the end: status and what is on stderr."""
        _, errors = self.process.communicate(timeout=60)
        return self.process.returncode, errors.decode()


@pytest.fixture
def typist(home: Path) -> Iterator[Typist]:
    one = Typist(home, "run", "small.yaml", "--typed")
    yield one
    if one.process.poll() is None:
        one.process.kill()
    one.process.communicate(timeout=60)


def test_a_closed_keyboard_is_the_end_of_the_input(home: Path) -> None:
    shell = f"{shlex.quote(sys.executable)} -m voiceflow run small.yaml --typed <&-"
    done = subprocess.run(shell, shell=True, cwd=home, capture_output=True, text=True, timeout=60)
    assert done.returncode == 1
    assert "Traceback" not in done.stderr
    assert "voiceflow resume" in done.stderr
    assert "Not finished: 2 of 2 items are open." in done.stdout


def test_an_interruption_ends_with_130_and_can_be_resumed(typist: Typist, home: Path) -> None:
    typist.until("Pitot covers")
    typist.type("removed")
    typist.until("Crew oxygen")
    typist.process.send_signal(signal.SIGINT)
    status, errors = typist.end()
    assert status == 130
    assert "voiceflow resume" in errors
    assert "Traceback" not in errors
    again = Typist(home, "resume")
    again.until("Crew oxygen")
    again.type("1600")
    assert "complete" in again.until("Small check complete.")
    assert again.end()[0] == 0
    assert answered(home) == ["covers", "oxygen"]


def test_what_was_acknowledged_survives_a_kill(typist: Typist, home: Path) -> None:
    typist.until("Pitot covers")
    typist.type("removed")
    # the next challenge is what tells the person that the answer was taken
    typist.until("Crew oxygen")
    typist.process.kill()
    typist.end()
    assert answered(home) == ["covers"]
    again = Typist(home, "resume")
    again.until("Crew oxygen")
    again.type("1600")
    assert again.end()[0] == 0
    assert answered(home) == ["covers", "oxygen"]


def answered(home: Path) -> list[str]:
    with Journal.open(home / "journal.sqlite", create=False) as journal:
        (run,) = journal.runs()
        records = journal.records(run.run_id)
    return [record.outcome.item_id for record in records if record.outcome is not None]


@pytest.mark.parametrize(
    ("module", "heavy"),
    [
        ("voiceflow.cli.main", {"numpy", "vosk", "pocketsphinx", "pydantic", "rich"}),
        ("voiceflow.cli.lint", {"vosk", "sounddevice", "pyttsx3"}),
        ("voiceflow.cli.run", {"vosk", "sounddevice", "jinja2", "rich"}),
    ],
)
def test_what_is_not_needed_is_not_loaded(module: str, heavy: set[str]) -> None:
    code = f"import sys, {module}; print(*sys.modules)"
    output = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    ).stdout
    assert not heavy & set(output.split())


def test_a_reader_that_goes_away_stops_the_run_quietly(home: Path) -> None:
    one = Typist(home, "run", "small.yaml", "--typed", "--json")
    one.until('"started"')
    assert one.process.stdout is not None
    one.process.stdout.close()
    assert one.process.stdin is not None
    one.type("removed")
    one.process.stdin.close()
    assert one.process.stderr is not None
    errors = one.process.stderr.read().decode()
    one.process.stderr.close()
    assert one.process.wait(timeout=60) == 130
    assert "Traceback" not in errors
