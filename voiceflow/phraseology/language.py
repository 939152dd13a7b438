"""What a language must bring: one pack, and nothing outside it knows which language runs."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from voiceflow.numbers.scale import Scale
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.prompts import Prompt
from voiceflow.settings import Wording

Words = tuple[str, ...]
Pronunciation = tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Language:
    """A language pack.

    Attributes:
        code: BCP 47 code ("en").
        tokenise: Text to lower-case words as the grammar has them, punctuation
            dropped, figures kept ("Both removed." -> ("both", "removed")).
        spoken_forms: Every way people say a value of a scale, without unit, each a
            word sequence; the first is the form the readback uses. Never empty
            for a value on the scale.
        read_number: The readback of a value of a scale, as text for the voice.
        unit_words: Unit symbol -> ways to say it in an answer ("psi" ->
            ("psi", "p s i", "pounds")); a unit that is missing has no spoken form.
        read_unit: Unit symbol -> text for the voice.
        commands: Every command -> phrases that say it, first the one we teach.
        hesitations: Words that people put before an answer and that mean nothing.
        empty_responses: Phrases that sound like an answer and state no setting
            ("set", "checked", "as required").
        wording: A prompt -> the words to say.
        full_wording: ... in whole sentences; None: as ``wording``.
        terse_wording: ... in as few words as will do: never without a value, a verdict
            that is not within limits, a question, or what is to be done; None: as
            ``wording``.
        pronunciations: Words that an engine's own dictionary may lack, or says
            differently -> pronunciations in the engine's phone set.
        phones: One word -> phone sequences for comparing how words sound; empty
            if the pack cannot tell.
        phone_distance: How unlike two phones sound, 0 the same to 1 nothing alike.
        voice_id: The synthesiser's voice for this language.
        model_tags: How Vosk model folders for this language are tagged, best first
            ("en-us" as in vosk-model-small-en-us-0.15).
        voice_ids: Voices of different accents, for trying how a check is heard; empty:
            only ``voice_id``.
    """

    code: str
    tokenise: Callable[[str], Words]
    spoken_forms: Callable[[Decimal, Scale], tuple[Words, ...]]
    read_number: Callable[[Decimal, Scale], str]
    unit_words: Mapping[str, tuple[str, ...]]
    read_unit: Callable[[str], str]
    commands: Mapping[CommandName, tuple[str, ...]]
    hesitations: tuple[str, ...]
    empty_responses: tuple[str, ...]
    wording: Callable[[Prompt], str]
    pronunciations: Mapping[str, tuple[Pronunciation, ...]]
    phones: Callable[[str], tuple[Pronunciation, ...]]
    phone_distance: Callable[[str, str], float]
    voice_id: str
    model_tags: tuple[str, ...]
    voice_ids: tuple[str, ...] = ()
    full_wording: Callable[[Prompt], str] | None = None
    terse_wording: Callable[[Prompt], str] | None = None


def worded(language: Language, wording: Wording) -> Language:
    """Give a language that speaks at a length: ``wording`` is then that one."""
    other = {Wording.FULL: language.full_wording, Wording.TERSE: language.terse_wording}
    chosen = other.get(wording)
    return language if chosen is None else replace(language, wording=chosen)
