"""Stand-ins for the edges, named as such: a scripted ear, a clock that is moved by hand."""

import hashlib
from collections import deque
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from voiceflow.audio.frames import FRAME_S, FRAME_SAMPLES, RATE_HZ, Frame, Samples
from voiceflow.dialogue.actions import Record, Step
from voiceflow.dialogue.events import Event
from voiceflow.grammar.item_grammar import ItemGrammar
from voiceflow.journal.header import RunHeader
from voiceflow.journal.store import Entry
from voiceflow.recognition.endpointing import SpeechEnded, SpeechStarted
from voiceflow.recognition.recogniser import Vocabulary
from voiceflow.session.lines import NoLine
from voiceflow.understanding.hypothesis import Hypothesis

#: How long the tone lasts that stands for one utterance in ``spoken``.
UTTERANCE_S = 0.6


class ScriptedRecogniser:
    """Hears what its script says, one text for each utterance, whatever the sound.

    Attributes:
        grammars: The items whose grammar was set, in order.
        fed: Frames of the utterances so far, one number for each.
    """

    name = "scripted"

    def __init__(self, script: Sequence[str | Hypothesis]) -> None:
        self._script = deque(script)
        self._fed = 0
        self.grammars: list[str] = []
        self.fed: list[int] = []
        self._start_s = 0.0
        self._end_s = 0.0

    def listen(self, grammar: ItemGrammar) -> None:
        self.grammars.append(grammar.item_id)
        self._fed = 0

    def feed(self, frame: Frame) -> None:
        if not self._fed:
            self._start_s = frame.start_s
        self._end_s = frame.end_s
        self._fed += 1

    def hear_silence(self, frame: Frame) -> None:
        del frame

    def partial(self) -> tuple[str, ...]:
        return ()

    def agrees(self) -> bool:
        """Tell that nothing else listens."""
        return True

    def finish(self) -> Hypothesis:
        self.fed.append(self._fed)
        if not self._fed or not self._script:
            return Hypothesis(engine=self.name, words=(), confidence=0.0, start_s=0.0, end_s=0.0)
        self._fed = 0
        said = self._script.popleft()
        if isinstance(said, Hypothesis):
            return said
        return Hypothesis(
            engine=self.name,
            words=tuple(said.split()),
            confidence=0.9 if said else 0.0,
            start_s=self._start_s,
            end_s=self._end_s,
        )

    def unheard_words(self, grammar: Vocabulary) -> frozenset[str]:
        return frozenset()

    def close(self) -> None:
        pass


class ScriptedTranscriber:
    """Writes down what its script says, one text for each utterance.

    Attributes:
        fed: How many frames it was given.
    """

    name = "scripted"

    def __init__(self, script: Sequence[str]) -> None:
        self._script = deque(script)
        self.fed = 0

    def feed(self, frame: Frame) -> None:
        del frame
        self.fed += 1

    def finish(self) -> str:
        return self._script.popleft() if self._script else ""


class LoudFinder:
    """Takes every frame that is not silent for speech, and 0.1 s of silence for its end.

    Attributes:
        allowed: What it was told of how long a silence may last, and after how long a silence.
        longest_s: How long it was told that an utterance may last; it ends none for that.
    """

    def __init__(self) -> None:
        self.allowed: list[tuple[float, float]] = []
        self.longest_s: float | None = None
        self._speaking = False
        self._last_loud_s = 0.0
        self._end_s = 0.0

    def feed(self, frame: Frame) -> tuple[SpeechStarted | SpeechEnded, ...]:
        self._end_s = frame.end_s
        if frame.samples.any():
            self._last_loud_s = frame.end_s
            if not self._speaking:
                self._speaking = True
                started = SpeechStarted(
                    start_s=frame.start_s, decided_s=frame.end_s, preroll=(frame,)
                )
                return (started,)
        elif self._speaking and frame.end_s - self._last_loud_s >= 0.1 - 1e-9:
            return self._ended()
        return ()

    @property
    def quiet_s(self) -> float:
        return self._end_s - self._last_loud_s if self._speaking else 0.0

    def allow(self, silence_s: float) -> None:
        self.allowed.append((round(self.quiet_s, 3), silence_s))

    def extend(self, longest_s: float) -> None:
        self.longest_s = longest_s

    def flush(self) -> tuple[SpeechStarted | SpeechEnded, ...]:
        return self._ended() if self._speaking else ()

    def _ended(self) -> tuple[SpeechEnded, ...]:
        self._speaking = False
        return (SpeechEnded(end_s=self._last_loud_s, decided_s=self._end_s),)


class BeepingSynthesiser:
    """Speaks so many seconds a word, loudly enough to be found in samples."""

    def __init__(self, seconds_a_word: float = 0.1) -> None:
        self._seconds_a_word = seconds_a_word
        self.words: list[str] = []

    def synthesise(self, words: str, rate_wpm: int) -> Samples:
        self.words.append(words)
        count = round(len(words.split()) * self._seconds_a_word * RATE_HZ)
        return np.full(count, 1000, dtype=np.int16)


class MemoryJournal:
    """A journal of one run that is forgotten with the program: no disk to wait for."""

    def __init__(self) -> None:
        self._header: RunHeader | None = None
        self._entries: list[Entry] = []
        self.sounds: dict[str, bytes] = {}

    def begin(self, header: RunHeader) -> None:
        self._header = header

    def append(self, run_id: str, event: Event, records: Sequence[Record] = ()) -> int:
        seq = len(self._entries)
        self._entries.append(Entry(seq=seq, event=event, records=tuple(records)))
        return seq

    def keep_sound(self, flac: bytes) -> str:
        digest = hashlib.sha256(flac).hexdigest()
        self.sounds[digest] = flac
        return digest

    def header(self, run_id: str) -> RunHeader:
        if self._header is None:
            raise LookupError(run_id)
        return self._header

    def events(self, run_id: str) -> tuple[Event, ...]:
        return tuple(entry.event for entry in self._entries)

    def entries(self, run_id: str) -> tuple[Entry, ...]:
        return tuple(self._entries)


class ManualClock:
    """A clock that is moved by hand, or by waiting."""

    def __init__(self, now_s: float = 0.0) -> None:
        self._now_s = now_s

    def now_s(self) -> float:
        return self._now_s

    def wait_until(self, at_s: float) -> None:
        self._now_s = max(self._now_s, at_s)

    def pass_s(self, seconds: float) -> None:
        self._now_s += seconds


class ScriptedLines:
    """Lines that come after so many seconds each, on a clock moved by hand."""

    def __init__(self, clock: ManualClock, lines: Iterable[tuple[float, str]]) -> None:
        """Take pairs of seconds since the line before, and the line."""
        self._clock = clock
        self._lines = deque(lines)
        self._waited_s = 0.0

    def next(self, timeout_s: float | None) -> str | NoLine:
        if not self._lines:
            return NoLine.ENDED
        after_s, line = self._lines[0]
        remaining_s = after_s - self._waited_s
        if timeout_s is not None and timeout_s < remaining_s:
            self._clock.pass_s(timeout_s)
            self._waited_s += timeout_s
            return NoLine.TIMED_OUT
        self._clock.pass_s(remaining_s)
        self._waited_s = 0.0
        self._lines.popleft()
        return line


class PolledLines:
    """Lines that are there from a certain look on, for loops that do not wait."""

    def __init__(self, *lines: tuple[int, str]) -> None:
        """Take pairs of the look from which a line is there, counted from 1, and the line."""
        self._lines = deque(lines)
        self.looks = 0

    def next(self, timeout_s: float | None) -> str | NoLine:
        assert timeout_s == 0, "nobody waits for a line beside a microphone"
        self.looks += 1
        if self._lines and self._lines[0][0] <= self.looks:
            return self._lines.popleft()[1]
        return NoLine.TIMED_OUT if self._lines else NoLine.ENDED


@dataclass(slots=True)
class Noted:
    """One thing that a watcher saw."""

    seq: int
    event: Event
    step: Step


class NotingWatcher:
    """Notes everything."""

    def __init__(self) -> None:
        self.run_id = ""
        self.noted: list[Noted] = []
        self.words: list[tuple[float, str]] = []
        self.remarks: list[str] = []
        self.now_s = 0.0

    def entered(self, run_id: str) -> None:
        self.run_id = run_id

    def happened(self, seq: int, event: Event, step: Step) -> None:
        self.noted.append(Noted(seq, event, step))

    def said(self, at_s: float, words: str) -> None:
        self.words.append((at_s, words))

    def told(self, remark: str) -> None:
        self.remarks.append(remark)

    def moved(self, at_s: float) -> None:
        self.now_s = at_s


def spoken(*pauses_s: float, tail_s: float = 3.0) -> Samples:
    """Make a recording of utterances for ``LoudFinder``.

    Args:
        pauses_s: Silence before each utterance, seconds.
        tail_s: Silence after the last.
    """
    pieces = []
    for pause_s in pauses_s:
        pieces.append(np.zeros(_samples(pause_s), dtype=np.int16))
        pieces.append(np.full(_samples(UTTERANCE_S), 1000, dtype=np.int16))
    pieces.append(np.zeros(_samples(tail_s), dtype=np.int16))
    return np.concatenate(pieces)


def _samples(seconds: float) -> int:
    """Give a whole number of frames, so that an utterance begins with one."""
    return round(seconds / FRAME_S) * FRAME_SAMPLES
