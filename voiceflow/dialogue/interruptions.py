"""Pauses of the check: stand by and continue, lost devices, stopped programs."""

from dataclasses import replace

from voiceflow.checks.model import InterruptedPolicy
from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.progress import ask, closing, restart
from voiceflow.dialogue.questions import question
from voiceflow.dialogue.sector import is_between, next_check, opening_of_part
from voiceflow.dialogue.state import Hold, HoldCause, Phase
from voiceflow.dialogue.summaries import (
    challenge,
    interrupted_policy,
    last_done,
    may_go_back,
    offer,
)
from voiceflow.dialogue.turn import Turn
from voiceflow.dialogue.waits import drop_deadline
from voiceflow.phraseology.prompts import (
    Continuing,
    DeviceBack,
    DeviceTrouble,
    HoldingAt,
    Prompt,
    Resuming,
)


def hold(turn: Turn, cause: HoldCause, prompt: Prompt) -> None:
    """Pause at the current item. A question that was open is put anew afterwards."""
    # the challenge is put anew after the pause, and its time begins anew
    drop_deadline(turn, turn.item)
    pause = Hold(item_id=turn.item.id, from_s=turn.at_s, cause=cause)
    turn.record(Record(hold=pause))
    turn.set(
        phase=Phase.HOLDING,
        pending=None,
        person_speaking=False,
        fresh=False,
        attempts=0,
        holds=(*turn.state.holds, pause),
    )
    turn.say(prompt)


def stand_by(turn: Turn) -> None:
    """Pause because the person says so."""
    hold(turn, HoldCause.STAND_BY, HoldingAt(challenge=turn.item.challenge))


def ask_to_go_on(turn: Turn) -> None:
    """It may have been "continue": not going on is safe, saying nothing is not clear."""
    turn.set(attempts=turn.state.attempts + 1)
    turn.say(_holding(turn))


def _holding(turn: Turn) -> Prompt:
    """Give the words with which the check holds, or waits for its sector's next check."""
    state = turn.state
    if is_between(state):
        return next_check(state)
    return HoldingAt(challenge=turn.item.challenge, attempt=state.attempts)


def begin_next(turn: Turn) -> None:
    """Begin the next check of the sector: the person has said so."""
    end_pause(turn)
    turn.set(awaited=())
    ask(turn, turn.item.id, *opening_of_part(turn.state), with_area=True)


def end_hold(turn: Turn, *before: Prompt) -> None:
    """Go on at the item, or from the start where the check's policy says so.

    A device that is still lost is no longer waited for.
    """
    end_pause(turn)
    turn.set(awaited=())
    state = turn.state
    if interrupted_policy(state) is InterruptedPolicy.RESTART:
        restart(turn, *before, Continuing(last_done=last_done(state), restarting=True))
    else:
        asked_s = state.asked_s
        opening: tuple[Prompt, ...] = (Continuing(last_done=last_done(state)),)
        since_s = state.holds[-1].from_s
        offered = may_go_back(state, since_s)
        if offered:
            opening = (*opening, offer(state, since_s))
        ask(turn, turn.item.id, *before, *opening, with_area=True)
        turn.set(asked_s=asked_s, offered=offered)


def end_pause(turn: Turn) -> None:
    """Write down that the last pause is over."""
    ended = replace(turn.state.holds[-1], until_s=turn.at_s)
    turn.record(Record(hold=ended))
    turn.set(holds=(*turn.state.holds[:-1], ended))


def lose_device(turn: Turn, device: str) -> None:
    """Hold, and say so if there is still a way to."""
    item = turn.item
    turn.set(awaited=(device,))
    hold(turn, HoldCause.DEVICE, DeviceTrouble(device=device, challenge=item.challenge))


def lose_another(turn: Turn, device: str) -> None:
    """The check is not going on as it is: wait for this device too, and say so."""
    turn.set(awaited=(*turn.state.awaited, device), person_speaking=False)
    trouble = DeviceTrouble(device=device, challenge=turn.item.challenge)
    turn.say(trouble, question=False)


def regain_device(turn: Turn, device: str) -> None:
    """Go on if the device was the last of those that the check was holding for."""
    state = turn.state
    awaited = tuple(other for other in state.awaited if other != device)
    turn.set(awaited=awaited)
    if state.holds[-1].cause is HoldCause.DEVICE and not awaited:
        end_hold(turn, DeviceBack(device=device))
    else:
        turn.set(attempts=0)
        turn.say(DeviceBack(device=device), _holding(turn))


def regain_closing(turn: Turn, device: str) -> None:
    """The last reading is read back once more: it can be heard and rejected again."""
    awaited = tuple(other for other in turn.state.awaited if other != device)
    turn.set(awaited=awaited)
    turn.say(DeviceBack(device=device), *turn.state.last_said, question=False)


def resume(turn: Turn, *, keyboard: bool = False) -> None:
    """Take up a run after the program had stopped, at the very question it was at."""
    turn.set(keyboard=keyboard)
    state = turn.state
    title = state.check.title
    done = last_done(state)
    offered = may_go_back(state, turn.before_s)
    turn.break_off()
    # the question had been put before the program stopped; every device is opened anew
    turn.set(question_due=False, quiet_since_s=turn.at_s, awaited=())
    turn.listen_anew()
    waited = state.settings.patience.awaits_devices and state.phase is Phase.HOLDING
    if waited and state.holds[-1].cause is HoldCause.DEVICE:
        end_hold(turn, Resuming(title=title, last_done=None))
    elif state.phase is Phase.HOLDING:
        turn.set(attempts=0)
        turn.say(Resuming(title=title, last_done=done), _holding(turn))
    elif interrupted_policy(state) is InterruptedPolicy.RESTART and state.outcomes:
        restart(turn, Resuming(title=title, last_done=done, restarting=True))
    elif state.pending is not None:
        turn.say(Resuming(title=title, last_done=done), question(turn))
    else:
        # the place is said in full: the person may have been away for long
        turn.set(offered=offered)
        turn.say(
            Resuming(title=title, last_done=done),
            *((offer(state, turn.before_s),) if offered else ()),
            challenge(state, turn.item, with_area=True),
        )


def resume_signing(turn: Turn, *, keyboard: bool = False) -> None:
    """All was said, and nobody had signed: the question is put again."""
    turn.set(keyboard=keyboard)
    turn.break_off()
    turn.set(quiet_since_s=turn.at_s, awaited=(), question_due=False)
    turn.listen_anew()
    turn.say(Resuming(title=turn.state.check.title, last_done=None), question(turn))


def resume_closing(turn: Turn) -> None:
    """All was answered: the last readback may still be rejected."""
    state = turn.state
    turn.break_off()
    turn.set(quiet_since_s=turn.at_s, awaited=())
    turn.listen_anew()
    opening = Resuming(title=state.check.title, last_done=last_done(state))
    turn.say(opening, question=False)


def resume_finished(turn: Turn) -> None:
    """The check had ended before its closing words were heard: say them."""
    turn.break_off()
    turn.say(closing(turn))
    turn.finish()
