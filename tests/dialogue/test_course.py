"""The course of a check: challenges, answers, confirmations, endings."""

from dataclasses import replace
from decimal import Decimal

import pytest

from tests.builders import (
    expected,
    heard,
    make_check,
    make_gauge,
    make_item,
    make_scale,
    reading,
    wrong,
)
from tests.dialogue.conversation import Conversation
from voiceflow.checks.model import (
    InterruptedPolicy,
    Limit,
    ReadingSpec,
    Remedy,
    RemedyAction,
    Wait,
)
from voiceflow.dialogue.actions import Listen, Record, Say
from voiceflow.dialogue.events import (
    DeviceLost,
    DeviceReturned,
    InputEnded,
    Resumed,
    SpeechStarted,
    Spoken,
    TimePassed,
)
from voiceflow.dialogue.machine import handle, next_deadline_s
from voiceflow.dialogue.progress import closing
from voiceflow.dialogue.state import HoldCause, ItemState, Phase
from voiceflow.dialogue.summaries import spoken_value
from voiceflow.dialogue.turn import Turn
from voiceflow.grammar.meaning import (
    Ambiguous,
    Command,
    Correction,
    Meaning,
    NoMatch,
    Response,
    ResponseState,
)
from voiceflow.limits.judge import Verdict
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.prompts import (
    AskAgain,
    Challenge,
    Closing,
    ConfirmReading,
    Continuing,
    EndingKind,
    FindingReason,
    FindingRecorded,
    HowLong,
    LastRecorded,
    LeftForLater,
    NotHere,
    OfferToGoBack,
    ReadBack,
    SayTheSetting,
    StillThere,
    WaitDue,
    WaitOverdue,
    WhatCanBeSaid,
    WhatIsLeft,
    WhereWeAre,
    WhichOne,
    WhyNot,
)
from voiceflow.settings import PatienceSettings, Settings


def started(*items: object, **changes: object) -> Conversation:
    check = replace(make_check(*items), **changes)  # type: ignore[arg-type]
    return Conversation(check).start()


def test_opens_with_the_first_challenge() -> None:
    talk = started()
    assert talk.kinds() == ("opening", "challenge")
    assert talk.listens() == (Listen(item_id="covers", previous_id=None),)
    assert talk.state.phase is Phase.ASKING


def test_expected_response_goes_on_at_once() -> None:
    talk = started()
    talk.say(expected())
    assert talk.kinds() == ("challenge",)
    assert talk.state.item_id == "oxygen"
    (record,) = talk.records()
    assert record.outcome is not None
    assert record.outcome.state is ItemState.AS_EXPECTED
    assert record.outcome.said == "words as said"
    assert not record.outcome.confirmed


def test_record_comes_before_listen_and_say() -> None:
    talk = started()
    kinds = [type(action) for action in talk.say(expected())]
    assert kinds == [Record, Listen, Say]


def test_reading_within_limits_is_read_back_with_the_next_challenge() -> None:
    talk = started()
    talk.say(expected())
    talk.say(reading(1650))
    read_back, challenge = talk.prompts()
    assert isinstance(read_back, ReadBack)
    assert read_back.taken.value == Decimal(1650)
    assert read_back.verdict is Verdict.WITHIN
    assert challenge == Challenge(challenge="Cabin door")


@pytest.mark.parametrize(
    ("value", "verdict", "reason", "action"),
    [
        (900, Verdict.OUTSIDE, FindingReason.OUTSIDE_LIMITS, RemedyAction.MAINTENANCE),
        (1300, Verdict.CAUTION, FindingReason.CAUTION, RemedyAction.INFORMATION),
    ],
)
def test_reading_not_within_limits_is_confirmed_then_a_discrepancy(
    value: int, verdict: Verdict, reason: FindingReason, action: RemedyAction
) -> None:
    talk = started(make_gauge())
    talk.say(reading(value))
    (question,) = talk.prompts()
    assert isinstance(question, ConfirmReading)
    assert question.verdict is verdict
    assert talk.records() == ()
    assert talk.state.outcomes == ()
    talk.say(CommandName.AFFIRM)
    assert talk.kinds() == ("finding-recorded", "closing")
    outcome, found = talk.records()[0].outcome, talk.records()[1].discrepancy
    assert outcome is not None
    assert found is not None
    assert outcome.confirmed
    assert (found.reason, found.action, found.value) == (reason, action, Decimal(value))
    assert found.minimum == Decimal(1200)


def test_not_as_expected_is_confirmed_and_the_captain_told_where_the_file_is_silent() -> None:
    talk = started()
    talk.say(wrong())
    assert talk.kinds() == ("confirm-response",)
    talk.say(CommandName.AFFIRM)
    assert talk.state.discrepancies[0].action is RemedyAction.CAPTAIN
    assert talk.state.discrepancies[0].phrase == "fitted"


def test_negative_to_a_question_asks_the_item_again() -> None:
    talk = started()
    talk.say(wrong())
    talk.say(CommandName.NEGATIVE)
    assert talk.kinds() == ("challenge",)
    assert talk.state.outcomes == ()
    assert talk.state.phase is Phase.ASKING


def test_the_same_answer_again_confirms_and_another_is_asked_about() -> None:
    talk = started(make_gauge(critical=True))
    talk.say(reading(1500))
    talk.say(reading(1600))
    (question,) = talk.prompts()
    assert isinstance(question, ConfirmReading)
    assert question.taken.value == Decimal(1600)
    talk.say(reading(1600), confidence=0.5)
    assert talk.kinds() == ("confirm-reading",)
    talk.say(reading(1600))
    assert talk.state.outcomes[0].value == Decimal(1600)
    assert talk.state.outcomes[0].confirmed


def test_an_answer_while_unable_is_being_confirmed_is_asked_about() -> None:
    talk = started()
    talk.say(CommandName.UNABLE)
    talk.say(expected())
    assert talk.kinds() == ("confirm-response",)


def test_critical_item_is_always_confirmed() -> None:
    talk = started(make_item(critical=True))
    talk.say(expected())
    assert talk.kinds() == ("confirm-response",)
    talk.say(CommandName.AFFIRM)
    assert talk.state.ending is not None
    assert talk.state.ending.kind is EndingKind.COMPLETE


@pytest.mark.parametrize("name", [CommandName.ROGER, CommandName.WILCO])
def test_roger_and_wilco_complete_nothing(name: CommandName) -> None:
    talk = started()
    talk.say(name, text="roger")
    assert talk.prompts()[0] == NotHere(why=WhyNot.COMPLETES_NOTHING, said="roger")
    assert talk.state.outcomes == ()
    talk.say(wrong())
    talk.say(name, text="roger")
    assert talk.prompts()[0] == NotHere(why=WhyNot.AFFIRM_OR_NEGATIVE, said="roger")
    assert talk.kinds()[1] == "confirm-response"
    assert talk.state.outcomes == ()


def test_set_and_as_required_are_no_response() -> None:
    talk = started()
    bare = Response(phrase="as required", state=ResponseState.INSUFFICIENT)
    talk.say(bare, text="as required")
    (prompt,) = talk.prompts()
    assert isinstance(prompt, SayTheSetting)
    assert prompt.choices == ("removed", "both removed", "fitted")
    assert talk.state.outcomes == ()


def test_not_understood_counts_attempts_and_names_choices() -> None:
    talk = started()
    talk.say(NoMatch(suggestion="removed"), text="remove it", confidence=0.9)
    assert talk.prompts() == (
        AskAgain(
            attempt=1,
            challenge="Pitot covers",
            choices=("removed", "both removed", "fitted"),
            suggestion="removed",
        ),
    )
    talk.say(expected(), confidence=0.2)
    again = talk.prompts()[0]
    assert isinstance(again, AskAgain)
    assert again.attempt == 2


def test_not_understood_while_confirming_puts_the_question_again_otherwise() -> None:
    talk = started()
    talk.say(wrong())
    first = talk.prompts()
    talk.say(NoMatch(), text="mumble", confidence=0.9)
    assert talk.kinds() == ("confirm-response",)
    assert talk.prompts() != first


def test_noise_is_ignored() -> None:
    talk = started()
    for meaning, confidence in ((NoMatch(), 0.0), (expected(), 0.05)):
        talk.say(meaning, text="", confidence=confidence)
        assert talk.ignored
        assert talk.prompts() == ()
    assert talk.state.outcomes == ()


def test_ambiguous_words_are_asked_about_never_picked() -> None:
    talk = started(make_gauge())
    talk.say(Ambiguous(options=(reading(20), reading(200))))
    (prompt,) = talk.prompts()
    assert isinstance(prompt, WhichOne)
    assert [value.value for value in prompt.values] == [Decimal(20), Decimal(200)]
    assert talk.state.outcomes == ()
    both = (expected(), Command(name=CommandName.AFFIRM))
    talk = started()
    talk.say(Ambiguous(options=both))
    assert talk.kinds() == ("ask-again",)


def test_middling_confidence_is_confirmed() -> None:
    talk = started()
    talk.say(expected(), confidence=0.5)
    assert talk.kinds() == ("confirm-response",)


def test_doubtful_command_is_asked_again() -> None:
    talk = started()
    talk.say(CommandName.LEAVE_FOR_LATER, confidence=0.5)
    assert talk.kinds() == ("ask-again",)


def test_reading_at_an_item_without_gauge_is_no_answer() -> None:
    talk = started()
    talk.say(reading(100))
    assert talk.kinds() == ("ask-again",)


# corrections -----------------------------------------------------------------------


def after_reading() -> Conversation:
    talk = started()
    talk.say(expected())
    talk.say(reading(1650))
    return talk


def test_correction_with_the_right_value_changes_the_item_before_and_goes_on() -> None:
    talk = after_reading()
    talk.say(Correction(previous=(reading(1550),)))
    assert talk.kinds() == ("corrected", "read-back", "challenge")
    assert talk.state.item_id == "door"
    outcome = talk.state.outcome("oxygen")
    assert outcome is not None
    assert outcome.value == Decimal(1550)
    assert (outcome.asked_s, outcome.answered_s) == (2.0, 6.0)
    assert talk.records()[0].withdrawn_item == "oxygen"


def test_correction_to_a_value_outside_is_confirmed_at_its_item() -> None:
    talk = after_reading()
    talk.say(Correction(previous=(reading(900),)))
    assert talk.kinds() == ("corrected", "confirm-reading")
    assert talk.state.item_id == "oxygen"
    talk.say(CommandName.AFFIRM)
    assert talk.state.item_id == "door"
    assert len(talk.state.open_discrepancies) == 1


def test_correction_of_a_response_says_it() -> None:
    talk = started()
    talk.say(expected())
    talk.say(Correction(previous=(expected("both removed"),)))
    assert talk.kinds() == ("corrected", "acknowledge-response", "challenge")


def test_correction_after_something_was_said_here_is_about_this_item() -> None:
    talk = started(make_gauge("left", "Left fuel"), make_gauge("right", "Right fuel"))
    talk.say(reading(1500))
    talk.say(NoMatch(), text="mumble")
    talk.say(Correction(this=(reading(1600),), previous=(reading(1600),)))
    left, right = talk.state.outcome("left"), talk.state.outcome("right")
    assert left is not None
    assert left.value == Decimal(1500)
    assert right is not None
    assert right.value == Decimal(1600)


def test_correction_is_about_the_item_before_while_nothing_was_said_here() -> None:
    talk = started(make_gauge("left", "Left fuel"), make_gauge("right", "Right fuel"))
    talk.say(reading(1500))
    talk.say(Correction(this=(reading(1600),), previous=(reading(1600),)))
    assert talk.state.item_id == "right"
    left = talk.state.outcome("left")
    assert left is not None
    assert left.value == Decimal(1600)


def test_correction_of_an_open_question() -> None:
    talk = started(make_gauge())
    talk.say(reading(900))
    talk.say(Correction(this=(reading(1900),)))
    assert talk.state.outcomes[0].value == Decimal(1900)
    assert talk.kinds() == ("read-back",)


def test_doubtful_correction_withdraws_nothing() -> None:
    talk = after_reading()
    talk.say(Correction(previous=(reading(1550),)), confidence=0.5)
    assert talk.kinds() == ("ask-again",)
    oxygen = talk.state.outcome("oxygen")
    assert oxygen is not None
    assert oxygen.value == Decimal(1650)


def test_ambiguous_correction_asks() -> None:
    talk = after_reading()
    talk.say(Correction(previous=(reading(20), reading(200))))
    assert talk.kinds() == ("corrected", "which-one")
    assert talk.state.item_id == "oxygen"


def test_correction_to_no_response_asks_for_the_setting() -> None:
    talk = started()
    bare = Response(phrase="set", state=ResponseState.INSUFFICIENT)
    talk.say(wrong())
    talk.say(Correction(this=(bare,)))
    assert talk.kinds() == ("say-the-setting",)
    assert talk.state.phase is Phase.ASKING


def test_correction_that_fits_nothing_is_not_understood() -> None:
    talk = started()
    talk.say(Correction(previous=(reading(20),)))
    assert talk.kinds() == ("ask-again",)


@pytest.mark.parametrize("name", [CommandName.CORRECTION, CommandName.NEGATIVE])
def test_rejecting_the_readback_reopens_the_reading(name: CommandName) -> None:
    talk = after_reading()
    talk.say(name)
    assert talk.kinds() == ("corrected",)
    assert talk.state.item_id == "oxygen"
    assert talk.state.queue == ("door",)
    assert talk.state.outcome("oxygen") is None
    talk.say(reading(1500))
    assert talk.state.item_id == "door"


def test_affirm_after_a_readback_is_hearback() -> None:
    talk = after_reading()
    talk.say(CommandName.AFFIRM)
    assert talk.ignored
    assert talk.state.item_id == "door"


@pytest.mark.parametrize(
    ("name", "kinds"),
    [
        (CommandName.AFFIRM, ("not-here", "challenge")),
        (CommandName.NEGATIVE, ("say-the-setting",)),
    ],
)
def test_affirm_or_negative_answers_no_challenge(name: CommandName, kinds: tuple[str]) -> None:
    talk = started()
    talk.say(name, text="affirm")
    assert talk.kinds() == kinds
    talk.say(expected())
    talk.say(name, text="affirm")
    # the answer before was a response: there is no readback to speak of
    assert talk.kinds() == kinds
    assert talk.state.item_id == "oxygen"


def test_bare_correction_without_anything_before() -> None:
    talk = started()
    talk.say(CommandName.CORRECTION, text="correction")
    assert talk.prompts()[0] == NotHere(why=WhyNot.NOTHING_TO_CORRECT, said="correction")
    talk.say(wrong())
    talk.say(CommandName.CORRECTION)
    assert talk.kinds() == ("challenge",)
    assert talk.state.pending is None


def test_disregard() -> None:
    talk = started()
    talk.say(CommandName.DISREGARD, text="disregard")
    assert talk.kinds() == ("not-here", "challenge")
    talk.say(wrong())
    talk.say(CommandName.DISREGARD)
    assert talk.kinds() == ("disregarded", "challenge")
    assert talk.state.item_id == "covers"
    talk.say(expected())
    talk.say(CommandName.DISREGARD)
    assert talk.kinds() == ("disregarded", "challenge")
    assert talk.state.item_id == "covers"
    assert talk.state.outcomes == ()


# the place ------------------------------------------------------------------------


def test_left_item_comes_back_at_the_end() -> None:
    talk = started()
    talk.say(CommandName.LEAVE_FOR_LATER)
    assert talk.prompts()[0] == LeftForLater(challenge="Pitot covers")
    talk.say(reading(1500))
    talk.say(expected("closed"))
    assert talk.kinds() == ("items-left", "challenge")
    assert talk.state.item_id == "covers"
    talk.say(expected())
    assert talk.state.outcomes[-1].from_left
    assert talk.state.ending is not None
    assert talk.state.ending.kind is EndingKind.COMPLETE


def test_item_left_twice_stays_open_and_the_check_is_not_complete() -> None:
    talk = started(make_item())
    talk.say(CommandName.LEAVE_FOR_LATER)
    assert talk.kinds() == ("left-for-later", "items-left", "challenge")
    talk.say(CommandName.LEAVE_FOR_LATER)
    assert talk.prompts()[0] == LeftForLater(challenge="Pitot covers", comes_back=False)
    ending = talk.state.ending
    assert ending is not None
    assert ending.kind is EndingKind.COMPLETE_EXCEPT
    assert ending.open_items == ("covers",)


def test_correcting_an_ordinary_item_while_left_ones_come_back() -> None:
    talk = started(make_item(), make_gauge())
    talk.say(CommandName.LEAVE_FOR_LATER)
    talk.say(reading(1500))
    assert talk.state.item_id == "covers"
    talk.say(Correction(previous=(reading(1600),)))
    oxygen = talk.state.outcome("oxygen")
    assert oxygen is not None
    assert not oxygen.from_left
    assert talk.state.item_id == "covers"
    talk.say(CommandName.GO_BACK)
    # left for the first time while others come back: it comes back too
    talk.say(CommandName.LEAVE_FOR_LATER)
    assert talk.prompts()[0] == LeftForLater(challenge="Crew oxygen")
    talk.say(expected())
    assert talk.state.item_id == "oxygen"
    talk.say(reading(1700))
    oxygen = talk.state.outcome("oxygen")
    assert oxygen is not None
    assert oxygen.from_left


def test_asking_for_a_confirmation_again_uses_other_words() -> None:
    talk = started()
    for name in (CommandName.UNABLE, CommandName.ABANDON):
        talk.say(name)
        first = talk.prompts()
        talk.say(NoMatch(), text="yes")
        assert talk.kinds() == tuple(prompt.kind for prompt in first)
        assert talk.prompts() != first


def test_go_back_withdraws_and_asks_the_item_above() -> None:
    talk = after_reading()
    talk.say(CommandName.GO_BACK)
    assert talk.state.item_id == "oxygen"
    assert talk.state.outcome("oxygen") is None
    talk.say(CommandName.GO_BACK)
    assert talk.state.item_id == "covers"
    assert talk.state.queue == ("oxygen", "door")
    talk.say(CommandName.GO_BACK, text="go back one")
    assert talk.prompts()[0] == NotHere(why=WhyNot.NO_ITEM_BEFORE, said="go back one")


def test_go_back_to_an_item_that_was_left() -> None:
    talk = started()
    talk.say(CommandName.LEAVE_FOR_LATER)
    talk.say(CommandName.GO_BACK)
    assert talk.state.item_id == "covers"
    assert talk.state.left == ()
    assert talk.state.queue == ("oxygen", "door")


def test_go_back_among_left_items_goes_to_the_one_answered_last() -> None:
    talk = started()
    talk.say(CommandName.LEAVE_FOR_LATER)
    talk.say(reading(1500))
    talk.say(expected("closed"))
    talk.say(CommandName.GO_BACK)
    assert talk.state.item_id == "door"
    assert talk.state.queue == ("covers",)


def test_unable_is_confirmed_and_opens_a_discrepancy() -> None:
    talk = started()
    talk.say(CommandName.UNABLE, text="unable")
    assert talk.kinds() == ("confirm-unable",)
    talk.say(CommandName.AFFIRM)
    assert talk.state.outcomes[0].state is ItemState.UNABLE
    assert talk.state.discrepancies[0].reason is FindingReason.UNABLE
    assert talk.state.discrepancies[0].said == "unable"


def test_abandon_is_confirmed_and_names_what_is_open() -> None:
    talk = started()
    talk.say(expected())
    talk.say(CommandName.ABANDON)
    assert talk.kinds() == ("confirm-abandon",)
    talk.say(CommandName.NEGATIVE)
    assert talk.state.phase is Phase.ASKING
    talk.say(CommandName.ABANDON)
    talk.say(CommandName.AFFIRM)
    (closing,) = talk.prompts()
    assert isinstance(closing, Closing)
    assert closing.ending is EndingKind.ABANDONED
    assert closing.at == "Crew oxygen"
    assert closing.open_items == ("Crew oxygen", "Cabin door")
    assert talk.finishes


def test_ending_names_open_items_findings_and_waits() -> None:
    item = make_item(
        "align", "Attitude reference", expect=("aligning",), wait=Wait(ready_in_s=420.0)
    )
    talk = started(item, make_gauge())
    talk.say(expected("aligning"))
    assert talk.kinds() == ("wait-started", "challenge")
    talk.say(reading(900))
    talk.say(CommandName.AFFIRM)
    closing = talk.prompts()[-1]
    assert isinstance(closing, Closing)
    assert closing.ending is EndingKind.COMPLETE_EXCEPT
    assert [found.challenge for found in closing.findings] == ["Crew oxygen"]
    assert [wait.challenge for wait in closing.waits] == ["Attitude reference"]


def test_questions_about_the_place() -> None:
    talk = after_reading()
    talk.say(CommandName.WHERE_ARE_WE)
    assert talk.prompts() == (
        WhereWeAre(
            title="Cockpit preparation",
            challenge="Cabin door",
            area=None,
            number=3,
            count=3,
            last_done="Crew oxygen",
        ),
    )
    talk.say(CommandName.WHAT_IS_LEFT)
    assert talk.prompts()[0] == WhatIsLeft(to_come=1, left=(), findings=0)
    talk.say(CommandName.HOW_LONG)
    assert talk.prompts()[0] == HowLong(elapsed_s=10, waits=())
    talk.say(CommandName.WHAT_CAN_I_SAY)
    assert talk.prompts()[0] == WhatCanBeSaid(responses=("closed", "open"), example=None)
    talk.say(CommandName.READ_BACK)
    recorded = talk.prompts()[0]
    assert isinstance(recorded, LastRecorded)
    assert recorded.value is not None
    assert recorded.value.value == Decimal(1650)


def test_questions_while_a_confirmation_is_open_put_it_again() -> None:
    talk = started(make_gauge())
    talk.say(reading(900))
    for name in (
        CommandName.WHERE_ARE_WE,
        CommandName.WHAT_IS_LEFT,
        CommandName.HOW_LONG,
        CommandName.WHAT_CAN_I_SAY,
        CommandName.READ_BACK,
        CommandName.CONTINUE,
        CommandName.GO_BACK,
    ):
        talk.say(name)
        assert talk.kinds()[-1] == "confirm-reading"
        assert talk.state.phase is Phase.CONFIRMING
    example = [prompt for prompt in talk.prompts() if isinstance(prompt, WhatCanBeSaid)]
    assert example == []


def test_what_can_i_say_gives_an_example_of_the_gauge() -> None:
    talk = started(make_gauge())
    talk.say(CommandName.WHAT_CAN_I_SAY)
    prompt = talk.prompts()[0]
    assert isinstance(prompt, WhatCanBeSaid)
    assert prompt.example is not None
    assert prompt.example.value == Decimal(1000)


def test_read_back_before_anything_was_recorded() -> None:
    talk = started()
    talk.say(CommandName.READ_BACK, text="read back")
    assert talk.prompts()[0] == NotHere(why=WhyNot.NOTHING_RECORDED, said="read back")


def test_read_back_of_a_response() -> None:
    talk = started()
    talk.say(expected())
    talk.say(CommandName.READ_BACK)
    recorded = talk.prompts()[0]
    assert isinstance(recorded, LastRecorded)
    assert recorded.phrase == "removed"


def test_say_again_repeats_and_speak_slower_slows() -> None:
    talk = after_reading()
    before = talk.prompts()
    talk.say(CommandName.SAY_AGAIN)
    assert talk.prompts() == before
    talk.say(CommandName.SPEAK_SLOWER)
    assert talk.kinds() == ("speaking-slower", *(prompt.kind for prompt in before))
    assert [action.slower for action in talk.actions if isinstance(action, Say)] == [True]
    talk.say(CommandName.SAY_AGAIN)
    assert talk.prompts() == before


def test_area_is_said_when_it_changes_and_after_a_pause() -> None:
    talk = started(
        make_item("a", "Covers", area="nose"),
        make_item("b", "Lights", area="nose"),
        make_item("c", "Door", area="cabin"),
    )
    assert talk.prompts()[-1] == Challenge(challenge="Covers", area="nose")
    talk.say(expected())
    assert talk.prompts()[-1] == Challenge(challenge="Lights", area=None)
    talk.say(CommandName.STAND_BY)
    talk.say(CommandName.CONTINUE)
    assert talk.prompts()[-1] == Challenge(challenge="Lights", area="nose")
    talk.say(expected())
    assert talk.prompts()[-1] == Challenge(challenge="Door", area="cabin")


# pauses ---------------------------------------------------------------------------


def test_stand_by_closes_the_ear_to_all_but_continue() -> None:
    talk = after_reading()
    talk.say(CommandName.STAND_BY)
    assert talk.kinds() == ("holding-at",)
    assert talk.records()[0].hold is not None
    for meaning in (expected("closed"), Command(name=CommandName.WHERE_ARE_WE)):
        talk.say(meaning)
        assert talk.ignored
        assert talk.prompts() == ()
    talk.say(CommandName.CONTINUE, confidence=0.2)
    assert talk.ignored
    talk.say(CommandName.CONTINUE, after_s=120)
    assert talk.prompts()[:2] == (
        Continuing(last_done="Crew oxygen"),
        OfferToGoBack(away_s=126),
    )
    assert talk.state.item_id == "door"
    hold = talk.records()[0].hold
    assert hold is not None
    assert hold.until_s is not None
    assert hold.until_s - hold.from_s == pytest.approx(126)


def test_a_long_pause_offers_to_go_back_two_items() -> None:
    talk = after_reading()
    talk.say(CommandName.STAND_BY)
    talk.say(CommandName.CONTINUE, after_s=120)
    assert talk.kinds() == ("continuing", "offer-to-go-back", "challenge")
    talk.say(CommandName.GO_BACK_TWO)
    assert [record.withdrawn_item for record in talk.records()] == ["oxygen", "covers"]
    assert talk.kinds() == ("challenge",)
    assert talk.state.item_id == "covers"
    assert talk.state.queue == ("oxygen", "door")
    assert talk.state.outcomes == ()
    # nothing is taken for complete on the way
    talk.say(expected())
    talk.say(reading(1500))
    talk.say(expected("closed"))
    assert talk.state.ending is not None
    assert talk.state.ending.kind is EndingKind.COMPLETE


def test_after_the_offer_one_may_simply_go_on() -> None:
    talk = after_reading()
    talk.say(CommandName.STAND_BY)
    talk.say(CommandName.CONTINUE, after_s=120)
    talk.say(CommandName.CONTINUE)
    assert talk.kinds() == ("challenge",)
    assert len(talk.state.outcomes) == 2
    # once: then it is as without an offer
    talk.say(CommandName.CONTINUE)
    assert talk.kinds() == ("not-here", "challenge")
    talk.say(expected("closed"))
    assert talk.state.ending is not None


@pytest.mark.parametrize("answered", [0, 1])
def test_with_less_than_two_items_to_go_back_to_nothing_is_offered(answered: int) -> None:
    talk = started()
    for _ in range(answered):
        talk.say(expected())
    talk.say(CommandName.STAND_BY)
    talk.say(CommandName.CONTINUE, after_s=600)
    assert talk.kinds() == ("continuing", "challenge")
    talk.say(CommandName.GO_BACK_TWO)
    assert talk.state.item_id == "covers"
    assert talk.kinds()[-1] == "challenge"


def test_a_short_pause_offers_nothing_nor_does_a_run_from_before() -> None:
    talk = after_reading()
    talk.say(CommandName.STAND_BY)
    talk.say(CommandName.CONTINUE, after_s=119)
    assert talk.kinds() == ("continuing", "challenge")
    patience = PatienceSettings()
    assert patience.away_s is None
    talk = after_reading()
    talk.state = replace(talk.state, settings=replace(talk.state.settings, patience=patience))
    talk.say(CommandName.STAND_BY)
    talk.say(CommandName.CONTINUE, after_s=600)
    assert talk.kinds() == ("continuing", "challenge")


def test_a_long_silence_offers_to_go_back_once() -> None:
    talk = after_reading()
    talk.wait()
    assert talk.kinds() == ("still-there",)
    talk.wait()
    assert talk.prompts() == (
        StillThere(challenge="Cabin door", attempt=2),
        OfferToGoBack(away_s=120),
    )
    assert next_deadline_s(talk.state) is None
    talk.say(CommandName.GO_BACK_TWO)
    assert talk.state.item_id == "covers"


def test_talk_with_others_is_an_interruption_too() -> None:
    talk = after_reading()
    for _ in range(10):
        talk.say(NoMatch(), text="", after_s=12)
        assert talk.ignored
    talk.wait()
    assert talk.kinds() == ("still-there", "offer-to-go-back")


def test_a_program_that_was_stopped_for_long_offers_to_go_back() -> None:
    talk = after_reading()
    talk.at_s += 119
    talk.event(Resumed(at_s=talk.at_s))
    assert talk.kinds() == ("resuming", "challenge")
    talk.at_s += 300
    talk.event(Resumed(at_s=talk.at_s))
    assert talk.prompts()[1] == OfferToGoBack(away_s=300)
    assert talk.kinds() == ("resuming", "offer-to-go-back", "challenge")


def test_go_back_two_rejects_the_last_readback_of_a_check() -> None:
    talk = started(make_item(), make_gauge())
    talk.say(expected())
    talk.say(reading(1500))
    assert not talk.finishes
    talk.say(CommandName.GO_BACK_TWO)
    assert talk.state.item_id == "covers"
    assert talk.state.queue == ("oxygen",)
    assert talk.state.outcomes == ()
    assert talk.state.phase is Phase.ASKING


def test_restart_policy_begins_again_after_a_pause() -> None:
    # published: one operator's procedure starts an interrupted list again
    # (tests/published/discipline.yaml)
    talk = started(interrupted=InterruptedPolicy.RESTART)
    talk.say(expected())
    talk.say(reading(900))
    talk.say(CommandName.AFFIRM)
    talk.say(CommandName.STAND_BY)
    talk.say(CommandName.CONTINUE)
    assert talk.prompts()[0] == Continuing(last_done="Crew oxygen", restarting=True)
    assert talk.state.item_id == "covers"
    assert talk.state.outcomes == ()
    assert talk.state.open_discrepancies == ()
    assert len(talk.state.discrepancies) == 1
    assert talk.state.queue == ("oxygen", "door")


def test_restart_policy_also_after_the_program_stopped() -> None:
    talk = started(interrupted=InterruptedPolicy.RESTART)
    talk.say(expected())
    talk.event(Resumed(at_s=9))
    assert talk.kinds() == ("resuming", "challenge")
    assert talk.state.item_id == "covers"


def test_lost_device_holds_and_its_return_goes_on() -> None:
    talk = after_reading()
    talk.event(DeviceReturned(at_s=5, device="headset"))
    assert talk.ignored
    talk.event(DeviceLost(at_s=6, device="headset"))
    assert talk.kinds() == ("device-trouble",)
    talk.event(DeviceLost(at_s=7, device="headset"))
    assert talk.ignored
    talk.event(DeviceReturned(at_s=60, device="headset"))
    assert talk.kinds() == ("device-back", "continuing", "challenge")
    assert talk.state.item_id == "door"


def test_returned_device_does_not_end_a_stand_by() -> None:
    talk = started()
    talk.say(CommandName.STAND_BY)
    talk.event(DeviceReturned(at_s=5, device="headset"))
    assert talk.kinds() == ("device-back", "holding-at")
    assert talk.state.phase is Phase.HOLDING
    assert talk.state.holds[-1].cause is HoldCause.STAND_BY


def test_resume_says_the_place_or_the_open_question() -> None:
    talk = after_reading()
    talk.event(Resumed(at_s=30))
    assert talk.kinds() == ("resuming", "challenge")
    assert talk.listens() == (Listen(item_id="door", previous_id="oxygen"),)
    talk.say(wrong("open"))
    talk.event(Resumed(at_s=40))
    assert talk.kinds() == ("resuming", "confirm-response")
    talk.say(CommandName.STAND_BY)
    talk.event(Resumed(at_s=50))
    assert talk.kinds() == ("resuming", "holding-at")


def test_resume_says_a_readback_that_nobody_may_have_heard() -> None:
    talk = Conversation(make_check(), hear_out=False).start()
    talk.event(Spoken(at_s=1, words="", completed=True))
    talk.say(expected())
    talk.event(Spoken(at_s=3, words="", completed=True))
    talk.say(reading(1500))
    talk.event(Resumed(at_s=30))
    assert talk.kinds() == ("read-back", "resuming", "challenge")


def test_resume_before_the_start_starts_and_after_the_end_closes() -> None:
    talk = Conversation(make_check(make_item()))
    talk.event(Resumed(at_s=0))
    assert talk.kinds() == ("opening", "challenge")
    talk.say(expected())
    talk.event(Resumed(at_s=20))
    assert talk.kinds() == ("closing",)
    assert talk.finishes


def test_end_of_input_finishes_without_an_ending() -> None:
    talk = started()
    talk.event(InputEnded(at_s=10))
    assert talk.finishes
    assert talk.state.ending is None


# time -----------------------------------------------------------------------------

LAMP = make_item(
    "lamp",
    "Gyro warning light",
    expect=("out",),
    not_as_expected=("still on",),
    wait=Wait(within_s=10.0, late=Remedy(action=RemedyAction.MAINTENANCE)),
)


def test_response_in_time_is_as_expected_and_ends_the_wait() -> None:
    talk = started(LAMP, make_item())
    talk.say(expected("out"), after_s=9)
    assert talk.state.outcomes[0].state is ItemState.AS_EXPECTED
    assert talk.waits() == ()


def test_late_response_is_a_discrepancy() -> None:
    talk = started(LAMP, make_item())
    talk.wait()
    assert talk.prompts() == (WaitOverdue(challenge="Gyro warning light", within_s=10),)
    talk.say(expected("out"), after_s=5)
    assert talk.state.outcomes[0].state is ItemState.LATE
    assert talk.state.discrepancies[0].reason is FindingReason.LATE
    assert talk.state.discrepancies[0].action is RemedyAction.MAINTENANCE
    assert isinstance(talk.prompts()[0], FindingRecorded)


def test_still_on_after_the_time_is_not_as_expected() -> None:
    talk = started(LAMP, make_item())
    talk.wait()
    talk.say(wrong("still on"))
    talk.say(CommandName.AFFIRM)
    assert talk.state.discrepancies[0].reason is FindingReason.NOT_AS_EXPECTED


def test_time_counts_from_the_end_of_the_challenge_to_the_start_of_speech() -> None:
    talk = Conversation(make_check(LAMP, make_item()), hear_out=False).start()
    assert talk.waits() == ()
    talk.event(Spoken(at_s=2.0, words="", completed=True))
    assert talk.waits() == ()
    talk.event(Spoken(at_s=4.0, words="", completed=True))
    assert talk.waits()[0].due_s == pytest.approx(14.0)
    talk.event(heard("lamp", expected("out"), 15.0, speech_start_s=13.9))
    assert talk.state.outcomes[0].state is ItemState.AS_EXPECTED


def test_repeating_the_challenge_does_not_prolong_the_wait_but_a_pause_does() -> None:
    talk = started(LAMP, make_item())
    due_s = talk.waits()[0].due_s
    talk.say(CommandName.SAY_AGAIN)
    assert talk.waits()[0].due_s == due_s
    talk.say(CommandName.STAND_BY)
    assert talk.waits() == ()
    talk.say(CommandName.CONTINUE, after_s=60)
    assert talk.waits()[0].due_s == pytest.approx(talk.at_s + 10)


def test_leaving_a_timed_item_ends_its_time() -> None:
    talk = started(make_item(), LAMP)
    talk.say(expected())
    talk.say(CommandName.LEAVE_FOR_LATER)
    assert talk.kinds() == ("left-for-later", "items-left", "challenge")
    assert len(talk.waits()) == 1
    talk.say(CommandName.GO_BACK)
    assert talk.waits() == ()


def test_ready_wait_is_announced_beside_the_check() -> None:
    align = make_item(
        "align",
        "Attitude reference",
        expect=("aligning",),
        wait=Wait(ready_in_s=20.0, say="Attitude reference ready"),
    )
    talk = started(align, make_item())
    talk.say(expected("aligning"))
    asked = talk.state.last_said
    talk.wait()
    assert talk.prompts() == (
        WaitDue(challenge="Attitude reference", say="Attitude reference ready"),
    )
    assert talk.state.item_id == "covers"
    assert talk.waits() == ()
    assert talk.state.last_said == asked


ALIGN = make_item("align", "Attitude reference", expect=("aligning",), wait=Wait(ready_in_s=20.0))
READY = WaitDue(challenge="Attitude reference", say=None)


def aligning() -> Conversation:
    """The reference is ready at 22 s; the gauge is asked."""
    talk = started(ALIGN, make_gauge(), make_item())
    talk.say(expected("aligning"))
    return talk


def test_a_wait_that_comes_due_while_the_person_speaks_is_told_before_the_next_challenge() -> None:
    talk = aligning()
    talk.at_s = 21.5
    talk.speak_up()
    assert next_deadline_s(talk.state) is None
    talk.say(reading(1500), after_s=1.5)
    # in the same breath: after the challenge it would fall into the answer
    assert talk.kinds() == ("read-back", "wait-due", "challenge")
    assert talk.prompts()[1] == READY
    assert talk.waits() == ()


def test_a_wait_is_told_in_a_gap_and_not_as_soon_as_somebody_falls_silent() -> None:
    talk = aligning()
    talk.at_s = 21.5
    talk.speak_up()
    talk.say(NoMatch(), text="", after_s=2)  # to somebody else
    assert talk.ignored
    gap_s = talk.state.settings.patience.gap_s
    assert gap_s > 0.6  # people need so long to find a word (published figures)
    assert next_deadline_s(talk.state) == pytest.approx(23.5 + gap_s)
    talk.event(TimePassed(at_s=23.5 + gap_s / 2))
    assert talk.ignored
    # the answer comes first after all
    talk.speak_up()
    talk.say(reading(1500), after_s=1)
    assert talk.kinds() == ("read-back", "wait-due", "challenge")


def test_a_wait_that_comes_due_while_the_tool_speaks_waits_for_a_gap_too() -> None:
    talk = Conversation(make_check(ALIGN, make_item()), hear_out=False).start()
    for at_s in (2.0, 4.0):
        talk.event(Spoken(at_s=at_s, words="", completed=True))
    talk.at_s = 4.0
    talk.say(expected("aligning"))
    for _ in range(2):
        assert next_deadline_s(talk.state) is None
        talk.event(Spoken(at_s=30.0, words="", completed=True))
    talk.wait()
    assert talk.at_s == pytest.approx(30.0 + talk.state.settings.patience.gap_s)
    assert talk.prompts() == (READY,)


def test_a_wait_that_was_spoken_over_is_told_again() -> None:
    talk = Conversation(make_check(ALIGN, make_gauge(), make_item()), hear_out=False).start()
    for at_s in (2.0, 4.0):
        talk.event(Spoken(at_s=at_s, words="", completed=True))
    talk.at_s = 4.0
    talk.say(expected("aligning"))
    for _ in range(2):
        talk.event(Spoken(at_s=10.0, words="", completed=True))
    talk.wait()
    assert talk.prompts() == (READY,)
    talk.speak_up()
    talk.event(Spoken(at_s=talk.at_s, words="", completed=False))
    talk.say(reading(1500))
    assert talk.kinds() == ("wait-due", "read-back", "challenge")


def test_a_run_from_before_there_was_a_gap_tells_a_wait_at_once() -> None:
    talk = aligning()
    talk.state = replace(talk.state, settings=replace(Settings(), patience=PatienceSettings()))
    talk.at_s = 21.5
    talk.speak_up()
    talk.say(reading(1500), after_s=1.5)
    assert talk.kinds() == ("read-back", "challenge")
    talk.wait()
    assert talk.at_s == pytest.approx(23.0)
    assert talk.prompts() == (READY,)


def test_nothing_is_due_while_anyone_speaks() -> None:
    talk = started(LAMP, make_item())
    talk.speak_up()
    assert next_deadline_s(talk.state) is None
    talk.say(NoMatch(), text="", confidence=0.0)
    assert next_deadline_s(talk.state) is not None
    talk.event(TimePassed(at_s=talk.at_s))
    assert talk.ignored


def test_silence_is_broken_twice_and_then_kept() -> None:
    talk = started(make_item())
    talk.wait()
    assert talk.prompts() == (StillThere(challenge="Pitot covers", attempt=1),)
    talk.wait()
    assert talk.prompts() == (StillThere(challenge="Pitot covers", attempt=2),)
    assert next_deadline_s(talk.state) is None


def test_no_deadline_before_the_start_while_holding_or_after_the_end() -> None:
    talk = Conversation(make_check(make_item()))
    assert next_deadline_s(talk.state) is None
    talk.start()
    talk.say(CommandName.STAND_BY)
    assert next_deadline_s(talk.state) is None
    talk.say(CommandName.CONTINUE)
    talk.say(expected())
    assert next_deadline_s(talk.state) is None


# interrupting the tool --------------------------------------------------------------


def test_speech_stops_the_tool() -> None:
    talk = Conversation(make_check(), hear_out=False).start()
    talk.event(SpeechStarted(at_s=1))
    assert talk.stops
    cut_short(talk, begun=2)
    talk.say(expected())
    assert talk.kinds() == ("challenge",)


def cut_short(talk: Conversation, *, begun: int, heard_out: int = 0) -> None:
    """Cut what is being said: so many prompts were heard out, so many had begun."""
    for number in range(talk.state.saying):
        talk.event(
            Spoken(
                at_s=talk.at_s,
                words="",
                completed=number < heard_out,
                begun=number < begun,
            )
        )


def hear_out(talk: Conversation) -> None:
    """Let the tool say all it has to say."""
    while talk.state.saying:
        talk.event(Spoken(at_s=talk.at_s, words="", completed=True))


def test_a_cough_does_not_swallow_the_challenge() -> None:
    talk = Conversation(make_check(), hear_out=False).start()
    said = talk.prompts()
    talk.event(SpeechStarted(at_s=1))
    cut_short(talk, begun=1)
    talk.say(NoMatch(), text="", confidence=0.0)
    assert talk.prompts() == said
    talk.event(SpeechStarted(at_s=3))
    cut_short(talk, begun=2, heard_out=1)
    talk.say(NoMatch(), text="", confidence=0.0)
    assert talk.prompts() == said[1:]


def over_the_readback(*, heard_out: int) -> Conversation:
    """Two gauges; a reading is taken, and the person speaks before the next challenge."""
    check = make_check(make_gauge("a", "Left fuel"), make_gauge("b", "Right fuel"))
    talk = Conversation(check, hear_out=False).start()
    hear_out(talk)
    talk.say(reading(1500))
    assert talk.kinds() == ("read-back", "challenge")
    talk.speak_up()
    cut_short(talk, begun=heard_out + 1, heard_out=heard_out)
    return talk


def test_a_readback_that_was_cut_short_is_said_next_and_once() -> None:
    talk = over_the_readback(heard_out=0)
    talk.say(CommandName.WHERE_ARE_WE)
    assert talk.kinds() == ("read-back", "where-we-are")
    hear_out(talk)
    talk.say(CommandName.SAY_AGAIN)
    assert talk.kinds() == ("where-we-are",)


def test_a_readback_that_was_heard_out_is_not_said_again() -> None:
    talk = over_the_readback(heard_out=1)
    talk.say(reading(1600))
    assert talk.kinds() == ("read-back",)
    assert talk.state.outcomes[0].value == Decimal(1500)
    assert talk.state.outcomes[1].value == Decimal(1600)


def test_an_answer_before_the_challenge_began_is_asked_about_by_name() -> None:
    # half a second of hesitation splits an answer; its rest must not answer the next item
    talk = over_the_readback(heard_out=0)
    talk.say(reading(1600))
    assert talk.kinds() == ("read-back", "confirm-reading")
    question = talk.prompts()[1]
    assert isinstance(question, ConfirmReading)
    assert question.challenge == "Right fuel"
    assert talk.state.outcome("b") is None
    talk.speak_up()
    cut_short(talk, begun=1)
    # affirm over the readback is not affirm to a question that was not begun
    talk.say(CommandName.AFFIRM)
    assert talk.state.outcome("b") is None
    assert talk.kinds() == ("read-back", "confirm-reading")
    hear_out(talk)
    talk.say(CommandName.AFFIRM)
    assert talk.state.outcome("b") is not None


def test_affirm_over_the_challenge_after_a_readback_puts_the_challenge_again() -> None:
    talk = over_the_readback(heard_out=1)
    talk.say(CommandName.AFFIRM)
    assert talk.kinds() == ("challenge",)


def test_the_same_answer_over_the_question_does_not_confirm_it() -> None:
    talk = Conversation(make_check(make_gauge()), hear_out=False).start()
    hear_out(talk)
    talk.say(reading(200))
    talk.speak_up()
    cut_short(talk, begun=1)
    talk.say(reading(200))
    assert talk.kinds() == ("confirm-reading",)
    assert talk.state.outcomes == ()


def test_a_late_answer_over_a_prompt_has_the_prompt_said_again() -> None:
    talk = over_the_readback(heard_out=1)
    talk.say(reading(1600), item_id="a")
    assert talk.kinds() == ("challenge",)


def test_resume_after_the_end_says_what_nobody_may_have_heard() -> None:
    talk = Conversation(make_check(make_gauge()), hear_out=False).start()
    hear_out(talk)
    talk.say(reading(900))
    hear_out(talk)
    talk.say(CommandName.AFFIRM)
    talk.event(Resumed(at_s=20))
    assert talk.kinds() == ("finding-recorded", "closing")


def test_a_late_answer_cannot_answer_the_next_item() -> None:
    talk = after_reading()
    talk.say(reading(1500), item_id="oxygen")
    assert talk.ignored
    assert talk.state.item_id == "door"
    talk.say(CommandName.STAND_BY, item_id="oxygen")
    assert talk.state.phase is Phase.HOLDING


def test_all_that_is_being_said_is_waited_for() -> None:
    talk = Conversation(make_check(), hear_out=False).start()
    talk.say(CommandName.SAY_AGAIN)
    assert talk.state.saying == 4
    for left in (3, 2, 1, 0):
        talk.event(Spoken(at_s=3, words="", completed=True))
        assert talk.state.saying == left


def test_reading_without_limits_is_within() -> None:
    spec = ReadingSpec(names=(), unit="", scale=make_scale(), limit=Limit())
    talk = started(make_item(expect=(), not_as_expected=(), reading=spec))
    talk.say(reading(0, ""))
    assert talk.state.outcomes[0].verdict is Verdict.WITHIN


def test_handle_does_not_change_the_state_it_is_given() -> None:
    talk = started()
    before = talk.state
    handle(before, heard("covers", expected(), 5.0))
    assert before == talk.state


def test_misuse_of_the_inner_parts_is_refused() -> None:
    # these never come from handle: its table rules them out
    state = Conversation(make_check()).state
    with pytest.raises(RuntimeError, match="no current item"):
        Turn(state, 0.0).item  # noqa: B018
    with pytest.raises(RuntimeError, match="has not ended"):
        closing(Turn(state, 0.0))
    with pytest.raises(ValueError, match="no gauge"):
        spoken_value(make_item(), Decimal(1))


@pytest.mark.parametrize(
    "aside",
    [
        (CommandName.STAND_BY, CommandName.CONTINUE),
        (CommandName.LEAVE_FOR_LATER,),
    ],
)
def test_an_exceeded_time_stays_exceeded(aside: tuple[CommandName, ...]) -> None:
    talk = started(LAMP)
    talk.wait()
    for name in aside:
        talk.say(name)
    talk.say(expected("out"))
    assert talk.state.outcomes[0].state is ItemState.LATE
    assert talk.state.ending is not None
    assert talk.state.ending.kind is EndingKind.COMPLETE_EXCEPT


def test_an_exceeded_time_stays_exceeded_after_going_back() -> None:
    talk = started(make_item(), LAMP)
    talk.say(expected())
    talk.wait()
    talk.say(CommandName.GO_BACK)
    talk.say(expected())
    talk.say(expected("out"))
    assert talk.state.outcomes[-1].state is ItemState.LATE


# the last readback ------------------------------------------------------------------


def closing_talk() -> Conversation:
    """All is answered; the last reading has been read back."""
    talk = started(make_gauge())
    talk.say(reading(1500))
    assert talk.kinds() == ("read-back",)
    assert talk.state.phase is Phase.CLOSING
    assert talk.state.ending is None
    return talk


def test_the_check_ends_once_the_last_readback_was_let_stand() -> None:
    talk = closing_talk()
    talk.wait()
    assert talk.kinds() == ("closing",)
    assert talk.state.ending is not None
    assert talk.state.ending.kind is EndingKind.COMPLETE


@pytest.mark.parametrize(
    "meaning", [Command(name=CommandName.AFFIRM), reading(1500)], ids=["affirm", "again"]
)
def test_affirming_the_last_readback_ends_the_check(meaning: Meaning) -> None:
    talk = closing_talk()
    talk.say(meaning)
    assert talk.kinds() == ("closing",)


def test_so_does_the_end_of_the_recording() -> None:
    talk = closing_talk()
    talk.event(InputEnded(at_s=60))
    assert talk.kinds() == ("closing",)
    assert talk.finishes


@pytest.mark.parametrize(
    "name",
    [
        CommandName.NEGATIVE,
        CommandName.CORRECTION,
        CommandName.DISREGARD,
        CommandName.GO_BACK,
    ],
)
def test_rejecting_the_last_readback_asks_again(name: CommandName) -> None:
    talk = closing_talk()
    talk.say(name)
    assert talk.kinds() == ("corrected",)
    assert talk.state.outcome("oxygen") is None
    assert talk.state.queue == ()
    talk.say(reading(1600))
    talk.wait()
    assert talk.state.ending is not None
    (outcome,) = talk.state.outcomes
    assert outcome.value == Decimal(1600)


def test_correcting_the_last_reading() -> None:
    talk = closing_talk()
    talk.say(Correction(this=(reading(1700),), previous=(reading(1700),)))
    assert talk.kinds() == ("read-back",)
    assert talk.state.outcomes[0].value == Decimal(1700)
    talk.say(Correction(previous=(reading(900),)))
    assert talk.kinds() == ("confirm-reading",)


def test_another_value_after_the_last_readback_is_asked_about() -> None:
    talk = closing_talk()
    talk.say(reading(1600))
    assert talk.kinds() == ("confirm-reading",)


def test_other_talk_after_the_last_readback() -> None:
    talk = closing_talk()
    said = talk.prompts()
    talk.say(NoMatch(), text="", confidence=0.0)
    assert talk.ignored
    talk.say(NoMatch(), text="mumble")
    assert talk.prompts() == said
    talk.say(CommandName.SAY_AGAIN)
    assert talk.prompts() == said
    talk.say(reading(1600), item_id="other")
    assert talk.ignored
    talk.event(TimePassed(at_s=talk.at_s + 1))
    assert talk.ignored


def test_resuming_before_the_last_readback_was_let_stand() -> None:
    talk = Conversation(make_check(make_gauge()), hear_out=False).start()
    hear_out(talk)
    talk.say(reading(1500))
    talk.event(Resumed(at_s=30))
    assert talk.kinds() == ("read-back", "resuming")
    hear_out(talk)
    talk.wait()
    assert talk.kinds() == ("closing",)


def test_silence_at_an_open_question_puts_it_again() -> None:
    talk = started()
    talk.say(wrong())
    talk.wait()
    assert talk.kinds() == ("still-there", "confirm-response")


def test_a_reading_is_taken_unasked_only_with_more_confidence_than_a_response() -> None:
    response = started()
    response.say(expected(), confidence=0.85)
    assert len(response.state.outcomes) == 1
    gauge = started(make_gauge())
    gauge.say(reading(1600), confidence=0.85)
    assert gauge.kinds() == ("confirm-reading",)
    assert gauge.state.outcomes == ()
    sure = started(make_gauge())
    sure.say(reading(1600), confidence=0.95)
    assert sure.state.outcomes[0].value == Decimal(1600)


def test_what_two_ears_hear_differently_is_asked_naming_both() -> None:
    talk = started(make_gauge())
    talk.say(Ambiguous(options=(reading(1500), reading(1600))), confidence=0.7)
    (asked,) = talk.prompts()
    assert isinstance(asked, WhichOne)
    assert [value.value for value in asked.values] == [Decimal(1500), Decimal(1600)]
    assert talk.state.outcomes == ()


def test_a_correction_with_two_answers_is_asked_however_sure() -> None:
    talk = started(make_gauge())
    talk.say(reading(900))
    both = Correction(this=(reading(1500), reading(1600)))
    talk.say(both, confidence=1.0)
    assert talk.kinds() == ("which-one",)
    assert talk.state.outcomes == ()


def test_two_meanings_that_nobody_may_have_said_are_not_asked_about() -> None:
    talk = started(make_gauge())
    talk.say(Ambiguous(options=(reading(1500), reading(1600))), confidence=0.2)
    assert talk.ignored
    assert talk.prompts() == ()


def test_a_correction_to_a_reading_is_confirmed_unless_very_sure() -> None:
    talk = started(make_gauge())
    talk.say(reading(900))
    talk.say(Correction(this=(reading(1900),)), confidence=0.85)
    assert talk.kinds() == ("confirm-reading",)


def test_both_devices_lost_and_the_check_waits_for_both() -> None:
    talk = after_reading()
    talk.event(DeviceLost(at_s=6, device="microphone"))
    talk.event(DeviceLost(at_s=6, device="speakers"))
    assert talk.kinds() == ("device-trouble",)
    talk.event(DeviceReturned(at_s=20, device="speakers"))
    assert talk.kinds() == ("device-back", "holding-at")
    assert talk.state.phase is Phase.HOLDING
    talk.event(DeviceReturned(at_s=30, device="microphone"))
    assert talk.kinds() == ("device-back", "continuing", "challenge")


def test_without_speakers_the_person_may_go_on() -> None:
    talk = after_reading()
    talk.event(DeviceLost(at_s=6, device="speakers"))
    talk.say(CommandName.CONTINUE)
    assert talk.state.phase is Phase.ASKING
    talk.event(DeviceLost(at_s=50, device="microphone"))
    # the speakers are not waited for again
    talk.event(DeviceReturned(at_s=60, device="microphone"))
    assert talk.state.phase is Phase.ASKING


def test_a_microphone_lost_while_standing_by_is_told_and_nobody_is_speaking_any_more() -> None:
    talk = started()
    talk.say(CommandName.STAND_BY)
    talk.event(SpeechStarted(at_s=7))
    talk.event(DeviceLost(at_s=8, device="microphone"))
    assert talk.kinds() == ("device-trouble",)
    assert not talk.state.person_speaking
    talk.event(DeviceReturned(at_s=9, device="microphone"))
    assert talk.kinds() == ("device-back", "holding-at")
    assert talk.state.holds[-1].cause is HoldCause.STAND_BY


def test_the_last_readback_does_not_stand_while_nobody_can_reject_it() -> None:
    talk = started(make_gauge())
    talk.say(reading("1600"))
    assert talk.state.phase is Phase.CLOSING
    talk.at_s = 10
    talk.event(DeviceLost(at_s=10, device="microphone"))
    assert talk.kinds() == ("device-trouble",)
    assert next_deadline_s(talk.state) is None
    talk.at_s = 600
    talk.event(TimePassed(at_s=600))
    assert talk.state.phase is Phase.CLOSING
    talk.event(DeviceLost(at_s=600, device="microphone"))
    assert talk.ignored
    talk.event(DeviceReturned(at_s=600, device="microphone"))
    assert talk.kinds() == ("device-back", "read-back")
    talk.event(DeviceReturned(at_s=600, device="microphone"))
    assert talk.ignored
    talk.wait()
    assert talk.at_s > 600
    assert talk.finishes


def test_a_program_that_stopped_without_a_microphone_goes_on_with_one() -> None:
    talk = after_reading()
    talk.event(DeviceLost(at_s=6, device="microphone"))
    talk.event(Resumed(at_s=90))
    assert talk.kinds() == ("resuming", "continuing", "challenge")
    assert talk.state.phase is Phase.ASKING
    assert talk.state.holds[-1].until_s == 90


def test_a_run_from_before_devices_came_back_replays_as_it_went() -> None:
    talk = after_reading()
    talk.state = replace(talk.state, settings=replace(Settings(), patience=PatienceSettings()))
    talk.event(DeviceLost(at_s=6, device="microphone"))
    talk.event(DeviceLost(at_s=7, device="speakers"))
    assert talk.ignored
    talk.event(Resumed(at_s=90))
    assert talk.kinds() == ("resuming", "holding-at")
    assert talk.state.holds[-1].until_s is None
    talk.at_s = 100
    talk.say(CommandName.CONTINUE)
    assert talk.state.phase is Phase.ASKING
