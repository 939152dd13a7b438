"""What every pack must hold, whichever language it is."""

import itertools
import re
from typing import get_args

import pytest

from tests.builders import make_scale
from tests.languages.prompt_samples import COVERS, OXYGEN, SAMPLES, finding, psi
from voiceflow.checks.model import Limit
from voiceflow.errors import LanguageError
from voiceflow.languages.registry import known_languages, language
from voiceflow.limits.judge import Verdict
from voiceflow.phraseology import prompts
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.language import Language
from voiceflow.phraseology.prompts import Prompt, Rung

PACKS = [language(code) for code in known_languages()]
each_pack = pytest.mark.parametrize("pack", PACKS, ids=lambda pack: pack.code)
each_sample = pytest.mark.parametrize(
    "prompt", SAMPLES, ids=[f"{number}-{prompt.kind}" for number, prompt in enumerate(SAMPLES)]
)


def test_registry_gives_the_same_pack_each_time() -> None:
    assert known_languages() == ("en", "ko")
    assert language("en") is language("en")
    assert language("ko").code == "ko"


@pytest.mark.parametrize("code", ["de", "", "EN", "en-US"])
def test_unknown_language_names_those_there_are(code: str) -> None:
    with pytest.raises(LanguageError) as caught:
        language(code)
    assert caught.value.code == code
    assert caught.value.known == ("en", "ko")


def test_the_samples_hold_every_prompt_of_the_union() -> None:
    assert {type(prompt) for prompt in SAMPLES} == set(get_args(Prompt))


@each_pack
@each_sample
def test_every_prompt_has_words(pack: Language, prompt: Prompt) -> None:
    words = pack.wording(prompt)
    assert words.strip() == words
    assert re.search(r"\w", words)
    assert not re.search(r"\d", words), "figures are words"
    assert "  " not in words
    assert words[-1] in ".?!"
    assert ".." not in words
    assert not re.search(r"\s[.,:?!]", words)


def _teaches(prompt: Prompt) -> bool:
    """Tell whether a prompt puts command words into the person's mouth, or quotes theirs."""
    match prompt:
        case (
            prompts.WhatCanBeSaid()
            | prompts.NotHere()
            | prompts.HoldingAt()
            | prompts.OfferToGoBack()
            | prompts.NextCheck()
        ):
            return True
        case prompts.ConfirmReading() | prompts.ConfirmResponse() | prompts.ConfirmSignOff():
            return prompt.attempt > 0
        case prompts.AskAgain():
            return prompt.rung is Rung.WAY_OUT
        case _:
            return False


@each_pack
@each_sample
def test_no_command_comes_out_of_the_tools_own_mouth(pack: Language, prompt: Prompt) -> None:
    if _teaches(prompt):
        return
    said = f" {' '.join(pack.tokenise(pack.wording(prompt)))} "
    for phrase in itertools.chain.from_iterable(pack.commands.values()):
        assert f" {' '.join(pack.tokenise(phrase))} " not in said, phrase


@each_pack
def test_a_prompt_that_teaches_does_hold_commands(pack: Language) -> None:
    """The check above can fail: these prompts would."""
    said = pack.wording(prompts.WhatCanBeSaid(responses=(), example=None))
    assert pack.commands[CommandName.STAND_BY][0] in said
    assert pack.commands[CommandName.ABANDON][0] in said


@each_pack
@pytest.mark.parametrize("wants_number", [True, False])
@pytest.mark.parametrize("choices", [(), ("removed", "fitted")])
@pytest.mark.parametrize("suggestion", [None, "removed"])
@pytest.mark.parametrize("heard", [0, 1, 2])
def test_no_two_attempts_ask_in_the_same_words(
    pack: Language,
    wants_number: bool,
    choices: tuple[str, ...],
    suggestion: str | None,
    heard: int,
) -> None:
    rungs = list(Rung)
    if not heard:
        rungs.remove(Rung.ALTERNATIVES)
    asked = [
        pack.wording(
            prompts.AskAgain(
                attempt=attempt,
                challenge=OXYGEN,
                rung=rungs[min(attempt, len(rungs)) - 1],
                choices=choices,
                wants_number=wants_number,
                suggestion=suggestion,
                values=(psi(1650), psi(1690))[:heard],
            )
        )
        for attempt in range(1, 31)
    ]
    assert len(set(asked)) == len(asked)


@each_pack
def test_no_two_confirmations_ask_in_the_same_words(pack: Language) -> None:
    readings = [
        pack.wording(
            prompts.ConfirmReading(
                challenge="Crew oxygen",
                taken=psi(900),
                verdict=Verdict.WITHIN,
                limit=Limit(),
                attempt=attempt,
            )
        )
        for attempt in range(20)
    ]
    responses = [
        pack.wording(prompts.ConfirmResponse(challenge=COVERS, phrase="removed", attempt=attempt))
        for attempt in range(20)
    ]
    nudges = [
        pack.wording(prompts.StillThere(challenge=COVERS, attempt=attempt))
        for attempt in range(1, 20)
    ]
    which = [
        pack.wording(prompts.WhichOne(phrases=("on", "off"), attempt=attempt))
        for attempt in range(20)
    ]
    held = [
        pack.wording(prompts.HoldingAt(challenge=COVERS, attempt=attempt)) for attempt in range(20)
    ]
    for asked in (readings, responses, nudges, which, held):
        assert len(set(asked)) == len(asked)


@each_pack
def test_the_check_files_own_words_are_said_as_they_stand(pack: Language) -> None:
    said = pack.wording(prompts.FindingRecorded(finding=finding(say="Call the duty engineer")))
    assert "Call the duty engineer" in said


@each_pack
def test_every_command_can_be_said(pack: Language) -> None:
    assert set(pack.commands) == set(CommandName)
    for name, phrases in pack.commands.items():
        assert phrases, name
        for phrase in phrases:
            assert " ".join(pack.tokenise(phrase)) == phrase, "in the grammar's own words"


@each_pack
def test_no_phrase_says_two_things(pack: Language) -> None:
    groups = [*pack.commands.values(), pack.hesitations, pack.empty_responses]
    phrases = list(itertools.chain.from_iterable(groups))
    assert len(set(phrases)) == len(phrases)


@each_pack
def test_no_command_sounds_like_another(pack: Language) -> None:
    """Where the pack knows the sounds of every word, no two commands share them."""
    heard: dict[tuple[str, ...], CommandName] = {}
    for name, phrases in pack.commands.items():
        for phrase in phrases:
            ways = [pack.phones(word) for word in pack.tokenise(phrase)]
            for chosen in itertools.product(*ways):
                sounds = tuple(itertools.chain.from_iterable(chosen))
                assert heard.setdefault(sounds, name) is name, phrase


@each_pack
def test_hesitations_are_single_words(pack: Language) -> None:
    for word in pack.hesitations:
        assert pack.tokenise(word) == (word,)


@each_pack
def test_units_are_heard_and_read(pack: Language) -> None:
    assert {"psi", "hPa", "inHg", "V", "A", "%", "C", "kg", "lb", "L", "qt", "ft", "kt", "min",
            "s", "rpm", "gal"} <= set(pack.unit_words)  # fmt: skip
    for symbol, ways in pack.unit_words.items():
        assert ways
        for way in ways:
            assert " ".join(pack.tokenise(way)) == way
        assert pack.tokenise(pack.read_unit(symbol)), symbol
    assert pack.read_unit("") == ""
    assert pack.read_unit("slug") != "", "an unknown unit is never passed over in silence"


@each_pack
def test_the_readback_is_a_form_that_is_heard(pack: Language) -> None:
    scale = make_scale("-5", "30", "0.5")
    for value in scale.values():
        forms = pack.spoken_forms(value, scale)
        assert pack.tokenise(pack.read_number(value, scale)) == forms[0]


@each_pack
def test_phone_distance_is_a_distance(pack: Language) -> None:
    sounds = sorted(
        {
            phone
            for phrase in itertools.chain.from_iterable(pack.commands.values())
            for word in pack.tokenise(phrase)
            for way in pack.phones(word)
            for phone in way
        }
    )
    assert sounds
    for a, b in itertools.product(sounds, repeat=2):
        distance = pack.phone_distance(a, b)
        assert 0 <= distance <= 1
        assert distance == pack.phone_distance(b, a)
        assert (distance == 0) == (a == b) or pack.code == "ko"
