"""Speech made once and kept: most challenges and readbacks come again."""

from collections import OrderedDict
from threading import Lock
from typing import Final

from voiceflow.audio.frames import Samples
from voiceflow.synthesis.synthesiser import Synthesiser

#: Samples kept, 8 MB: about four minutes of speech.
CAPACITY_SAMPLES: Final = 4_000_000


class CachedSynthesiser:
    """A synthesiser that remembers; the least recently used speech goes first.

    May be used from several threads: the session makes speech ahead of need.
    """

    def __init__(self, inner: Synthesiser, capacity_samples: int = CAPACITY_SAMPLES) -> None:
        """Remember what ``inner`` makes.

        Args:
            inner: Makes the speech.
            capacity_samples: How much to keep, in samples.
        """
        self._inner = inner
        self._capacity = capacity_samples
        self._kept: OrderedDict[tuple[str, int], Samples] = OrderedDict()
        self._size = 0
        self._lock = Lock()
        self._making = Lock()

    def synthesise(self, words: str, rate_wpm: int) -> Samples:
        """Speak into memory; the samples are shared and must not be changed.

        Raises:
            SynthesisError: If the voice cannot speak; nothing is remembered then.
        """
        key = (words, rate_wpm)
        samples = self._remembered(key)
        if samples is None:
            # who wants what is just being made waits for it; what is there is given at once
            with self._making:
                samples = self._remembered(key)
                if samples is None:
                    samples = self._inner.synthesise(words, rate_wpm)
                    samples.flags.writeable = False
                    self._remember(key, samples)
        return samples

    def _remembered(self, key: tuple[str, int]) -> Samples | None:
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
            return self._kept.get(key)

    def _remember(self, key: tuple[str, int], samples: Samples) -> None:
        with self._lock:
            self._kept[key] = samples
            self._size += len(samples)
            while self._size > self._capacity and len(self._kept) > 1:
                _, oldest = self._kept.popitem(last=False)
                self._size -= len(oldest)
