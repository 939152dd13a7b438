from collections.abc import Iterator

from tests.fakes import spoken
from voiceflow.audio.frames import Frame
from voiceflow.audio.wav import RecordingSource
from voiceflow.session.overruns import TellingSource


class Busy:
    """A microphone that loses sound at some seconds."""

    def __init__(self, *lost_s: float) -> None:
        self._lost_s = lost_s
        self.overruns = 0
        self.closed = 0

    def frames(self) -> Iterator[Frame]:
        for frame in RecordingSource(spoken(1.0, tail_s=30.0)).frames():
            self.overruns = sum(at_s <= frame.start_s for at_s in self._lost_s)
            yield frame

    def close(self) -> None:
        self.closed += 1


def listen_to(source: Busy) -> list[str]:
    told: list[str] = []
    telling = TellingSource(source, told.append)
    assert len(list(telling.frames())) == len(list(Busy().frames()))
    telling.close()
    telling.close()
    assert source.closed == 2
    return told


def test_nothing_lost_is_nothing_told() -> None:
    assert listen_to(Busy()) == []


def test_what_is_lost_is_told_when_it_is_and_at_the_end() -> None:
    told = listen_to(Busy(3.0))
    assert len(told) == 2
    assert "Say again" in told[0]
    assert "lost once in this run" in told[1]


def test_what_is_lost_again_and_again_is_not_told_each_time() -> None:
    told = listen_to(Busy(3.0, 3.2, 4.0, 20.0))
    # at 3 s, ten seconds later for the others, at 23 s for the last
    assert len(told) == 4
    assert "lost 4 times in this run" in told[-1]
