"""The dialogue: ``handle(state, event)`` gives the new state and what is to be done."""

from voiceflow.checks.model import Check
from voiceflow.dialogue.actions import Step
from voiceflow.dialogue.events import Event
from voiceflow.dialogue.state import State
from voiceflow.settings import Settings


def begin(check: Check, settings: Settings | None = None) -> State:
    """Give the state before the first event."""
    return State(check=check, settings=settings or Settings())


def handle(state: State, event: Event) -> Step:
    """Take one event."""
    raise NotImplementedError


def next_deadline_s(state: State) -> float | None:
    """Give when TimePassed is due, if nothing else happens before; None: never."""
    raise NotImplementedError
