"""A sector of several checks, what is carried over, and the signature."""

from dataclasses import replace
from decimal import Decimal

from tests.builders import expected, make_check, make_gauge, make_item, reading, wrong
from tests.dialogue.conversation import Conversation
from voiceflow.checks.model import (
    Check,
    CheckKind,
    InterruptedPolicy,
    Part,
    RemedyAction,
    Source,
    Wait,
)
from voiceflow.dialogue.brief import Brief, CarriedFinding, FindingState
from voiceflow.dialogue.events import DeviceLost, DeviceReturned, InputEnded, Resumed
from voiceflow.dialogue.machine import begin, handle
from voiceflow.dialogue.state import HoldCause, Phase, SignOff
from voiceflow.grammar.meaning import Correction
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.prompts import (
    CarriedHere,
    CarriedOver,
    Closing,
    ConfirmSignOff,
    EndingKind,
    FindingReason,
    FindingsSoFar,
    NextCheck,
    PartEnded,
    PartOpening,
    Signed,
    WhatIsLeft,
    WhereWeAre,
)

SOURCE = Source(document="Northmark Air Ferries OM-B (invented)", revision="4")


def part(check_id: str, title: str, items: int, *, pauses: bool = True) -> Part:
    return Part(
        check_id=check_id,
        title=title,
        kind=CheckKind.FLOW,
        source=SOURCE,
        digest="",
        items=items,
        pauses=pauses,
    )


def sector(*, pauses: bool = True) -> Check:
    """Two checks: covers, and oxygen with a wait; then a door and fuel."""
    heat = make_item(
        "outside.heat", "Windscreen heat", expect=("warming",), wait=Wait(ready_in_s=60)
    )
    items = (
        make_item("outside.covers", "Pitot covers"),
        heat,
        make_gauge("outside.oxygen"),
        make_item("inside.door", "Cabin door", expect=("closed",), not_as_expected=("open",)),
        make_gauge("inside.fuel", "Left fuel"),
    )
    parts = (part("outside", "Walk-round", 3), part("inside", "Before start", 2, pauses=pauses))
    return replace(make_check(*items), title="Northmark two one four", parts=parts)


def to_the_boundary(talk: Conversation) -> Conversation:
    talk.start()
    talk.say(expected())
    talk.say(expected("warming"))
    talk.say(reading(1500))
    return talk


def test_the_next_check_begins_on_the_persons_word() -> None:
    talk = to_the_boundary(Conversation(sector()))
    # the last reading may still be rejected
    assert talk.kinds() == ("read-back",)
    talk.wait()
    assert talk.prompts() == (
        PartEnded(title="Walk-round", open_items=(), findings=0),
        NextCheck(title="Before start", count=2),
    )
    assert talk.state.phase is Phase.HOLDING
    assert talk.state.holds[-1].cause is HoldCause.NEXT_CHECK
    assert [record.part.kind for record in talk.records() if record.part] == [EndingKind.COMPLETE]
    talk.say(expected("closed"))
    assert talk.ignored
    talk.say(CommandName.CONTINUE)
    assert talk.kinds() == ("part-opening", "challenge")
    talk.say(expected("closed"))
    talk.say(reading(1500))
    talk.wait()
    closing = talk.prompts()[-1]
    assert isinstance(closing, Closing)
    assert closing.title == "Northmark two one four"
    assert closing.ending is EndingKind.COMPLETE
    assert [ending.check_id for ending in talk.state.part_endings] == ["outside", "inside"]


def test_a_check_may_begin_at_once() -> None:
    talk = to_the_boundary(Conversation(sector(pauses=False)))
    assert talk.kinds() == ("read-back", "part-ended", "part-opening", "challenge")
    assert talk.state.item_id == "inside.door"
    # the reading before can still be corrected, and its check ends anew with it
    talk.say(Correction(previous=(reading(1600),)))
    assert talk.state.outcome("outside.oxygen") is not None
    assert talk.kinds()[-4:] == ("read-back", "part-ended", "part-opening", "challenge")
    assert [ending.part for ending in talk.state.part_endings] == [0, 0]


def test_a_wait_comes_due_in_the_next_check() -> None:
    talk = to_the_boundary(Conversation(sector()))
    talk.wait()
    talk.say(CommandName.CONTINUE)
    talk.say(expected("closed"), after_s=70)
    assert "wait-due" in talk.kinds()


def test_a_wait_comes_due_between_two_checks() -> None:
    talk = to_the_boundary(Conversation(sector()))
    talk.wait()
    talk.wait()
    assert talk.kinds() == ("wait-due",)
    assert talk.state.phase is Phase.HOLDING


def test_left_items_come_back_before_their_check_ends() -> None:
    talk = Conversation(sector()).start()
    talk.say(CommandName.LEAVE_FOR_LATER)
    talk.say(expected("warming"))
    talk.say(reading(1500))
    assert talk.kinds()[-2:] == ("items-left", "challenge")
    assert talk.state.item_id == "outside.covers"
    talk.say(CommandName.LEAVE_FOR_LATER)
    ended = talk.prompts()[-2]
    assert ended == PartEnded(title="Walk-round", open_items=("Pitot covers",), findings=0)


def test_the_place_is_told_of_the_check_that_runs() -> None:
    talk = to_the_boundary(Conversation(sector()))
    talk.wait()
    talk.say(CommandName.WHERE_ARE_WE)
    place, asked = talk.prompts()
    assert isinstance(place, WhereWeAre)
    assert (place.title, place.number, place.count) == ("Before start", 1, 2)
    assert isinstance(asked, NextCheck)
    talk.say(CommandName.CONTINUE)
    talk.say(CommandName.WHAT_IS_LEFT)
    assert talk.prompts()[0] == WhatIsLeft(to_come=2, left=(), findings=0)
    first = Conversation(sector()).start()
    first.say(CommandName.WHAT_IS_LEFT)
    left = first.prompts()[0]
    assert left == WhatIsLeft(to_come=3, left=(), findings=0, then=("Before start",))


def test_the_last_answer_can_be_taken_back_between_two_checks() -> None:
    talk = to_the_boundary(Conversation(sector()))
    talk.wait()
    talk.say(CommandName.CORRECTION)
    assert talk.state.item_id == "outside.oxygen"
    assert talk.state.holds[-1].until_s is not None
    talk.say(reading(1600))
    talk.wait()
    assert talk.kinds() == ("part-ended", "next-check")


def test_a_doubtful_word_does_not_begin_the_next_check() -> None:
    talk = to_the_boundary(Conversation(sector()))
    talk.wait()
    talk.say(CommandName.CONTINUE, confidence=0.5)
    assert talk.prompts() == (NextCheck(title="Before start", count=2, attempt=1),)
    assert talk.state.phase is Phase.HOLDING


def test_a_resumed_sector_waits_where_it_waited() -> None:
    talk = to_the_boundary(Conversation(sector()))
    talk.wait()
    talk.event(Resumed(at_s=talk.at_s + 600))
    assert talk.kinds() == ("resuming", "next-check")
    talk.event(DeviceLost(at_s=talk.at_s + 601, device="microphone"))
    talk.event(DeviceReturned(at_s=talk.at_s + 602, device="microphone"))
    assert talk.kinds() == ("device-back", "next-check")


def test_only_the_check_that_runs_starts_over() -> None:
    parts = tuple(replace(one, interrupted=InterruptedPolicy.RESTART) for one in sector().parts)
    talk = to_the_boundary(Conversation(replace(sector(), parts=parts)))
    talk.wait()
    talk.say(CommandName.CONTINUE)
    talk.say(expected("closed"))
    talk.say(CommandName.STAND_BY)
    talk.say(CommandName.CONTINUE)
    assert talk.state.item_id == "inside.door"
    assert talk.state.outcome("inside.door") is None
    assert talk.state.outcome("outside.oxygen") is not None


# --- the signature ---

SIGNED = Brief(signer="Ada North")


def to_the_signature() -> Conversation:
    talk = Conversation(make_check(), brief=SIGNED).start()
    talk.say(expected())
    talk.say(reading(1500))
    talk.say(wrong("open"))
    talk.say(CommandName.AFFIRM)
    return talk


def test_affirm_signs() -> None:
    talk = to_the_signature()
    closing, asked = talk.prompts()[-2:]
    assert isinstance(closing, Closing)
    assert isinstance(asked, ConfirmSignOff)
    assert talk.state.ending is None
    talk.say(CommandName.AFFIRM, text="affirm")
    assert talk.prompts() == (Signed(by="Ada North"),)
    assert talk.finishes
    assert talk.state.sign_off == SignOff(
        by="Ada North",
        kind=EndingKind.COMPLETE_EXCEPT,
        open_items=(),
        findings=1,
        at_s=talk.at_s,
        said="affirm",
    )
    assert [record.sign_off is not None for record in talk.records()] == [True, False]


def test_negative_ends_unsigned() -> None:
    talk = to_the_signature()
    talk.say(CommandName.NEGATIVE)
    assert talk.prompts() == (Signed(by=None),)
    assert talk.state.sign_off is None
    assert talk.state.ending is not None


def test_nothing_else_signs() -> None:
    talk = to_the_signature()
    for meaning, confidence in (
        (expected("closed"), 1.0),
        (reading(1500), 1.0),
        (CommandName.AFFIRM, 0.5),
        (CommandName.ROGER, 1.0),
        (CommandName.CONTINUE, 1.0),
    ):
        talk.say(meaning, confidence=confidence)
        assert talk.state.phase is Phase.SIGNING
        assert talk.state.sign_off is None
    talk.say(CommandName.WHAT_WAS_FOUND)
    assert [prompt.kind for prompt in talk.prompts()] == ["findings-so-far", "confirm-sign-off"]
    talk.wait()
    assert talk.kinds() == ("confirm-sign-off",)


def test_affirm_over_the_closing_words_does_not_sign() -> None:
    talk = Conversation(make_check(make_item()), hear_out=False, brief=SIGNED).start()
    for _ in range(2):
        talk._spoken()
    talk.say(expected())
    assert talk.state.phase is Phase.SIGNING
    talk.speak_up()
    from voiceflow.dialogue.events import Spoken

    # neither the closing words nor the question were heard out
    talk.event(Spoken(at_s=talk.at_s, words="", completed=False))
    talk.event(Spoken(at_s=talk.at_s, words="", completed=False, begun=False))
    talk.say(CommandName.AFFIRM)
    assert talk.state.sign_off is None
    assert talk.kinds() == ("confirm-sign-off",)


def test_the_last_answer_can_be_taken_back_before_signing() -> None:
    talk = to_the_signature()
    talk.say(CommandName.CORRECTION)
    assert talk.state.item_id == "door"
    talk.say(expected("closed"))
    closing = talk.prompts()[-2]
    assert isinstance(closing, Closing)
    assert closing.ending is EndingKind.COMPLETE


def test_an_unsigned_run_goes_on_at_the_signature() -> None:
    talk = to_the_signature()
    talk.event(InputEnded(at_s=talk.at_s))
    assert talk.state.ending is None
    talk.event(Resumed(at_s=talk.at_s + 100))
    assert talk.kinds() == ("resuming", "confirm-sign-off")
    talk.say(CommandName.AFFIRM, after_s=110)
    assert talk.state.sign_off is not None


def test_an_abandoned_check_is_not_signed() -> None:
    talk = Conversation(make_check(), brief=SIGNED).start()
    talk.say(CommandName.ABANDON)
    talk.say(CommandName.AFFIRM)
    assert isinstance(talk.prompts()[-1], Closing)
    assert talk.state.sign_off is None


# --- what earlier runs found ---

LOW = CarriedFinding(
    finding_id="20261125-093012-7f3a/oxygen",
    check_id="outside",
    item_id="oxygen",
    challenge="Crew oxygen",
    reason=FindingReason.OUTSIDE_LIMITS,
    phrase=None,
    value=Decimal(900),
    unit="psi",
    action=RemedyAction.MAINTENANCE,
    say="Call maintenance",
    found_at="2026-11-25T09:31:00+00:00",
    state=FindingState.DEFERRED,
    by="M Sund",
    reference="defect 42",
)


def test_what_was_carried_over_is_told_at_the_start_and_at_its_item() -> None:
    talk = Conversation(sector(), brief=Brief(carried=(LOW,))).start()
    opening = talk.prompts()
    assert [prompt.kind for prompt in opening] == [
        "opening",
        "carried-over",
        "part-opening",
        "challenge",
    ]
    over = opening[1]
    assert isinstance(over, CarriedOver)
    assert over.carried[0].deferred_by == "M Sund"
    talk.say(expected())
    talk.say(expected("warming"))
    assert next(type(prompt) for prompt in talk.prompts()[-2:]) is CarriedHere
    # once an item is enough
    talk.say(CommandName.STAND_BY)
    talk.say(CommandName.CONTINUE)
    assert "carried-here" not in talk.kinds()
    talk.say(CommandName.WHAT_WAS_FOUND)
    found = talk.prompts()[0]
    assert isinstance(found, FindingsSoFar)
    assert found.findings == ()
    assert len(found.carried) == 1


def test_a_carried_finding_is_not_this_runs() -> None:
    """It is told, and neither cleared nor recorded again by a run in which all is well."""
    talk = Conversation(sector(), brief=Brief(carried=(LOW,)))
    to_the_boundary(talk)
    assert talk.state.discrepancies == ()


def test_a_run_without_a_brief_begins_as_before() -> None:
    check = make_check()
    step = handle(begin(check), Conversation(check).start().events[0])
    assert [prompt.kind for prompt in step.actions[-1].prompts] == [  # type: ignore[union-attr]
        "opening",
        "challenge",
    ]


def test_part_opening_counts_its_own_items() -> None:
    talk = Conversation(sector()).start()
    assert PartOpening(title="Walk-round", count=3) in talk.prompts()
