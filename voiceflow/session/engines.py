"""Which engine listens: chosen before a run, loaded when it first has to listen.

So the first words are spoken while the model is still on the disk.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from voiceflow.audio.frames import Frame
from voiceflow.errors import ModelNotFoundError, UsageError
from voiceflow.grammar.item_grammar import ItemGrammar
from voiceflow.phraseology.language import Language
from voiceflow.recognition.recogniser import Recogniser
from voiceflow.understanding.hypothesis import Hypothesis

AUTO: Final = "auto"
VOSK: Final = "vosk"
POCKETSPHINX: Final = "pocketsphinx"
ENGINES: Final = (AUTO, VOSK, POCKETSPHINX)


@dataclass(frozen=True, slots=True, kw_only=True)
class Engine:
    """An engine that can listen here.

    Attributes:
        name: As on the command line; never "auto".
        sentence: Which engine it is and why, for people.
        load: Makes the recogniser.
    """

    name: str
    sentence: str
    load: Callable[[], Recogniser]


def choose_engine(
    language: Language, name: str, model: Path | None, profile: str | None = None
) -> Engine:
    """Choose an engine for a language.

    Args:
        language: The pack of the check's language.
        name: "vosk", "pocketsphinx", or "auto": Vosk if there is a model for the
            language, else PocketSphinx.
        model: Folder of a Vosk model; none: the usual places are searched.
        profile: Name of the speaker's profile (``voiceflow mic --sound-check``), which
            PocketSphinx takes; none: the engine hears everybody alike.

    Raises:
        UsageError: If there is no such engine or profile, or a model or a profile is
            given to one that takes none.
        ModelNotFoundError: If there is no model, and no engine that does without.
    """
    if profile is not None:
        return _adapted(language, name, model, profile)
    match name:
        case "vosk":
            return _vosk(language, model)
        case "pocketsphinx":
            if model is not None:
                what = "PocketSphinx brings its own model and takes no other"
                raise UsageError(what, "Leave --model out, or choose --engine vosk.")
            return _pocketsphinx(language, "Listening with PocketSphinx, as asked.")
        case "auto" if model is not None:
            return _vosk(language, model)
        case "auto":
            return _best(language)
        case _:
            what = f"no engine named {name!r}"
            raise UsageError(what, f"Choose one of {', '.join(ENGINES)}.")


def make_recogniser(language: Language, name: str, model: Path | None = None) -> Recogniser:
    """Choose an engine and load it.

    Raises:
        UsageError, ModelNotFoundError: As ``choose_engine``.
        EngineError: If it cannot be loaded.
    """
    return choose_engine(language, name, model).load()


def _best(language: Language) -> Engine:
    try:
        return _vosk(language, None)
    except ModelNotFoundError as missing:
        from voiceflow.recognition.engines.pocketsphinx import can_hear

        if not can_hear(language):
            raise
        where = ", ".join(missing.where)
        return _pocketsphinx(
            language,
            f"Listening with PocketSphinx: no Vosk model for language {language.code!r} "
            f"was found in {where}.",
        )


def _vosk(language: Language, model: Path | None) -> Engine:
    from voiceflow.recognition.models import find_vosk_model

    folder = find_vosk_model(language, model)

    def load() -> Recogniser:
        from voiceflow.recognition.engines.vosk import VoskRecogniser

        return VoskRecogniser(language, folder)

    return Engine(name=VOSK, sentence=f"Listening with Vosk and the model in {folder}.", load=load)


def _adapted(language: Language, name: str, model: Path | None, profile: str) -> Engine:
    if name == VOSK or model is not None:
        what = "Vosk takes no profile of a speaker"
        raise UsageError(what, "Leave --profile out, or choose --engine pocketsphinx.")
    from voiceflow.recognition.profile import find_profile
    from voiceflow.recognition.sound_check import bundled_digest

    found = find_profile(profile, bundled_digest())

    def load() -> Recogniser:
        from voiceflow.recognition.second_opinion import recogniser_for

        return recogniser_for(found, language)

    sentence = f"Listening with PocketSphinx and the profile {profile}."
    return Engine(name=POCKETSPHINX, sentence=sentence, load=load)


def _pocketsphinx(language: Language, sentence: str) -> Engine:
    def load() -> Recogniser:
        from voiceflow.recognition.two_front_ends import TwoFrontEnds

        return TwoFrontEnds(language)

    return Engine(name=POCKETSPHINX, sentence=sentence, load=load)


class LateRecogniser:
    """A recogniser that is loaded when it first has to do something."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._loaded: Recogniser | None = None

    @property
    def name(self) -> str:
        """Name of the engine."""
        return self._engine.name

    @property
    def _recogniser(self) -> Recogniser:
        if self._loaded is None:
            self._loaded = self._engine.load()
        return self._loaded

    def listen(self, grammar: ItemGrammar) -> None:
        """Switch to the grammar of an item."""
        self._recogniser.listen(grammar)

    def feed(self, frame: Frame) -> None:
        """Take one frame of an utterance."""
        self._recogniser.feed(frame)

    def hear_silence(self, frame: Frame) -> None:
        """Take one frame in which nobody speaks; the model is loaded for it."""
        self._recogniser.hear_silence(frame)

    def partial(self) -> tuple[str, ...]:
        """Give the words so far."""
        return self._recogniser.partial()

    def finish(self) -> Hypothesis:
        """End the utterance."""
        return self._recogniser.finish()

    def unheard_words(self, grammar: ItemGrammar) -> frozenset[str]:
        """Give the words that the engine has no way to hear."""
        return self._recogniser.unheard_words(grammar)

    def close(self) -> None:
        """Let go of the model, if it was loaded."""
        if self._loaded is not None:
            self._loaded.close()
