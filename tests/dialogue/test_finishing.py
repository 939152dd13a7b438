"""When the run will be finished, and the one warning before it is too late."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.builders import expected, make_check, make_item
from tests.dialogue.conversation import Conversation
from voiceflow.checks.model import Check, CheckKind, Part, Source, Wait
from voiceflow.dialogue.brief import Brief, Departure, Pace, SlotKind
from voiceflow.dialogue.events import Resumed, SpeechStarted, Spoken, TimePassed
from voiceflow.dialogue.finishing import finish_of, own_pace
from voiceflow.dialogue.machine import begin, handle, next_deadline_s
from voiceflow.dialogue.state import Phase
from voiceflow.grammar.meaning import NoMatch
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.prompts import HowLong, TimeLimit, TimeShort

COUNT = 20


def a_check(count: int = COUNT, *, may_wait: tuple[int, ...] = ()) -> Check:
    items = (
        replace(make_item(f"item-{n}", f"Item {n}"), may_wait=n in may_wait) for n in range(count)
    )
    return make_check(*items)


def a_brief(
    check: Check,
    *,
    half_s: float = 10.0,
    late_s: float = 20.0,
    off_blocks_s: float | None = None,
    slot_to_s: float | None = None,
    taxi_s: float = 0.0,
) -> Brief:
    departure = Departure(
        zero_at="2026-11-27T23:50:00+00:00",
        off_blocks_s=off_blocks_s,
        slot_from_s=None if slot_to_s is None else slot_to_s - 900,
        slot_to_s=slot_to_s,
        slot=None if slot_to_s is None else SlotKind.CTOT,
        taxi_s=taxi_s,
    )
    return Brief(
        departure=departure,
        paces=tuple(
            Pace(item_id=item.id, expected_s=half_s, late_s=late_s, count=9) for item in check.items
        ),
    )


def test_late_is_late_in_one_of_ten_runs() -> None:
    """Runs whose items are lognormal with these quantiles, all slower on a slow day."""
    check = a_check()
    state = begin(check, brief=a_brief(check))
    finish = finish_of(Conversation(check, brief=state.brief).start().state)
    assert finish is not None
    draw = np.random.default_rng(11)
    sigma = math.log(2) / 1.2816
    items = draw.lognormal(math.log(10.0), sigma, (20_000, COUNT)).sum(axis=1)
    totals = items * draw.normal(1.0, 0.15, 20_000)
    exceeded = float((totals > finish.late_s).mean())
    assert 0.07 < exceeded < 0.13
    assert finish.expected_s == pytest.approx(totals.mean(), rel=0.03)


def test_the_more_is_answered_the_less_is_to_go() -> None:
    check = a_check()
    talk = Conversation(check, brief=a_brief(check)).start()
    left = []
    for _ in range(COUNT - 1):
        finish = finish_of(talk.state)
        assert finish is not None
        left.append(finish.expected_s - talk.state.at_s)
        talk.say(expected(), after_s=11.5)
    assert left == sorted(left, reverse=True)


def test_this_runs_own_pace_counts() -> None:
    check = a_check()
    fast, slow = (Conversation(check, brief=a_brief(check)).start() for _ in range(2))
    for _ in range(10):
        fast.say(expected(), after_s=5.0)
        slow.say(expected(), after_s=25.0)
    assert own_pace(fast.state) < 1 < own_pace(slow.state)


def test_a_hold_is_no_slow_item() -> None:
    check = a_check()
    talk = Conversation(check, brief=a_brief(check)).start()
    talk.say(expected(), after_s=11.5)
    before = own_pace(talk.state)
    talk.say(CommandName.STAND_BY, after_s=1.0)
    talk.say(CommandName.CONTINUE, after_s=900.0)
    talk.say(expected(), after_s=11.5)
    assert own_pace(talk.state) == pytest.approx(before, rel=0.02)


def test_what_gets_ready_is_waited_for() -> None:
    heat = make_item("heat", "Heat", expect=("warming",), wait=Wait(ready_in_s=600.0))
    check = make_check(heat, make_item())
    talk = Conversation(check, brief=a_brief(check)).start()
    finish = finish_of(talk.state)
    assert finish is not None
    assert finish.expected_s >= 600
    talk.say(expected("warming"))
    finish = finish_of(talk.state)
    assert finish is not None
    assert finish.expected_s == talk.state.waits[0].due_s


def test_what_comes_after_the_flight_does_not_count() -> None:
    check = a_check(4)
    whole = finish_of(Conversation(check, brief=a_brief(check)).start().state)
    sector = two_parts(check, after_flight=True)
    half = finish_of(Conversation(sector, brief=a_brief(check)).start().state)
    assert whole is not None
    assert half is not None
    assert half.expected_s == pytest.approx(whole.expected_s / 2)


# --- the warning ---


def warnings(talk: Conversation) -> list[TimeShort]:
    return [prompt for prompt in talk.prompts() if isinstance(prompt, TimeShort)]


def test_it_warns_once_when_the_late_finish_passes_off_blocks() -> None:
    check = a_check(5, may_wait=(3, 4))
    talk = Conversation(check, brief=a_brief(check, off_blocks_s=120.0)).start()
    assert not warnings(talk)
    told = []
    for _ in range(4):
        talk.say(expected(), after_s=40.0)
        told += warnings(talk)
    (warning,) = told
    assert warning.limit is TimeLimit.OFF_BLOCKS
    assert warning.limit_at == "23:52"
    assert warning.may_wait == ("Item 3", "Item 4")
    # it offers, and leaves nothing
    assert talk.state.left == ()


def test_it_warns_in_a_gap_while_an_item_takes_long() -> None:
    check = a_check(2)
    talk = Conversation(check, brief=a_brief(check, off_blocks_s=100.0)).start()
    while not warnings(talk):
        talk.wait()
        assert talk.at_s < 100
    # quiet for a moment, and nobody was speaking
    assert talk.at_s >= talk.state.settings.patience.gap_s
    late = finish_of(talk.state)
    assert late is not None
    assert late.late_s > 100.0


def test_who_speaks_is_not_interrupted() -> None:
    check = a_check(2)
    talk = Conversation(check, brief=a_brief(check, off_blocks_s=60.0)).start()
    talk.event(SpeechStarted(at_s=5.0))
    assert next_deadline_s(talk.state) is None


def test_a_slot_is_kept_at_the_runway() -> None:
    check = a_check(5)
    brief = a_brief(check, slot_to_s=600.0, taxi_s=480.0)
    talk = Conversation(check, brief=brief).start()
    told = []
    for _ in range(3):
        talk.say(expected(), after_s=40.0)
        told += warnings(talk)
    (warning,) = told
    assert warning.limit is TimeLimit.SLOT
    assert warning.limit_at == "00:00"
    assert warning.may_wait == ()


def test_if_it_is_certain_at_the_start_it_is_said_before_the_first_item() -> None:
    check = a_check()
    talk = Conversation(check, brief=a_brief(check, off_blocks_s=30.0)).start()
    assert talk.kinds() == ("opening", "time-short", "challenge")
    for _ in range(5):
        talk.say(expected(), after_s=20.0)
        assert not warnings(talk)


def test_without_a_departure_there_is_none() -> None:
    check = a_check(2)
    brief = replace(a_brief(check), departure=None)
    talk = Conversation(check, brief=brief).start()
    talk.say(expected(), after_s=9000.0)
    assert not warnings(talk)


def test_without_a_departure_how_long_names_no_clock() -> None:
    check = a_check(2)
    # of the first item nothing is known
    paces = a_brief(check).paces[1:]
    talk = Conversation(check, brief=Brief(paces=paces)).start()
    talk.say(expected(), after_s=90.0)
    talk.say(CommandName.HOW_LONG)
    (told,) = [prompt for prompt in talk.prompts() if isinstance(prompt, HowLong)]
    assert told.outlook is not None
    assert 0 < told.outlook.to_go_s < told.outlook.late_s
    assert (told.outlook.ready_at, told.outlook.runway_at) == (None, None)
    assert own_pace(talk.state) == 1.0


def test_how_long_tells_what_is_to_be_expected() -> None:
    check = a_check(2)
    brief = a_brief(check, off_blocks_s=600.0, slot_to_s=2400.0, taxi_s=480.0)
    talk = Conversation(check, brief=brief).start()
    talk.say(CommandName.HOW_LONG)
    told = talk.prompts()[0]
    assert isinstance(told, HowLong)
    outlook = told.outlook
    assert outlook is not None
    assert outlook.to_go_s <= outlook.late_s
    assert (outlook.ready_at, outlook.off_blocks_at) == ("23:50", "00:00")
    assert (outlook.slot_from, outlook.slot_to) == ("00:15", "00:30")
    # it does not leave before its time: off blocks and eight minutes
    assert outlook.runway_at == "00:08"


def test_a_late_finish_is_told_to_the_next_minute() -> None:
    check = a_check(2)
    talk = Conversation(check, brief=a_brief(check, slot_to_s=2400.0, taxi_s=480.0)).start()
    talk.say(CommandName.HOW_LONG)
    (told,) = [prompt for prompt in talk.prompts() if isinstance(prompt, HowLong)]
    finish = finish_of(talk.state)
    assert finish is not None
    # half a minute past a time must not read as that time
    assert finish.late_s % 60 > 0
    assert told.outlook is not None
    assert told.outlook.late_at == "23:51"
    assert told.outlook.runway_at == "23:59"


def test_a_warning_that_was_not_heard_out_is_said_again() -> None:
    check = a_check()
    brief = a_brief(check, off_blocks_s=30.0)
    talk = Conversation(check, hear_out=False, brief=brief).start()
    assert talk.kinds() == ("opening", "time-short", "challenge")
    talk.at_s = 6.0
    talk.speak_up()
    for completed in (True, False, False):
        talk.event(Spoken(at_s=6.0, words="", completed=completed, begun=completed))
    talk.say(CommandName.WHERE_ARE_WE)
    assert talk.kinds()[0] == "time-short"


def test_after_a_pause_or_a_stop_it_is_not_said_again() -> None:
    check = a_check()
    talk = Conversation(check, brief=a_brief(check, off_blocks_s=30.0)).start()
    talk.say(CommandName.STAND_BY)
    talk.say(CommandName.CONTINUE, after_s=300.0)
    assert not warnings(talk)
    talk.at_s += 600.0
    talk.event(Resumed(at_s=talk.at_s, clock_at=None, source="typed"))
    assert not warnings(talk)
    talk.say(expected())
    assert not warnings(talk)


def test_it_warns_while_the_check_holds() -> None:
    check = a_check(2)
    talk = Conversation(check, brief=a_brief(check, off_blocks_s=100.0)).start()
    talk.say(CommandName.STAND_BY)
    talk.wait()
    (warning,) = warnings(talk)
    assert talk.at_s < 100
    assert warning.limit is TimeLimit.OFF_BLOCKS
    assert next_deadline_s(talk.state) is None


def test_what_is_left_already_is_not_offered() -> None:
    check = a_check(5, may_wait=(0, 1, 4))
    talk = Conversation(check, brief=a_brief(check, off_blocks_s=150.0)).start()
    talk.say(CommandName.LEAVE_FOR_LATER)
    told = warnings(talk)
    while not told:
        talk.wait()
        told = warnings(talk)
    assert told[0].may_wait == ("Item 1", "Item 4")


def test_an_item_left_for_good_endangers_nothing() -> None:
    """One is left twice and stays open; the flight is flown; nothing is late by it."""
    check = two_parts(a_check(4), after_flight=True)
    talk = Conversation(check, brief=a_brief(check, off_blocks_s=600.0)).start()
    for meaning in (CommandName.LEAVE_FOR_LATER, expected(), CommandName.LEAVE_FOR_LATER):
        talk.say(meaning)
    assert talk.state.open_items[0] == "item-0"
    assert finish_of(talk.state) is None
    assert next_deadline_s(talk.state) is None
    talk.say(CommandName.CONTINUE, after_s=7200.0)
    assert not warnings(talk)


def test_a_plan_that_is_too_late_itself_is_told_and_nothing_offered() -> None:
    check = a_check(5, may_wait=(1, 2))
    brief = a_brief(check, off_blocks_s=900.0, slot_to_s=1200.0, taxi_s=480.0)
    talk = Conversation(check, brief=brief).start()
    (warning,) = warnings(talk)
    # off blocks 00:05, eight minutes to the runway, the slot closes 00:10
    assert (warning.limit, warning.late_at, warning.limit_at) == (
        TimeLimit.SLOT,
        "00:13",
        "00:10",
    )
    assert warning.may_wait == ()


def test_what_gets_ready_late_is_late() -> None:
    """What begins at the end of ten items is not ready surely when it is on average."""
    heat = make_item("heat", "Heat", expect=("warming",), wait=Wait(ready_in_s=600.0))
    check = make_check(*a_check(10).items, heat)
    finish = finish_of(Conversation(check, brief=a_brief(check)).start().state)
    whole = finish_of(Conversation(a_check(11), brief=a_brief(check)).start().state)
    assert finish is not None
    assert whole is not None
    assert finish.late_s - finish.expected_s == pytest.approx(
        whole.late_s - whole.expected_s, rel=0.1
    )


# --- between two checks of a sector ---


def two_parts(check: Check, *, after_flight: bool = False) -> Check:
    source = Source(document="Northmark Air Ferries OM-B (invented)", revision="4")
    parts = tuple(
        Part(
            check_id=name,
            title=name,
            kind=CheckKind.FLOW,
            source=source,
            digest="",
            items=len(check.items) // 2,
            after_flight=is_after,
        )
        for name, is_after in (("first", False), ("second", after_flight))
    )
    return replace(check, parts=parts)


def test_the_way_to_the_next_check_takes_its_time() -> None:
    check = two_parts(a_check(4))
    brief = a_brief(check)
    pause = Pace(item_id="item-2", expected_s=60.0, late_s=60.0, count=50)
    paused = Conversation(check, brief=replace(brief, pauses=(pause,))).start()
    plain = Conversation(check, brief=brief).start()

    def more_s() -> float:
        longer, shorter = finish_of(paused.state), finish_of(plain.state)
        assert longer is not None
        assert shorter is not None
        return longer.expected_s - shorter.expected_s

    assert more_s() == pytest.approx(60.0, abs=0.1)
    for talk in (paused, plain):
        talk.say(expected(), after_s=12.0)
        talk.say(expected(), after_s=12.0)
    assert paused.state.phase is Phase.HOLDING
    assert more_s() == pytest.approx(60.0, rel=0.1)
    for talk in (paused, plain):
        # asked something in the middle of the way
        talk.say(CommandName.HOW_LONG, after_s=40.0)
    assert more_s() == pytest.approx(20.0, rel=0.1)
    for talk in (paused, plain):
        talk.say(CommandName.CONTINUE, after_s=90.0)
    assert more_s() == 0.0


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.floats(0.5, 90.0), st.sampled_from(["answer", "wait", "speak", "hold", "leave"])
        ),
        min_size=3,
        max_size=25,
    ),
    st.floats(10.0, 900.0),
)
def test_each_time_is_warned_of_once_and_replay_is_alike(
    course: list[tuple[float, str]], off_blocks_s: float
) -> None:
    check = a_check(8, may_wait=(5,))
    brief = a_brief(check, off_blocks_s=off_blocks_s, slot_to_s=off_blocks_s + 300, taxi_s=200.0)
    talk = Conversation(check, brief=brief).start()
    told = warnings(talk)
    left: set[str] = set()
    for after_s, happens in course:
        if talk.state.ending is not None:
            break
        due_s = next_deadline_s(talk.state)
        if happens == "wait" and due_s is not None:
            talk.at_s = max(talk.at_s, due_s)
            talk.event(TimePassed(at_s=talk.at_s))
        elif happens == "speak":
            # whoever speaks is let speak, however long
            talk.at_s += after_s
            talk.speak_up()
            assert not warnings(talk)
            assert next_deadline_s(talk.state) is None
            talk.say(NoMatch(), confidence=0.1, after_s=after_s)
        elif happens == "hold":
            talk.say(CommandName.STAND_BY)
            told += warnings(talk)
            talk.say(CommandName.CONTINUE, after_s=after_s)
        elif happens == "leave":
            left.add(talk.state.item_id or "")
            talk.say(CommandName.LEAVE_FOR_LATER, after_s=after_s)
        else:
            talk.say(expected(), after_s=after_s)
        told += warnings(talk)
        # nothing is left but by the person
        assert {*talk.state.left, *talk.state.came_back} <= left
    assert len({each.limit for each in told}) == len(told)
    state = begin(check, brief=brief)
    for event in talk.events:
        state = handle(state, event).state
    assert state == talk.state
