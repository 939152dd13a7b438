"""Push-to-talk: ears that are open only while a key says so."""

from collections.abc import Callable
from typing import Protocol

from voiceflow.audio.frames import Frame
from voiceflow.dialogue.events import NoteTaken
from voiceflow.session.ears import Ears, Perceived


class TalkKey(Protocol):
    """Tells whether the person wants to be listened to."""

    def is_talking(self, at_s: float) -> bool:
        """Tell it for a moment.

        Args:
            at_s: The moment, seconds on the audio clock; never falls.
        """
        ...


class KeyedEars:
    """Ears that hear nothing, nor learn from it, while the key says quiet."""

    def __init__(self, ears: Ears, key: TalkKey, tell: Callable[[str], None]) -> None:
        """Close the ears.

        Args:
            ears: What hears.
            key: Opens and closes them.
            tell: Takes a remark for the person at each change.
        """
        self._ears = ears
        self._key = key
        self._tell = tell
        self._is_open = False

    def listen(self, item_id: str, previous_id: str | None, note_on: str | None = None) -> None:
        """Want the grammar of an item, or a note, from the next utterance on."""
        self._ears.listen(item_id, previous_id, note_on)

    def feed(self, frame: Frame) -> tuple[Perceived, ...]:
        """Take the next frame; with the key let go what was being said is over at once.

        Raises:
            EngineError, JournalError: As ``Ears.feed``.
        """
        was_open, self._is_open = self._is_open, self._key.is_talking(frame.end_s)
        if was_open != self._is_open:
            self._tell("[listening]" if self._is_open else "[not listening]")
        if self._is_open:
            return self._ears.feed(frame)
        if was_open:
            return (*self._ears.feed(frame), *self._ears.flush())
        self._ears.idle()
        return ()

    def flush(self) -> tuple[Perceived, ...]:
        """End the source."""
        return self._ears.flush()

    def drop(self) -> tuple[NoteTaken, ...]:
        """Forget what is being said; give half a note."""
        return self._ears.drop()
