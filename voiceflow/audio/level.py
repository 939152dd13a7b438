"""How loud sound is: its peaks, and the level of the speech in it.

Levels are in dB below full scale, where 0 is the power of a signal that is always at
full scale (dBov of ITU-T G.100.1): a sine as loud as it can be has -3.01.
"""

import math

import numpy as np

from voiceflow.audio.frames import Samples

_FULL_SCALE = 32_768
#: Nothing is quieter than one step of 16 bits.
SILENCE_DB = 20 * math.log10(1 / _FULL_SCALE)


def peak_db(samples: Samples) -> float:
    """Give the loudest sample in dB, at most 0; ``SILENCE_DB`` if all are 0.

    Args:
        samples: int16, shape (n,).
    """
    # as int32: the lowest value of 16 bits has no positive counterpart
    highest = int(np.abs(samples.astype(np.int32)).max(initial=0))
    return 20 * math.log10(max(highest, 1) / _FULL_SCALE)


class LevelMeter:
    """Measures sound as it comes.

    Attributes:
        clipped: How many samples were at full scale.
        speech_samples: In how many somebody spoke.
    """

    def __init__(self) -> None:
        self.clipped = 0
        self.speech_samples = 0
        self._peak = 0
        self._power = 0.0  # sum of the squares of the speech

    def take(self, samples: Samples, *, is_speech: bool) -> None:
        """Take a piece.

        Args:
            samples: int16, shape (n,).
            is_speech: Whether somebody speaks in it.
        """
        wide = samples.astype(np.int32)
        size = np.abs(wide)
        self._peak = max(self._peak, int(size.max(initial=0)))
        self.clipped += int((size >= _FULL_SCALE - 1).sum())
        if is_speech:
            self.speech_samples += len(samples)
            self._power += float(np.square(wide.astype(np.float64)).sum())

    @property
    def peak_db(self) -> float:
        """The loudest sample so far."""
        return 20 * math.log10(max(self._peak, 1) / _FULL_SCALE)

    @property
    def speech_db(self) -> float | None:
        """The level of the speech so far; None without any."""
        if not self.speech_samples:
            return None
        power = max(self._power / self.speech_samples, 1.0)
        return 10 * math.log10(power / _FULL_SCALE**2)
