"""The tool's speech on the run's timeline: what is said when, and when it is over.

Words are queued; a piece starts when the one before it has ended. How long a piece
lasts is known from its samples, so a recording can be answered faster than real
time and the times still come out as they would aloud. Nothing here decides what
is said.
"""

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Protocol

import numpy as np

from voiceflow.audio.frames import RATE_HZ, Samples
from voiceflow.dialogue.events import Spoken
from voiceflow.errors import AudioDeviceError, SynthesisError
from voiceflow.settings import VoiceSettings
from voiceflow.synthesis.earcons import Earcon, sound_of
from voiceflow.synthesis.synthesiser import Synthesiser

#: Ends are sums of lengths: equal ones differ in their last binary digit.
_ROUNDING_S: Final = 1e-6
#: A device that failed is tried again after so long, seconds.
_RETRY_S: Final = 2.0
#: Pieces that are remembered, for who asks what was said a moment ago.
_REMEMBERED: Final = 8


def rate_of(settings: VoiceSettings, *, slower: bool) -> int:
    """Give how fast the tool speaks, words a minute."""
    return settings.slower_wpm if slower else settings.rate_wpm


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

    def verify(self) -> None:
        """See whether the device is still there.

        Raises:
            AudioDeviceError: If it has gone.
        """
        ...

    def reopen(self) -> bool:
        """Try to get a device that failed again; tell whether it is there."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class _Piece:
    words: str
    samples: Samples | None
    said_s: float  # it begins no earlier
    is_lost: bool = False  # there was no voice for it, or no device

    @property
    def length_s(self) -> float:
        return 0.0 if self.samples is None else len(self.samples) / RATE_HZ


class Timeline:
    """One mouth: pieces of speech one after the other on the run's clock.

    A voice that fails is not tried again, a device is from time to time, and the run
    goes on; ``take_fault`` tells of it once, ``take_returned`` when the device is back.
    While one device is left, pieces are as long as they are. When none is left, or no
    voice, a piece takes no time and is told as not completed, because nobody heard it.
    """

    def __init__(
        self,
        synthesiser: Synthesiser | None,
        settings: VoiceSettings,
        sinks: tuple[Sink, ...] = (),
    ) -> None:
        """Make a silent mouth.

        Args:
            synthesiser: The voice; none: words are only read, and take no time.
            settings: How fast it speaks, and how much of it may be missed.
            sinks: Where the sound goes, each piece to all of them.
        """
        #: The words are on a screen too: what was not spoken has been read.
        self.is_shown = False
        self._synthesiser = synthesiser
        self._settings = settings
        self._sinks = list(sinks)
        self._is_counted = not sinks  # nothing to be heard with, and so nothing to fail
        self._lost: list[tuple[Sink, str]] = []  # devices that failed, with their names
        self._retry_s = 0.0  # when they are tried again
        self._is_voiceless = False  # the voice failed
        self._pieces: deque[_Piece] = deque()  # the first one has begun
        self._start_s = 0.0  # of the first piece
        self._is_heard = True  # the first piece
        self._faults: deque[str] = deque()
        # begin, end if it was not cut, words
        self._said: deque[tuple[float, float, str]] = deque(maxlen=_REMEMBERED)

    @property
    def next_end_s(self) -> float | None:
        """When what is being said ends; None if nothing is."""
        return self._end_s if self._pieces else None

    def say(
        self,
        words: str,
        *,
        slower: bool,
        now_s: float,
        earcon: Earcon | None = None,
        tone: Earcon | None = None,
    ) -> None:
        """Say words after what is being said.

        Args:
            words: What to say.
            slower: At the slower rate.
            now_s: The time, seconds since the run began.
            earcon: The sound before them, where the person wants sounds.
            tone: The sound after them, likewise.
        """
        samples = self._samples(words, slower=slower)
        if samples is not None and earcon is not None and self._settings.earcons:
            samples = np.concatenate((sound_of(earcon), samples))
        if samples is not None and tone is not None and self._settings.earcons:
            samples = np.concatenate((samples, sound_of(tone)))
        if samples is not None and self._settings.volume != 1.0:
            samples = np.rint(samples * self._settings.volume).astype(np.int16)
        is_lost = samples is None and self._is_lost
        piece = _Piece(words=words, samples=samples, said_s=now_s, is_lost=is_lost)
        self._pieces.append(piece)
        if len(self._pieces) == 1:
            self._begin(now_s)

    def stop(self, now_s: float) -> tuple[Spoken, ...]:
        """Be quiet: cut what is being said and drop what would have followed.

        Returns:
            One event for each piece. Completed are those that had ended by now, and the
            one being said if no more of it was left than ``VoiceSettings.tail_s``; not
            those that had not begun.
        """
        spoken: list[Spoken] = []
        while (ended := self.take_ended(now_s)) is not None:
            spoken.append(ended)
        if self._pieces:
            nearly = self._is_heard and self._start_s < now_s
            nearly = nearly and self._end_s - now_s <= self._settings.tail_s + _ROUNDING_S
            spoken += (
                Spoken(
                    at_s=now_s,
                    words=piece.words,
                    completed=nearly and number == 0,
                    begun=self.is_shown or (number == 0 and self._start_s < now_s),
                )
                for number, piece in enumerate(self._pieces)
            )
            self._pieces.clear()
        if spoken and self._said:
            start_s, end_s, words = self._said[-1]
            self._said[-1] = (start_s, min(end_s, now_s), words)
        for sink in self._sinks if spoken else ():
            sink.cut(now_s)
        return tuple(spoken)

    def said_between(self, from_s: float, to_s: float) -> str:
        """Give the words of all pieces that sounded in a time, of the last eight."""
        return " ".join(
            words for start_s, end_s, words in self._said if start_s < to_s and end_s > from_s
        )

    def take_ended(self, now_s: float) -> Spoken | None:
        """Give the first piece that has ended and not been given yet, or none."""
        end_s = self.next_end_s
        if end_s is None or end_s > now_s:
            return None
        if self._is_heard and self._pieces[0].samples is not None:
            self._is_heard = self._try_sinks(lambda sink: sink.verify(), now_s)
        spoken = Spoken(at_s=now_s, words=self._pieces.popleft().words, completed=self._is_heard)
        if self._pieces:
            self._begin(end_s)
        return spoken

    def take_fault(self) -> str | None:
        """Give the name of a voice or device that failed, once, or none."""
        return self._faults.popleft() if self._faults else None

    def take_returned(self, now_s: float) -> str | None:
        """Give the name of a device that can be spoken with again, once, or none.

        Args:
            now_s: The time, seconds since the run began; a device is not tried at each call.
        """
        if not self._lost or now_s < self._retry_s:
            return None
        self._retry_s = now_s + _RETRY_S
        for one in self._lost:
            sink, device = one
            if sink.reopen():
                self._lost.remove(one)
                self._sinks.append(sink)
                return device
        return None

    @property
    def _has_device(self) -> bool:
        return bool(self._sinks) or self._is_counted

    @property
    def _is_lost(self) -> bool:
        return self._is_voiceless or not self._has_device

    @property
    def _end_s(self) -> float:
        return self._start_s + (self._pieces[0].length_s if self._is_heard else 0.0)

    def _samples(self, words: str, *, slower: bool) -> Samples | None:
        if self._synthesiser is None or self._is_lost:
            return None
        try:
            return self._synthesiser.synthesise(words, rate_of(self._settings, slower=slower))
        except SynthesisError:
            self._synthesiser = None
            self._is_voiceless = True
            self._faults.append("voice")
            return None

    def _begin(self, from_s: float) -> None:
        piece = self._pieces[0]
        self._start_s = max(from_s, piece.said_s)
        self._is_heard = self._play(piece)
        self._said.append((self._start_s, self._start_s + piece.length_s, piece.words))

    def _play(self, piece: _Piece) -> bool:
        """Give the sound to every sink; tell whether anybody could hear it."""
        samples = piece.samples
        if samples is None:
            return not piece.is_lost
        return self._try_sinks(lambda sink: sink.play(self._start_s, samples), self._start_s)

    def _try_sinks(self, use: Callable[[Sink], None], now_s: float) -> bool:
        """Use every device; tell whether one is left."""
        for sink in tuple(self._sinks):
            try:
                use(sink)
            except AudioDeviceError as error:
                self._sinks.remove(sink)
                self._lost.append((sink, error.device))
                self._retry_s = now_s + _RETRY_S
                self._faults.append(error.device)
        return self._has_device
