from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from tests.builders import command, expected, heard, make_check, make_item
from tests.reports.conftest import Run
from voiceflow.checks.model import Check
from voiceflow.dialogue.events import Event, Resumed, Started
from voiceflow.dialogue.state import ItemState
from voiceflow.grammar.meaning import NoMatch, Response, ResponseState
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.prompts import EndingKind, FindingReason
from voiceflow.reports import wording
from voiceflow.reports.content import OpenState, build


def test_full_run_is_gathered(full_run: Run) -> None:
    report = build(full_run.header, full_run.state, full_run.events)
    assert report.result.ending is EndingKind.COMPLETE_EXCEPT
    assert [row.number for row in report.rows] == list(range(1, 37))
    assert [row.item_id for row in report.rows] == [item.id for item in full_run.header.check.items]
    assert [(found.item_id, found.reason) for found in report.findings] == [
        ("oxygen", FindingReason.OUTSIDE_LIMITS),
        ("extinguisher", FindingReason.NOT_AS_EXPECTED),
        ("switch-2", FindingReason.UNABLE),
    ]
    assert report.findings[0].value == Decimal(1100)
    assert report.findings[0].limit.minimum == Decimal(1200)
    assert report.findings[0].said == "oxygen eleven hundred"
    (was,) = report.withdrawn
    assert (was.challenge, was.answer.value) == ("Outside air temperature", Decimal(-5))
    assert was.answer.said == "minus five"
    assert was.now is not None
    assert was.now.value == Decimal(-7)
    assert [row.item_id for row in report.rows_left] == ["switch-1"]
    assert [pause.cause for pause in report.pauses] == ["stand-by", "device"]
    first = report.pauses[0]
    assert first.until is not None
    assert first.until.at_s - first.since.at_s == 243.25
    assert [timed.challenge for timed in report.timed] == ["Gyro warning light", "Windshield heat"]
    assert report.timed[1].running
    assert len(report.resumptions) == 1
    assert (report.asked_again, report.ignored) == (1, 0)


def test_clock_goes_on_from_a_resumption_that_knows_its_time(full_run: Run) -> None:
    report = build(full_run.header, full_run.state, full_run.events)
    start = datetime(2026, 11, 25, 9, 30, 12, tzinfo=UTC)
    answer = report.rows[0].answer
    assert answer is not None
    assert answer.answered.clock == start + timedelta(seconds=answer.answered.at_s)
    (resumed,) = report.resumptions
    assert resumed.clock == datetime(2026, 11, 25, 10, 2, tzinfo=UTC)
    late = report.rows[-1].answer
    assert late is not None
    assert late.answered.clock == resumed.clock + timedelta(
        seconds=late.answered.at_s - resumed.at_s
    )


def test_of_a_recording_only_the_start_has_a_clock_time(full_run: Run) -> None:
    header = replace(full_run.header, recording="/home/crew/preparation.wav")
    report = build(header, full_run.state, full_run.events)
    assert report.heading.by_run_time
    assert report.heading.started.clock == datetime(2026, 11, 25, 9, 30, 12, tzinfo=UTC)
    assert report.heading.last.clock is None
    for row in report.rows:
        assert row.answer is not None
        assert row.answer.asked.clock is None
        assert row.answer.answered.clock is None
    # when the program was started again is known all the same
    assert report.resumptions[0].clock == datetime(2026, 11, 25, 10, 2, tzinfo=UTC)
    assert not build(full_run.header, full_run.state, full_run.events).heading.by_run_time


@pytest.mark.parametrize(
    ("recording", "source", "clocks"),
    [
        ("/a.wav", "typed", [None, datetime(2026, 11, 25, 11, 0, 5, tzinfo=UTC)]),
        (None, "/a.wav", [datetime(2026, 11, 25, 9, 30, 17, tzinfo=UTC), None]),
        ("/a.wav", "/b.wav", [None, None]),
        (
            None,
            "microphone",
            [
                datetime(2026, 11, 25, 9, 30, 17, tzinfo=UTC),
                datetime(2026, 11, 25, 11, 0, 5, tzinfo=UTC),
            ],
        ),
    ],
)
def test_each_part_of_a_run_has_the_time_of_its_source(
    make: Callable[[Check, list[Event]], Run],
    recording: str | None,
    source: str,
    clocks: list[datetime | None],
) -> None:
    run = make(
        make_check(make_item("covers"), make_item("door")),
        [
            Started(at_s=0.0),
            heard("covers", expected(), 5.0),
            Resumed(at_s=10.0, clock_at="2026-11-25T11:00:00+00:00", source=source),
            heard("door", expected(), 15.0),
        ],
    )
    report = build(replace(run.header, recording=recording), run.state, run.events)
    answers = [row.answer.answered.clock for row in report.rows if row.answer is not None]
    assert answers == clocks
    assert report.heading.by_run_time == (None in clocks)


def test_talk_during_a_hold_is_not_asked_again(
    make: Callable[[Check, list[Event]], Run],
) -> None:
    run = make(
        make_check(),
        [
            Started(at_s=0.0),
            heard("covers", NoMatch(), 1.0, text="something else"),
            heard("covers", command(CommandName.SAY_AGAIN), 2.0),
            heard("covers", command(CommandName.STAND_BY), 3.0),
            heard("covers", NoMatch(), 4.0, text="could you pass me the form"),
            heard("covers", NoMatch(), 5.0, text="here it is", confidence=0.3),
            heard("covers", command(CommandName.CONTINUE), 6.0),
            heard("covers", Response(phrase="set", state=ResponseState.INSUFFICIENT), 7.0),
            heard("covers", NoMatch(), 8.0, text="", confidence=0.0),
            heard("covers", expected(), 9.0),
        ],
    )
    report = build(run.header, run.state, run.events)
    assert report.rows[0].answer is not None
    # the first words, and the "set" that is no setting
    assert (report.asked_again, report.ignored) == (2, 1)


def test_open_items_say_why(make: Callable[[Check, list[Event]], Run]) -> None:
    run = make(
        make_check(),
        [Started(at_s=0.0), heard("covers", command(CommandName.LEAVE_FOR_LATER), 2.0)],
    )
    report = build(run.header, run.state, run.events)
    assert [row.open for row in report.rows] == [
        OpenState.LEFT,
        OpenState.CURRENT,
        OpenState.NOT_REACHED,
    ]
    assert report.open_rows == report.rows
    assert report.result.ending is None
    assert wording.ending(report) == "Not finished: at Crew oxygen; 3 items open."


def test_endings_in_words(make: Callable[[Check, list[Event]], Run]) -> None:
    check = make_check(make_item(), make_item("door", "Cabin door", expect=("closed",)))

    def words(*events: Event) -> str:
        run = make(check, list(events))
        return wording.ending(build(run.header, run.state, run.events))

    begun = Started(at_s=0.0)
    first = heard("covers", expected(), 2.0)
    assert words() == "Not started."
    assert words(begun, first, heard("door", expected("closed"), 4.0)) == (
        "Complete: 2 items answered, nothing found."
    )
    hold = heard("door", command(CommandName.STAND_BY), 4.0)
    assert words(begun, first, hold) == "Not finished: holding at Cabin door; 1 item open."
    abandon = heard("door", command(CommandName.ABANDON), 4.0)
    yes = heard("door", command(CommandName.AFFIRM), 6.0)
    assert words(begun, first, abandon, yes) == "Abandoned at Cabin door: 1 item open."
    leave = [heard("door", command(CommandName.LEAVE_FOR_LATER), at_s) for at_s in (4.0, 6.0)]
    assert words(begun, first, *leave) == "Complete except: 1 item open."


def test_answer_taken_back_and_still_open(make: Callable[[Check, list[Event]], Run]) -> None:
    run = make(
        make_check(),
        [
            Started(at_s=0.0),
            heard("covers", expected(), 2.0, text="removed"),
            heard("oxygen", command(CommandName.GO_BACK), 4.0),
        ],
    )
    report = build(run.header, run.state, run.events)
    (was,) = report.withdrawn
    assert was.answer.state is ItemState.AS_EXPECTED
    assert was.answer.said == "removed"
    assert was.now is None
    assert report.rows[0].answer is None


def test_unknown_clock_is_not_made_up(make: Callable[[Check, list[Event]], Run]) -> None:
    run = make(
        make_check(),
        [
            Started(at_s=0.0),
            Resumed(at_s=1.0, clock_at="yesterday"),
            heard("covers", expected(), 2.0),
        ],
    )
    report = build(run.header, run.state, run.events)
    assert report.heading.started.clock is not None
    assert report.resumptions[0].clock is None
    answer = report.rows[0].answer
    assert answer is not None
    assert answer.answered.clock is None
    assert answer.answered.at_s == 2.0
