"""Sound of devices in frames' form and back."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from voiceflow.audio.conversion import ToFrames, for_device
from voiceflow.audio.frames import FRAME_SAMPLES, RATE_HZ, Samples


def tone(rate_hz: int, hz: float = 1000.0, seconds: float = 1.0) -> Samples:
    time_s = np.arange(round(seconds * rate_hz)) / rate_hz
    return (8000 * np.sin(2 * math.pi * hz * time_s)).astype(np.int16)


def strongest_hz(samples: Samples, rate_hz: int) -> float:
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(len(samples))))
    return float(np.argmax(spectrum)) * rate_hz / len(samples)


@given(st.lists(st.integers(0, 900), max_size=30))
def test_at_16_khz_mono_no_sample_changes(lengths: list[int]) -> None:
    sound = np.arange(sum(lengths)).astype(np.int16)
    converter = ToFrames(RATE_HZ, 1)
    frames: list[Samples] = []
    start = 0
    for length in lengths:
        frames += converter.take(sound[start : start + length].tobytes())
        start += length
    assert all(len(frame) == FRAME_SAMPLES for frame in frames)
    whole = np.concatenate([np.zeros(0, dtype=np.int16), *frames])
    assert len(sound) - len(whole) < FRAME_SAMPLES
    assert (whole == sound[: len(whole)]).all()


@pytest.mark.parametrize("rate_hz", [8_000, 44_100, 48_000, 96_000])
@pytest.mark.parametrize("channels", [1, 2, 6])
def test_any_rate_and_channels_come_out_as_they_went_in(rate_hz: int, channels: int) -> None:
    sound = np.repeat(tone(rate_hz), channels).reshape(-1, channels)
    converter = ToFrames(rate_hz, channels)
    frames: list[Samples] = []
    step = rate_hz // 50
    for start in range(0, len(sound), step):
        frames += converter.take(sound[start : start + step].tobytes())
    whole = np.concatenate(frames)
    # what the resampler still holds is at most 0.1 s
    assert 0.9 * RATE_HZ <= len(whole) <= RATE_HZ
    middle = whole[1600:-1600]
    assert strongest_hz(middle, RATE_HZ) == pytest.approx(1000, abs=2)
    assert np.abs(middle).max() == pytest.approx(8000, rel=0.02)


def test_channels_are_averaged() -> None:
    sound = np.array([[1000, 3000]] * 640, dtype=np.int16)
    (first, second) = ToFrames(RATE_HZ, 2).take(sound.tobytes())
    assert set(first) | set(second) == {2000}


@pytest.mark.parametrize(("rate_hz", "channels"), [(16_000, 1), (44_100, 2), (48_000, 1)])
def test_speech_fits_the_device(rate_hz: int, channels: int) -> None:
    played = np.frombuffer(for_device(tone(RATE_HZ), rate_hz, channels), dtype=np.int16)
    played = played.reshape(-1, channels)
    assert len(played) == pytest.approx(rate_hz, abs=2)
    assert (played[:, 0] == played[:, -1]).all()
    assert strongest_hz(played[:, 0], rate_hz) == pytest.approx(1000, abs=2)
    assert np.abs(played[1000:-1000]).max() == pytest.approx(8000, rel=0.02)


def test_what_resampling_makes_too_loud_is_clipped_and_does_not_turn_over() -> None:
    half = RATE_HZ // 400  # of a period, samples
    # a step overshoots by 9 % (Gibbs)
    loud = np.tile(np.repeat(np.array([32_767, -32_767], dtype=np.int16), half), 20)
    played = np.frombuffer(for_device(loud, 3 * RATE_HZ, 1), dtype=np.int16)
    halves = played.reshape(-1, 3 * half)[2:-2, 9:-9]
    assert (halves[0::2] > 20_000).all()
    assert (halves[1::2] < -20_000).all()
    assert played.max() == 32_767
