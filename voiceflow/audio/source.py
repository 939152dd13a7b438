"""Where frames come from."""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol

from voiceflow.audio.frames import Frame


class Change(StrEnum):
    """What happened to the device of a live source."""

    LOST = "lost"
    RETURNED = "returned"


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """Time that went by without sound, because the device is gone.

    Attributes:
        end_s: Up to when, seconds on the audio clock, which the wall's clock moves on.
        change: What happened to the device at that moment; None: it is still gone.
    """

    end_s: float
    change: Change | None = None


class AudioSource(Protocol):
    """A maker of frames: a recording, a microphone.

    The contract, run on every maker in tests/contracts: the clock starts at 0, frames
    and gaps follow each other without anything between, every frame is 16 kHz mono int16.
    A recording has no gaps.
    """

    def frames(self) -> Iterator[Frame | Gap]:
        """Give frames until the source ends.

        Raises:
            AudioDeviceError: If a device stops working for good.
        """
        ...

    def close(self) -> None:
        """Let go of the file or device; may be called twice."""
        ...
