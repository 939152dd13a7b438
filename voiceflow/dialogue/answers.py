"""Responses and readings: taking, confirming, correcting."""

from dataclasses import replace

from voiceflow.checks.model import Item, Limit
from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.agreement import is_disagreeing, new_disagreements, told_shortly
from voiceflow.dialogue.events import Utterance
from voiceflow.dialogue.ladder import choose, insufficient, not_understood, refuse, remember
from voiceflow.dialogue.policy import Decision, decide
from voiceflow.dialogue.progress import advance, ask, finish, reopen
from voiceflow.dialogue.questions import question
from voiceflow.dialogue.state import (
    Discrepancy,
    ItemState,
    Outcome,
    Pending,
    PendingAbandon,
    PendingAnswer,
    PendingSignOff,
    PendingUnable,
    Phase,
)
from voiceflow.dialogue.summaries import finding, remedy_for, spoken_value
from voiceflow.dialogue.trends import trend_remark
from voiceflow.dialogue.turn import Turn
from voiceflow.dialogue.waits import end_deadline, is_late, start_ready_wait, take_ready
from voiceflow.grammar.meaning import (
    Answer,
    Correction,
    Reading,
    Response,
    ResponseState,
)
from voiceflow.limits.judge import Verdict, judge
from voiceflow.phraseology.prompts import (
    AcknowledgeResponse,
    Corrected,
    FindingReason,
    FindingRecorded,
    Prompt,
    ReadBack,
)

_STATE_OF_VERDICT = {
    Verdict.WITHIN: ItemState.WITHIN_LIMITS,
    Verdict.CAUTION: ItemState.CAUTION,
    Verdict.OUTSIDE: ItemState.OUTSIDE_LIMITS,
}
_REASON_OF_VERDICT = {
    Verdict.WITHIN: None,
    Verdict.CAUTION: FindingReason.CAUTION,
    Verdict.OUTSIDE: FindingReason.OUTSIDE_LIMITS,
}
_STATE_OF_REASON = {
    FindingReason.NOT_AS_EXPECTED: ItemState.NOT_AS_EXPECTED,
    FindingReason.UNABLE: ItemState.UNABLE,
    FindingReason.LATE: ItemState.LATE,
}


def answer(
    turn: Turn, utterance: Utterance, meant: Answer, decision: Decision, *before: Prompt
) -> None:
    """Take an answer to the current item, or ask whether it was meant.

    Args:
        turn: The turn; the current item is the one answered.
        utterance: The utterance.
        meant: The response or reading that it amounts to.
        decision: CONFIRM asks first.
        before: What is said first.
    """
    if decision is Decision.CONFIRM:
        pending = PendingAnswer(item_id=turn.item.id, answer=meant, utterance=utterance)
        put(turn, pending, *before)
    else:
        take(turn, meant, utterance, *before, confirmed=False)


def put(turn: Turn, pending: Pending, *before: Prompt) -> None:
    """Ask whether something was meant.

    An answer that was refused before is asked about in other words than then. Something
    was understood: the asking ladder begins anew. What was asked about before and neither
    affirmed nor refused may yet have been meant.
    """
    before_it = turn.state.pending
    if isinstance(before_it, PendingAnswer) and isinstance(pending, PendingAnswer):
        remember(turn, (before_it.answer,))
    refused = isinstance(pending, PendingAnswer) and turn.state.refused.count(pending.answer)
    turn.set(
        phase=Phase.CONFIRMING,
        pending=pending,
        attempts=int(refused),
        rung=None,
        nudges=0,
        question_due=True,
        fresh=False,
    )
    turn.say(*before, question(turn))


def take(turn: Turn, taken: Answer, utterance: Utterance, *before: Prompt, confirmed: bool) -> None:
    """Record an answer to the current item and go on.

    A reading that was not confirmed is read back; one that was confirmed was read
    back by the question.
    """
    item = turn.item
    said: list[Prompt] = list(before)
    reason: FindingReason | None = None
    verdict: Verdict | None = None
    if isinstance(taken, Reading):
        limit = item.reading.limit if item.reading else Limit()
        verdict = judge(taken.value, limit)
        state = _STATE_OF_VERDICT[verdict]
        reason = _REASON_OF_VERDICT[verdict]
        if not confirmed:
            spoken = spoken_value(item, taken.value)
            said.append(ReadBack(taken=spoken, verdict=verdict, limit=limit))
    else:
        if taken.state is ResponseState.NOT_AS_EXPECTED:
            reason = FindingReason.NOT_AS_EXPECTED
        elif is_late(turn.state, item, utterance):
            reason = FindingReason.LATE
        state = _STATE_OF_REASON[reason] if reason else ItemState.AS_EXPECTED
    outcome = Outcome(
        item_id=item.id,
        state=state,
        phrase=taken.phrase if isinstance(taken, Response) else None,
        value=taken.value if isinstance(taken, Reading) else None,
        unit=taken.unit if isinstance(taken, Reading) else "",
        verdict=verdict,
        said=utterance.text,
        confidence=utterance.confidence,
        confirmed=confirmed,
        asked_s=turn.state.asked_s,
        answered_s=turn.at_s,
        from_left=item.id in turn.state.came_back,
    )
    _close(turn, item, outcome, reason, said)


def take_unable(turn: Turn, pending: PendingUnable) -> None:
    """Record that the item cannot be done, and go on."""
    item = turn.item
    outcome = Outcome(
        item_id=item.id,
        state=ItemState.UNABLE,
        phrase=None,
        value=None,
        unit="",
        verdict=None,
        said=pending.utterance.text,
        confidence=pending.utterance.confidence,
        confirmed=True,
        asked_s=turn.state.asked_s,
        answered_s=turn.at_s,
        from_left=item.id in turn.state.came_back,
    )
    _close(turn, item, outcome, FindingReason.UNABLE, [])


def _close(
    turn: Turn, item: Item, outcome: Outcome, reason: FindingReason | None, said: list[Prompt]
) -> None:
    """Record an outcome, and the discrepancy if there is a reason for one; go on."""
    turn.record(Record(outcome=outcome))
    end_deadline(turn, item)
    turn.set(outcomes=(*turn.state.outcomes, outcome), previous_id=item.id, pending=None)
    if reason is not None:
        remedy = remedy_for(item, reason)
        limit = item.reading.limit if item.reading and outcome.value is not None else Limit()
        found = Discrepancy(
            item_id=item.id,
            reason=reason,
            phrase=outcome.phrase,
            value=outcome.value,
            unit=outcome.unit,
            minimum=limit.minimum,
            maximum=limit.maximum,
            action=remedy.action,
            say=remedy.say,
            at_s=turn.at_s,
            said=outcome.said,
        )
        turn.record(Record(discrepancy=found))
        turn.set(discrepancies=(*turn.state.discrepancies, found))
        said.append(FindingRecorded(finding=finding(turn.state.check, found)))
    else:
        said.extend(start_ready_wait(turn, item))
    said.extend(new_disagreements(turn, outcome))
    said.extend(trend_remark(turn, item, outcome))
    said.extend(take_ready(turn))
    turn.set(fresh=True)
    advance(turn, *told_shortly(said))


def correct(turn: Turn, utterance: Utterance, correction: Correction) -> None:
    """Take "correction ..." for the item it is about.

    While a question is open, or after something was said at the current item, it
    is about the current item; else about the one answered last, whose challenge
    is then said, so that a mistake about the item is heard.
    """
    state = turn.state
    about_this = bool(correction.this) and (
        state.pending is not None or not state.fresh or not correction.previous
    )
    if about_this:
        options = correction.this
        before: tuple[Prompt, ...] = ()
    elif correction.previous and state.previous_id is not None:
        options = correction.previous
        corrected = state.check.item(state.previous_id)
        reopen(turn, corrected.id)
        before = (Corrected(challenge=corrected.challenge),)
    else:
        not_understood(turn, None)
        return
    if len(options) > 1:
        turn.set(pending=None, phase=Phase.ASKING)
        choose(turn, options, *before)
        return
    meant = replace(utterance, meaning=options[0])
    disagrees = is_disagreeing(turn.state, turn.item, options[0])
    again = decide(meant, turn.item, state.settings.policy, disagrees=disagrees)
    if again in {Decision.ACCEPT, Decision.CONFIRM}:
        if before and again is Decision.ACCEPT and isinstance(options[0], Response):
            # no readback follows a response, and this one changes an answer
            before = (*before, AcknowledgeResponse(phrase=options[0].phrase))
        answer(turn, meant, options[0], again, *before)
    else:
        turn.set(pending=None, phase=Phase.ASKING)
        insufficient(turn, _phrase(options[0]), *before)


def _phrase(answered: Answer) -> str:
    return answered.phrase if isinstance(answered, Response) else ""


def affirm(turn: Turn, pending: Pending) -> None:
    """The person confirms what is pending."""
    match pending:
        case PendingAnswer():
            take(turn, pending.answer, pending.utterance, confirmed=True)
        case PendingUnable():
            take_unable(turn, pending)
        case PendingAbandon():
            finish(turn, abandoned=True)
        case PendingSignOff():
            turn.ignore("the machine takes the signature with its words")


def drop_pending(turn: Turn, *before: Prompt, wrong: bool = False) -> None:
    """Drop what is pending and ask the item again.

    Args:
        turn: The turn.
        before: What is said first.
        wrong: It is not what was meant. The second time that a reading was wrong, the item
            asks for it digit by digit.
    """
    if wrong:
        refuse(turn)
    state = turn.state
    readings = sum(isinstance(one, Reading) for one in state.refused)
    turn.set(pending=None)
    ask(turn, turn.item.id, *before, digit_by_digit=wrong and readings > 1)
    # the item has been open since its challenge was first put, and it is the same item
    turn.set(asked_s=state.asked_s, heard=state.heard, refused=state.refused)
