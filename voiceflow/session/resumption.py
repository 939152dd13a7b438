"""Where a run stood when the program stopped: what of it is done, to the event.

Rebuilt from the committed events alone. What the dialogue says and does about it
is the dialogue's affair; the loops take it up from here.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from voiceflow.dialogue.actions import Listen
from voiceflow.dialogue.events import (
    Event,
    Heard,
    InputEnded,
    NoteTaken,
    ProfileUsed,
    Resumed,
    SpeechStarted,
)
from voiceflow.dialogue.machine import handle
from voiceflow.dialogue.state import State
from voiceflow.journal.header import TYPED, RunHeader

#: An item, the item answered last, and the item on which a note is listened for.
Listening = tuple[str, str | None, str | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Past:
    """What is committed of a run.

    A recording gives the same utterances each time, so counting them tells which
    are done: the first ``len(started)`` starts and the first ``heard`` utterances of
    the source that was heard last. What other sources gave before it is not counted.

    Attributes:
        state: The state after the last event.
        at_s: Time of the last event; 0 without events.
        has_begun: There is at least one event.
        listening: What was listened with after the last event; None before the first item.
        source: What was heard last, as in ``RunHeader.source``.
        source_from_s: Time of the run at which that source began.
        started: For each committed start of speech from it, what was listened with.
        heard: How many utterances from it are committed as heard.
        input_ended: It had come to its end.
        profile: The speaker profile that listened last; what was typed since does not count.
    """

    state: State
    at_s: float
    has_begun: bool
    listening: Listening | None
    source: str
    source_from_s: float
    started: tuple[Listening | None, ...]
    heard: int
    input_ended: bool
    profile: ProfileUsed | None = None


def rebuild(header: RunHeader, events: Iterable[Event]) -> Past:
    """Give where a run stood after these events.

    Args:
        header: The head of the run.
        events: Its events in order.
    """
    state = header.begin()
    source = header.source
    source_from_s = 0.0
    at_s = 0.0
    has_begun = False
    listening: Listening | None = None
    started: list[Listening | None] = []
    heard = 0
    input_ended = False
    profile = header.profile
    for event in events:
        has_begun = True
        at_s = event.at_s
        match event:
            case SpeechStarted():
                started.append(listening)
            case Heard() if source == TYPED or event.utterance.engine != TYPED:
                # a line that was typed beside a voice is no utterance of the source
                heard += 1
            case NoteTaken() if source == TYPED or event.engine != TYPED:
                heard += 1
            case InputEnded():
                input_ended = True
            case Resumed():
                input_ended = False
                if event.source != TYPED:
                    profile = event.profile
                if event.source not in (None, source):
                    source, source_from_s = event.source or source, event.at_s
                    started.clear()
                    heard = 0
            case _:
                pass
        step = handle(state, event)
        state = step.state
        for action in step.actions:
            if isinstance(action, Listen):
                listening = (action.item_id, action.previous_id, action.note_on)
    return Past(
        state=state,
        at_s=at_s,
        has_begun=has_begun,
        listening=listening,
        source=source,
        source_from_s=source_from_s,
        started=tuple(started),
        heard=heard,
        input_ended=input_ended,
        profile=profile,
    )
