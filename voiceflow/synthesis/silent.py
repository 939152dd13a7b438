"""A voice that says nothing, for runs without sound."""

from typing import Final

import numpy as np

from voiceflow.audio.frames import RATE_HZ, Samples

_SECONDS_A_MINUTE: Final = 60


class SilentSynthesiser:
    """Silence for as long as the words would take, so that a run keeps its times."""

    def synthesise(self, words: str, rate_wpm: int) -> Samples:
        """Give silence of the length of the words.

        Args:
            words: What would be said.
            rate_wpm: Words a minute.

        Returns:
            int16 zeros; none for no words.
        """
        count = len(words.split())
        return np.zeros(round(count / rate_wpm * _SECONDS_A_MINUTE * RATE_HZ), dtype=np.int16)
