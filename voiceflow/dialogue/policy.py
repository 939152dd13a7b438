"""Accept, confirm, ask again or ignore: what to do with what was heard."""

from enum import StrEnum
from typing import Final

from voiceflow.checks.model import Item
from voiceflow.dialogue.events import Utterance
from voiceflow.grammar.meaning import (
    Ambiguous,
    Command,
    Correction,
    NoMatch,
    Reading,
    Response,
    ResponseState,
)
from voiceflow.limits.judge import Verdict, judge
from voiceflow.phraseology.commands import CommandName
from voiceflow.settings import PolicySettings


class Decision(StrEnum):
    """What to do with an utterance."""

    ACCEPT = "accept"
    CONFIRM = "confirm"
    ASK_AGAIN = "ask_again"
    IGNORE = "ignore"


#: Commands that move the check on or confirm something, or take what is said next. The tool's own "Confirm?" was heard as
#: "continue" where nothing took its voice off, so over its voice these are not taken.
_MOVING: Final = frozenset(
    {
        CommandName.AFFIRM,
        CommandName.CONTINUE,
        CommandName.LEAVE_FOR_LATER,
        CommandName.GO_BACK,
        CommandName.GO_BACK_TWO,
        CommandName.UNABLE,
        CommandName.ABANDON,
        CommandName.NOTE,
    }
)


def decide(
    utterance: Utterance, item: Item, settings: PolicySettings, *, disagrees: bool = False
) -> Decision:
    """Decide what to do with an utterance at an item that is being asked.

    Args:
        utterance: What was heard and what it means here.
        item: The item whose grammar listened.
        settings: The thresholds.
        disagrees: The reading does not agree with what else is known.

    Returns:
        IGNORE for sound without words, for words that the engine itself does not
        believe, and for two meanings that it hardly believes; ASK_AGAIN for words that mean nothing, or two things, here;
        CONFIRM for a critical item, a reading not within limits or that disagrees, a response that
        says something is wrong, a correction with two answers, middling
        confidence, and an answer over the tool's own voice; else ACCEPT. Over its own
        voice a command that moves the check on is asked again, too.
    """
    meaning = utterance.meaning
    confidence = utterance.confidence
    if isinstance(meaning, NoMatch):
        heard_words = bool(utterance.text) and confidence >= settings.ask_again
        return Decision.ASK_AGAIN if heard_words else Decision.IGNORE
    if confidence < settings.ask_again:
        return Decision.IGNORE
    if isinstance(meaning, Ambiguous):
        # a question with two answers is not to be put to somebody who did not speak to us
        return Decision.ASK_AGAIN if confidence >= settings.confirm else Decision.IGNORE
    if confidence < settings.confirm:
        return Decision.ASK_AGAIN
    # over speakers the tool's own words are in it: what is left of an answer may be another
    mixed = utterance.over_own_voice
    doubtful = mixed or confidence < settings.accept
    unclear = confidence < settings.accept_command
    match meaning:
        case Command():
            if mixed and meaning.name in _MOVING:
                return Decision.ASK_AGAIN
            # commands change nothing that "go back" or "continue" does not undo; those
            # that do (unable, abandon) are confirmed by the dialogue itself
            return Decision.ASK_AGAIN if unclear else Decision.ACCEPT
        case Correction():
            if unclear:
                # it withdraws an answer: that is not done on a doubt
                return Decision.ASK_AGAIN
            answers = (*meaning.this, *meaning.previous)
            has_reading = any(isinstance(one, Reading) for one in answers)
            sure = not mixed and (not has_reading or confidence >= settings.accept_reading)
            is_one = len(meaning.this) <= 1 and len(meaning.previous) <= 1
            return Decision.ACCEPT if sure and is_one else Decision.CONFIRM
        case Reading():
            if item.reading is None:
                return Decision.ASK_AGAIN
            verdict = judge(meaning.value, item.reading.limit)
            doubtful = mixed or disagrees or confidence < settings.accept_reading
            sure = not doubtful and not item.critical and verdict is Verdict.WITHIN
            return Decision.ACCEPT if sure else Decision.CONFIRM
        case Response():
            if meaning.state is ResponseState.INSUFFICIENT:
                return Decision.ASK_AGAIN
            sure = not doubtful and not item.critical and meaning.state is ResponseState.AS_EXPECTED
            return Decision.ACCEPT if sure else Decision.CONFIRM
