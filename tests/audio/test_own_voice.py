"""Two views of a microphone beside speakers: for the endpointer, and for the recogniser."""

import sys
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from scipy import signal

from tests.audio.test_echo import power_db, speechlike, to_samples, way
from voiceflow.audio.frames import FRAME_S, FRAME_SAMPLES, RATE_HZ, Frame, Samples
from voiceflow.audio.own_voice import CallSuppressor, Loopback, OwnVoiceFilter
from voiceflow.errors import UsageError


class Deaf:
    """A suppressor that leaves nothing."""

    def clean(self, heard: Samples, played: Samples) -> Samples:
        return np.zeros_like(heard)


def frame(number: int, samples: Samples | None = None) -> Frame:
    silence = np.zeros(FRAME_SAMPLES, dtype=np.int16)
    return Frame(samples=silence if samples is None else samples, start_s=number * FRAME_S)


def sound(level: int = 1000) -> Samples:
    return np.full(FRAME_SAMPLES, level, dtype=np.int16)


def test_what_was_given_comes_in_order_however_it_was_cut() -> None:
    loopback = Loopback()
    assert not loopback.take().any()
    both = np.concatenate((sound(1), sound(2), sound(3)))
    loopback.give(both[:400].tobytes(), RATE_HZ, 1)
    assert np.array_equal(loopback.take(), sound(1))
    loopback.give(both[400:800].tobytes(), RATE_HZ, 1)
    assert np.array_equal(loopback.take(), sound(2))
    loopback.give(both[800:].tobytes(), RATE_HZ, 1)
    assert np.array_equal(loopback.take(), sound(3))


def test_sound_that_is_late_is_waited_for_and_a_device_that_is_gone_is_not() -> None:
    loopback = Loopback()
    loopback.give(sound(1).tobytes(), RATE_HZ, 1)
    assert np.array_equal(loopback.take(), sound(1))
    with ThreadPoolExecutor(1) as another:
        late = another.submit(loopback.take)
        loopback.give(sound(2).tobytes(), RATE_HZ, 1)
        assert np.array_equal(late.result(), sound(2))
    assert not loopback.take().any()
    # it stands still now: what comes later begins anew
    assert not loopback.take().any()
    for level in range(3, 9):
        loopback.give(sound(level).tobytes(), RATE_HZ, 1)
    assert np.array_equal(loopback.take(), sound(8))


def test_another_form_of_the_device_is_brought_to_frames() -> None:
    loopback = Loopback()
    time_s = np.arange(48_000) / 48_000
    tone = np.rint(8000 * np.sin(2 * np.pi * 440 * time_s)).astype(np.int16)
    frames = []
    for piece in np.split(tone, 50):
        loopback.give(np.repeat(piece, 2).tobytes(), 48_000, 2)
        frames.append(loopback.take())
    later = np.concatenate(frames[20:45]).astype(np.float64)
    assert np.sqrt(np.mean(later**2)) == pytest.approx(8000 / np.sqrt(2), rel=0.02)


def test_what_was_given_before_anybody_listened_is_dropped() -> None:
    loopback = Loopback()
    for level in range(1, 40):
        loopback.give(sound(level).tobytes(), RATE_HZ, 1)
    assert np.array_equal(loopback.take(), sound(39))
    assert not loopback.take().any()


def test_what_was_given_while_the_microphone_stood_still_is_dropped() -> None:
    loopback = Loopback()
    loopback.give(sound(0).tobytes(), RATE_HZ, 1)
    loopback.take()
    for level in range(1, 16):
        loopback.give(sound(level).tobytes(), RATE_HZ, 1)
    taken = []
    for level in range(16, 120):
        loopback.give(sound(level).tobytes(), RATE_HZ, 1)
        taken.append(level - int(loopback.take()[0]))
    # 15 frames late at first; within two seconds no more than one is kept in hand
    assert taken[0] == 15
    assert taken[-1] == 1


def test_a_busy_moment_changes_nothing() -> None:
    loopback = Loopback()
    loopback.give(sound(0).tobytes(), RATE_HZ, 1)
    loopback.take()
    lags = []
    for round_ in range(40):
        for level in range(1, 6):
            loopback.give(sound(5 * round_ + level).tobytes(), RATE_HZ, 1)
        lags += [5 * round_ + level - int(loopback.take()[0]) for level in range(1, 6)]
    assert set(lags) == {0}


def test_a_frame_tells_whether_the_tool_may_be_in_it() -> None:
    loopback = Loopback()
    cleaner = OwnVoiceFilter(loopback, Deaf())
    assert not cleaner.clean(frame(0)).over_own_voice
    loopback.give(sound().tobytes(), RATE_HZ, 1)
    told = [cleaner.clean(frame(number)).over_own_voice for number in range(1, 14)]
    # its sound rings on for 0.16 s
    assert told == [True] * 9 + [False] * 4


def test_the_endpointer_and_the_recogniser_get_different_sound() -> None:
    made = OwnVoiceFilter(Loopback(), Deaf()).clean(frame(0, sound()))
    assert made.gate is not None
    assert not made.gate.any()
    assert np.array_equal(made.samples, sound())
    assert made.start_s == 0.0


def test_without_the_library_it_is_told_what_to_do(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "livekit.rtc", None)
    with pytest.raises(UsageError, match="pip install livekit"):
        CallSuppressor()


def test_the_library_leaves_nothing_of_the_own_voice() -> None:
    suppressor = CallSuppressor()
    played = speechlike(8.0, 1)
    echo = signal.fftconvolve(played, way(0.12, 0.2))[: len(played)]
    heard = to_samples(echo)
    pieces = range(0, len(heard) - FRAME_SAMPLES + 1, FRAME_SAMPLES)
    far = to_samples(played)
    left = np.concatenate(
        [
            suppressor.clean(heard[at : at + FRAME_SAMPLES], far[at : at + FRAME_SAMPLES])
            for at in pieces
        ]
    )
    last = slice(5 * RATE_HZ, 8 * RATE_HZ)
    assert power_db(heard[last]) - power_db(left[last]) > 25
