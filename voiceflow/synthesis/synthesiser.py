"""What a synthesiser is: words in, samples out."""

from typing import Protocol

from voiceflow.audio.frames import Samples


class Synthesiser(Protocol):
    """A voice. The same suite in tests/contracts runs on every maker."""

    def synthesise(self, words: str, rate_wpm: int) -> Samples:
        """Speak into memory.

        Args:
            words: What to say, in the language the voice was made for.
            rate_wpm: Words a minute.

        Returns:
            int16 mono samples at 16 kHz, silence at both ends trimmed to at most 50 ms.

        Raises:
            SynthesisError: If the voice cannot speak.
        """
        ...
