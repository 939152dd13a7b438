"""Notes: what is said next is kept, answers nothing, and the question comes again."""

from dataclasses import replace

import pytest

from tests.builders import (
    command,
    expected,
    heard,
    make_check,
    make_gauge,
    make_item,
    reading,
    wrong,
)
from tests.dialogue.conversation import Conversation
from voiceflow.checks.model import Check, CheckKind, Part, Wait
from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.brief import Brief
from voiceflow.dialogue.events import (
    MICROPHONE,
    SPEAKERS,
    DeviceLost,
    InputEnded,
    NoteTaken,
    Resumed,
    SpeechStarted,
    Spoken,
    TimePassed,
)
from voiceflow.dialogue.machine import handle, next_deadline_s
from voiceflow.dialogue.state import HoldCause, Phase
from voiceflow.grammar.meaning import Response
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.prompts import (
    Challenge,
    ConfirmReading,
    HoldingAt,
    NoteEnd,
    NoteKept,
    ReadBack,
    TakingNote,
)
from voiceflow.settings import NoteSettings, VoiceSettings

LENGTH_S = 7.6


def note(talk: Conversation, *, item_id: str | None = None, typed: bool = False) -> NoteTaken:
    """Say something for a note, two seconds later."""
    talk.at_s += 2.0
    waited = talk.state.noting
    taken = NoteTaken(
        at_s=talk.at_s,
        item_id=item_id or (waited.item_id if waited else "covers"),
        digest="" if typed else "ab" * 32,
        length_s=0.0 if typed else LENGTH_S,
        text="the cap was loose" if typed else "",
        engine="typed" if typed else "",
    )
    talk.event(taken)
    return taken


def asked(check: Check | None = None, signer: str = "") -> Conversation:
    return Conversation(check or make_check(), brief=Brief(signer=signer)).start()


def test_a_note_is_recorded_told_and_the_item_is_asked_again() -> None:
    talk = asked()
    talk.say(CommandName.NOTE)
    assert talk.prompts() == (TakingNote(challenge="Pitot covers", has_tone=False),)
    (listening,) = talk.listens()
    assert (listening.item_id, listening.note_on) == ("covers", "covers")
    assert not talk.records()
    taken = note(talk)
    (record,) = talk.records()
    assert record.note is not None
    assert record.note.item_id == "covers"
    assert record.note.digest == taken.digest
    assert talk.state.notes == (record.note,)
    # written down before it is told
    assert isinstance(talk.actions[0], Record)
    assert talk.prompts() == (
        NoteKept(length_s=8, ended=NoteEnd.PAUSE),
        Challenge(challenge="Pitot covers", area=None, digit_by_digit=False),
    )
    (listening,) = talk.listens()
    assert listening.note_on is None
    assert talk.state.phase is Phase.ASKING
    assert not talk.state.outcomes
    talk.say(CommandName.SAY_AGAIN)
    assert talk.kinds() == ("challenge",)
    talk.say(expected())
    assert [outcome.item_id for outcome in talk.state.outcomes] == ["covers"]


def test_the_tone_is_told_of_only_where_there_is_one() -> None:
    talk = Conversation(make_check())
    voice = VoiceSettings(earcons=True)
    talk.state = replace(talk.state, settings=replace(talk.state.settings, voice=voice))
    talk.start()
    talk.say(CommandName.NOTE)
    assert talk.prompts() == (TakingNote(challenge="Pitot covers", has_tone=True),)


def test_whatever_is_heard_meanwhile_is_no_answer() -> None:
    talk = asked()
    talk.say(CommandName.NOTE)
    for meant in (expected(), command(CommandName.ABANDON), reading(1500)):
        talk.event(heard("covers", meant, talk.at_s + 1.0))
        assert talk.ignored
        assert talk.state.phase is Phase.NOTING
        assert not talk.state.outcomes


def test_a_cough_over_the_words_has_them_said_again() -> None:
    talk = Conversation(make_check(), hear_out=False).start()
    for _ in talk.state.pieces:
        talk.event(Spoken(at_s=1.0, words="", completed=True))
    talk.event(heard("covers", command(CommandName.NOTE), 3.0))
    talk.event(SpeechStarted(at_s=3.2))
    assert talk.stops
    talk.event(Spoken(at_s=3.2, words="", completed=False))
    talk.event(heard("covers", expected(), 3.6, confidence=0.0, text=""))
    assert talk.kinds() == ("taking-note",)
    assert talk.state.phase is Phase.NOTING


def test_silence_is_the_way_out() -> None:
    talk = asked()
    talk.say(CommandName.NOTE)
    assert next_deadline_s(talk.state) == talk.at_s + NoteSettings().typing_s
    talk.event(TimePassed(at_s=talk.at_s + 1.0))
    assert talk.ignored
    talk.wait()
    assert talk.kinds() == ("no-note", "challenge")
    assert talk.state.notes == ()
    assert talk.state.phase is Phase.ASKING


def test_who_types_has_more_time_than_who_speaks() -> None:
    talk = asked()
    # the builder's utterances are typed
    talk.say(CommandName.NOTE)
    assert talk.state.noting is not None
    assert talk.state.noting.silence_s == NoteSettings().typing_s
    spoken = asked()
    said = heard("covers", command(CommandName.NOTE), 2.0)
    utterance = replace(said.utterance, engine="pocketsphinx")
    spoken.event(replace(said, utterance=utterance))
    assert spoken.state.noting is not None
    assert spoken.state.noting.silence_s == NoteSettings().silence_s


def test_while_somebody_speaks_nobody_is_hurried() -> None:
    talk = asked()
    talk.say(CommandName.NOTE)
    talk.speak_up()
    assert next_deadline_s(talk.state) is None


def test_right_after_a_finding_it_is_about_what_was_found() -> None:
    talk = asked()
    talk.say(wrong())
    talk.say(CommandName.AFFIRM)
    assert talk.state.item_id == "oxygen"
    talk.say(CommandName.NOTE)
    assert talk.prompts() == (TakingNote(challenge="Pitot covers", has_tone=False),)
    note(talk)
    assert talk.state.notes[0].item_id == "covers"
    # asked again is the item that was being asked
    assert talk.prompts()[-1] == Challenge(challenge="Crew oxygen", area=None, digit_by_digit=False)
    # and the next note is about that one
    talk.say(CommandName.NOTE)
    note(talk)
    assert [each.item_id for each in talk.state.notes] == ["covers", "oxygen"]


def test_once_something_was_said_at_the_next_item_it_is_about_that_one() -> None:
    talk = asked()
    talk.say(wrong())
    talk.say(CommandName.AFFIRM)
    talk.say(wrong("nonsense"), item_id="oxygen", confidence=0.2)
    talk.say(CommandName.NOTE)
    assert talk.state.noting is not None
    assert talk.state.noting.item_id == "oxygen"


def test_after_an_answer_as_expected_it_is_about_the_item_being_asked() -> None:
    talk = asked()
    talk.say(wrong())
    talk.say(CommandName.AFFIRM)
    talk.say(reading(1500))
    talk.say(CommandName.NOTE)
    assert talk.state.noting is not None
    assert talk.state.noting.item_id == "door"


def test_an_open_question_is_put_again_and_confirms_nothing() -> None:
    talk = asked(make_check(make_gauge(), make_item()))
    talk.say(reading(1100))
    assert talk.state.phase is Phase.CONFIRMING
    pending = talk.state.pending
    talk.say(CommandName.NOTE)
    assert talk.state.pending == pending
    # the very reading, said into the note, does not confirm the question
    talk.event(heard("oxygen", reading(1100), talk.at_s + 1.0))
    assert not talk.state.outcomes
    note(talk)
    assert isinstance(talk.prompts()[-1], ConfirmReading)
    assert talk.state.phase is Phase.CONFIRMING
    talk.say(CommandName.AFFIRM)
    assert talk.state.outcomes[0].value == 1100


def test_an_affirm_over_the_question_that_was_not_begun_again_affirms_nothing() -> None:
    talk = Conversation(make_check(make_gauge(), make_item()), hear_out=False).start()

    def hear_out() -> None:
        for _ in talk.state.pieces:
            talk.event(Spoken(at_s=talk.at_s, words="", completed=True))

    hear_out()
    talk.say(reading(1100))
    hear_out()
    talk.say(CommandName.NOTE)
    hear_out()
    note(talk)
    talk.event(SpeechStarted(at_s=talk.at_s))
    talk.event(Spoken(at_s=talk.at_s, words="", completed=False))
    talk.event(Spoken(at_s=talk.at_s, words="", completed=False, begun=False))
    talk.say(CommandName.AFFIRM)
    assert not talk.state.outcomes
    assert isinstance(talk.prompts()[-1], ConfirmReading)


def test_a_readback_that_was_cut_by_it_is_said_first() -> None:
    talk = Conversation(make_check(), hear_out=False).start()
    talk.event(heard("covers", expected(), 3.0))
    talk.event(heard("oxygen", reading(1500), 5.0))
    talk.event(SpeechStarted(at_s=5.1))
    for _ in talk.state.pieces:
        talk.event(Spoken(at_s=5.1, words="", completed=False))
    talk.event(heard("door", command(CommandName.NOTE), 6.0))
    first, *_ = talk.prompts()
    assert isinstance(first, ReadBack)
    assert isinstance(talk.prompts()[-1], TakingNote)


def test_while_holding_a_note_is_taken_and_the_hold_goes_on() -> None:
    talk = asked()
    talk.say(CommandName.STAND_BY)
    talk.say(CommandName.NOTE)
    note(talk)
    assert talk.kinds() == ("note-kept", "holding-at")
    assert isinstance(talk.prompts()[-1], HoldingAt)
    assert talk.state.phase is Phase.HOLDING
    talk.say(CommandName.NOTE, confidence=0.5)
    assert talk.ignored


def test_without_a_device_that_is_waited_for_no_note_is_taken() -> None:
    talk = asked()
    talk.event(DeviceLost(at_s=talk.at_s, device=SPEAKERS))
    talk.say(CommandName.NOTE)
    assert talk.ignored
    assert talk.state.phase is Phase.HOLDING


def sector(*, pauses: bool) -> Check:
    check = make_check(make_item("a.covers"), make_item("b.door", "Door"))
    parts = tuple(
        Part(
            check_id=name,
            title=name,
            kind=CheckKind.FLOW,
            source=check.source,
            digest="",
            items=1,
            pauses=pauses,
        )
        for name in "ab"
    )
    return replace(check, parts=parts)


@pytest.mark.parametrize("answer", [expected(), wrong()])
def test_between_two_checks_it_is_about_the_item_answered_last(answer: Response) -> None:
    talk = asked(sector(pauses=True))
    talk.say(answer)
    if talk.state.phase is Phase.CONFIRMING:
        talk.say(CommandName.AFFIRM)
    assert talk.state.holds[-1].cause is HoldCause.NEXT_CHECK
    talk.say(CommandName.NOTE)
    note(talk)
    assert talk.state.notes[0].item_id == "a.covers"
    assert talk.kinds() == ("note-kept", "next-check")
    talk.say(CommandName.CONTINUE)
    assert talk.state.item_id == "b.door"
    assert talk.state.phase is Phase.ASKING


def test_when_all_is_answered_the_last_readback_may_still_be_rejected() -> None:
    talk = asked(make_check(make_gauge()))
    talk.say(reading(1500))
    assert talk.state.phase is Phase.CLOSING
    talk.say(CommandName.NOTE)
    note(talk)
    assert talk.state.phase is Phase.CLOSING
    assert talk.kinds() == ("note-kept", "read-back")
    talk.say(CommandName.NEGATIVE)
    assert not talk.state.outcomes


def test_before_the_signature_too() -> None:
    talk = asked(make_check(make_item()), signer="Ada North")
    talk.say(expected())
    assert talk.state.phase is Phase.SIGNING
    talk.say(CommandName.NOTE)
    note(talk)
    assert talk.kinds() == ("note-kept", "confirm-sign-off")
    assert not any(record.sign_off for record in talk.records())
    talk.say(CommandName.AFFIRM)
    assert any(record.sign_off for record in talk.records())
    # notes of a check that has ended are gone from nowhere
    assert len(talk.state.notes) == 1


def test_the_time_of_a_timed_item_begins_anew() -> None:
    lamp = make_item("lamp", "Warning light", expect=("out",), wait=Wait(within_s=10.0))
    talk = asked(make_check(lamp, make_item()))
    assert talk.waits()
    talk.say(CommandName.NOTE)
    assert talk.waits() == ()
    note(talk)
    (wait,) = talk.waits()
    assert wait.due_s == talk.at_s + 10.0


def test_what_comes_due_meanwhile_is_told_afterwards() -> None:
    heat = make_item("heat", "Window heat", expect=("on",), wait=Wait(ready_in_s=5.0))
    talk = asked(make_check(heat, make_item()))
    talk.say(expected("on"))
    talk.say(CommandName.NOTE, after_s=4.0)
    assert next_deadline_s(talk.state) == talk.at_s + NoteSettings().typing_s
    talk.at_s += 10.0
    note(talk)
    assert next_deadline_s(talk.state) == pytest.approx(
        talk.at_s + talk.state.settings.patience.gap_s
    )
    talk.wait()
    assert talk.kinds() == ("wait-due",)


def test_a_typed_note_has_no_length() -> None:
    talk = asked()
    talk.say(CommandName.NOTE)
    note(talk, typed=True)
    assert talk.prompts()[0] == NoteKept(length_s=None, ended=NoteEnd.PAUSE)
    assert talk.state.notes[0].text == "the cap was loose"


def test_a_note_that_comes_late_is_kept_with_its_item() -> None:
    talk = asked()
    talk.say(CommandName.NOTE)
    talk.event(DeviceLost(at_s=talk.at_s, device=SPEAKERS))
    assert talk.state.phase is Phase.HOLDING
    (listening,) = talk.listens()
    assert listening.note_on is None
    note(talk, item_id="covers")
    assert talk.kinds() == ("note-kept",)
    assert talk.state.notes[0].item_id == "covers"
    assert talk.state.phase is Phase.HOLDING


def test_half_a_note_is_told_as_such() -> None:
    talk = asked()
    talk.say(CommandName.NOTE)
    talk.event(
        NoteTaken(
            at_s=talk.at_s,
            item_id="covers",
            digest="ab" * 32,
            length_s=0.3,
            text="",
            engine="",
            ended=NoteEnd.BROKEN_OFF,
        )
    )
    assert talk.prompts()[0] == NoteKept(length_s=1, ended=NoteEnd.BROKEN_OFF)
    talk.event(DeviceLost(at_s=talk.at_s, device=MICROPHONE))
    assert talk.state.phase is Phase.HOLDING
    assert len(talk.state.notes) == 1


@pytest.mark.parametrize("signer", ["", "Ada North"])
def test_resumed_in_the_middle_it_goes_back_to_the_item(signer: str) -> None:
    talk = asked(make_check(make_item(), make_item("door", "Cabin door")), signer=signer)
    talk.say(CommandName.NOTE)
    talk.event(Resumed(at_s=talk.at_s + 60.0))
    assert talk.kinds() == ("resuming", "challenge")
    assert talk.state.phase is Phase.ASKING
    (listening,) = talk.listens()
    assert listening.note_on is None
    assert talk.state.notes == ()


def test_a_recording_that_goes_on_has_the_note_yet_to_come() -> None:
    talk = asked()
    talk.say(CommandName.NOTE)
    talk.event(Resumed(at_s=talk.at_s, goes_on=True))
    assert talk.kinds() == ("resuming", "taking-note")
    (listening,) = talk.listens()
    assert listening.note_on == "covers"
    note(talk)
    assert talk.kinds() == ("note-kept", "challenge")


def test_the_end_of_the_input_leaves_the_note_untaken() -> None:
    talk = asked()
    talk.say(CommandName.NOTE)
    talk.event(InputEnded(at_s=talk.at_s))
    assert talk.finishes
    assert talk.state.phase is Phase.ASKING
    assert talk.state.noting is None


def test_a_withdrawn_answer_keeps_its_notes() -> None:
    talk = asked()
    talk.say(CommandName.NOTE)
    note(talk)
    talk.say(expected())
    talk.say(CommandName.GO_BACK)
    assert [each.item_id for each in talk.state.notes] == ["covers"]


def test_replayed_it_comes_out_the_same() -> None:
    talk = asked()
    talk.say(CommandName.NOTE)
    note(talk)
    state = Conversation(make_check()).state
    for event in talk.events:
        state = handle(state, event).state
    assert state == talk.state
