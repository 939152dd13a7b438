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

    def synthesise(self, words: str, rate_wpm: int) -> Samples:
        """Speak into memory; the samples are shared and must not be changed.

        Raises:
            SynthesisError: If the voice cannot speak; nothing is remembered then.
        """
        key = (words, rate_wpm)
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
        samples = self._inner.synthesise(words, rate_wpm)
        samples.flags.writeable = False
        with self._lock:
            if key not in self._kept:
                self._kept[key] = samples
                self._size += len(samples)
            while self._size > self._capacity and len(self._kept) > 1:
                _, oldest = self._kept.popitem(last=False)
                self._size -= len(oldest)
        return samples
