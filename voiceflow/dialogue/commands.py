"""The standing commands: one function each, in a table."""

from collections.abc import Callable, Mapping

from voiceflow.dialogue.agreement import standing_differences
from voiceflow.dialogue.answers import affirm, drop_pending, put
from voiceflow.dialogue.events import Utterance
from voiceflow.dialogue.finishing import outlook
from voiceflow.dialogue.interruptions import stand_by
from voiceflow.dialogue.ladder import insufficient, remark
from voiceflow.dialogue.notes import begin_note
from voiceflow.dialogue.progress import ask, go_back, leave, reopen
from voiceflow.dialogue.questions import question
from voiceflow.dialogue.sector import carried_summary, is_between, title_of_part
from voiceflow.dialogue.state import PendingAbandon, PendingUnable, Phase
from voiceflow.dialogue.summaries import (
    choices,
    finding,
    last_done,
    running_waits,
    spoken_value,
)
from voiceflow.dialogue.turn import Turn
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.prompts import (
    Corrected,
    Disregarded,
    FindingsSoFar,
    HowLong,
    LastRecorded,
    NotHere,
    Prompt,
    SpeakingSlower,
    WhatCanBeSaid,
    WhatIsLeft,
    WhereWeAre,
    WhyNot,
)


def command(turn: Turn, name: CommandName, utterance: Utterance) -> None:
    """Do what a command asks for, while an item is asked or a question is open."""
    _COMMANDS[name](turn, utterance)


def _say_again(turn: Turn, utterance: Utterance) -> None:
    del utterance
    turn.say(*turn.state.last_said)


def _stand_by(turn: Turn, utterance: Utterance) -> None:
    del utterance
    stand_by(turn)


def _continue(turn: Turn, utterance: Utterance) -> None:
    if turn.state.offered:
        turn.set(offered=False)
        turn.say(question(turn))
        return
    remark(turn, NotHere(why=WhyNot.NOT_HOLDING, said=utterance.text), question(turn))


def _affirm(turn: Turn, utterance: Utterance) -> None:
    pending = turn.state.pending
    if pending is not None:
        affirm(turn, pending)
    elif _read_back_just_now(turn) is None:
        nothing = NotHere(why=WhyNot.NOTHING_TO_CONFIRM, said=utterance.text)
        remark(turn, nothing, question(turn))
    elif turn.state.cut_short:
        # it was said over the challenge; the readback itself has been answered
        turn.set(cut_short=())
        turn.say(question(turn))
    else:
        turn.ignore("the readback was right")


def _negative(turn: Turn, utterance: Utterance) -> None:
    rejected = _read_back_just_now(turn)
    if turn.state.pending is not None:
        drop_pending(turn, wrong=True)
    elif rejected is not None:
        _correct(turn, rejected)
    else:
        insufficient(turn, utterance.text)


def _read_back_just_now(turn: Turn) -> str | None:
    """Give the item whose reading was read back last, if nothing was said since."""
    state = turn.state
    if not state.fresh or state.previous_id is None:
        return None
    outcome = state.outcome(state.previous_id)
    return state.previous_id if outcome is not None and outcome.value is not None else None


def _correction(turn: Turn, utterance: Utterance) -> None:
    previous_id = turn.state.previous_id
    if turn.state.pending is not None:
        drop_pending(turn, wrong=True)
    elif previous_id is not None:
        _correct(turn, previous_id)
    else:
        remark(turn, NotHere(why=WhyNot.NOTHING_TO_CORRECT, said=utterance.text), question(turn))


def _correct(turn: Turn, item_id: str) -> None:
    """Withdraw an answer and ask its item again."""
    reopen(turn, item_id)
    turn.say(Corrected(challenge=turn.item.challenge, asks=True))


def _disregard(turn: Turn, utterance: Utterance) -> None:
    state = turn.state
    if state.pending is not None:
        drop_pending(turn, Disregarded())
    elif state.fresh and state.previous_id is not None:
        reopen(turn, state.previous_id)
        ask(turn, turn.item.id, Disregarded())
    else:
        remark(turn, NotHere(why=WhyNot.NOTHING_TO_CORRECT, said=utterance.text), question(turn))


def _read_back(turn: Turn, utterance: Utterance) -> None:
    state = turn.state
    if state.pending is not None:
        turn.say(question(turn))
        return
    if not state.outcomes:
        remark(turn, NotHere(why=WhyNot.NOTHING_RECORDED, said=utterance.text), question(turn))
        return
    outcome = state.outcomes[-1]
    item = state.check.item(outcome.item_id)
    recorded = LastRecorded(
        challenge=item.challenge,
        value=None if outcome.value is None else spoken_value(item, outcome.value),
        phrase=outcome.phrase,
        verdict=outcome.verdict,
        apart=standing_differences(state, item),
    )
    turn.say(recorded, question(turn))


def _unable(turn: Turn, utterance: Utterance) -> None:
    pending = PendingUnable(item_id=turn.item.id, utterance=utterance)
    put(turn, pending)


def _abandon(turn: Turn, utterance: Utterance) -> None:
    del utterance
    put(turn, PendingAbandon())


def _speak_slower(turn: Turn, utterance: Utterance) -> None:
    del utterance
    turn.set(slower=True)
    again: tuple[Prompt, ...] = turn.state.last_said
    turn.say(SpeakingSlower(), *again)
    turn.set(last_said=again)


def _completes_nothing(turn: Turn, utterance: Utterance) -> None:
    confirming = turn.state.pending is not None
    why = WhyNot.AFFIRM_OR_NEGATIVE if confirming else WhyNot.COMPLETES_NOTHING
    remark(turn, NotHere(why=why, said=utterance.text), question(turn))


def _leave(turn: Turn, utterance: Utterance) -> None:
    del utterance
    leave(turn)


def _go_back(turn: Turn, utterance: Utterance) -> None:
    _go_back_by(turn, utterance, 1)


def _go_back_two(turn: Turn, utterance: Utterance) -> None:
    _go_back_by(turn, utterance, 2)


def _go_back_by(turn: Turn, utterance: Utterance, steps: int) -> None:
    if not go_back(turn, steps):
        remark(turn, NotHere(why=WhyNot.NO_ITEM_BEFORE, said=utterance.text), question(turn))


def _where(turn: Turn, utterance: Utterance) -> None:
    del utterance
    state = turn.state
    item = turn.item
    items = state.check.part_items(state.part)
    place = WhereWeAre(
        title=title_of_part(state),
        challenge=item.challenge,
        area=item.area,
        number=items.index(item) + 1,
        count=len(items),
        last_done=last_done(state),
    )
    # the place names the item; only an open question must be put again
    is_open = state.pending is not None or is_between(state)
    turn.say(place, *((question(turn),) if is_open else ()))


def _what_is_left(turn: Turn, utterance: Utterance) -> None:
    del utterance
    state = turn.state
    part = state.check.part_index
    to_come = sum(part(item_id) == state.part for item_id in state.queue)
    left = WhatIsLeft(
        to_come=to_come + (state.phase is not Phase.SIGNING),
        left=tuple(state.check.item(item_id).challenge for item_id in state.left),
        findings=len(state.open_discrepancies),
        then=tuple(later.title for later in state.check.parts[state.part + 1 :]),
    )
    turn.say(left, question(turn))


def _what_was_found(turn: Turn, utterance: Utterance) -> None:
    del utterance
    state = turn.state
    found = FindingsSoFar(
        findings=tuple(finding(state.check, one) for one in state.open_discrepancies),
        carried=tuple(carried_summary(state, one) for one in state.brief.carried),
    )
    turn.say(found, question(turn))


def _how_long(turn: Turn, utterance: Utterance) -> None:
    del utterance
    state = turn.state
    elapsed_s = round(turn.at_s - state.started_s)
    told = HowLong(elapsed_s=elapsed_s, waits=running_waits(state), outlook=outlook(state))
    turn.say(told, question(turn))


def _what_can_i_say(turn: Turn, utterance: Utterance) -> None:
    del utterance
    item = turn.item
    example = None
    if item.reading is not None:
        scale = item.reading.scale
        # the middle of the gauge: an example, and plainly not anybody's reading
        middle = scale.lowest + len(scale) // 2 * scale.step
        example = spoken_value(item, middle)
    turn.say(WhatCanBeSaid(responses=choices(item), example=example), question(turn))


_COMMANDS: Mapping[CommandName, Callable[[Turn, Utterance], None]] = {
    CommandName.SAY_AGAIN: _say_again,
    CommandName.STAND_BY: _stand_by,
    CommandName.CONTINUE: _continue,
    CommandName.CORRECTION: _correction,
    CommandName.DISREGARD: _disregard,
    CommandName.AFFIRM: _affirm,
    CommandName.NEGATIVE: _negative,
    CommandName.READ_BACK: _read_back,
    CommandName.UNABLE: _unable,
    CommandName.SPEAK_SLOWER: _speak_slower,
    CommandName.ROGER: _completes_nothing,
    CommandName.WILCO: _completes_nothing,
    CommandName.LEAVE_FOR_LATER: _leave,
    CommandName.GO_BACK: _go_back,
    CommandName.GO_BACK_TWO: _go_back_two,
    CommandName.WHERE_ARE_WE: _where,
    CommandName.WHAT_IS_LEFT: _what_is_left,
    CommandName.WHAT_WAS_FOUND: _what_was_found,
    CommandName.HOW_LONG: _how_long,
    CommandName.WHAT_CAN_I_SAY: _what_can_i_say,
    CommandName.ABANDON: _abandon,
    CommandName.NOTE: begin_note,
}
