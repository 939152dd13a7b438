"""Notes: what the person says next is kept as it is said, and answers nothing.

A note is about an item. Asked for before anything was said at an item, right after something
was found, it is about what was found; the tool says the item's name, so that it is heard.
Meanwhile the conversation does nothing else; then it goes back to where it was.
"""

from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.events import NoteTaken, Utterance
from voiceflow.dialogue.questions import question
from voiceflow.dialogue.sector import is_between
from voiceflow.dialogue.state import Note, Noting, Phase, State
from voiceflow.dialogue.turn import Turn
from voiceflow.dialogue.waits import drop_deadline
from voiceflow.phraseology.prompts import (
    HoldingAt,
    NoNote,
    NoteKept,
    Prompt,
    Resuming,
    TakingNote,
)
from voiceflow.understanding.interpret import TYPED


def item_of_note(turn: Turn) -> str:
    """Give the item that a note would be about now."""
    state = turn.state
    previous = None if state.previous_id is None else state.outcome(state.previous_id)
    if state.pending is None and state.fresh and previous is not None:
        found = state.open_discrepancies
        if found and found[-1].at_s >= previous.answered_s:
            return found[-1].item_id
    if is_between(state) and previous is not None:
        # one check of the sector has ended, and of the next nothing was asked yet
        return previous.item_id
    return turn.item.id


def begin_note(turn: Turn, utterance: Utterance) -> None:
    """Wait for a note.

    Args:
        turn: The turn.
        utterance: What asked for it: who types gets more time.
    """
    state = turn.state
    if state.awaited:
        # without the device that is waited for, a note could not be asked for or kept
        turn.ignore("no note can be taken now")
        return
    patience = state.settings.notes
    is_typed = utterance.engine == TYPED
    if state.phase in {Phase.ASKING, Phase.CONFIRMING}:
        # the item is asked anew afterwards, and its time begins anew
        drop_deadline(turn, turn.item)
    turn.set(
        phase=Phase.NOTING,
        noting=Noting(
            item_id=item_of_note(turn),
            back_to=state.phase,
            silence_s=patience.typing_s if is_typed else patience.silence_s,
        ),
        fresh=False,
        nudges=0,
    )
    # "say again" afterwards means the question that is open, not this
    turn.say(_taking_note(turn.state), question=False)


def _taking_note(state: State) -> TakingNote:
    return TakingNote(
        challenge=state.check.item(_noting(state).item_id).challenge,
        has_tone=state.settings.voice.earcons,
    )


def _noting(state: State) -> Noting:
    if state.noting is None:
        msg = f"no note is waited for in phase {state.phase}"
        raise RuntimeError(msg)
    return state.noting


def resume_note(turn: Turn, *, keyboard: bool) -> None:
    """The recording goes on after the program had stopped: what comes next is the note."""
    turn.set(keyboard=keyboard)
    turn.break_off()
    turn.set(quiet_since_s=turn.at_s, awaited=())
    turn.listen_anew()
    opening = Resuming(title=turn.state.check.title, last_done=None)
    turn.say(opening, _taking_note(turn.state), question=False)


def end_noting(turn: Turn) -> None:
    """No note is waited for any more; the conversation does what it did before."""
    turn.set(phase=_noting(turn.state).back_to, noting=None)


def keep_note(turn: Turn, event: NoteTaken) -> None:
    """Write a note down, and say so.

    One that comes late is kept too: its words were said as a note, and it says of what item.
    """
    note = Note(
        item_id=event.item_id,
        at_s=event.at_s,
        digest=event.digest,
        length_s=event.length_s,
        text=event.text,
        engine=event.engine,
        ended=event.ended,
    )
    turn.record(Record(note=note))
    turn.set(
        notes=(*turn.state.notes, note),
        person_speaking=False,
        quiet_since_s=turn.at_s,
        person_s=turn.at_s,
    )
    # nothing that lasts is told to have lasted no second
    length_s = max(1, round(event.length_s)) if event.digest else None
    kept = NoteKept(length_s=length_s, ended=event.ended)
    if turn.state.noting is None:
        turn.say(kept, question=False)
    else:
        _go_back(turn, kept)


def give_up(turn: Turn) -> None:
    """Nobody has said anything: there is no note."""
    _go_back(turn, NoNote())


def _go_back(turn: Turn, first: Prompt) -> None:
    """End the note, and put the question that was open before it once more."""
    end_noting(turn)
    state = turn.state
    if state.phase is Phase.CLOSING:
        # the last readback can be heard and rejected again
        turn.say(first, *state.last_said, question=False)
        return
    open_again = question(turn)
    if state.phase is not Phase.HOLDING:
        turn.set(question_due=True)
    elif not is_between(state):
        open_again = HoldingAt(challenge=turn.item.challenge, attempt=state.attempts)
    turn.say(first, open_again, question=False)
    turn.set(last_said=(open_again,))
