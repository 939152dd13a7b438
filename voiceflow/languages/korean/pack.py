"""The Korean pack, put together."""

from types import MappingProxyType

from voiceflow.languages.korean.commands import COMMANDS, EMPTY_RESPONSES, HESITATIONS
from voiceflow.languages.korean.numbers import read_number, spoken_forms
from voiceflow.languages.korean.other_wordings import full_wording, terse_wording
from voiceflow.languages.korean.phones import phone_distance, phones
from voiceflow.languages.korean.tokens import tokenise
from voiceflow.languages.korean.units import UNIT_WORDS, read_unit
from voiceflow.languages.korean.wording import wording
from voiceflow.phraseology.language import Language

LANGUAGE = Language(
    code="ko",
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
    # only engines that bring their own pronunciations hear Korean
    pronunciations=MappingProxyType({}),
    phones=phones,
    phone_distance=phone_distance,
    voice_id="ko",
    model_tags=("ko",),
)
