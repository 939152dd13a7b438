"""Pauses of the check: stand by and continue, lost devices, stopped programs."""

from dataclasses import replace

from voiceflow.checks.model import InterruptedPolicy
from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.answers import question
from voiceflow.dialogue.progress import ask, closing, restart
from voiceflow.dialogue.state import Hold, HoldCause, Phase
from voiceflow.dialogue.summaries import challenge, last_done
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
        holds=(*turn.state.holds, pause),
    )
    turn.say(prompt)


def stand_by(turn: Turn) -> None:
    """Pause because the person says so."""
    hold(turn, HoldCause.STAND_BY, HoldingAt(challenge=turn.item.challenge))


def end_hold(turn: Turn, *before: Prompt) -> None:
    """Go on at the item, or from the start where the check's policy says so.

    A device that is still lost is no longer waited for.
    """
    _end_last_hold(turn)
    turn.set(awaited=())
    state = turn.state
    if state.check.interrupted is InterruptedPolicy.RESTART:
        restart(turn, *before, Continuing(last_done=last_done(state), restarting=True))
    else:
        asked_s = state.asked_s
        opening = Continuing(last_done=last_done(state))
        ask(turn, turn.item.id, *before, opening, with_area=True)
        turn.set(asked_s=asked_s)


def _end_last_hold(turn: Turn) -> None:
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
        turn.say(DeviceBack(device=device), HoldingAt(challenge=turn.item.challenge))


def regain_closing(turn: Turn, device: str) -> None:
    """The last reading is read back once more: it can be heard and rejected again."""
    awaited = tuple(other for other in turn.state.awaited if other != device)
    turn.set(awaited=awaited)
    turn.say(DeviceBack(device=device), *turn.state.last_said, question=False)


def resume(turn: Turn) -> None:
    """Take up a run after the program had stopped, at the very question it was at."""
    state = turn.state
    title = state.check.title
    done = last_done(state)
    turn.break_off()
    # the question had been put before the program stopped; every device is opened anew
    turn.set(question_due=False, quiet_since_s=turn.at_s, awaited=())
    turn.listen_anew()
    if state.phase is Phase.HOLDING and state.holds[-1].cause is HoldCause.DEVICE:
        end_hold(turn, Resuming(title=title, last_done=None))
    elif state.phase is Phase.HOLDING:
        turn.say(Resuming(title=title, last_done=done), HoldingAt(challenge=turn.item.challenge))
    elif state.check.interrupted is InterruptedPolicy.RESTART and state.outcomes:
        restart(turn, Resuming(title=title, last_done=done, restarting=True))
    elif state.pending is not None:
        turn.say(Resuming(title=title, last_done=done), question(turn))
    else:
        # the place is said in full: the person may have been away for long
        turn.say(
            Resuming(title=title, last_done=done),
            challenge(state, turn.item, with_area=True),
        )


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
