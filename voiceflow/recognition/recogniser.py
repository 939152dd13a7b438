"""What a recogniser is: frames of one utterance in, a hypothesis out."""

from typing import Final, Protocol

from voiceflow.audio.frames import Frame
from voiceflow.grammar.item_grammar import ItemGrammar
from voiceflow.understanding.hypothesis import Hypothesis


class Vocabulary(Protocol):
    """Something made of words: a grammar, or what will be one."""

    @property
    def vocabulary(self) -> frozenset[str]:
        """Every word in it."""
        ...


#: In place of the name of a speaker's profile: none.
NO_PROFILE: Final = "none"


class Recogniser(Protocol):
    """An engine. The same suite in tests/contracts runs on every maker.

    The order of calls is ``listen``, then for each utterance ``hear_silence`` for what
    comes before it, ``feed`` any number of times, and ``finish``. ``listen`` during an utterance drops that utterance.
    """

    @property
    def name(self) -> str:
        """Name of the engine, as on the command line."""
        ...

    def listen(self, grammar: ItemGrammar) -> None:
        """Switch to the grammar of an item.

        Phrases with a word that the engine has no way to hear are left out.

        Raises:
            EngineError: If the item cannot be answered with what is left.
        """
        ...

    def feed(self, frame: Frame) -> None:
        """Take one frame of an utterance; the first one begins it."""
        ...

    def hear_silence(self, frame: Frame) -> None:
        """Take one frame in which nobody speaks, between utterances, also before ``listen``.

        An engine may learn from it what the noise is like. It changes no utterance
        that is over.
        """
        ...

    def partial(self) -> tuple[str, ...]:
        """Give the words so far; may change with the next frame."""
        ...

    def agrees(self) -> bool:
        """Tell whether all that listens gives the same words so far; true if one listens."""
        ...

    def finish(self) -> Hypothesis:
        """End the utterance and give the final hypothesis.

        Without a frame fed since the last ``finish`` the hypothesis has no words
        and confidence 0.
        """
        ...

    def unheard_words(self, grammar: Vocabulary) -> frozenset[str]:
        """Give the words of a grammar that this engine has no way to hear."""
        ...

    def close(self) -> None:
        """Let go of the model; may be called twice."""
        ...


class Transcriber(Protocol):
    """Writes down what is said, whatever it is: no grammar, any word of its model.

    What it writes answers nothing; it stands beside the sound it was heard in.
    """

    @property
    def name(self) -> str:
        """Name of the engine, as on the command line."""
        ...

    def feed(self, frame: Frame) -> None:
        """Take one frame; the first one begins an utterance."""
        ...

    def finish(self) -> str:
        """End the utterance and give its words; empty if none were heard."""
        ...
