"""A cockpit in which nobody answers: noise of machines, breath, clicks and coughs.

Made from chance and arithmetic, not recorded: what is heard in it is a lower bound of
what a real cockpit provokes. The shapes are plain ones, common practice in sound
synthesis, no source: bands of noise under an envelope, decaying tones.
"""

from collections.abc import Callable
from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import NDArray

from voiceflow.audio.frames import RATE_HZ, Samples
from voiceflow.evaluation.noise import Noise, coloured, level, turning

Sound = NDArray[np.float64]

#: RMS, dBFS, where a headset's speech lies at about -26: breath and knocks at the
#: microphone itself are louder than speech. The least hum is a parked aircraft's
#: without power, the most that of fans and ground power.
_HUM_DB: Final = (-72.0, -38.0)
_SOUND_DB: Final = (-38.0, -14.0)
#: Seconds between two sounds: exponential about this, as of things unrelated to each other.
_GAP_S: Final = 2.5


class Happening(StrEnum):
    """What sounds in a cockpit besides machines and speech."""

    BREATH = "breath"
    CLICK = "click"
    COUGH = "cough"
    RUSTLE = "rustle"


def sound(kind: Happening, dice: np.random.Generator) -> Sound:
    """Make one sound, RMS 1, float64 at 16 kHz."""
    return level(_MAKERS[kind](dice))


def minute(dice: np.random.Generator, seconds: float = 60.0) -> Samples:
    """Give a stretch of cockpit sound, int16 mono at 16 kHz.

    Args:
        dice: Where chance comes from.
        seconds: How long.
    """
    count = round(seconds * RATE_HZ)
    track = _machines(count, dice)
    at_s = float(dice.exponential(_GAP_S))
    while at_s < seconds:
        one = sound(list(Happening)[int(dice.integers(len(Happening)))], dice)
        start = round(at_s * RATE_HZ)
        piece = one[: count - start]
        track[start : start + len(piece)] += piece * _amplitude(_SOUND_DB, dice)
        at_s += len(one) / RATE_HZ + float(dice.exponential(_GAP_S))
    return np.clip(np.rint(track * 32_768), -32_768, 32_767).astype(np.int16)


def _amplitude(between_db: tuple[float, float], dice: np.random.Generator) -> float:
    return float(10 ** (dice.uniform(*between_db) / 20))


def _machines(count: int, dice: np.random.Generator) -> Sound:
    """Air and fans: pink noise, and the harmonics of something that turns."""
    hum = turning(count, dice)
    mixed = coloured(Noise.PINK, count, dice) + dice.uniform(0, 1) * hum
    return level(mixed) * _amplitude(_HUM_DB, dice)


def _band(seconds: float, low_hz: float, high_hz: float, dice: np.random.Generator) -> Sound:
    """Noise between two frequencies, fading softly at the edges of the band."""
    count = round(seconds * RATE_HZ)
    frequencies = np.fft.rfftfreq(count, 1 / RATE_HZ)
    weights = 1 / (1 + (low_hz / np.maximum(frequencies, 1)) ** 4 + (frequencies / high_hz) ** 4)
    return np.asarray(np.fft.irfft(np.fft.rfft(dice.standard_normal(count)) * weights, count))


def _breath(dice: np.random.Generator) -> Sound:
    noise = _band(dice.uniform(0.35, 1.2), dice.uniform(200, 600), dice.uniform(1500, 4500), dice)
    return np.asarray(noise * np.hanning(len(noise)))


def _rustle(dice: np.random.Generator) -> Sound:
    noise = _band(dice.uniform(0.2, 0.8), 1500, 7000, dice)
    steps = dice.uniform(0.1, 1.0, len(noise) // 800 + 1)
    return np.asarray(noise * np.repeat(steps, 800)[: len(noise)] * np.hanning(len(noise)))


def _click(dice: np.random.Generator) -> Sound:
    """A switch: one or two short knocks, as it leaves one end and meets the other."""
    count = round(0.12 * RATE_HZ)
    track = np.zeros(count)
    for _ in range(int(dice.integers(1, 3))):
        start = int(dice.integers(0, count // 2))
        times = np.arange(count - start) / RATE_HZ
        ring = np.exp(-times / dice.uniform(0.001, 0.006))
        tones = np.sin(2 * np.pi * dice.uniform(900, 5500) * times)
        track[start:] += ring * (tones + 0.5 * dice.standard_normal(len(times)))
    return track


def _cough(dice: np.random.Generator) -> Sound:
    """A sudden burst, then the softer end, in which the voice often joins."""
    burst = _band(dice.uniform(0.06, 0.14), 300, 3500, dice)
    burst = level(burst) * np.exp(-np.arange(len(burst)) / (0.04 * RATE_HZ))
    rest = _band(dice.uniform(0.1, 0.3), 250, 2000, dice)
    times = np.arange(len(rest)) / RATE_HZ
    voice = np.sign(np.sin(2 * np.pi * dice.uniform(100, 220) * times)) * dice.uniform(0, 0.8)
    rest = (level(rest) + voice) * 0.4 * np.hanning(len(rest))
    return np.concatenate([burst, rest])


_MAKERS: Final[dict[Happening, Callable[[np.random.Generator], Sound]]] = {
    Happening.BREATH: _breath,
    Happening.CLICK: _click,
    Happening.COUGH: _cough,
    Happening.RUSTLE: _rustle,
}
