"""Where frames come from."""

from collections.abc import Iterator
from typing import Protocol

from voiceflow.audio.frames import Frame


class AudioSource(Protocol):
    """A maker of frames: a recording, a microphone.

    The contract, run on every maker in tests/contracts: frames follow each other
    without gaps, the clock starts at 0, every frame is 16 kHz mono int16.
    """

    def frames(self) -> Iterator[Frame]:
        """Give frames until the source ends.

        Raises:
            AudioDeviceError: If a device stops working.
        """
        ...

    def close(self) -> None:
        """Let go of the file or device; may be called twice."""
        ...
