"""Readings that disagree: asked about, recorded, and taken back with what they rest on."""

from dataclasses import replace
from decimal import Decimal
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.builders import make_check, make_gauge, make_scale, reading
from tests.dialogue.conversation import Conversation
from voiceflow.checks.model import (
    Agreement,
    Check,
    InterruptedPolicy,
    Item,
    Limit,
    Reference,
    Remedy,
    RemedyAction,
)
from voiceflow.dialogue.brief import Brief
from voiceflow.dialogue.machine import begin, handle
from voiceflow.dialogue.state import AgreesAgain, Discrepancy, ItemState
from voiceflow.grammar.meaning import Correction
from voiceflow.limits.computed import Conditions
from voiceflow.limits.judge import Verdict
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.prompts import (
    Closing,
    ConfirmReading,
    FindingReason,
    FindingRecorded,
    LastRecorded,
    ReferenceKind,
)

LEFT, RIGHT, TOTAL = "left", "right", "total"
FIELD = Brief(conditions=Conditions(elevation_ft=Decimal(118)))


def gauge(
    item_id: str,
    challenge: str,
    *agrees: Agreement,
    unit: str = "kg",
    limit: Limit | None = None,
    scale: tuple[str, str, str] = ("0", "2000", "10"),
) -> Item:
    item = make_gauge(
        item_id, challenge, unit=unit, scale=make_scale(*scale), limit=limit or Limit()
    )
    assert item.reading is not None
    return replace(item, reading=replace(item.reading, agrees=agrees))


def agrees(*readings: str, within: str = "50", outside: Remedy | None = None) -> Agreement:
    return Agreement(
        reference=Reference(readings=readings), within=Decimal(within), outside=outside
    )


def fuel(*order: str) -> Check:
    """Both sides within 50 kg of each other, the total within 50 kg of their sum."""
    items = {
        LEFT: gauge(LEFT, "Left fuel"),
        RIGHT: gauge(RIGHT, "Right fuel", agrees(LEFT)),
        TOTAL: gauge(TOTAL, "Total fuel", agrees(LEFT, RIGHT)),
    }
    return make_check(*(items[name] for name in order or (LEFT, RIGHT, TOTAL)))


def found(talk: Conversation) -> list[Discrepancy]:
    return list(talk.state.open_discrepancies)


def test_a_reading_that_disagrees_is_asked_about_and_recorded() -> None:
    talk = Conversation(fuel()).start()
    talk.say(reading(400, "kg"))
    talk.say(reading(600, "kg"))
    (asked,) = talk.prompts()
    assert isinstance(asked, ConfirmReading)
    (apart,) = asked.apart
    assert apart.kind is ReferenceKind.READING
    assert apart.names == ("Left fuel",)
    assert apart.by.value == Decimal(200)
    assert apart.is_above
    assert apart.taken is None
    assert not found(talk)
    talk.say(CommandName.AFFIRM)
    assert talk.kinds() == ("finding-recorded", "challenge")
    (recorded,) = found(talk)
    assert recorded.reason is FindingReason.DISAGREES
    assert (recorded.expected, recorded.within) == (Decimal(400), Decimal(50))
    outcome = talk.state.outcome(RIGHT)
    assert outcome is not None
    assert outcome.state is ItemState.WITHIN_LIMITS
    assert outcome.confirmed


def test_a_reading_that_agrees_is_taken_as_ever() -> None:
    talk = Conversation(fuel()).start()
    talk.say(reading(400, "kg"))
    talk.say(reading(450, "kg"))
    assert talk.kinds() == ("read-back", "challenge")
    talk.say(reading(900, "kg"))
    assert talk.kinds() == ("read-back",)
    assert not found(talk)


def test_what_is_read_later_is_compared_then() -> None:
    talk = Conversation(fuel(RIGHT, LEFT, TOTAL)).start()
    talk.say(reading(600, "kg"))
    assert talk.kinds() == ("read-back", "challenge")
    talk.say(reading(400, "kg"))
    # the one read now may be the one misheard: it is asked about
    (asked,) = talk.prompts()
    assert isinstance(asked, ConfirmReading)
    (apart,) = asked.apart
    assert apart.challenge == "Right fuel"
    assert apart.taken is not None
    assert (apart.taken.value, apart.by.value) == (Decimal(600), Decimal(200))
    assert not found(talk)
    talk.say(CommandName.AFFIRM)
    # the discrepancy is of the item that has to agree, and names it
    recorded = [prompt for prompt in talk.prompts() if isinstance(prompt, FindingRecorded)]
    assert [(each.finding.challenge, each.of_other) for each in recorded] == [("Right fuel", True)]
    assert [each.item_id for each in found(talk)] == [RIGHT]


def test_everything_that_disagrees_is_in_the_question_and_in_the_record() -> None:
    # the total is read first, then one side: both comparisons are made with the other side
    talk = Conversation(fuel(TOTAL, RIGHT, LEFT)).start()
    talk.say(reading(900, "kg"))
    talk.say(reading(600, "kg"))
    talk.say(reading(500, "kg"))
    (asked,) = talk.prompts()
    assert isinstance(asked, ConfirmReading)
    assert [each.challenge for each in asked.apart] == ["Total fuel", "Right fuel"]
    talk.say(CommandName.NEGATIVE)
    assert not found(talk)
    talk.say(reading(350, "kg"))
    talk.say(CommandName.AFFIRM)
    assert [each.item_id for each in found(talk)] == [RIGHT]
    talk.say(CommandName.AFFIRM)  # the readback was right


def test_read_back_tells_with_what_it_disagrees() -> None:
    talk = Conversation(fuel()).start()
    talk.say(reading(400, "kg"))
    talk.say(reading(600, "kg"))
    talk.say(CommandName.AFFIRM)
    talk.say(CommandName.READ_BACK)
    told = talk.prompts()[0]
    assert isinstance(told, LastRecorded)
    assert [each.by.value for each in told.apart] == [Decimal(200)]


def test_a_difference_is_never_told_smaller_than_it_is() -> None:
    # 100 US gal at 0.804 kg/L are 304.35 kg (published factors, computed): 60.35 from 244
    fuel_slip = Agreement(
        reference=Reference(readings=("uplift",), density=Decimal("0.804")), within=Decimal(60)
    )
    check = make_check(
        gauge("uplift", "Uplift", unit="gal", scale=("0", "1000", "1")),
        gauge("gauge", "Gauge", fuel_slip, scale=("0", "2000", "1")),
    )
    talk = Conversation(check).start()
    talk.say(reading(100, "gal"))
    talk.say(reading(244, "kg"))
    (asked,) = talk.prompts()
    assert isinstance(asked, ConfirmReading)
    assert [each.by.value for each in asked.apart] == [Decimal(61)]
    talk.say(CommandName.NEGATIVE)
    talk.say(reading(245, "kg"))
    assert talk.kinds() == ("read-back",)


def test_a_reading_taken_back_takes_its_comparisons_with_it() -> None:
    talk = Conversation(fuel()).start()
    talk.say(reading(400, "kg"))
    talk.say(reading(600, "kg"))
    talk.say(CommandName.AFFIRM)
    assert len(found(talk)) == 1
    talk.say(CommandName.GO_BACK_TWO)
    assert not found(talk)
    talk.say(reading(590, "kg"))
    talk.say(reading(600, "kg"))
    talk.say(reading(1200, "kg"))
    assert not found(talk)
    talk.wait()
    closing = talk.prompts()[-1]
    assert isinstance(closing, Closing)
    assert closing.findings == ()


def test_the_other_reading_corrected_clears_what_rested_on_it() -> None:
    talk = Conversation(fuel(RIGHT, LEFT, TOTAL)).start()
    talk.say(reading(600, "kg"))
    talk.say(reading(400, "kg"))
    talk.say(CommandName.AFFIRM)
    assert len(found(talk)) == 1
    talk.say(Correction(previous=(reading(580, "kg"),)))
    assert not found(talk)
    # what was said to be recorded is said to be so no more, first of all
    assert talk.kinds() == ("finding-withdrawn", "corrected", "read-back", "challenge")
    again = [record.agrees_again for record in talk.records() if record.agrees_again]
    assert again == [AgreesAgain(item_id=RIGHT, agreement=0)]


def test_outside_its_limits_and_disagreeing_are_two_discrepancies() -> None:
    item = gauge(RIGHT, "Right fuel", agrees(LEFT), limit=Limit(minimum=Decimal(500)))
    talk = Conversation(make_check(gauge(LEFT, "Left fuel"), item)).start()
    talk.say(reading(400, "kg"))
    talk.say(reading(100, "kg"))
    talk.say(CommandName.AFFIRM)
    assert [each.reason for each in found(talk)] == [
        FindingReason.OUTSIDE_LIMITS,
        FindingReason.DISAGREES,
    ]


def test_two_that_need_the_same_are_said_once() -> None:
    item = gauge(RIGHT, "Right fuel", agrees(LEFT), limit=Limit(minimum=Decimal(500)))
    talk = Conversation(make_check(gauge(LEFT, "Left fuel"), item)).start()
    talk.say(reading(400, "kg"))
    talk.say(reading(100, "kg"))
    (asked,) = talk.prompts()
    assert isinstance(asked, ConfirmReading)
    assert (asked.verdict, len(asked.apart)) == (Verdict.OUTSIDE, 1)
    talk.say(CommandName.AFFIRM)
    recorded = [prompt for prompt in talk.prompts() if isinstance(prompt, FindingRecorded)]
    assert [each.count for each in recorded] == [2]
    closing = talk.prompts()[-1]
    assert isinstance(closing, Closing)
    assert len(closing.findings) == 2


def test_starting_over_says_nothing_of_what_goes_with_it() -> None:
    check = replace(fuel(), interrupted=InterruptedPolicy.RESTART)
    talk = Conversation(check).start()
    talk.say(reading(400, "kg"))
    talk.say(reading(600, "kg"))
    talk.say(CommandName.AFFIRM)
    talk.say(CommandName.STAND_BY)
    talk.say(CommandName.CONTINUE)
    assert talk.kinds() == ("continuing", "challenge")
    assert not found(talk)


def test_the_agreement_says_whom_it_concerns() -> None:
    remedy = Remedy(action=RemedyAction.CAPTAIN, say="Balance the fuel")
    item = gauge(RIGHT, "Right fuel", agrees(LEFT, outside=remedy))
    talk = Conversation(make_check(gauge(LEFT, "Left fuel"), item)).start()
    talk.say(reading(400, "kg"))
    talk.say(reading(100, "kg"))
    talk.say(CommandName.AFFIRM)
    assert [(each.action, each.say) for each in found(talk)] == [
        (RemedyAction.CAPTAIN, "Balance the fuel")
    ]


def altimeters() -> Check:
    """AIM 7-2-3 as quoted (V2): more than 75 ft from the field elevation is questionable."""
    field = Agreement(reference=Reference(elevation=True), within=Decimal(75))
    scale = ("-200", "2000", "10")
    return make_check(
        gauge("left-altimeter", "Left altimeter", field, unit="ft", scale=scale),
        gauge("right-altimeter", "Right altimeter", field, unit="ft", scale=scale),
    )


def test_both_altimeters_against_the_field() -> None:
    talk = Conversation(altimeters(), brief=FIELD).start()
    talk.say(reading(190, "ft"))
    assert talk.kinds() == ("read-back", "challenge")
    talk.say(reading(200, "ft"))
    (asked,) = talk.prompts()
    assert isinstance(asked, ConfirmReading)
    (apart,) = asked.apart
    assert apart.kind is ReferenceKind.ELEVATION
    assert apart.by.value == Decimal(82)


def test_an_unknown_elevation_compares_nothing() -> None:
    talk = Conversation(altimeters()).start()
    talk.say(reading(1990, "ft"))
    assert talk.kinds() == ("read-back", "challenge")


@pytest.mark.parametrize("order", list(permutations(("setting", "qnh", "altimeter"))))
def test_an_altimeter_against_its_setting_whatever_is_read_last(order: tuple[str, ...]) -> None:
    # 3 hPa more on it than the local pressure: 27.3 ft each near sea level (computed, C)
    shows = Agreement(reference=Reference(setting="setting", qnh="qnh"), within=Decimal(75))
    hpa = ("950", "1050", "1")
    items = {
        "setting": gauge("setting", "Altimeter setting", unit="hPa", scale=hpa),
        "qnh": gauge("qnh", "Local pressure", unit="hPa", scale=hpa),
        "altimeter": gauge(
            "altimeter", "Altimeter", shows, unit="ft", scale=("-200", "2000", "10")
        ),
    }
    said = {"setting": (1016, "hPa"), "qnh": (1013, "hPa"), "altimeter": (120, "ft")}
    talk = Conversation(make_check(*(items[name] for name in order)), brief=FIELD).start()
    for name in order:
        assert not found(talk)
        talk.say(reading(*said[name]))
    (asked,) = talk.prompts()
    assert isinstance(asked, ConfirmReading)
    (apart,) = asked.apart
    assert (apart.kind, apart.is_above) == (ReferenceKind.ALTIMETER, False)
    assert apart.by.value == 80  # 118 + 81.9 - 120, told whole and never smaller
    talk.say(CommandName.AFFIRM)
    assert [(each.item_id, each.expected) for each in found(talk)] == [("altimeter", Decimal(200))]


def test_the_outside_air_against_the_temperature_of_the_day() -> None:
    item = gauge(
        "air",
        "Outside air temperature",
        Agreement(reference=Reference(temperature=True), within=Decimal(5)),
        unit="C",
        scale=("-40", "50", "1"),
    )
    brief = Brief(conditions=Conditions(temperature_c=Decimal(-20)))
    talk = Conversation(make_check(item), brief=brief).start()
    talk.say(reading(-14, "C"))
    (asked,) = talk.prompts()
    assert isinstance(asked, ConfirmReading)
    (apart,) = asked.apart
    assert (apart.kind, apart.by.value) == (ReferenceKind.TEMPERATURE, Decimal(6))


def test_what_is_no_time_of_day_agrees_with_no_clock() -> None:
    clock = Agreement(reference=Reference(readings=("left",)), within=Decimal(1), is_time=True)
    scale = ("0", "2359", "1")
    check = make_check(
        gauge("left", "Left clock", unit="", scale=scale),
        gauge("right", "Right clock", clock, unit="", scale=scale),
    )
    talk = Conversation(check).start()
    talk.say(reading(1315, ""))
    talk.say(reading(1275, ""))
    (asked,) = talk.prompts()
    assert isinstance(asked, ConfirmReading)
    assert [each.is_time for each in asked.apart] == [True]


def test_an_item_gone_back_to_while_it_waits_to_come_back_is_answered_once() -> None:
    talk = Conversation(fuel()).start()
    talk.say(reading(400, "kg"))
    talk.say(CommandName.LEAVE_FOR_LATER)
    talk.say(reading(800, "kg"))
    assert talk.state.item_id == RIGHT  # it came back
    talk.say(CommandName.GO_BACK)
    talk.say(CommandName.GO_BACK)
    assert (talk.state.item_id, talk.state.queue) == (RIGHT, (TOTAL,))


VALUES = st.integers(30, 60).map(lambda tens: tens * 10)


@settings(max_examples=60, deadline=None)
@given(st.tuples(VALUES, VALUES, st.integers(60, 120).map(lambda tens: tens * 10)))
def test_the_order_of_answers_makes_no_difference(values: tuple[int, int, int]) -> None:
    by_name = dict(zip((LEFT, RIGHT, TOTAL), values, strict=True))
    results = set()
    for order in permutations(by_name):
        talk = Conversation(fuel(*order)).start()
        for name in order:
            talk.say(reading(by_name[name], "kg"))
            if talk.state.pending is not None:
                talk.say(CommandName.AFFIRM)
        results.add(
            frozenset((each.item_id, each.agreement, each.expected) for each in found(talk))
        )
        state = begin(talk.state.check)
        for event in talk.events:
            state = handle(state, event).state
        assert state == talk.state
    assert len(results) == 1
    (result,) = results
    assert (RIGHT in {item_id for item_id, _, _ in result}) == (abs(values[0] - values[1]) > 50)
    assert (TOTAL in {item_id for item_id, _, _ in result}) == (
        abs(values[2] - values[0] - values[1]) > 50
    )


#: What is done, with which value, and whether a question is then affirmed.
STEPS = st.tuples(
    st.sampled_from(["say", "say", "say", "correct", "correct", "back", "leave"]),
    st.sampled_from([300, 400, 420, 600, 1000]),
    st.sampled_from([True, True, True, False]),
)


@settings(max_examples=150, deadline=None)
@given(
    order=st.permutations((LEFT, RIGHT, TOTAL)),
    steps=st.lists(STEPS, min_size=4, max_size=14),
)
def test_after_every_step_the_record_holds_what_disagrees_and_nothing_else(
    order: list[str], steps: list[tuple[str, int, bool]]
) -> None:
    talk = Conversation(fuel(*order)).start()
    standing: set[tuple[str, int]] = set()
    for what, value, affirmed in steps:
        if talk.state.ending is not None:
            break
        match what:
            case "say":
                talk.say(reading(value, "kg"))
            case "correct":
                talk.say(Correction(previous=(reading(value, "kg"),)))
            case "back":
                talk.say(CommandName.GO_BACK)
            case _:
                talk.say(CommandName.LEAVE_FOR_LATER)
        records = talk.records()
        told_gone = "finding-withdrawn" in talk.kinds()
        if talk.state.pending is not None and affirmed:
            talk.say(CommandName.AFFIRM)
            records += talk.records()
        values = {
            outcome.item_id: outcome.value
            for outcome in talk.state.outcomes
            if outcome.value is not None
        }
        disagreeing = set()
        for name, others in ((RIGHT, (LEFT,)), (TOTAL, (LEFT, RIGHT))):
            if {name, *others} <= values.keys():
                total = sum(values[other] for other in others)
                if abs(values[name] - total) > 50:
                    disagreeing.add(name)
        assert {each.item_id for each in found(talk)} == disagreeing
        assert len(found(talk)) == len(disagreeing)
        # the records of the run say the same, taken by themselves
        for record in records:
            if record.discrepancy is not None:
                standing.add((record.discrepancy.item_id, record.discrepancy.agreement or 0))
            if record.agrees_again is not None:
                standing.remove((record.agrees_again.item_id, record.agrees_again.agreement))
                assert told_gone
            if record.withdrawn_item is not None:
                standing = {each for each in standing if each[0] != record.withdrawn_item}
        assert {item_id for item_id, _ in standing} == disagreeing
    state = begin(talk.state.check)
    for event in talk.events:
        state = handle(state, event).state
    assert state == talk.state


@pytest.mark.parametrize("challenge", ["Left altimeter", "Right altimeter"])
def test_both_altimeters_have_the_limit(challenge: str) -> None:
    check = altimeters()
    item = next(each for each in check.items if each.challenge == challenge)
    assert item.reading is not None
    assert item.reading.agrees[0].within == Decimal(75)
