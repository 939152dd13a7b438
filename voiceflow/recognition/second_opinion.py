"""Two recognisers that hear the same sound: what they disagree about is asked.

The first gives the words. Where the second understands something else, or either is
not very sure of a reading, the confidence is brought down so far that the words are put as a question
instead of being taken; nothing is picked from the second.
"""

from dataclasses import replace
from typing import Final

from voiceflow.audio.frames import Frame
from voiceflow.grammar.item_grammar import ItemGrammar
from voiceflow.grammar.meaning import Reading
from voiceflow.phraseology.language import Language
from voiceflow.recognition.engines.pocketsphinx import PocketSphinxRecogniser, bundled_model
from voiceflow.recognition.profile import SpeakerProfile
from voiceflow.recognition.recogniser import Recogniser, Vocabulary
from voiceflow.settings import PolicySettings
from voiceflow.understanding.hypothesis import Hypothesis
from voiceflow.understanding.interpret import interpret

#: Of a reading, both must be as sure as this: a wrong one is a wrong number in a record, and
#: a response is seldom that sure, because the sound check is of digits. Three people's
#: spliced digits, 300 strings of development recordings: of 275 heard right, 258 are taken
#: without a question, of 25 heard wrong 4 are. At 0.95 these are 269 and 7, at 0 they are
#: 274 and 12.
SURE: Final = 0.97


class SecondOpinionRecogniser:
    """Hears as its first recogniser does, and doubts what the second does not hear too."""

    def __init__(
        self, first: Recogniser, second: Recogniser, policy: PolicySettings | None = None
    ) -> None:
        """Bring two recognisers together.

        Args:
            first: Gives the words.
            second: Agrees or does not.
            policy: Its thresholds for accepting and for asking to confirm; the usual if none.
        """
        policy = policy or PolicySettings()
        self._first = first
        self._second = second
        self._doubtful = (policy.confirm + policy.accept) / 2
        self._grammar: ItemGrammar | None = None

    @property
    def name(self) -> str:
        """Name of the first one."""
        return self._first.name

    def listen(self, grammar: ItemGrammar) -> None:
        """Switch both to the grammar of an item."""
        self._grammar = grammar
        self._first.listen(grammar)
        self._second.listen(grammar)

    def feed(self, frame: Frame) -> None:
        """Give both a frame."""
        self._first.feed(frame)
        self._second.feed(frame)

    def hear_silence(self, frame: Frame) -> None:
        """Give both a frame in which nobody speaks."""
        self._first.hear_silence(frame)
        self._second.hear_silence(frame)

    def partial(self) -> tuple[str, ...]:
        """Give the words so far, by the first."""
        return self._first.partial()

    def finish(self) -> Hypothesis:
        """Give the first one's hypothesis, in doubt if the second understood another."""
        said, other = self._first.finish(), self._second.finish()
        confidence = said.confidence
        if self._grammar is not None and said.words:
            language = self._grammar.language
            # both have heard the same sound, so each may veto
            surest = min(said.confidence, other.confidence)
            meanings = [interpret(one, self._grammar, language) for one in (said, other)]
            is_reading = isinstance(meanings[0], Reading)
            if meanings[0] != meanings[1] or (is_reading and surest < SURE):
                confidence = min(confidence, self._doubtful)
        return replace(said, confidence=confidence, decode_s=said.decode_s + other.decode_s)

    def unheard_words(self, grammar: Vocabulary) -> frozenset[str]:
        """Give the words that either cannot hear."""
        return self._first.unheard_words(grammar) | self._second.unheard_words(grammar)

    def close(self) -> None:
        """Close both."""
        self._first.close()
        self._second.close()


def recogniser_for(profile: SpeakerProfile, language: Language) -> SecondOpinionRecogniser:
    """Load PocketSphinx for a speaker: with the noise taken off, and, to agree, left in."""
    base = bundled_model()
    return SecondOpinionRecogniser(
        PocketSphinxRecogniser(language, adapted=profile.suppressed.model(base)),
        PocketSphinxRecogniser(language, adapted=profile.plain.model(base), suppress_noise=False),
    )
