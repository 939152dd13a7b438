"""Every preset of care keeps the rules; they differ only in how readily they ask."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.builders import expected, heard, make_check, make_gauge, make_item, reading, wrong
from voiceflow.dialogue.actions import Record, Say
from voiceflow.dialogue.events import Spoken, Started
from voiceflow.dialogue.machine import begin, handle
from voiceflow.dialogue.policy import Decision, decide
from voiceflow.grammar.meaning import Command, Meaning
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.prompts import ReadBack
from voiceflow.settings import POLICIES, Care, PolicySettings, Settings, settings_for

each_care = pytest.mark.parametrize("care", Care)
SURE = st.floats(0.0, 1.0)
GAUGE = make_gauge()
COVERS = make_item()


def decision(
    meaning: Meaning, confidence: float, care: Care, *, critical: bool = False
) -> Decision:
    item = (
        make_gauge(critical=critical) if meaning.kind == "reading" else make_item(critical=critical)
    )
    utterance = heard(item.id, meaning, 1.0, confidence=confidence).utterance
    return decide(utterance, item, POLICIES[care])


def test_every_care_has_its_preset_and_the_usual_one_is_the_default() -> None:
    assert set(POLICIES) == set(Care)
    assert all(policy.care is care for care, policy in POLICIES.items())
    assert POLICIES[Care.NORMAL] == PolicySettings()
    assert settings_for("normal") == Settings()
    assert settings_for("strict").policy is POLICIES[Care.STRICT]


@each_care
@given(confidence=SURE, value=st.sampled_from([900, 1300, 1500]))
def test_critical_and_outside_are_never_taken_unasked(
    care: Care, confidence: float, value: int
) -> None:
    assert decision(reading(value), confidence, care, critical=True) is not Decision.ACCEPT
    assert decision(expected(), confidence, care, critical=True) is not Decision.ACCEPT
    assert decision(wrong(), confidence, care) is not Decision.ACCEPT
    # 900 is below the minimum and 1300 in the caution band
    if value < 1400:
        assert decision(reading(value), confidence, care) is not Decision.ACCEPT


@each_care
def test_every_reading_is_read_back(care: Care) -> None:
    state = begin(make_check(GAUGE, COVERS), settings_for(care))
    state = handle(state, Started(at_s=0.0)).state
    for _ in range(2):
        state = handle(state, Spoken(at_s=1.0, words="", completed=True)).state
    step = handle(state, heard("oxygen", reading(1500), 2.0))
    assert any(isinstance(action, Record) for action in step.actions)
    said = [prompt for act in step.actions if isinstance(act, Say) for prompt in act.prompts]
    assert isinstance(said[0], ReadBack)
    assert said[0].taken.value == 1500


_EASE = {Decision.ACCEPT: 3, Decision.CONFIRM: 2, Decision.ASK_AGAIN: 1, Decision.IGNORE: 0}


@given(
    confidence=SURE,
    meaning=st.sampled_from(
        [reading(1500), reading(900), expected(), wrong(), Command(name=CommandName.AFFIRM)]
    ),
)
def test_more_care_never_takes_more(confidence: float, meaning: Meaning) -> None:
    eases = [_EASE[decision(meaning, confidence, care)] for care in Care]
    assert eases == sorted(eases, reverse=True)


def test_relaxed_does_not_lower_the_bar_of_readings_nor_of_commands() -> None:
    relaxed, normal, strict = (POLICIES[care] for care in Care)
    assert relaxed.accept_reading >= normal.accept_reading
    assert relaxed.accept < normal.accept < strict.accept
    assert normal.accept_reading < strict.accept_reading
    assert relaxed.accept_command == normal.accept_command == strict.accept_command


@each_care
def test_two_recognisers_in_doubt_are_asked_about(care: Care) -> None:
    """second_opinion.py puts the confidence between the usual thresholds."""
    usual = PolicySettings()
    doubtful = (usual.confirm + usual.accept) / 2
    for meaning in (reading(1500), expected()):
        assert decision(meaning, doubtful, care) is Decision.CONFIRM


def test_strict_asks_about_a_reading_that_relaxed_takes() -> None:
    assert decision(reading(1500), 0.95, Care.RELAXED) is Decision.ACCEPT
    assert decision(reading(1500), 0.95, Care.STRICT) is Decision.CONFIRM
    assert decision(expected(), 0.7, Care.RELAXED) is Decision.ACCEPT
    assert decision(expected(), 0.7, Care.NORMAL) is Decision.CONFIRM
    assert decision(expected(), 0.85, Care.STRICT) is Decision.CONFIRM


@each_care
@given(confidence=SURE, meaning=st.sampled_from([reading(1500), expected()]))
def test_over_the_own_voice_no_answer_is_taken_unasked(
    care: Care, confidence: float, meaning: Meaning
) -> None:
    item = GAUGE if meaning.kind == "reading" else COVERS
    utterance = heard(item.id, meaning, 1.0, confidence=confidence).utterance
    over = replace(utterance, over_own_voice=True)
    assert decide(over, item, POLICIES[care]) is not Decision.ACCEPT
    # the rest is decided as ever
    if decide(utterance, item, POLICIES[care]) is not Decision.ACCEPT:
        assert decide(over, item, POLICIES[care]) is decide(utterance, item, POLICIES[care])
    for name in CommandName:
        said = heard(item.id, Command(name=name), 1.0, confidence=confidence).utterance
        usual = decide(said, item, POLICIES[care])
        found = decide(replace(said, over_own_voice=True), item, POLICIES[care])
        # what stops, withdraws or only asks is decided as ever
        moves = name in MOVING
        assert found is not Decision.ACCEPT if moves else found is usual


MOVING = {
    CommandName.AFFIRM,
    CommandName.CONTINUE,
    CommandName.LEAVE_FOR_LATER,
    CommandName.GO_BACK,
    CommandName.GO_BACK_TWO,
    CommandName.UNABLE,
    CommandName.ABANDON,
    CommandName.NOTE,
}
