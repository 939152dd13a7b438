"""A microphone that goes and comes back, on a clock that is moved by hand."""

from collections.abc import Iterator
from itertools import islice

import numpy as np
import pytest

from tests.fakes import ManualClock
from voiceflow.audio.frames import FRAME_S, FRAME_SAMPLES, Frame
from voiceflow.audio.source import Change, Gap
from voiceflow.errors import AudioDeviceError
from voiceflow.session.returning import Reopening, ReturningMicrophone


def gone(name: str = "headset") -> AudioDeviceError:
    return AudioDeviceError(name, "the microphone stopped delivering sound", "Plug it in")


class ScriptedMicrophone:
    """Gives so many frames in real time, then is gone."""

    def __init__(self, clock: ManualClock, frames: int, name: str = "headset") -> None:
        self._clock = clock
        self._frames = frames
        self.name = name
        self.overruns = 0
        self.has_sound = True
        self.closed = 0

    def frames(self) -> Iterator[Frame]:
        for number in range(self._frames):
            if self.closed:
                return
            self._clock.pass_s(FRAME_S)
            sound = np.full(FRAME_SAMPLES, number, dtype=np.int16)
            yield Frame(samples=sound, start_s=number * FRAME_S)
        self._clock.pass_s(1.0)
        raise gone(self.name)

    def close(self) -> None:
        self.closed += 1


class Shop:
    """Gives microphones in order, one a try; None: there is none."""

    def __init__(self, *microphones: ScriptedMicrophone | None) -> None:
        self._microphones = list(microphones)
        self.asked: list[str | None] = []
        self.looked = 0

    def open(self, name: str | None) -> ScriptedMicrophone:
        self.asked.append(name)
        microphone = self._microphones.pop(0) if self._microphones else None
        if microphone is None:
            raise gone(name or "microphone")
        return microphone

    def look(self) -> None:
        self.looked += 1


def returning(
    clock: ManualClock, first: ScriptedMicrophone, shop: Shop, told: list[str]
) -> ReturningMicrophone:
    again = Reopening(shop.open, "headset", shop.look)
    return ReturningMicrophone(first, again, clock, told.append)


def test_time_goes_on_while_it_is_gone() -> None:
    clock, told = ManualClock(), list[str]()
    first, second = ScriptedMicrophone(clock, 50), ScriptedMicrophone(clock, 50)
    shop = Shop(None, None, second)
    source = returning(clock, first, shop, told)
    moments: list[Frame | Gap] = []
    for moment in source.frames():
        moments.append(moment)
        # the wall's clock and the run's are one here: nothing lags
        assert moment.end_s == pytest.approx(clock.now_s())
        if sum(isinstance(one, Frame) for one in moments) == 100:
            break
    changes = [one.change for one in moments if isinstance(one, Gap) and one.change]
    assert changes == [Change.LOST, Change.RETURNED]
    lost = next(one for one in moments if isinstance(one, Gap))
    assert lost.end_s == pytest.approx(50 * FRAME_S + 1.0)
    returned = next(
        one for one in moments if isinstance(one, Gap) and one.change is Change.RETURNED
    )
    # two tries failed, a second apart, and the third did not
    assert returned.end_s - lost.end_s == pytest.approx(2.0, abs=0.2)
    ends = [one.end_s for one in moments]
    assert ends == sorted(ends)
    # waits and deadlines are looked at often, not once when it is back
    assert max(np.diff(ends[50:-50])) < 0.11
    assert shop.asked == ["headset"] * 3
    assert shop.looked == 3
    assert first.closed
    assert "waited for" in told[0]
    assert "Listening again, with headset" in told[1]


def test_one_that_opens_and_gives_nothing_has_not_returned() -> None:
    clock = ManualClock()
    first, dead = ScriptedMicrophone(clock, 1), ScriptedMicrophone(clock, 9)
    dead.has_sound = False
    alive = ScriptedMicrophone(clock, 9)
    source = returning(clock, first, Shop(dead, alive), [])
    frames = source.frames()
    moments = list(islice(frames, 3))
    while not (isinstance(moments[-1], Gap) and moments[-1].change is Change.RETURNED):
        moments.append(next(frames))
    assert dead.closed
    assert not alive.closed
    assert moments[-1].end_s > 5.0


def test_another_one_is_taken_only_after_some_tries() -> None:
    clock = ManualClock()
    shop = Shop(*[None] * 6, ScriptedMicrophone(clock, 9, "built-in"))
    told: list[str] = []
    source = returning(clock, ScriptedMicrophone(clock, 1), shop, told)
    for moment in source.frames():
        if isinstance(moment, Gap) and moment.change is Change.RETURNED:
            break
    assert shop.asked == ["headset"] * 6 + [None]
    assert told[-1] == "Listening again, with built-in."


def test_overruns_of_all_are_counted() -> None:
    clock = ManualClock()
    first, second = ScriptedMicrophone(clock, 1), ScriptedMicrophone(clock, 9)
    first.overruns, second.overruns = 2, 3
    source = returning(clock, first, Shop(second), [])
    assert source.overruns == 2
    for moment in source.frames():
        if isinstance(moment, Gap) and moment.change is Change.RETURNED:
            break
    assert source.overruns == 5


def test_closing_ends_the_wait() -> None:
    clock = ManualClock()
    source = returning(clock, ScriptedMicrophone(clock, 1), Shop(), [])
    frames = source.frames()
    assert len(list(islice(frames, 20))) == 20
    source.close()
    source.close()
    assert list(islice(frames, 20)) == []
