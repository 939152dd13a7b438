"""The place: which item comes next, going back, leaving, ending."""

from dataclasses import replace

from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.state import Ending, Phase
from voiceflow.dialogue.summaries import challenge, finding, running_waits
from voiceflow.dialogue.turn import Turn
from voiceflow.dialogue.waits import drop_deadline
from voiceflow.phraseology.prompts import (
    Closing,
    EndingKind,
    ItemsLeft,
    LeftForLater,
    Prompt,
    ReadBack,
)


def ask(
    turn: Turn,
    item_id: str,
    *before: Prompt,
    with_area: bool = False,
    digit_by_digit: bool = False,
) -> None:
    """Make an item the current one and read its challenge.

    Args:
        turn: The turn.
        item_id: The item.
        before: What is said first, in the same breath.
        with_area: Say the area even if it was said before.
        digit_by_digit: Ask for the reading digit by digit.
    """
    item = turn.state.check.item(item_id)
    prompt = challenge(turn.state, item, with_area=with_area, digit_by_digit=digit_by_digit)
    turn.set(
        phase=Phase.ASKING,
        item_id=item_id,
        pending=None,
        attempts=0,
        rung=None,
        heard=(),
        refused=(),
        nudges=0,
        question_due=True,
        offered=False,
        asked_s=turn.at_s,
        area=item.area if item.area is not None else turn.state.area,
    )
    turn.say(*before, prompt)


def advance(turn: Turn, *before: Prompt) -> None:
    """Go to the next item: the queue, then the items that were left, then the end."""
    state = turn.state
    if state.queue:
        turn.set(queue=state.queue[1:])
        ask(turn, state.queue[0], *before)
    elif state.left:
        turn.set(queue=state.left[1:], left=(), came_back=state.came_back + state.left)
        ask(turn, state.left[0], *before, ItemsLeft(count=len(state.left)), with_area=True)
    elif any(isinstance(prompt, ReadBack) for prompt in before):
        # the last reading is read back too: the check ends once it was let stand
        turn.set(phase=Phase.CLOSING, pending=None, attempts=0, nudges=0)
        turn.say(*before)
    else:
        finish(turn, *before)


def finish(turn: Turn, *before: Prompt, abandoned: bool = False) -> None:
    """End the check. It is complete only with every item answered and nothing found."""
    state = turn.state
    if abandoned:
        kind = EndingKind.ABANDONED
    elif state.open_items or state.open_discrepancies:
        kind = EndingKind.COMPLETE_EXCEPT
    else:
        kind = EndingKind.COMPLETE
    ending = Ending(
        kind=kind,
        at_item=state.item_id if abandoned else None,
        open_items=state.open_items,
        at_s=turn.at_s,
    )
    turn.record(Record(ending=ending))
    turn.set(phase=Phase.FINISHED, ending=ending, pending=None, queue=())
    turn.say(*before, closing(turn))
    turn.set(item_id=None)
    turn.finish()


def closing(turn: Turn) -> Closing:
    """Give the closing words of a check that has ended."""
    state = turn.state
    ending = state.ending
    if ending is None:
        msg = "the check has not ended"
        raise RuntimeError(msg)
    check = state.check
    return Closing(
        title=check.title,
        ending=ending.kind,
        at=None if ending.at_item is None else check.item(ending.at_item).challenge,
        open_items=tuple(check.item(item_id).challenge for item_id in ending.open_items),
        findings=tuple(finding(check, found) for found in state.open_discrepancies),
        waits=running_waits(state),
    )


def leave(turn: Turn) -> None:
    """Leave the current item: it comes back at the end, once; left again, it stays open."""
    item = turn.item
    drop_deadline(turn, item)
    if item.id in turn.state.came_back:
        turn.set(pending=None, fresh=False)
        advance(turn, LeftForLater(challenge=item.challenge, comes_back=False))
    else:
        turn.set(left=(*turn.state.left, item.id), pending=None, fresh=False)
        advance(turn, LeftForLater(challenge=item.challenge))


def withdraw(turn: Turn, item_id: str) -> None:
    """Take back the answer to an item; the journal keeps it, the result does not."""
    state = turn.state
    turn.record(Record(withdrawn_item=item_id))
    outcomes = tuple(found for found in state.outcomes if found.item_id != item_id)
    turn.set(
        outcomes=outcomes,
        discrepancies=tuple(
            replace(found, withdrawn=True) if found.item_id == item_id else found
            for found in state.discrepancies
        ),
        # what had begun with that answer ends with it
        waits=tuple(wait for wait in state.waits if wait.item_id != item_id),
        previous_id=outcomes[-1].item_id if outcomes else None,
        # what was to be read back of it no longer holds
        cut_short=(),
    )


def reopen(turn: Turn, item_id: str) -> None:
    """Make an earlier item current again, the present one next; its answer is withdrawn.

    Nothing is said yet.
    """
    state = turn.state
    current = state.item_id
    if state.phase is Phase.CLOSING:
        current = None  # it is answered, and asked no more
    if current is not None:
        drop_deadline(turn, state.check.item(current))
    answered = state.outcome(item_id)
    if answered is not None:
        withdraw(turn, item_id)
    queue = (current, *state.queue) if current is not None else state.queue
    turn.set(
        phase=Phase.ASKING,
        item_id=item_id,
        queue=queue,
        left=tuple(left for left in state.left if left != item_id),
        pending=None,
        attempts=0,
        rung=None,
        heard=(),
        refused=(),
        nudges=0,
        # a corrected item has been open since its challenge was first put
        asked_s=answered.asked_s if answered is not None else turn.at_s,
        fresh=False,
    )


def item_before(turn: Turn) -> str | None:
    """Give the item that "go back one" is about, or None at the first.

    On the way through it is the item above in the check, answered or left; among
    the items that were left it is the one answered last.
    """
    state = turn.state
    if turn.item.id in state.came_back:
        return state.previous_id
    position = state.check.position(turn.item.id)
    return state.check.items[position - 1].id if position else None


def go_back(turn: Turn, steps: int) -> bool:
    """Ask an item before the current one anew, those between after it; withdraw their answers.

    Args:
        turn: The turn.
        steps: How many items; fewer if there are not so many.

    Returns:
        Whether there was any.
    """
    done = 0
    while done < steps and (before := item_before(turn)) is not None:
        reopen(turn, before)
        done += 1
    if done:
        ask(turn, turn.item.id, with_area=True)
    return done > 0


def restart(turn: Turn, *before: Prompt) -> None:
    """Begin the check again from its first item; every answer is withdrawn."""
    for outcome in turn.state.outcomes:
        withdraw(turn, outcome.item_id)
    ids = tuple(item.id for item in turn.state.check.items)
    turn.set(
        queue=ids[1:],
        left=(),
        came_back=(),
        waits=(),
        area=None,
        fresh=False,
        previous_id=None,
    )
    ask(turn, ids[0], *before)
