"""The key of push-to-talk, on a real (pseudo) terminal."""

import os
import sys
from collections.abc import Iterator
from contextlib import nullcontext
from typing import ClassVar

import pytest

from tests.cli.conftest import Voiceflow
from voiceflow.checks.model import Check
from voiceflow.cli import keys, resume, run
from voiceflow.cli.keys import TerminalKey, terminal_key
from voiceflow.journal.store import Journal
from voiceflow.session.assembly import Ways
from voiceflow.session.lines import NoLine

pty = pytest.importorskip("pty")
termios = pytest.importorskip("termios")


@pytest.fixture
def terminal() -> Iterator[tuple[int, int]]:
    """Give the person's end and the program's end of a terminal that passes on each key."""
    person, program = pty.openpty()
    settings = termios.tcgetattr(program)
    settings[3] &= ~(termios.ICANON | termios.ECHO)
    termios.tcsetattr(program, termios.TCSANOW, settings)
    yield person, program
    os.close(person)
    os.close(program)


def test_each_press_changes_it_whatever_the_key(terminal: tuple[int, int]) -> None:
    person, program = terminal
    key = TerminalKey(program)
    assert not key.is_talking(0.0)
    os.write(person, b" ")
    assert key.is_talking(1.0)
    assert key.is_talking(2.0)
    os.write(person, b"x")
    assert not key.is_talking(3.0)


def test_a_key_that_is_held_down_does_not_flutter(terminal: tuple[int, int]) -> None:
    person, program = terminal
    key = TerminalKey(program)
    os.write(person, b" ")
    states = [key.is_talking(1.0)]
    for number in range(1, 30):  # it comes again each 40 ms
        os.write(person, b" ")
        states.append(key.is_talking(1.0 + number * 0.04))
    assert states == [True] * 30
    os.write(person, b" ")
    assert not key.is_talking(5.0)


def test_the_terminal_is_put_back_as_it_was(monkeypatch: pytest.MonkeyPatch) -> None:
    person, program = pty.openpty()
    with os.fdopen(program, "r", closefd=True) as stream:
        monkeypatch.setattr(sys, "stdin", stream)
        before = termios.tcgetattr(program)
        with terminal_key() as key:
            assert termios.tcgetattr(program)[3] & termios.ICANON == 0
            assert termios.tcgetattr(program)[3] & termios.ISIG  # Ctrl-C works
            os.write(person, b" ")
            assert key.is_talking(1.0)
        assert termios.tcgetattr(program) == before
    os.close(person)


def test_without_a_terminal_it_is_refused(voiceflow: Voiceflow) -> None:
    result = voiceflow("run", "small.yaml", "--push-to-talk")
    assert result.exit_code == 2
    assert "needs a terminal" in result.output


@pytest.mark.parametrize(
    "option", [["--push-to-talk"], ["--microphone", "headset"], ["--listening", "speakers"]]
)
def test_it_is_for_a_microphone(voiceflow: Voiceflow, option: list[str]) -> None:
    result = voiceflow("run", "small.yaml", "--typed", *option)
    assert result.exit_code == 2
    assert f"{option[0]} is for a microphone" in result.output


def test_speakers_and_another_voice_exclude_each_other(voiceflow: Voiceflow) -> None:
    result = voiceflow("run", "small.yaml", "--speakers", "x", "--voice", "none")
    assert result.exit_code == 2
    assert "--speakers names speakers" in result.output


class _AllWays:
    """Stands for a session: notes the ways it is given, and runs nothing."""

    seen: ClassVar[list[Ways]] = []

    def __init__(
        self, journal: Journal, check: Check, ways: Ways, *rest: object, **more: object
    ) -> None:
        del journal, check, rest, more
        self.seen.append(ways)

    def run(self) -> None:
        raise KeyboardInterrupt

    def resume(self, *run: object) -> None:
        del run
        raise KeyboardInterrupt


@pytest.mark.parametrize("keyed", [True, False])
def test_the_terminal_is_read_for_the_key_or_for_lines_not_for_both(
    voiceflow: Voiceflow, monkeypatch: pytest.MonkeyPatch, keyed: bool
) -> None:
    voiceflow("run", "small.yaml", "--typed", typed="removed\n")

    class Key:
        def is_talking(self, at_s: float) -> bool:
            del at_s
            return False

    class Beside:
        def next(self, timeout_s: float | None) -> NoLine:
            del timeout_s
            return NoLine.TIMED_OUT

    monkeypatch.setattr(keys, "terminal_key", lambda: nullcontext(Key()))
    monkeypatch.setattr(_AllWays, "seen", [])
    for command in (run, resume):
        monkeypatch.setattr(command, "keyboard_beside", Beside)
        monkeypatch.setattr(command, "Session", _AllWays)
    option = ["--push-to-talk"] if keyed else []
    assert voiceflow("run", "small.yaml", *option).exit_code == 130
    assert voiceflow("resume", "--microphone", "default", *option).exit_code == 130
    assert [(ways.beside is None, ways.talk_key is None) for ways in _AllWays.seen] == [
        (keyed, not keyed),
        (keyed, not keyed),
    ]
