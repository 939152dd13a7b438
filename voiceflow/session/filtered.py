"""A source whose frames are cleaned from the tool's own voice."""

from collections.abc import Iterator

from voiceflow.audio.frames import Frame
from voiceflow.audio.own_voice import OwnVoiceFilter
from voiceflow.audio.source import AudioSource, Change, Gap


class FilteredSource:
    """Frames of a microphone beside speakers."""

    def __init__(self, source: AudioSource, own_voice: OwnVoiceFilter) -> None:
        """Wrap a source.

        Args:
            source: The microphone.
            own_voice: Knows what the speakers play.
        """
        self._source = source
        self._own_voice = own_voice

    def frames(self) -> Iterator[Frame | Gap]:
        """Give the frames of the source, cleaned, and its gaps.

        Raises:
            AudioDeviceError: As the source does.
        """
        for frame in self._source.frames():
            if isinstance(frame, Gap):
                if frame.change is Change.RETURNED:
                    self._own_voice.interrupt()
                yield frame
            else:
                yield self._own_voice.clean(frame)

    def close(self) -> None:
        """Let go of the device; may be called twice."""
        self._source.close()
