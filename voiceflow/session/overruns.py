"""Tells of sound that the computer was too busy to take in.

What was said in such a gap is not in the record, so the person must know of it.
"""

from collections.abc import Callable, Iterator
from typing import Final, Protocol

from voiceflow.audio.frames import Frame
from voiceflow.audio.source import Gap

#: A computer that is too busy drops sound again and again: not each time is told.
_NOT_TOLD_AGAIN_S: Final = 10.0


class LossySource(Protocol):
    """A live source that counts its gaps."""

    @property
    def overruns(self) -> int:
        """How often sound was dropped so far."""
        ...

    def frames(self) -> Iterator[Frame | Gap]:
        """Give frames until the source ends."""
        ...

    def close(self) -> None:
        """Let go of the device."""
        ...


class TellingSource:
    """A source that says so when sound was lost, and how often in all when it is closed."""

    def __init__(self, source: LossySource, tell: Callable[[str], None]) -> None:
        """Wrap a source.

        Args:
            source: Gives the frames.
            tell: Takes a remark for the person.
        """
        self._source = source
        self._tell = tell
        self._closed = False

    def frames(self) -> Iterator[Frame | Gap]:
        """Give the frames and gaps of the source, as they come.

        Raises:
            AudioDeviceError: As the source does.
        """
        known = 0
        told_s = -_NOT_TOLD_AGAIN_S
        for frame in self._source.frames():
            if self._source.overruns > known and frame.end_s >= told_s + _NOT_TOLD_AGAIN_S:
                known, told_s = self._source.overruns, frame.end_s
                self._tell(
                    "Sound was lost: the computer was too busy to take it in. "
                    "Say again what was not heard."
                )
            yield frame

    def close(self) -> None:
        """Let go of the device; may be called twice."""
        if not self._closed:
            self._closed = True
            count = self._source.overruns
            if count:
                times = "once" if count == 1 else f"{count} times"
                self._tell(f"Sound of the microphone was lost {times} in this run.")
        self._source.close()
