"""The key of push-to-talk, on a real (pseudo) terminal."""

import os
import sys
from collections.abc import Iterator

import pytest

from tests.cli.conftest import Voiceflow
from voiceflow.cli.keys import TerminalKey, terminal_key

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


@pytest.mark.parametrize("option", [["--push-to-talk"], ["--microphone", "headset"]])
def test_it_is_for_a_microphone(voiceflow: Voiceflow, option: list[str]) -> None:
    result = voiceflow("run", "small.yaml", "--typed", *option)
    assert result.exit_code == 2
    assert f"{option[0]} is for a microphone" in result.output


def test_speakers_and_another_voice_exclude_each_other(voiceflow: Voiceflow) -> None:
    result = voiceflow("run", "small.yaml", "--speakers", "x", "--voice", "none")
    assert result.exit_code == 2
    assert "--speakers names speakers" in result.output
