"""What an engine believes was said. The engines import this, never the reverse."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Hypothesis:
    """What an engine believes was said in one utterance.

    Attributes:
        engine: Name of the engine ("pocketsphinx").
        words: The best word sequence; empty if nothing was recognised.
        confidence: 0 to 1, how much the sound supports the words.
        start_s: Start of speech, in seconds on the audio clock.
        end_s: End of speech, in seconds on the audio clock.
        decode_s: Processor seconds spent on decoding; not part of the record's meaning.
    """

    engine: str
    words: tuple[str, ...]
    confidence: float
    start_s: float
    end_s: float
    decode_s: float = 0.0

    @property
    def text(self) -> str:
        """The words in one line."""
        return " ".join(self.words)
