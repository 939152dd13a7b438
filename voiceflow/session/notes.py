"""Takes a voice note: sound in, on disk when it is told.

The frames of one utterance are kept as they come, whatever is said in them; where an engine
hears any word of the language, it writes the words down meanwhile. No clock here.
"""

from collections.abc import Callable
from typing import Final

import numpy as np

from voiceflow.audio.flac import to_flac
from voiceflow.audio.frames import RATE_HZ, Frame
from voiceflow.dialogue.events import NoteTaken
from voiceflow.phraseology.prompts import NoteEnd
from voiceflow.recognition.recogniser import Transcriber
from voiceflow.settings import NoteSettings

#: So much is kept after the last word, seconds: its end is found to within a chunk of 32 ms.
_AFTER_S: Final = 0.2


class NoteTaker:
    """Takes one note at a time: ``begin``, ``feed``, ``finish`` or ``drop``."""

    def __init__(
        self,
        *,
        keep: Callable[[bytes], str],
        settings: NoteSettings,
        transcriber: Transcriber | None = None,
        pause_s: float | None = None,
    ) -> None:
        """Take no note yet.

        Args:
            keep: Keeps a FLAC file for good and gives its name, the SHA-256; on disk when it
                returns.
            settings: How long a note may be.
            transcriber: Writes down what is said; none: the sound alone is kept.
            pause_s: A silence that ends a note; none: by the settings.
        """
        self._keep = keep
        self._settings = settings
        self._transcriber = transcriber
        self.pause_s = settings.pause_s if pause_s is None else pause_s
        self._item_id: str | None = None
        self._start_s = 0.0
        self._frames: list[Frame] = []

    @property
    def longest_s(self) -> float:
        """How long a note may be, seconds."""
        return self._settings.longest_s

    @property
    def is_open(self) -> bool:
        """Whether a note is being taken."""
        return self._item_id is not None

    @property
    def is_full(self) -> bool:
        """Whether the note is as long as it may be."""
        return self._length_s >= self._settings.longest_s

    @property
    def _length_s(self) -> float:
        return self._frames[-1].end_s - self._frames[0].start_s if self._frames else 0.0

    def begin(self, item_id: str, start_s: float) -> None:
        """Begin a note on an item; speech begins at ``start_s``, its frames may before."""
        self._item_id = item_id
        self._start_s = start_s
        self._frames = []

    def feed(self, frame: Frame) -> None:
        """Take a frame of it."""
        self._frames.append(frame)
        if self._transcriber is not None:
            self._transcriber.feed(frame)

    def drop(self) -> None:
        """Forget the note: it is none."""
        self._item_id, self._frames = None, []
        if self._transcriber is not None:
            self._transcriber.finish()

    def finish(self, at_s: float, end_s: float, ended: NoteEnd) -> NoteTaken | None:
        """End the note and keep it.

        Args:
            at_s: The time now.
            end_s: When its speech ended.
            ended: How it came to its end.

        Returns:
            The event; None where it was too short to be one: nothing is kept then.

        Raises:
            JournalError: If it cannot be kept.
        """
        item_id, frames = self._item_id, self._frames
        self._item_id, self._frames = None, []
        text = "" if self._transcriber is None else self._transcriber.finish()
        if item_id is None or end_s - self._start_s < self._settings.shortest_s:
            return None
        until_s = min(end_s + _AFTER_S, frames[0].start_s + self._settings.longest_s)
        samples = np.concatenate([frame.samples for frame in frames])
        samples = samples[: round((until_s - frames[0].start_s) * RATE_HZ)]
        return NoteTaken(
            at_s=at_s,
            item_id=item_id,
            digest=self._keep(to_flac(samples)),
            length_s=round(len(samples) / RATE_HZ, 3),
            text=text,
            engine=self._transcriber.name if self._transcriber is not None and text else "",
            ended=ended,
        )
