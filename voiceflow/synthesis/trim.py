"""Silence at the ends of synthesised speech."""

from typing import Final

import numpy as np

from voiceflow.audio.frames import RATE_HZ, Samples

#: Silence that stays at each end, so that no sound begins with a click.
KEPT_S: Final = 0.05
# -50 dB of full scale; synthetic silence is far below it, the weakest consonants above
_SILENT_BELOW: Final = 100


def trim(samples: Samples) -> Samples:
    """Shorten silence at both ends to at most 50 ms.

    Args:
        samples: int16 mono at 16 kHz.

    Returns:
        A part of them; empty if they are silent throughout.
    """
    loud = np.flatnonzero(np.abs(samples.astype(np.int32)) >= _SILENT_BELOW)
    if not len(loud):
        return samples[:0]
    kept = round(KEPT_S * RATE_HZ)
    return samples[max(0, loud[0] - kept) : loud[-1] + 1 + kept]
