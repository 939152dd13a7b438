"""Which engine listens, and whether it can hear a whole check: known before a run begins."""

import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from voiceflow.checks.model import Check
from voiceflow.dialogue.events import ProfileUsed
from voiceflow.errors import EngineError, ModelNotFoundError, UsageError
from voiceflow.grammar.hearable import item_words
from voiceflow.phraseology.language import Language
from voiceflow.recognition.recogniser import NO_PROFILE, Recogniser, Transcriber

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
        profile: The speaker profile that it listens with, if one.
    """

    name: str
    sentence: str
    load: Callable[[], Recogniser]
    profile: ProfileUsed | None = None


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
            PocketSphinx takes; None or "none": the engine hears everybody alike.

    Raises:
        UsageError: If there is no such engine or profile, or a model or a profile is
            given to one that takes none.
        ModelNotFoundError: If there is no model, and no engine that does without.
        EngineError: If the engine asked for cannot hear the language at all.
    """
    if profile not in (None, NO_PROFILE):
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


def from_home(place: str) -> str:
    """Write a place as people do: with ~ for the home folder that it is in."""
    home = str(Path.home())
    return f"~{place[len(home) :]}" if place.startswith(home + os.sep) else place


def make_recogniser(language: Language, name: str, model: Path | None = None) -> Recogniser:
    """Choose an engine and load it.

    Raises:
        UsageError, ModelNotFoundError, EngineError: As ``choose_engine``, or if it
            cannot be loaded.
    """
    return choose_engine(language, name, model).load()


def transcriber_of(recogniser: Recogniser) -> Transcriber | None:
    """Give what writes down any words, where the engine that listens can.

    Returns:
        None if it hears grammars only: a note is then kept as sound alone.
    """
    if recogniser.name != VOSK:
        return None
    from voiceflow.recognition.engines.vosk import VoskRecogniser

    return recogniser.transcriber() if isinstance(recogniser, VoskRecogniser) else None


def _best(language: Language) -> Engine:
    try:
        return _vosk(language, None)
    except ModelNotFoundError as missing:
        from voiceflow.recognition.engines.pocketsphinx import can_hear

        if not can_hear(language):
            raise
        where = ", ".join(from_home(place) for place in missing.where)
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

    where = from_home(str(folder))
    return Engine(name=VOSK, sentence=f"Listening with Vosk and the model in {where}.", load=load)


def _adapted(language: Language, name: str, model: Path | None, profile: str) -> Engine:
    if name == VOSK or model is not None:
        what = "Vosk takes no profile of a speaker"
        raise UsageError(what, "Leave --profile out, or choose --engine pocketsphinx.")
    from voiceflow.recognition.engines.pocketsphinx import bundled_digest, refuse_unheard
    from voiceflow.recognition.profile import find_profile, recogniser_for

    refuse_unheard(language)
    found = find_profile(profile, bundled_digest())
    return Engine(
        name=POCKETSPHINX,
        sentence=f"Listening with PocketSphinx and the profile {profile}.",
        load=lambda: recogniser_for(found, language),
        profile=ProfileUsed(name=profile, digest=found.digest),
    )


def _pocketsphinx(language: Language, sentence: str) -> Engine:
    from voiceflow.recognition.engines.pocketsphinx import refuse_unheard

    refuse_unheard(language)

    def load() -> Recogniser:
        from voiceflow.recognition.two_front_ends import TwoFrontEnds

        return TwoFrontEnds(language)

    return Engine(name=POCKETSPHINX, sentence=sentence, load=load)


@dataclass(frozen=True, slots=True, kw_only=True)
class Deafness:
    """What of a check an engine cannot hear, although every item can be answered.

    Attributes:
        words: Words that it has no way to hear, sorted.
        items: The items in whose phrases they stand, in the check's order.
        commands: Commands that cannot be given in any way.
    """

    words: tuple[str, ...]
    items: tuple[str, ...]
    commands: tuple[str, ...]


def deafness(recogniser: Recogniser, check: Check, language: Language) -> Deafness | None:
    """Look at the words of every item; no grammar is compiled for it.

    Returns:
        What it costs, or None if every word can be heard.

    Raises:
        EngineError: If a response of an item can be said in no way that it hears.
    """
    words: dict[str, None] = {}
    items: list[str] = []
    commands: dict[str, None] = {}
    for item in check.items:
        of_item = item_words(item, language)
        unheard = recogniser.unheard_words(of_item)
        if not unheard:
            continue
        lost = of_item.lost_responses(unheard)
        if lost:
            what = (
                f"item {item.id}: it has no way to hear {', '.join(sorted(unheard))}, and so "
                f"cannot hear {', '.join(map(repr, lost))}"
            )
            remedy = "Say it in other words in the check file, or use a model that knows the words"
            raise EngineError(recogniser.name, what, remedy)
        words |= dict.fromkeys(unheard)
        items.append(item.id)
        commands |= dict.fromkeys(of_item.lost_commands(unheard))
    if not words:
        return None
    return Deafness(words=tuple(sorted(words)), items=tuple(items), commands=tuple(commands))
