"""The place: which item comes next, going back, leaving, ending."""

from dataclasses import replace

from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.agreement import withdraw_with
from voiceflow.dialogue.sector import (
    ask_to_sign,
    carried_here,
    end_part,
    is_last_of_part,
    kind_of,
    next_pauses,
    opening_of_part,
    sign,
    wait_for_next,
    wants_signature,
)
from voiceflow.dialogue.state import Ending, Phase, State
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
    Signed,
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
    if item_id not in turn.state.reminded and (carried := carried_here(turn.state, item)):
        before = (*before, *carried)
        turn.set(reminded=(*turn.state.reminded, item_id))
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
    ends_part = is_last_of_part(state)
    if state.queue and not ends_part:
        turn.set(queue=state.queue[1:])
        ask(turn, state.queue[0], *before)
    elif state.left:
        turn.set(
            queue=state.left[1:] + state.queue, left=(), came_back=state.came_back + state.left
        )
        ask(turn, state.left[0], *before, ItemsLeft(count=len(state.left)), with_area=True)
    elif ends_part and not next_pauses(state):
        conclude(turn, *before)
    elif any(isinstance(prompt, ReadBack) for prompt in before):
        # the last reading is read back too: the check ends once it was let stand
        turn.set(phase=Phase.CLOSING, pending=None, attempts=0, nudges=0)
        turn.say(*before)
    else:
        conclude(turn, *before)


def conclude(turn: Turn, *before: Prompt) -> None:
    """All of a check is answered: the next one of the sector, the signature, or the end."""
    state = turn.state
    if is_last_of_part(state):
        if next_pauses(state):
            wait_for_next(turn, *before)
            return
        ended = end_part(turn)
        turn.set(part=state.part + 1, queue=state.queue[1:])
        ask(turn, state.queue[0], *before, ended, *opening_of_part(turn.state))
        return
    if state.check.parts:
        before = (*before, end_part(turn))
    if wants_signature(state):
        ask_to_sign(turn, *before, closing_words(turn.state, how_it_ends(turn)))
    else:
        finish(turn, *before)


def sign_and_finish(turn: Turn, said: str | None) -> None:
    """End the check with the person's signature, or without one.

    Args:
        turn: The turn.
        said: The words that signed; None: it was refused.
    """
    if said is not None:
        sign(turn, said)
    ending = how_it_ends(turn)
    turn.record(Record(ending=ending))
    turn.set(phase=Phase.FINISHED, ending=ending, pending=None, queue=(), cut_short=())
    turn.say(Signed(by=None if said is None else turn.state.brief.signer))
    turn.set(item_id=None)
    turn.finish()


def how_it_ends(turn: Turn, *, abandoned: bool = False) -> Ending:
    """Give how the check ends now. It is complete only with nothing open, nothing found."""
    state = turn.state
    kind = EndingKind.ABANDONED
    if not abandoned:
        kind = kind_of(state.open_items, len(state.open_discrepancies))
    return Ending(
        kind=kind,
        at_item=state.item_id if abandoned else None,
        open_items=state.open_items,
        at_s=turn.at_s,
    )


def finish(turn: Turn, *before: Prompt, abandoned: bool = False) -> None:
    """End the check, unsigned."""
    ending = how_it_ends(turn, abandoned=abandoned)
    turn.record(Record(ending=ending))
    turn.set(phase=Phase.FINISHED, ending=ending, pending=None, queue=())
    turn.say(*before, closing(turn))
    turn.set(item_id=None)
    turn.finish()


def closing(turn: Turn) -> Prompt:
    """Give the last words of a check that has ended."""
    state = turn.state
    ending = state.ending
    if ending is None:
        msg = "the check has not ended"
        raise RuntimeError(msg)
    if state.brief.signer and ending.kind is not EndingKind.ABANDONED:
        # its words were heard before the signature; only whether it is signed may be new
        return Signed(by=None if state.sign_off is None else state.sign_off.by)
    return closing_words(state, ending)


def closing_words(state: State, ending: Ending) -> Closing:
    """Give the closing words for an ending."""
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


def withdraw(turn: Turn, item_id: str, *, quietly: bool = False) -> None:
    """Take back the answer to an item; the journal keeps it, the result does not.

    Args:
        turn: The turn.
        item_id: The item.
        quietly: Say nothing of other items' discrepancies that go with it.
    """
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
        # nor does what was said of how the gauge goes: it is reckoned from the reading
        trends_told=tuple(told for told in state.trends_told if told != item_id),
    )
    withdraw_with(turn, item_id, quietly=quietly)


def reopen(turn: Turn, item_id: str) -> None:
    """Make an earlier item current again, the present one next; its answer is withdrawn.

    Nothing is said yet.
    """
    state = turn.state
    current = state.item_id
    if state.phase in {Phase.CLOSING, Phase.SIGNING}:
        current = None  # it is answered, and asked no more
    if current is not None:
        drop_deadline(turn, state.check.item(current))
    answered = state.outcome(item_id)
    if answered is not None:
        withdraw(turn, item_id)
    # one that was left and is still to come back is put now, and not a second time
    queue = tuple(each for each in state.queue if each != item_id)
    if current is not None:
        queue = (current, *queue)
    turn.set(
        phase=Phase.ASKING,
        item_id=item_id,
        # the check of a sector that it belongs to ends anew
        part=state.check.part_index(item_id),
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
    """Begin the check again from its first item; every answer is withdrawn.

    Of a sector, the check that it is in.
    """
    check = turn.state.check
    ids = tuple(item.id for item in check.part_items(turn.state.part))
    for outcome in turn.state.outcomes:
        if outcome.item_id in ids:
            # every answer goes, and the words for that are said below
            withdraw(turn, outcome.item_id, quietly=True)
    after = sum(part.items for part in check.parts[: turn.state.part + 1])
    later = tuple(item.id for item in check.items[after:]) if check.parts else ()
    turn.set(
        queue=ids[1:] + later,
        left=(),
        came_back=tuple(each for each in turn.state.came_back if each not in ids),
        waits=tuple(wait for wait in turn.state.waits if wait.item_id not in ids),
        area=None,
        fresh=False,
        previous_id=None,
    )
    ask(turn, ids[0], *before)
