"""The keyboard as an engine: what is typed is heard, with full confidence.

Frames carry no words here; ``type`` does.
"""

from voiceflow.audio.frames import Frame
from voiceflow.grammar.item_grammar import ItemGrammar
from voiceflow.phraseology.language import Language
from voiceflow.recognition.recogniser import Vocabulary
from voiceflow.understanding.hypothesis import Hypothesis


class TypedRecogniser:
    """Turns typed lines into hypotheses."""

    name = "typed"

    def __init__(self, language: Language) -> None:
        """Read the words of one language.

        Args:
            language: Its tokens are the words.
        """
        self._language = language
        self._words: tuple[str, ...] | None = None
        self._start_s: float | None = None
        self._end_s = 0.0

    def listen(self, grammar: ItemGrammar) -> None:
        """Begin anew; every grammar can be typed."""
        del grammar
        self._forget()

    def type(self, text: str) -> None:
        """Take a line of the keyboard; more lines before ``finish`` go on with it.

        Args:
            text: As typed; capitals and punctuation do not matter.
        """
        self._words = (self._words or ()) + self._language.tokenise(text)

    def feed(self, frame: Frame) -> None:
        """Let time pass; sound is not listened to."""
        if self._start_s is None:
            self._start_s = frame.start_s
        self._end_s = frame.end_s

    def hear_silence(self, frame: Frame) -> None:
        """Learn nothing from it."""
        del frame

    def partial(self) -> tuple[str, ...]:
        """Give the words typed so far."""
        return self._words or ()

    def agrees(self) -> bool:
        """Tell that nothing else listens."""
        return True

    def finish(self) -> Hypothesis:
        """Give what was typed, with confidence 1; nothing typed has confidence 0."""
        words = self._words or ()
        start_s = self._end_s if self._start_s is None else self._start_s
        hypothesis = Hypothesis(
            engine=self.name,
            words=words,
            confidence=1.0 if words else 0.0,
            start_s=start_s,
            end_s=self._end_s,
        )
        self._forget()
        return hypothesis

    def unheard_words(self, grammar: Vocabulary) -> frozenset[str]:
        """Give no words: every word can be typed."""
        del grammar
        return frozenset()

    def close(self) -> None:
        """Do nothing: there is nothing to let go of."""

    def _forget(self) -> None:
        self._words = None
        self._start_s = None
