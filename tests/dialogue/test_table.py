"""The table is total, and it is the whole dialogue."""

from itertools import product
from typing import get_args

import pytest

from tests.builders import expected, heard, make_check, make_gauge, make_item, reading
from tests.dialogue.conversation import Conversation
from voiceflow.dialogue.actions import Ignored, Step
from voiceflow.dialogue.brief import Brief
from voiceflow.dialogue.commands import _COMMANDS
from voiceflow.dialogue.events import (
    DeviceLost,
    DeviceReturned,
    Event,
    InputEnded,
    NoteTaken,
    Resumed,
    SpeechStarted,
    Spoken,
    Started,
    TimePassed,
)
from voiceflow.dialogue.machine import TRANSITIONS, handle
from voiceflow.dialogue.state import Phase, State
from voiceflow.phraseology.commands import CommandName

EVENTS: tuple[Event, ...] = (
    Started(at_s=50),
    heard("covers", expected(), 50),
    SpeechStarted(at_s=50),
    Spoken(at_s=50, words="", completed=True),
    TimePassed(at_s=50),
    DeviceLost(at_s=50, device="headset"),
    DeviceReturned(at_s=50, device="headset"),
    InputEnded(at_s=50),
    Resumed(at_s=50),
    NoteTaken(at_s=50, item_id="covers", digest="", length_s=0.0, text="x", engine="typed"),
)


def state_in(phase: Phase) -> State:
    talk = Conversation(make_check())
    if phase is Phase.NOT_STARTED:
        return talk.state
    talk.start()
    match phase:
        case Phase.CONFIRMING:
            talk.say(CommandName.UNABLE)
        case Phase.HOLDING:
            talk.say(CommandName.STAND_BY)
        case Phase.CLOSING:
            talk = Conversation(make_check(make_gauge())).start()
            talk.say(reading(1500))
        case Phase.SIGNING:
            talk = Conversation(make_check(make_item()), brief=Brief(signer="Ada North")).start()
            talk.say(expected())
        case Phase.NOTING:
            talk.say(CommandName.NOTE)
        case Phase.FINISHED:
            talk.say(CommandName.ABANDON)
            talk.say(CommandName.AFFIRM)
        case _:
            pass
    return talk.state


def test_every_phase_has_every_event() -> None:
    assert {type(event) for event in EVENTS} == set(get_args(Event))
    assert set(TRANSITIONS) == set(product(Phase, get_args(Event)))


@pytest.mark.parametrize("phase", Phase)
@pytest.mark.parametrize("event", EVENTS, ids=lambda event: event.kind)
def test_every_pair_is_handled(phase: Phase, event: Event) -> None:
    state = state_in(phase)
    assert state.phase is phase
    step = handle(state, event)
    assert isinstance(step, Step)
    assert step.state.at_s == 50
    if step.state.phase is phase and not step.actions:
        # nothing to do outwardly: only allowed where the state took note of it
        assert isinstance(event, Spoken | SpeechStarted)


@pytest.mark.parametrize("event", EVENTS, ids=lambda event: event.kind)
def test_silent_after_the_end(event: Event) -> None:
    step = handle(state_in(Phase.FINISHED), event)
    if isinstance(event, Resumed):
        # the closing words may not have been heard before the program stopped
        return
    assert all(isinstance(action, Ignored) for action in step.actions)


def test_every_command_is_in_its_table() -> None:
    assert set(_COMMANDS) == set(CommandName)
