"""The question that is open, as it is put: the challenge, a confirmation, or whether the next check may begin."""

from voiceflow.checks.model import Limit
from voiceflow.dialogue.agreement import differences
from voiceflow.dialogue.sector import is_between, next_check, sign_question
from voiceflow.dialogue.state import Pending, PendingAbandon, PendingSignOff, PendingUnable
from voiceflow.dialogue.summaries import challenge, spoken_value
from voiceflow.dialogue.turn import Turn
from voiceflow.grammar.meaning import Response
from voiceflow.limits.judge import judge
from voiceflow.phraseology.prompts import (
    ConfirmAbandon,
    ConfirmReading,
    ConfirmResponse,
    ConfirmUnable,
    Prompt,
)


def question(turn: Turn) -> Prompt:
    """Give what the person is being asked: a confirmation, or the challenge."""
    state = turn.state
    pending = state.pending
    if is_between(state):
        return next_check(state)
    if pending is None:
        return challenge(state, turn.item)
    return confirmation(turn, pending)


def confirmation(turn: Turn, pending: Pending) -> Prompt:
    """Give the question that a pending answer puts."""
    state = turn.state
    if isinstance(pending, PendingAbandon):
        return ConfirmAbandon(open_count=len(state.open_items), attempt=state.attempts)
    if isinstance(pending, PendingSignOff):
        return sign_question(state)
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
        apart=differences(state, item, pending.answer.value),
    )
