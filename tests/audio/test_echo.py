"""The own voice is taken off, and who speaks at the same time is left as he is."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import signal

from voiceflow.audio.echo import EchoCanceller
from voiceflow.audio.frames import FRAME_SAMPLES, RATE_HZ, Samples

#: As loud as the bench's speech, steps of int16.
LOUD = 1642.0


def speechlike(seconds: float, seed: int) -> NDArray[np.float64]:
    """Noise with the long-term slope of speech, in syllables of a quarter of a second."""
    dice = np.random.default_rng(seed)
    count = round(seconds * RATE_HZ)
    sound = signal.lfilter([1.0], [1.0, -0.9], dice.standard_normal(count))
    syllables = np.repeat(dice.uniform(0.1, 1.0, count // 4000 + 1), 4000)[:count]
    sound = sound * syllables
    return np.asarray(sound * LOUD / np.sqrt(np.mean(sound**2)))


def way(delay_s: float, rings_s: float, seed: int = 5) -> NDArray[np.float64]:
    """A room: what comes straight, and noise that dies away by 60 dB in a time."""
    delay, length = round(delay_s * RATE_HZ), round(1.2 * rings_s * RATE_HZ) + 1
    dice = np.random.default_rng(seed)
    made = np.zeros(delay + length)
    dying = np.exp(-6.9 * np.arange(length) / RATE_HZ / max(rings_s, 1e-3))
    made[delay:] = 0.35 * dice.standard_normal(length) * dying
    made[delay] = 1.0
    whole: NDArray[np.float64] = made / np.sqrt(np.sum(made**2))
    return whole


def to_samples(sound: NDArray[np.float64]) -> Samples:
    return np.clip(np.rint(sound), -32_768, 32_767).astype(np.int16)


def cleaned(heard: Samples, played: Samples) -> Samples:
    canceller = EchoCanceller()
    return np.concatenate(
        [
            canceller.clean(heard[at : at + FRAME_SAMPLES], played[at : at + FRAME_SAMPLES])
            for at in range(0, len(heard) - FRAME_SAMPLES + 1, FRAME_SAMPLES)
        ]
    )


def power_db(sound: NDArray[np.generic]) -> float:
    return float(10 * np.log10(np.mean(np.asarray(sound, dtype=np.float64) ** 2) + 1e-9))


@pytest.mark.parametrize(("delay_s", "rings_s"), [(0.04, 0.0), (0.12, 0.2), (0.25, 0.2)])
def test_what_is_known_of_the_own_voice_is_taken_off(delay_s: float, rings_s: float) -> None:
    # scipy's convolution is the room: a general-purpose library, outside the project
    played = speechlike(8.0, 1)
    heard = signal.fftconvolve(played, way(delay_s, rings_s))[: len(played)]
    heard = to_samples(heard + np.random.default_rng(2).standard_normal(len(heard)))
    left = cleaned(heard, to_samples(played))
    last = slice(6 * RATE_HZ, 8 * RATE_HZ)
    assert power_db(heard[last]) - power_db(left[last]) > 18


def test_who_interrupts_is_left_as_he_is() -> None:
    played = speechlike(9.0, 1)
    person = np.zeros(len(played))
    begin, end = round(6.0 * RATE_HZ), round(6.5 * RATE_HZ)
    person[begin:end] = speechlike(0.5, 7)
    echo = signal.fftconvolve(played, way(0.1, 0.2))[: len(played)]
    left = cleaned(to_samples(echo + person), to_samples(played))
    # what is not his is well below him, where without it both were equally loud
    rest = left[begin:end] - person[begin:end]
    assert power_db(person[begin:end]) - power_db(rest) > 10
    # and nothing is forgotten by it
    after = slice(round(7.5 * RATE_HZ), len(left))
    assert power_db(echo[after]) - power_db(left[after]) > 15


def test_nothing_played_changes_nothing() -> None:
    heard = to_samples(speechlike(1.0, 3))
    assert np.array_equal(cleaned(heard, np.zeros_like(heard)), heard)


def test_a_moved_echo_is_learnt_anew_in_seconds() -> None:
    played = speechlike(16.0, 1)
    echo = to_samples(signal.fftconvolve(played, way(0.1, 0.2))[: len(played)])
    canceller = EchoCanceller()
    moved = 8 * RATE_HZ
    far = to_samples(played)
    left = []
    for at in range(0, len(echo) - FRAME_SAMPLES + 1, FRAME_SAMPLES):
        # from there on what is played comes 20 ms later than it did
        given = at if at < moved else at - FRAME_SAMPLES
        if at == moved:
            canceller.doubt()
        left.append(
            canceller.clean(echo[at : at + FRAME_SAMPLES], far[given : given + FRAME_SAMPLES])
        )
    rest = np.concatenate(left)
    after = slice(moved + 5 * RATE_HZ, moved + 7 * RATE_HZ)
    assert power_db(echo[after]) - power_db(rest[after]) > 12
