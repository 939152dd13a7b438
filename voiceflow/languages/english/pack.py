"""The English pack, put together."""

from voiceflow.languages.english.commands import COMMANDS, EMPTY_RESPONSES, HESITATIONS
from voiceflow.languages.english.lexicon import phones, pronunciations
from voiceflow.languages.english.numbers import read_number, spoken_forms
from voiceflow.languages.english.other_wordings import full_wording, terse_wording
from voiceflow.languages.english.phones import phone_distance
from voiceflow.languages.english.tokens import tokenise
from voiceflow.languages.english.units import UNIT_WORDS, read_unit
from voiceflow.languages.english.wording import wording
from voiceflow.phraseology.language import Language

LANGUAGE = Language(
    code="en",
    tokenise=tokenise,
    spoken_forms=spoken_forms,
    read_number=read_number,
    unit_words=UNIT_WORDS,
    read_unit=read_unit,
    commands=COMMANDS,
    hesitations=HESITATIONS,
    empty_responses=EMPTY_RESPONSES,
    wording=wording,
    full_wording=full_wording,
    terse_wording=terse_wording,
    pronunciations=pronunciations(),
    phones=phones,
    phone_distance=phone_distance,
    voice_id="gmw/en-us",
    model_tags=("en-us", "en-gb", "en-in", "en"),
    voice_ids=("gmw/en-us", "gmw/en", "gmw/en-gb-scotland"),
)
