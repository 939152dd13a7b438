"""Where the tool's speech goes: speakers, or a track that is written to a file."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Protocol

from voiceflow.audio.frames import Samples
from voiceflow.audio.track import SpeechTrack
from voiceflow.dialogue.events import SPEAKERS
from voiceflow.errors import AudioDeviceError


class Player(Protocol):
    """What is needed of speakers."""

    def play(self, samples: Samples) -> None:
        """Begin to play."""
        ...

    def stop(self) -> None:
        """Be quiet at once."""
        ...

    def verify(self) -> None:
        """Raise AudioDeviceError if the speakers have gone."""
        ...

    def reopen(self) -> bool:
        """Try to get speakers that failed again; tell whether they are there."""
        ...


class SpeakerSink:
    """Speech to be heard now; the run's clock is that of the room."""

    def __init__(self, player: Player) -> None:
        self._player = player

    def play(self, start_s: float, samples: Samples) -> None:
        """Begin a piece."""
        del start_s
        with _called_speakers():
            self._player.play(samples)

    def cut(self, at_s: float) -> None:
        """Be silent at once."""
        del at_s
        self._player.stop()

    def verify(self) -> None:
        """See whether they are still there."""
        with _called_speakers():
            self._player.verify()

    def reopen(self) -> bool:
        """Try to get speakers that failed again."""
        return self._player.reopen()


@contextmanager
def _called_speakers() -> Iterator[None]:
    """In the record a device is called what it is called in speech."""
    try:
        yield
    except AudioDeviceError as error:
        raise AudioDeviceError(SPEAKERS, error.what, error.remedy) from error


class TrackSink:
    """Speech to be listened to afterwards.

    Attributes:
        track: What has been said so far.
    """

    def __init__(self) -> None:
        self.track = SpeechTrack()

    def play(self, start_s: float, samples: Samples) -> None:
        """Lay a piece on the track."""
        self.track.place(start_s, samples)

    def cut(self, at_s: float) -> None:
        """End what is on the track."""
        self.track.cut(at_s)

    def verify(self) -> None:
        """A track does not fail."""

    def reopen(self) -> bool:
        """A track does not fail."""
        return True
