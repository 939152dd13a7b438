"""Timed things: responses that must come in time, things that get ready, silence."""

from dataclasses import replace

from voiceflow.checks.model import Item
from voiceflow.dialogue.events import MICROPHONE, Utterance
from voiceflow.dialogue.finishing import next_warning_s, take_warning
from voiceflow.dialogue.state import Phase, RunningWait, State
from voiceflow.dialogue.summaries import may_go_back, offer
from voiceflow.dialogue.turn import Turn
from voiceflow.phraseology.prompts import (
    Prompt,
    StillThere,
    WaitDue,
    WaitOverdue,
    WaitStarted,
)

#: How often silence at one item is broken before the tool stays quiet.
NUDGES = 2


def start_deadline(turn: Turn) -> None:
    """Start the clock of an item whose response must come in time.

    It runs from the end of the challenge: before that the person could not know
    what to look at. Started once an item; a repeated challenge does not prolong it.
    """
    state = turn.state
    if state.item_id is None:
        return
    item = turn.item
    if item.wait is None or item.wait.within_s is None:
        return
    if any(wait.item_id == item.id for wait in state.waits):
        return
    wait = RunningWait(item_id=item.id, due_s=turn.at_s + item.wait.within_s, is_deadline=True)
    turn.set(waits=(*state.waits, wait))


def end_deadline(turn: Turn, item: Item) -> None:
    """The item was answered: its deadline no longer runs."""
    turn.set(
        waits=tuple(
            wait for wait in turn.state.waits if not (wait.item_id == item.id and wait.is_deadline)
        )
    )


def drop_deadline(turn: Turn, item: Item) -> None:
    """The item will be asked anew: its time begins anew, unless it is over already.

    A time that was exceeded stays exceeded: neither a pause nor leaving the item nor
    going back makes a late response timely.
    """
    turn.set(
        waits=tuple(
            wait
            for wait in turn.state.waits
            if not (wait.item_id == item.id and wait.is_deadline and wait.due_s >= turn.at_s)
        )
    )


def is_late(state: State, item: Item, utterance: Utterance) -> bool:
    """Tell whether the response began after the item's deadline."""
    return any(
        wait.item_id == item.id and wait.is_deadline and utterance.speech_start_s > wait.due_s
        for wait in state.waits
    )


def start_ready_wait(turn: Turn, item: Item) -> tuple[Prompt, ...]:
    """Start the wait of an item that gets ready some time after its answer."""
    if item.wait is None or item.wait.ready_in_s is None:
        return ()
    wait = RunningWait(item_id=item.id, due_s=turn.at_s + item.wait.ready_in_s, is_deadline=False)
    turn.set(waits=(*turn.state.waits, wait))
    return (WaitStarted(challenge=item.challenge, ready_in_s=round(item.wait.ready_in_s)),)


def next_deadline_s(state: State) -> float | None:
    """Give when TimePassed is due if nothing else happens before.

    None while somebody speaks, the tool included: what is due then is said in the
    next gap.
    """
    if state.phase in {Phase.NOT_STARTED, Phase.FINISHED}:
        return None
    if state.saying or state.person_speaking:
        return None
    if state.noting is not None:
        # what comes due meanwhile is told afterwards: it would be in the note
        return state.quiet_since_s + state.noting.silence_s
    gap_s = _gap_s(state)
    due = [max(wait.due_s, gap_s) for wait in state.waits if not wait.overdue_said]
    quiet_s = hearback_ends_s(state) if state.phase is Phase.CLOSING else _nudge_s(state)
    if quiet_s is not None:
        due.append(quiet_s)
    warning_s = next_warning_s(state)
    if warning_s is not None:
        due.append(max(warning_s, gap_s))
    return min(due, default=None)


def _gap_s(state: State) -> float:
    """Give when nobody has spoken for long enough to speak up."""
    return state.quiet_since_s + state.settings.patience.gap_s


def hearback_ends_s(state: State) -> float | None:
    """Give when the last readback counts as let stand, if nothing more is said.

    None without a microphone: then nothing can be said against it.
    """
    if MICROPHONE in state.awaited:
        return None
    return state.quiet_since_s + state.settings.patience.hearback_s


def _nudge_s(state: State) -> float | None:
    """Give when silence is to be broken."""
    if state.phase in {Phase.HOLDING, Phase.CLOSING} or state.nudges >= NUDGES:
        return None
    patience = state.settings.patience
    return state.quiet_since_s + (patience.second_s if state.nudges else patience.first_s)


def take_ready(turn: Turn) -> tuple[Prompt, ...]:
    """Give what has become ready meanwhile, to be told with what is said anyway.

    It came due while somebody spoke: told after the next challenge it would fall into the
    answer.
    """
    if not turn.state.settings.patience.gap_s:
        return ()
    ready = [wait for wait in turn.state.waits if not wait.is_deadline and wait.due_s <= turn.at_s]
    return (*(_told(turn, wait) for wait in ready), *take_warning(turn))


def _told(turn: Turn, wait: RunningWait) -> Prompt:
    """Note that a wait is told, and give the words for it."""
    waits = turn.state.waits
    item = turn.state.check.item(wait.item_id)
    if wait.is_deadline:
        late = replace(wait, overdue_said=True)
        turn.set(waits=tuple(late if other == wait else other for other in waits))
        within_s = round(item.wait.within_s or 0) if item.wait else 0
        return WaitOverdue(challenge=item.challenge, within_s=within_s)
    turn.set(waits=tuple(other for other in waits if other != wait))
    return WaitDue(challenge=item.challenge, say=item.wait.say if item.wait else None)


def pass_time(turn: Turn, pending: Prompt | None) -> None:
    """Say what has come due: first what is late, then what is ready, then silence.

    Args:
        turn: The turn.
        pending: The question that is open, said again when silence is broken; none:
            the item itself is asked.
    """
    state = turn.state
    if _gap_s(state) <= turn.at_s:
        for wait in state.waits:
            if not wait.overdue_said and wait.due_s <= turn.at_s:
                turn.say(_told(turn, wait), question=False)
                return
        warning_s = next_warning_s(state)
        if warning_s is not None and warning_s <= turn.at_s and (warning := take_warning(turn)):
            turn.say(*warning, question=False)
            return
    nudge_s = _nudge_s(state)
    if nudge_s is not None and nudge_s <= turn.at_s:
        turn.set(nudges=state.nudges + 1, quiet_since_s=turn.at_s)
        said: list[Prompt] = []
        if state.phase is not Phase.SIGNING:
            said.append(StillThere(challenge=turn.item.challenge, attempt=state.nudges + 1))
        if not state.offered and may_go_back(state, state.person_s):
            turn.set(offered=True)
            said.append(offer(state, state.person_s))
        if pending is not None:
            said.append(pending)
        turn.say(*said, question=False)
    else:
        turn.ignore("nothing is due")
