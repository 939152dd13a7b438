"""The dialogue: ``handle(state, event)`` gives the new state and what is to be done.

Rule 1: everything that changes the state happens in here, reached through one
table of phases and events. There is no clock, thread or file: time is in the
events, and the state says when it wants to be told that time has passed.

Rule 2: the table is total. A pair for which there is nothing to do says so, with
the reason, and a test walks the whole product.
"""

from collections.abc import Callable, Mapping
from typing import Any

from voiceflow.checks.model import Check
from voiceflow.dialogue import waits
from voiceflow.dialogue.actions import Step
from voiceflow.dialogue.agreement import is_disagreeing
from voiceflow.dialogue.answers import (
    affirm,
    answer,
    correct,
)
from voiceflow.dialogue.brief import Brief
from voiceflow.dialogue.commands import command
from voiceflow.dialogue.events import (
    DeviceLost,
    DeviceReturned,
    Event,
    Heard,
    InputEnded,
    NoteTaken,
    Resumed,
    SpeechStarted,
    Spoken,
    Started,
    TimePassed,
    Utterance,
)
from voiceflow.dialogue.finishing import take_warning
from voiceflow.dialogue.interruptions import (
    ask_to_go_on,
    begin_next,
    end_hold,
    end_pause,
    lose_another,
    lose_device,
    regain_closing,
    regain_device,
    resume,
    resume_closing,
    resume_finished,
    resume_signing,
)
from voiceflow.dialogue.ladder import insufficient, named, not_understood
from voiceflow.dialogue.notes import begin_note, end_noting, give_up, keep_note, resume_note
from voiceflow.dialogue.policy import Decision, decide
from voiceflow.dialogue.progress import ask, conclude, go_back, reopen, sign_and_finish
from voiceflow.dialogue.questions import question
from voiceflow.dialogue.sector import carried_over, is_between, opening_of_part
from voiceflow.dialogue.state import PendingAnswer, Phase, State
from voiceflow.dialogue.turn import Turn
from voiceflow.grammar.meaning import (
    Ambiguous,
    Answer,
    Command,
    Correction,
    NoMatch,
    Reading,
    Response,
    ResponseState,
)
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.prompts import (
    Challenge,
    ConfirmAbandon,
    ConfirmReading,
    ConfirmResponse,
    ConfirmSignOff,
    ConfirmUnable,
    Corrected,
    Opening,
)
from voiceflow.settings import Settings
from voiceflow.understanding.interpret import TYPED


def begin(check: Check, settings: Settings | None = None, brief: Brief | None = None) -> State:
    """Give the state before the first event."""
    return State(check=check, settings=settings or Settings(), brief=brief or Brief())


def handle(state: State, event: Event) -> Step:
    """Take one event.

    Total: every event may come in every phase. Pure: the same state and event
    give the same step.

    Args:
        state: The state.
        event: What happened; ``at_s`` not before that of the event before.

    Returns:
        The new state and the actions, records first.
    """
    turn = Turn(state, event.at_s)
    TRANSITIONS[state.phase, type(event)](turn, event)
    return turn.step()


def next_deadline_s(state: State) -> float | None:
    """Give when TimePassed is due, if nothing else happens before; None: never."""
    return waits.next_deadline_s(state)


#: Each handler takes the one kind of event that the table gives it.
#: What puts a question to the person.
QUESTIONS = (
    Challenge | ConfirmReading | ConfirmResponse | ConfirmUnable | ConfirmAbandon | ConfirmSignOff
)

Handler = Callable[[Turn, Any], None]


def _nothing(reason: str) -> Handler:
    def ignore(turn: Turn, event: Event) -> None:
        del event
        turn.ignore(reason)

    return ignore


def _start(turn: Turn, event: Started | Resumed) -> None:
    check = turn.state.check
    turn.set(keyboard=event.keyboard)
    ids = tuple(item.id for item in check.items)
    turn.set(started_s=turn.at_s, queue=ids[1:], quiet_since_s=turn.at_s, person_s=turn.at_s)
    opening = Opening(
        title=check.title,
        aircraft=check.aircraft,
        tail=check.tail,
        count=len(check.items),
        checks=len(check.parts),
    )
    before = (*carried_over(turn.state), *take_warning(turn), *opening_of_part(turn.state))
    ask(turn, ids[0], opening, *before)


def _speech_started(turn: Turn, event: Event) -> None:
    del event
    turn.set(person_speaking=True)
    if turn.state.saying:
        turn.stop_speaking()


def _spoken(turn: Turn, event: Spoken) -> None:
    state = turn.state
    if state.pieces:
        said = state.pieces[0]
        turn.set(pieces=state.pieces[1:])
        if not event.completed:
            turn.set(cut_short=(*state.cut_short, said))
        if event.begun and isinstance(said, QUESTIONS):
            turn.set(question_due=False)
    turn.set(quiet_since_s=turn.at_s)
    if state.phase is Phase.ASKING and not turn.state.pieces:
        waits.start_deadline(turn)


def _pass_time(turn: Turn, event: Event) -> None:
    del event
    waits.pass_time(turn, None if turn.state.pending is None else question(turn))


def _pass_time_closing(turn: Turn, event: Event) -> None:
    del event
    ends_s = waits.hearback_ends_s(turn.state)
    if ends_s is not None and ends_s <= turn.at_s:
        conclude(turn)
    else:
        waits.pass_time(turn, None)


def _heard(turn: Turn, event: Heard) -> None:
    utterance = event.utterance
    was_cut = bool(turn.state.cut_short)
    turn.set(person_speaking=False, quiet_since_s=turn.at_s)
    is_command = isinstance(utterance.meaning, Command)
    if event.item_id != turn.state.item_id and not is_command:
        turn.ignore(f"late: {event.item_id} was listening")
        _say_again_what_was_cut(turn)
        return
    decision = decide(
        utterance,
        turn.item,
        turn.state.settings.policy,
        disagrees=is_disagreeing(turn.state, turn.item, utterance.meaning),
    )
    if decision is Decision.IGNORE:
        turn.ignore("not believed to be an answer")
        _say_again_what_was_cut(turn)
        return
    turn.set(nudges=0, person_s=turn.at_s)
    meaning = utterance.meaning
    if isinstance(meaning, Response) and meaning.state is ResponseState.INSUFFICIENT:
        insufficient(turn, meaning.phrase)
    elif decision is Decision.ASK_AGAIN or isinstance(meaning, NoMatch | Ambiguous):
        not_understood(turn, utterance)
    elif meaning == Command(name=CommandName.AFFIRM) and was_cut and turn.state.question_due:
        # it cannot affirm a question that was not even begun
        turn.say(question(turn))
    elif isinstance(meaning, Command):
        command(turn, meaning.name, utterance)
    elif isinstance(meaning, Correction):
        correct(turn, utterance, meaning)
    else:
        _answered(turn, utterance, meaning, decision, was_cut=was_cut)


def _say_again_what_was_cut(turn: Turn) -> None:
    """A cough must not swallow the challenge."""
    if turn.state.cut_short:
        turn.say(*turn.state.cut_short, question=False)


def _answered(
    turn: Turn, utterance: Utterance, meant: Answer, decision: Decision, *, was_cut: bool
) -> None:
    """Take an answer; while a question is open, the same answer again confirms it.

    Not if it began over the question: then it may be the first answer said twice, or
    the tool's own voice, and the question was not heard out.
    """
    pending = turn.state.pending
    if pending is None:
        # said before the challenge began, it may be meant for the item before: the
        # question names the item
        early = was_cut and turn.state.question_due
        # said while the tool named this very answer, it may be the tool's own voice
        spoken = utterance.engine != TYPED
        echoed = spoken and any(named(prompt, meant) for prompt in turn.state.cut_short)
        doubt = early or echoed
        answer(turn, utterance, meant, Decision.CONFIRM if doubt else decision)
    elif not (isinstance(pending, PendingAnswer) and pending.answer == meant):
        # two different answers to one challenge: neither is taken unasked
        answer(turn, utterance, meant, Decision.CONFIRM)
    elif (
        was_cut
        or utterance.over_own_voice
        or utterance.confidence < turn.state.settings.policy.accept
    ):
        not_understood(turn, utterance)
    else:
        affirm(turn, pending)


def _heard_while_holding(turn: Turn, event: Heard) -> None:
    utterance = event.utterance
    turn.set(person_speaking=False, quiet_since_s=turn.at_s)
    policy = turn.state.settings.policy
    goes_on = utterance.meaning == Command(name=CommandName.CONTINUE)
    is_sure = utterance.confidence >= policy.accept_command and not utterance.over_own_voice
    between = is_between(turn.state)
    if goes_on and is_sure:
        turn.set(person_s=turn.at_s)
        if between:
            begin_next(turn)
        else:
            end_hold(turn)
    elif utterance.meaning == Command(name=CommandName.NOTE) and is_sure:
        turn.set(person_s=turn.at_s)
        begin_note(turn, utterance)
    elif between and is_sure and _heard_between(turn, utterance):
        turn.set(person_s=turn.at_s)
    elif goes_on and utterance.confidence >= policy.confirm:
        ask_to_go_on(turn)
    else:
        turn.ignore("holding: only continue, or a note, is heard")


#: What is answered where the conversation waits and no item is open: they change nothing.
_ASKING_ONLY = frozenset(
    {
        CommandName.SAY_AGAIN,
        CommandName.SPEAK_SLOWER,
        CommandName.READ_BACK,
        CommandName.WHERE_ARE_WE,
        CommandName.WHAT_IS_LEFT,
        CommandName.WHAT_WAS_FOUND,
        CommandName.HOW_LONG,
        CommandName.NOTE,
    }
)


def _heard_between(turn: Turn, utterance: Utterance) -> bool:
    """Between two checks of a sector: answer what is asked, take back the last answer.

    Returns:
        Whether it was for the tool.
    """
    meaning = utterance.meaning
    if not isinstance(meaning, Command):
        return False
    if meaning.name in _ASKING_ONLY:
        command(turn, meaning.name, utterance)
    elif meaning.name in _REJECTING and turn.state.previous_id is not None:
        end_pause(turn)
        reopen(turn, turn.state.previous_id)
        turn.say(Corrected(challenge=turn.item.challenge, asks=True))
    else:
        return False
    return True


def _heard_signing(turn: Turn, event: Heard) -> None:
    """The person is asked to sign: affirm signs, negative ends unsigned."""
    utterance = event.utterance
    was_cut = bool(turn.state.cut_short)
    turn.set(person_speaking=False, quiet_since_s=turn.at_s)
    decision = decide(utterance, turn.item, turn.state.settings.policy)
    if decision is Decision.IGNORE:
        turn.ignore("not believed to be an answer")
        _say_again_what_was_cut(turn)
        return
    turn.set(nudges=0, person_s=turn.at_s)
    meaning = utterance.meaning
    name = meaning.name if isinstance(meaning, Command) else None
    last = turn.state.previous_id
    if decision is not Decision.ACCEPT or name is None:
        _ask_signature_again(turn)
    elif name is CommandName.AFFIRM and not (was_cut and turn.state.question_due):
        sign_and_finish(turn, utterance.text)
    elif name is CommandName.NEGATIVE and not was_cut:
        sign_and_finish(turn, None)
    elif name in _ASKING_ONLY:
        command(turn, name, utterance)
    elif name in _REJECTING and name is not CommandName.NEGATIVE and last is not None:
        reopen(turn, last)
        turn.say(Corrected(challenge=turn.item.challenge, asks=True))
    else:
        _ask_signature_again(turn)


def _ask_signature_again(turn: Turn) -> None:
    turn.set(attempts=turn.state.attempts + 1)
    turn.say(question(turn))


def _heard_closing(turn: Turn, event: Heard) -> None:
    """The last reading was read back: it stands, or it is withdrawn or corrected."""
    utterance = event.utterance
    turn.set(person_speaking=False, quiet_since_s=turn.at_s)
    decision = decide(utterance, turn.item, turn.state.settings.policy)
    meaning = utterance.meaning
    last = turn.state.outcomes[-1]
    if decision is Decision.IGNORE or event.item_id != turn.item.id:
        turn.ignore("not believed to be about the last readback")
        _say_again_what_was_cut(turn)
    elif decision is Decision.ASK_AGAIN:
        turn.say(*turn.state.last_said)
    elif meaning == Command(name=CommandName.GO_BACK_TWO):
        reopen(turn, last.item_id)
        if not go_back(turn, 1):
            ask(turn, last.item_id, with_area=True)
    elif isinstance(meaning, Command) and meaning.name in _REJECTING:
        reopen(turn, last.item_id)
        turn.say(Corrected(challenge=turn.item.challenge, asks=True))
    elif meaning == Command(name=CommandName.NOTE):
        begin_note(turn, utterance)
    elif isinstance(meaning, Correction):
        reopen(turn, last.item_id)
        correct(turn, utterance, Correction(this=meaning.this or meaning.previous))
    elif meaning == Command(name=CommandName.AFFIRM):
        turn.set(cut_short=())
        conclude(turn)
    elif isinstance(meaning, Reading) and meaning.value == last.value:
        if utterance.over_own_voice:
            # it may be the readback itself, which then confirms nothing
            turn.say(*turn.state.last_said)
        else:
            conclude(turn)
    elif isinstance(meaning, Response | Reading):
        # another answer to an item that has one: neither is taken unasked
        reopen(turn, last.item_id)
        answer(turn, utterance, meaning, Decision.CONFIRM)
    else:
        turn.say(*turn.state.last_said)


_REJECTING = frozenset(
    {
        CommandName.NEGATIVE,
        CommandName.CORRECTION,
        CommandName.DISREGARD,
        CommandName.GO_BACK,
    }
)


def _device_lost(turn: Turn, event: DeviceLost) -> None:
    lose_device(turn, event.device)


def _another_lost(turn: Turn, event: DeviceLost) -> None:
    if not turn.state.settings.patience.awaits_devices:
        turn.ignore("the check is not going on as it is")
    elif event.device in turn.state.awaited:
        turn.ignore("it is lost already")
    else:
        lose_another(turn, event.device)


def _device_returned(turn: Turn, event: DeviceReturned) -> None:
    regain_device(turn, event.device)


def _returned_closing(turn: Turn, event: DeviceReturned) -> None:
    if event.device in turn.state.awaited:
        regain_closing(turn, event.device)
    else:
        turn.ignore("it was not lost")


def _input_ended(turn: Turn, event: Event) -> None:
    """The recording is over, the check is not: stop here, to be resumed."""
    del event
    turn.set(person_speaking=False)
    turn.finish()


def _input_ended_closing(turn: Turn, event: Event) -> None:
    """Nothing more can be said against the last readback: it stands.

    Of a sector with checks to come, and where a signature is wanted, the run does not end.
    """
    del event
    turn.set(person_speaking=False)
    conclude(turn)
    if turn.state.ending is None:
        turn.finish()


def _resume(turn: Turn, event: Resumed) -> None:
    resume(turn, keyboard=event.keyboard)


def _resume_signing(turn: Turn, event: Resumed) -> None:
    resume_signing(turn, keyboard=event.keyboard)


def _resume_closing(turn: Turn, event: Event) -> None:
    del event
    resume_closing(turn)


def _resume_finished(turn: Turn, event: Event) -> None:
    del event
    resume_finished(turn)


def _note_taken(turn: Turn, event: NoteTaken) -> None:
    keep_note(turn, event)


def _heard_noting(turn: Turn, event: Heard) -> None:
    """A cough, the tool's own voice, or what was said before: none of it is the note."""
    del event
    turn.set(person_speaking=False, quiet_since_s=turn.at_s)
    turn.ignore("a note is waited for")
    _say_again_what_was_cut(turn)


def _pass_time_noting(turn: Turn, event: Event) -> None:
    del event
    due_s = waits.next_deadline_s(turn.state)
    if due_s is not None and due_s <= turn.at_s:
        give_up(turn)
    else:
        turn.ignore("nothing is due")


def _leave_note(turn: Turn, event: Event) -> None:
    """No note any more: what happened is taken as it would have been without it."""
    end_noting(turn)
    TRANSITIONS[turn.state.phase, type(event)](turn, event)


def _resume_noting(turn: Turn, event: Resumed) -> None:
    if event.goes_on:
        resume_note(turn, keyboard=event.keyboard)
    else:
        _leave_note(turn, event)


_NOT_STARTED = _nothing("the run has not started")
_RUNNING = _nothing("the run has started already")
_ENDED = _nothing("the check has ended")
_NOT_AWAITED = _nothing("no device is waited for")

#: Every phase with every event. DEVELOPERS.md shows it as a diagram; a test keeps
#: the two alike.
TRANSITIONS: Mapping[tuple[Phase, type[Event]], Handler] = {
    (Phase.NOT_STARTED, Started): _start,
    (Phase.NOT_STARTED, Heard): _NOT_STARTED,
    (Phase.NOT_STARTED, SpeechStarted): _NOT_STARTED,
    (Phase.NOT_STARTED, Spoken): _NOT_STARTED,
    (Phase.NOT_STARTED, TimePassed): _NOT_STARTED,
    (Phase.NOT_STARTED, DeviceLost): _NOT_STARTED,
    (Phase.NOT_STARTED, DeviceReturned): _NOT_STARTED,
    (Phase.NOT_STARTED, InputEnded): _input_ended,
    (Phase.NOT_STARTED, Resumed): _start,
    (Phase.NOT_STARTED, NoteTaken): _NOT_STARTED,
    (Phase.ASKING, Started): _RUNNING,
    (Phase.ASKING, Heard): _heard,
    (Phase.ASKING, SpeechStarted): _speech_started,
    (Phase.ASKING, Spoken): _spoken,
    (Phase.ASKING, TimePassed): _pass_time,
    (Phase.ASKING, DeviceLost): _device_lost,
    (Phase.ASKING, DeviceReturned): _NOT_AWAITED,
    (Phase.ASKING, InputEnded): _input_ended,
    (Phase.ASKING, Resumed): _resume,
    (Phase.ASKING, NoteTaken): _note_taken,
    (Phase.CONFIRMING, Started): _RUNNING,
    (Phase.CONFIRMING, Heard): _heard,
    (Phase.CONFIRMING, SpeechStarted): _speech_started,
    (Phase.CONFIRMING, Spoken): _spoken,
    (Phase.CONFIRMING, TimePassed): _pass_time,
    (Phase.CONFIRMING, DeviceLost): _device_lost,
    (Phase.CONFIRMING, DeviceReturned): _NOT_AWAITED,
    (Phase.CONFIRMING, InputEnded): _input_ended,
    (Phase.CONFIRMING, Resumed): _resume,
    (Phase.CONFIRMING, NoteTaken): _note_taken,
    (Phase.HOLDING, Started): _RUNNING,
    (Phase.HOLDING, Heard): _heard_while_holding,
    (Phase.HOLDING, SpeechStarted): _speech_started,
    (Phase.HOLDING, Spoken): _spoken,
    (Phase.HOLDING, TimePassed): _pass_time,
    (Phase.HOLDING, DeviceLost): _another_lost,
    (Phase.HOLDING, DeviceReturned): _device_returned,
    (Phase.HOLDING, InputEnded): _input_ended,
    (Phase.HOLDING, Resumed): _resume,
    (Phase.HOLDING, NoteTaken): _note_taken,
    (Phase.CLOSING, Started): _RUNNING,
    (Phase.CLOSING, Heard): _heard_closing,
    (Phase.CLOSING, SpeechStarted): _speech_started,
    (Phase.CLOSING, Spoken): _spoken,
    (Phase.CLOSING, TimePassed): _pass_time_closing,
    (Phase.CLOSING, DeviceLost): _another_lost,
    (Phase.CLOSING, DeviceReturned): _returned_closing,
    (Phase.CLOSING, InputEnded): _input_ended_closing,
    (Phase.CLOSING, Resumed): _resume_closing,
    (Phase.CLOSING, NoteTaken): _note_taken,
    (Phase.SIGNING, Started): _RUNNING,
    (Phase.SIGNING, Heard): _heard_signing,
    (Phase.SIGNING, SpeechStarted): _speech_started,
    (Phase.SIGNING, Spoken): _spoken,
    (Phase.SIGNING, TimePassed): _pass_time,
    (Phase.SIGNING, DeviceLost): _another_lost,
    (Phase.SIGNING, DeviceReturned): _returned_closing,
    (Phase.SIGNING, InputEnded): _input_ended,
    (Phase.SIGNING, Resumed): _resume_signing,
    (Phase.SIGNING, NoteTaken): _note_taken,
    (Phase.NOTING, Started): _RUNNING,
    (Phase.NOTING, Heard): _heard_noting,
    (Phase.NOTING, SpeechStarted): _speech_started,
    (Phase.NOTING, Spoken): _spoken,
    (Phase.NOTING, TimePassed): _pass_time_noting,
    (Phase.NOTING, DeviceLost): _leave_note,
    (Phase.NOTING, DeviceReturned): _NOT_AWAITED,
    (Phase.NOTING, InputEnded): _leave_note,
    (Phase.NOTING, Resumed): _resume_noting,
    (Phase.NOTING, NoteTaken): _note_taken,
    (Phase.FINISHED, Started): _RUNNING,
    (Phase.FINISHED, Heard): _ENDED,
    (Phase.FINISHED, SpeechStarted): _ENDED,
    (Phase.FINISHED, Spoken): _spoken,
    (Phase.FINISHED, TimePassed): _ENDED,
    (Phase.FINISHED, DeviceLost): _ENDED,
    (Phase.FINISHED, DeviceReturned): _ENDED,
    (Phase.FINISHED, InputEnded): _ENDED,
    (Phase.FINISHED, Resumed): _resume_finished,
    (Phase.FINISHED, NoteTaken): _ENDED,
}

__all__ = ["TRANSITIONS", "begin", "handle", "next_deadline_s"]
