"""The one form of sound inside Voiceflow: 16 kHz, mono, int16, 20 ms."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

RATE_HZ = 16_000
FRAME_SAMPLES = 320
FRAME_S = FRAME_SAMPLES / RATE_HZ

Samples = NDArray[np.int16]


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """20 ms of sound (a source's last frame may be shorter).

    Attributes:
        samples: int16, mono, 16 kHz, shape (320,).
        start_s: Time of its first sample on the audio clock, seconds.
        gate: The same sound, made to tell whether anybody but the tool speaks; None: that is
            looked for in ``samples``.
        over_own_voice: The tool was speaking, and the microphone may have heard it.
    """

    samples: Samples
    start_s: float
    gate: Samples | None = None
    over_own_voice: bool = False

    @property
    def end_s(self) -> float:
        """Time just after the last sample, seconds."""
        return self.start_s + len(self.samples) / RATE_HZ
