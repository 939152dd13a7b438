"""Lines from a keyboard, a pipe or a text, with a limit on how long to wait."""

import os
import select
import sys
from enum import Enum
from io import UnsupportedOperation
from typing import Protocol, TextIO


class NoLine(Enum):
    """Why there is no line."""

    TIMED_OUT = "timed-out"
    ENDED = "ended"


class Lines(Protocol):
    """A maker of lines."""

    def next(self, timeout_s: float | None) -> str | NoLine:
        """Give the next line without its end, waiting for it at most so long.

        Args:
            timeout_s: How long; None: until there is one.
        """
        ...


class DescriptorLines:
    """Lines from a file descriptor, read without any buffer between, so that it can wait."""

    def __init__(self, descriptor: int) -> None:
        self._descriptor = descriptor
        self._bytes = b""
        self._ended = False

    def next(self, timeout_s: float | None) -> str | NoLine:
        """Give the next line, waiting for it at most so long."""
        while True:
            line, found, rest = self._bytes.partition(b"\n")
            if found or (self._ended and line):
                self._bytes = rest
                return line.decode(errors="replace").rstrip("\r")
            if self._ended:
                return NoLine.ENDED
            ready, _, _ = select.select([self._descriptor], [], [], timeout_s)
            if not ready:
                return NoLine.TIMED_OUT
            piece = os.read(self._descriptor, 4096)
            self._bytes += piece
            self._ended = not piece


class StreamLines:
    """Lines from any text stream. It cannot stop waiting: timeouts are seen between lines."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def next(self, timeout_s: float | None) -> str | NoLine:
        """Give the next line; the timeout only counts if it is over already."""
        if timeout_s is not None and timeout_s <= 0:
            return NoLine.TIMED_OUT
        line = self._stream.readline()
        return line.rstrip("\r\n") if line else NoLine.ENDED


class NoLines:
    """What is typed at a keyboard that is not there: the end at once."""

    def next(self, timeout_s: float | None) -> NoLine:
        """Give the end."""
        del timeout_s
        return NoLine.ENDED


def lines_beside(stream: TextIO | None) -> Lines | None:
    """Give the lines that somebody may type while a microphone is listened to.

    Returns:
        None where nobody sits at a terminal, or where a line cannot be looked for without
        waiting for it (Windows).
    """
    if stream is None or not stream.isatty():
        return None
    lines = lines_of(stream)
    return lines if isinstance(lines, DescriptorLines) else None


def lines_of(stream: TextIO | None) -> Lines:
    """Give the lines of a stream, with working timeouts where the system allows them.

    A program that was started with its standard input closed has no stream.

    Windows can wait for sockets only, so there a wait speaks up after the next line.
    """
    if stream is None:
        return NoLines()
    if sys.platform != "win32":
        try:
            return DescriptorLines(stream.fileno())
        except UnsupportedOperation:
            pass
    return StreamLines(stream)
