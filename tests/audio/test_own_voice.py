"""Two views of a microphone beside speakers: for the endpointer, and for the recogniser."""

import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from scipy import signal

from tests.audio.test_echo import power_db, speechlike, to_samples, way
from voiceflow.audio import own_voice
from voiceflow.audio.frames import FRAME_S, FRAME_SAMPLES, RATE_HZ, Frame, Samples
from voiceflow.audio.own_voice import CallSuppressor, Loopback, OwnVoiceFilter
from voiceflow.errors import UsageError


class Deaf:
    """A suppressor that leaves nothing."""

    def __init__(self) -> None:
        self.restarted = 0

    def clean(self, heard: Samples, played: Samples) -> Samples:
        return np.zeros_like(heard)

    def restart(self) -> None:
        self.restarted += 1


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


def test_sound_that_is_late_is_waited_for_and_a_device_that_is_gone_is_not(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(own_voice, "_PATIENCE_S", 60.0)
    loopback = Loopback()
    loopback.give(sound(1).tobytes(), RATE_HZ, 1)
    assert np.array_equal(loopback.take(), sound(1))
    with ThreadPoolExecutor(1) as another:
        late = another.submit(loopback.take)
        loopback.give(sound(2).tobytes(), RATE_HZ, 1)
        assert np.array_equal(late.result(), sound(2))
    monkeypatch.setattr(own_voice, "_PATIENCE_S", 0.01)
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


def test_speakers_with_a_slower_clock_do_not_hold_the_microphone_back(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(own_voice, "_PATIENCE_S", 0.0)
    monkeypatch.setattr(own_voice, "_WAITED_FOR", 50)
    loopback = Loopback()
    silence = np.zeros(FRAME_SAMPLES, dtype=np.int16)
    loopback.give(silence.tobytes(), RATE_HZ, 1)
    loopback.take()
    loopback.is_moved = False
    waited = 0
    monkeypatch.setattr(loopback, "_convert", with_late_sound(loopback, silence))
    for _ in range(120):
        loopback.take()
        waited += loopback.is_moved
        loopback.is_moved = False
    # a frame of silence is put in now and then, and the filters are told
    assert 1 <= waited <= 2


def with_late_sound(loopback: Loopback, samples: Samples) -> Callable[[float], None]:
    """Every frame comes while it is waited for."""
    convert = loopback._convert
    calls = [0]

    def late(patience_s: float) -> None:
        calls[0] += 1
        if calls[0] % 2 == 0:
            loopback.give(samples.tobytes(), RATE_HZ, 1)
        convert(patience_s)

    return late


def test_a_microphone_that_came_back_begins_anew() -> None:
    loopback = Loopback()
    suppressor = Deaf()
    cleaner = OwnVoiceFilter(loopback, suppressor)
    for level in (1, 2, 3, 4):
        loopback.give(sound(level).tobytes(), RATE_HZ, 1)
    cleaner.clean(frame(0))
    for level in range(5, 15):
        loopback.give(sound(level).tobytes(), RATE_HZ, 1)
    cleaner.interrupt()
    for level in (20, 21):
        loopback.give(sound(level).tobytes(), RATE_HZ, 1)
    before = suppressor.restarted
    assert cleaner.clean(frame(1, sound(0))).over_own_voice is False
    assert suppressor.restarted == before + 1


def test_what_nobody_takes_is_not_kept_for_ever() -> None:
    loopback = Loopback()
    for number in range(3000):
        loopback.give(sound(number % 100).tobytes(), RATE_HZ, 1)
    assert loopback._pieces.qsize() <= own_voice._MOST_PIECES


def test_a_device_that_keeps_much_in_hand_rings_on_longer() -> None:
    loopback = Loopback()
    loopback.latency_s = 0.25
    cleaner = OwnVoiceFilter(loopback, Deaf())
    loopback.give(sound().tobytes(), RATE_HZ, 1)
    told = [cleaner.clean(frame(number)).over_own_voice for number in range(30)]
    assert sum(told) == 9 + 10
