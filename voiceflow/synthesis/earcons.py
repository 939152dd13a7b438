"""Short sounds that say what kind of words follow, made by arithmetic.

Each is two sine tones one after the other, so that rising, falling and level can be told
apart in noise; they lie between 400 and 900 Hz, below the band in which most of the
consonants of the words after them are heard.
"""

from enum import StrEnum
from functools import cache
from typing import Final

import numpy as np

from voiceflow.audio.frames import RATE_HZ, Samples

_TONE_S: Final = 0.06
_RAMP_S: Final = 0.01
_REST_S: Final = 0.05
#: Peak of a tone over full scale: speech has about as much.
_PEAK: Final = 0.2


class Earcon(StrEnum):
    """What a sound tells."""

    FINDING = "finding"  # something is not as it should be: low, twice
    HOLDING = "holding"  # falling
    GOING_ON = "going-on"  # rising
    AGAIN = "again"  # not understood: middle, twice
    SPEAK = "speak"  # what is said from here on is kept: high, twice


_TONES_HZ: Final = {
    Earcon.FINDING: (420.0, 420.0),
    Earcon.HOLDING: (840.0, 560.0),
    Earcon.GOING_ON: (560.0, 840.0),
    Earcon.AGAIN: (700.0, 700.0),
    Earcon.SPEAK: (880.0, 880.0),
}


@cache
def sound_of(earcon: Earcon) -> Samples:
    """Give the sound, and the rest before the words; after words, the rest ends it.

    Returns:
        int16 mono at 16 kHz, 0.22 s; shared, must not be changed.
    """
    rest = np.zeros(round(_REST_S * RATE_HZ))
    pieces = [piece for tone_hz in _TONES_HZ[earcon] for piece in (_tone(tone_hz), rest)]
    samples = np.rint(np.concatenate(pieces) * (_PEAK * np.iinfo(np.int16).max)).astype(np.int16)
    samples.flags.writeable = False
    return samples


def _tone(tone_hz: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    times_s = np.arange(round(_TONE_S * RATE_HZ)) / RATE_HZ
    # without ramps it would begin and end with a click
    ends_s = np.minimum(times_s, _TONE_S - times_s)
    envelope = 0.5 - 0.5 * np.cos(np.pi * np.minimum(ends_s / _RAMP_S, 1.0))
    return np.asarray(np.sin(2 * np.pi * tone_hz * times_s) * envelope)
