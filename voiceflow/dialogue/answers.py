"""Responses and readings: taking, confirming, correcting."""

from dataclasses import replace

from voiceflow.checks.model import Item, Limit
from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.events import Utterance
from voiceflow.dialogue.policy import Decision, decide
from voiceflow.dialogue.progress import advance, ask, finish, reopen
from voiceflow.dialogue.state import (
    Discrepancy,
    ItemState,
    Outcome,
    Pending,
    PendingAbandon,
    PendingAnswer,
    PendingUnable,
    Phase,
)
from voiceflow.dialogue.summaries import challenge, choices, finding, remedy_for, spoken_value
from voiceflow.dialogue.turn import Turn
from voiceflow.dialogue.waits import end_deadline, is_late, start_ready_wait, take_ready
from voiceflow.grammar.meaning import (
    Ambiguous,
    Answer,
    Correction,
    NoMatch,
    Reading,
    Response,
    ResponseState,
)
from voiceflow.limits.judge import Verdict, judge
from voiceflow.phraseology.prompts import (
    AcknowledgeResponse,
    AskAgain,
    ConfirmAbandon,
    ConfirmReading,
    ConfirmResponse,
    ConfirmUnable,
    Corrected,
    FindingReason,
    FindingRecorded,
    Prompt,
    ReadBack,
    SayTheSetting,
    SpokenValue,
    WhichOne,
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


def question(turn: Turn) -> Prompt:
    """Give what the person is being asked: a confirmation, or the challenge."""
    state = turn.state
    pending = state.pending
    if pending is None:
        return challenge(state, turn.item)
    return confirmation(turn, pending)


def confirmation(turn: Turn, pending: Pending) -> Prompt:
    """Give the question that a pending answer puts."""
    state = turn.state
    if isinstance(pending, PendingAbandon):
        return ConfirmAbandon(open_count=len(state.open_items), attempt=state.attempts)
    item = state.check.item(pending.item_id)
    if isinstance(pending, PendingUnable):
        return ConfirmUnable(challenge=item.challenge, attempt=state.attempts)
    if isinstance(pending.answer, Response):
        return ConfirmResponse(
            challenge=item.challenge, phrase=pending.answer.phrase, attempt=state.attempts
        )
    limit = item.reading.limit if item.reading else Limit()
    return ConfirmReading(
        challenge=item.challenge,
        taken=spoken_value(item, pending.answer.value),
        verdict=judge(pending.answer.value, limit),
        limit=limit,
        attempt=state.attempts,
    )


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
    """Ask whether something was meant."""
    turn.set(
        phase=Phase.CONFIRMING,
        pending=pending,
        attempts=0,
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
    said.extend(take_ready(turn))
    turn.set(fresh=True)
    advance(turn, *said)


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
        turn.say(*before, which_one(turn.item, options))
        return
    meant = replace(utterance, meaning=options[0])
    again = decide(meant, turn.item, state.settings.policy)
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


def which_one(item: Item, options: tuple[object, ...]) -> WhichOne:
    """Give the question that names what the words could mean."""
    values: tuple[SpokenValue, ...] = ()
    if item.reading is not None:
        values = tuple(
            spoken_value(item, option.value) for option in options if isinstance(option, Reading)
        )
    phrases = tuple(option.phrase for option in options if isinstance(option, Response))
    return WhichOne(values=values, phrases=phrases)


def insufficient(turn: Turn, said: str, *before: Prompt) -> None:
    """Say that the words state no setting, and what would."""
    item = turn.item
    turn.set(fresh=False)
    turn.say(
        *before,
        SayTheSetting(
            challenge=item.challenge,
            said=said,
            choices=choices(item),
            wants_number=item.reading is not None,
        ),
    )


def not_understood(turn: Turn, utterance: Utterance | None) -> None:
    """Ask again: never in the same words, the open question first."""
    item = turn.item
    attempts = turn.state.attempts + 1
    turn.set(attempts=attempts, fresh=False)
    meaning = utterance.meaning if utterance else None
    if turn.state.pending is not None:
        turn.say(question(turn))
        return
    if isinstance(meaning, Ambiguous):
        asked = which_one(item, meaning.options)
        if len(asked.values) + len(asked.phrases) > 1:
            turn.say(asked)
            return
    turn.say(
        AskAgain(
            attempt=attempts,
            challenge=item.challenge,
            choices=choices(item),
            wants_number=item.reading is not None,
            suggestion=meaning.suggestion if isinstance(meaning, NoMatch) else None,
        )
    )


def affirm(turn: Turn, pending: Pending) -> None:
    """The person confirms what is pending."""
    match pending:
        case PendingAnswer():
            take(turn, pending.answer, pending.utterance, confirmed=True)
        case PendingUnable():
            take_unable(turn, pending)
        case PendingAbandon():
            finish(turn, abandoned=True)


def drop_pending(turn: Turn, *before: Prompt) -> None:
    """Drop what is pending and ask the item again."""
    turn.set(pending=None)
    asked_s = turn.state.asked_s
    ask(turn, turn.item.id, *before)
    # the item has been open since its challenge was first put
    turn.set(asked_s=asked_s)
