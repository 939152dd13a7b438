"""Where the tool's speech goes: speakers, or a track that is written to a file."""

from typing import Protocol

from voiceflow.audio.frames import Samples
from voiceflow.audio.track import SpeechTrack


class Player(Protocol):
    """What is needed of speakers."""

    def play(self, samples: Samples) -> None:
        """Begin to play."""
        ...

    def stop(self) -> None:
        """Be quiet at once."""
        ...


class SpeakerSink:
    """Speech to be heard now; the run's clock is that of the room."""

    def __init__(self, player: Player) -> None:
        self._player = player

    def play(self, start_s: float, samples: Samples) -> None:
        """Begin a piece."""
        del start_s
        self._player.play(samples)

    def cut(self, at_s: float) -> None:
        """Be silent at once."""
        del at_s
        self._player.stop()


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
