"""Noise put over a recording when it is measured, so that no noisy copy need be kept.

Arithmetic on samples; the same seed gives the same samples. Nothing is read or written.
"""

import hashlib
from collections.abc import Sequence
from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import NDArray

from voiceflow.audio.frames import RATE_HZ, Samples

#: Below this a headset microphone picks up nothing, and coloured noise would only drift.
_LOWEST_HZ: Final = 20.0
_FULL_SCALE: Final = 32_768.0


class Noise(StrEnum):
    """Kinds of noise.

    PINK loses 3 dB an octave, BROWN 6 dB; FANS is half pink and half the harmonics of
    something that turns; BABBLE is other people talking at once.
    """

    PINK = "pink"
    BROWN = "brown"
    FANS = "fans"
    BABBLE = "babble"


#: How often something in a cockpit turns, hertz: from propellers to inverters and fans.
TURNS_HZ: Final = (85.0, 420.0)
#: Amplitude falls as frequency to the minus this.
_SLOPE: Final = {Noise.PINK: 0.5, Noise.BROWN: 1.0}


def seed_of(*parts: object) -> int:
    """Give a seed that depends on these words alone: the same on every machine."""
    text = "\n".join(str(part) for part in parts)
    return int.from_bytes(hashlib.sha256(text.encode()).digest()[:8], "big")


def coloured(noise: Noise, count: int, dice: np.random.Generator) -> NDArray[np.float64]:
    """Give pink or brown noise, RMS 1.

    Args:
        noise: PINK or BROWN.
        count: How many samples at 16 kHz; at least 2.
        dice: Where chance comes from.

    Returns:
        float64, shape (count,).
    """
    spectrum = np.fft.rfft(dice.standard_normal(count))
    frequencies = np.fft.rfftfreq(count, 1 / RATE_HZ)
    weights = np.maximum(frequencies, _LOWEST_HZ) ** -_SLOPE[noise]
    weights[0] = 0.0
    return level(np.fft.irfft(spectrum * weights, count))


def turning(count: int, dice: np.random.Generator) -> NDArray[np.float64]:
    """Give the sound of something that turns: five harmonics that sway a little, RMS 1.

    Its frequency is chosen evenly from ``TURNS_HZ``; harmonic n is 1/n as strong.
    Common practice in sound synthesis, no source.

    Args:
        count: How many samples at 16 kHz.
        dice: Where chance comes from.
    """
    times = np.arange(count) / RATE_HZ
    base_hz = dice.uniform(*TURNS_HZ)
    hum = np.zeros(count)
    for harmonic in range(1, 6):
        sway = 1 + 0.2 * np.sin(2 * np.pi * dice.uniform(0.1, 0.7) * times)
        phase = dice.uniform(0, 2 * np.pi)
        hum += sway * np.sin(2 * np.pi * base_hz * harmonic * times + phase) / harmonic
    return level(hum)


def steady(noise: Noise, count: int, dice: np.random.Generator) -> NDArray[np.float64]:
    """Give noise of any kind but BABBLE, RMS 1, float64, shape (count,)."""
    if noise is Noise.FANS:
        return level(coloured(Noise.PINK, count, dice) + turning(count, dice))
    return coloured(noise, count, dice)


def babble(
    talkers: Sequence[Samples], count: int, dice: np.random.Generator
) -> NDArray[np.float64]:
    """Give people talking at once, RMS 1.

    Args:
        talkers: What each says, int16 mono at 16 kHz; repeated as long as it takes,
            each from a random place on, all equally loud.
        count: How many samples.
        dice: Where chance comes from.

    Raises:
        ValueError: If nobody talks.
    """
    if not talkers:
        msg = "babble needs somebody who talks"
        raise ValueError(msg)
    together = np.zeros(count)
    for talker in talkers:
        voice = level(talker.astype(np.float64))
        start = int(dice.integers(len(voice)))
        together += np.resize(np.roll(voice, -start), count)
    return level(together)


def level(sound: NDArray[np.float64]) -> NDArray[np.float64]:
    """Bring a sound to RMS 1; silence stays silence."""
    rms = np.sqrt(np.mean(sound**2))
    return np.asarray(sound / rms if rms > 0 else sound, dtype=np.float64)


def mix(
    samples: Samples,
    speech: tuple[float, float],
    noise: NDArray[np.float64],
    snr_db: float,
) -> Samples:
    """Put noise over a whole recording.

    Args:
        samples: int16 mono at 16 kHz.
        speech: Where speech starts and ends in it, seconds: the ratio is that of the RMS
            between these over the RMS of the noise, both broad-band.
        noise: RMS 1, as long as the recording.
        snr_db: The ratio, decibels.

    Returns:
        int16, of the same length; where the sum is beyond full scale it is cut off.
    """
    start, end = (round(at_s * RATE_HZ) for at_s in speech)
    part = samples[start:end].astype(np.float64)
    loudness = float(np.sqrt(np.mean(part**2))) if len(part) else 0.0
    mixed = samples + noise * (loudness / 10 ** (snr_db / 20))
    return np.clip(np.rint(mixed), -_FULL_SCALE, _FULL_SCALE - 1).astype(np.int16)
