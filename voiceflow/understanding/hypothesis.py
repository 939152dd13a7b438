"""What an engine believes was said. The engines import this, never the reverse."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class WordHypothesis:
    """One word of a hypothesis.

    Attributes:
        word: As the grammar has it.
        start_s: Start, in seconds on the audio clock.
        end_s: End, in seconds on the audio clock.
        score: The engine's own measure of this word; None where it has none. What
            it means is the engine's affair: see its module.
    """

    word: str
    start_s: float
    end_s: float
    score: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Hypothesis:
    """What an engine believes was said in one utterance.

    Attributes:
        engine: Name of the engine ("pocketsphinx").
        words: The best word sequence; empty if nothing was recognised.
        confidence: 0 to 1, how much the sound supports the words.
        start_s: Start of speech, in seconds on the audio clock.
        end_s: End of speech, in seconds on the audio clock.
        timed_words: The same words with times, where the engine gives them.
        alternatives: Further word sequences, best first.
        decode_s: Processor seconds spent on decoding; not part of the record's meaning.
    """

    engine: str
    words: tuple[str, ...]
    confidence: float
    start_s: float
    end_s: float
    timed_words: tuple[WordHypothesis, ...] = ()
    alternatives: tuple[tuple[str, ...], ...] = ()
    decode_s: float = 0.0

    @property
    def text(self) -> str:
        """The words in one line."""
        return " ".join(self.words)
