"""From the events back to the state, with the meanings that were stored then.

No old words are read with a newer grammar here: ``Heard`` carries its meaning.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.events import Event
from voiceflow.dialogue.machine import handle
from voiceflow.dialogue.state import State
from voiceflow.journal.header import RunHeader
from voiceflow.journal.store import Journal


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One place where the journal does not say what its events lead to.

    Attributes:
        seq: The event, from 0.
        n: The record of it, from 0; None if it is the event's own number that is wrong.
        stored: The record in the journal; None if there is none.
        derived: The record that replaying gives; None if it gives none.
    """

    seq: int
    n: int | None
    stored: Record | None
    derived: Record | None


def replay(header: RunHeader, events: Iterable[Event]) -> State:
    """Give the state after these events of a run.

    Args:
        header: The run's head: its check and its settings.
        events: Its events in order.
    """
    state = header.begin()
    for event in events:
        state = handle(state, event).state
    return state


def verify(journal: Journal, run_id: str) -> tuple[Difference, ...]:
    """Hold the stored records of a run against those that its events lead to.

    Returns:
        Every difference, in order; none if the record is whole.

    Raises:
        JournalError: If there is no such run or something in it cannot be read.
    """
    header = journal.header(run_id)
    state = header.begin()
    differences = []
    for place, entry in enumerate(journal.entries(run_id)):
        if entry.seq != place:
            # an event is missing before this one: what follows cannot be derived
            differences.append(Difference(seq=place, n=None, stored=None, derived=None))
            break
        step = handle(state, entry.event)
        state = step.state
        derived = tuple(action for action in step.actions if isinstance(action, Record))
        for n in range(max(len(entry.records), len(derived))):
            stored = entry.records[n] if n < len(entry.records) else None
            expected = derived[n] if n < len(derived) else None
            if stored != expected:
                differences.append(Difference(seq=entry.seq, n=n, stored=stored, derived=expected))
    return tuple(differences)
