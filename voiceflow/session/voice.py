"""The tool's speech on the run's timeline: what is said when, and when it is over.

Words are queued; a piece starts when the one before it has ended. How long a piece
lasts is known from its samples, so a recording can be answered faster than real
time and the times still come out as they would aloud. Nothing here decides what
is said.
"""

from collections import deque
from dataclasses import dataclass
from typing import Protocol

from voiceflow.audio.frames import RATE_HZ, Samples
from voiceflow.dialogue.events import Spoken
from voiceflow.errors import AudioDeviceError, SynthesisError
from voiceflow.settings import VoiceSettings
from voiceflow.synthesis.synthesiser import Synthesiser


class Sink(Protocol):
    """Where speech goes: speakers, a track."""

    def play(self, start_s: float, samples: Samples) -> None:
        """Begin a piece of speech; the one before it has ended.

        Raises:
            AudioDeviceError: If the device has gone.
        """
        ...

    def cut(self, at_s: float) -> None:
        """Be silent at once."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class _Piece:
    words: str
    samples: Samples | None
    start_s: float

    @property
    def end_s(self) -> float:
        return self.start_s + (0 if self.samples is None else len(self.samples)) / RATE_HZ


class Timeline:
    """One mouth: pieces of speech one after the other on the run's clock.

    A voice or a device that fails is not tried again, and the run goes on: what is
    said then takes no time, and ``take_fault`` tells of it once.
    """

    def __init__(
        self,
        synthesiser: Synthesiser | None,
        settings: VoiceSettings,
        sinks: tuple[Sink, ...] = (),
    ) -> None:
        """Make a silent mouth.

        Args:
            synthesiser: The voice; none: words take no time and make no sound.
            settings: How fast it speaks.
            sinks: Where the sound goes, each piece to all of them.
        """
        self._synthesiser = synthesiser
        self._settings = settings
        self._sinks = list(sinks)
        self._pieces: deque[_Piece] = deque()
        self._faults: deque[str] = deque()

    @property
    def next_end_s(self) -> float | None:
        """When what is being said ends; None if nothing is."""
        return self._pieces[0].end_s if self._pieces else None

    def say(self, words: str, *, slower: bool, now_s: float) -> None:
        """Say words after what is being said.

        Args:
            words: What to say.
            slower: At the slower rate.
            now_s: The time, seconds since the run began.
        """
        start_s = max(now_s, self._pieces[-1].end_s if self._pieces else now_s)
        samples = self._samples(words, slower=slower)
        self._pieces.append(_Piece(words=words, samples=samples, start_s=start_s))
        if len(self._pieces) == 1:
            self._begin(self._pieces[0])

    def stop(self, now_s: float) -> tuple[Spoken, ...]:
        """Be quiet: cut what is being said and drop what would have followed.

        Returns:
            One event for each piece: completed only if it had ended by now.
        """
        spoken = tuple(
            Spoken(at_s=now_s, words=piece.words, completed=piece.end_s <= now_s)
            for piece in self._pieces
        )
        if self._pieces:
            self._pieces.clear()
            for sink in self._sinks:
                sink.cut(now_s)
        return spoken

    def take_ended(self, now_s: float) -> Spoken | None:
        """Give the first piece that has ended and not been given yet, or none."""
        if not self._pieces or self._pieces[0].end_s > now_s:
            return None
        ended = self._pieces.popleft()
        if self._pieces:
            self._begin(self._pieces[0])
        return Spoken(at_s=now_s, words=ended.words, completed=True)

    def take_fault(self) -> str | None:
        """Give the name of a voice or device that failed, once, or none."""
        return self._faults.popleft() if self._faults else None

    def _samples(self, words: str, *, slower: bool) -> Samples | None:
        if self._synthesiser is None:
            return None
        rate_wpm = self._settings.slower_wpm if slower else self._settings.rate_wpm
        try:
            return self._synthesiser.synthesise(words, rate_wpm)
        except SynthesisError:
            self._synthesiser = None
            self._faults.append("voice")
            return None

    def _begin(self, piece: _Piece) -> None:
        if piece.samples is None:
            return
        for sink in tuple(self._sinks):
            try:
                sink.play(piece.start_s, piece.samples)
            except AudioDeviceError as error:
                self._sinks.remove(sink)
                self._faults.append(error.device)
