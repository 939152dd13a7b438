"""A room and its noise round a clip of speech, the same for the same seed."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from voiceflow.audio.frames import RATE_HZ, Samples

LEAD_S: Final = 0.3
TRAIL_S: Final = 0.8
#: Level of the speech as a part of full scale.
_SPEECH_RMS: Final = 10 ** (-26 / 20)
#: Below this the ear hears little and a headset microphone picks up nothing.
_LOWEST_HZ: Final = 20.0


def pink(count: int, dice: np.random.Generator) -> NDArray[np.float64]:
    """Give pink noise: its power falls as 1/frequency, 3 dB an octave; RMS 1.

    Args:
        count: How many samples at 16 kHz; at least 2.
        dice: Where chance comes from.
    """
    spectrum = np.fft.rfft(dice.standard_normal(count))
    frequencies = np.fft.rfftfreq(count, 1 / RATE_HZ)
    weights = 1 / np.sqrt(np.maximum(frequencies, _LOWEST_HZ))
    weights[0] = 0.0
    noise = np.fft.irfft(spectrum * weights, count)
    return np.asarray(noise / np.sqrt(np.mean(noise**2)), dtype=np.float64)


def in_noise(speech: Samples, snr_db: float, seed: int) -> Samples:
    """Put a clip of speech into a room.

    Args:
        speech: int16 mono at 16 kHz, without silence at its ends.
        snr_db: Level of the speech over that of pink noise, both RMS over their whole
            length, decibels.
        seed: The same seed gives the same noise.

    Returns:
        int16 mono at 16 kHz, with noise before and after; empty speech gives noise alone.
    """
    dice = np.random.default_rng(seed)
    lead, trail = round(LEAD_S * RATE_HZ), round(TRAIL_S * RATE_HZ)
    track = np.zeros(lead + len(speech) + trail)
    loudness = float(np.sqrt(np.mean(speech.astype(np.float64) ** 2))) if len(speech) else 0.0
    if loudness > 0:
        track[lead : lead + len(speech)] = speech * (_SPEECH_RMS / loudness)
    track += _SPEECH_RMS * 10 ** (-snr_db / 20) * pink(len(track), dice)
    return np.asarray(np.clip(np.rint(track * 32767), -32768, 32767), dtype=np.int16)
