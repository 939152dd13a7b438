"""The key of push-to-talk, in the terminal.

A terminal tells that a key was pressed, never that it was let go: so one press opens
the ear and the next one closes it.
"""

import os
import select
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

import click

from voiceflow.errors import UsageError

#: A key that is held down comes again and again, some 30 times a second (common
#: practice, no source): what follows so closely is no new press.
_REPEAT_S: Final = 0.15
_HOW: Final = (
    "Push-to-talk: press any key, such as the space bar, and speak; press it again when "
    "you have spoken. (A terminal cannot tell when a key is let go.)"
)


class TerminalKey:
    """Any key of a terminal: talk, quiet, talk ..."""

    def __init__(self, descriptor: int) -> None:
        """Read a terminal that passes on each key.

        Args:
            descriptor: Its file descriptor.
        """
        self._descriptor = descriptor
        self._is_talking = False
        self._pressed_s = -_REPEAT_S

    def is_talking(self, at_s: float) -> bool:
        """Take what was pressed since the last call, and tell."""
        if self._take():
            if at_s - self._pressed_s > _REPEAT_S:
                self._is_talking = not self._is_talking
            self._pressed_s = at_s
        return self._is_talking

    def _take(self) -> bool:
        ready, _, _ = select.select([self._descriptor], [], [], 0)
        return bool(ready) and bool(os.read(self._descriptor, 1024))


@contextmanager
def terminal_key() -> Iterator[TerminalKey]:
    """Give the key of this terminal, which is put back as it was afterwards.

    Raises:
        UsageError: If there is no terminal, or none that passes on single keys.
    """
    remedy = "Leave --push-to-talk out, or start Voiceflow in a terminal."
    if sys.platform == "win32":
        raise UsageError("push-to-talk is not there on Windows yet", remedy)
    if sys.stdin is None or not sys.stdin.isatty():
        raise UsageError("push-to-talk needs a terminal to press keys in", remedy)
    # only there on systems with such terminals
    import termios
    import tty

    descriptor = sys.stdin.fileno()
    before = termios.tcgetattr(descriptor)
    # Ctrl-C stays what it is
    tty.setcbreak(descriptor)
    try:
        click.echo(_HOW, err=True)
        yield TerminalKey(descriptor)
    finally:
        termios.tcsetattr(descriptor, termios.TCSAFLUSH, before)
