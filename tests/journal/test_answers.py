"""The answers of many runs, found at once: those that stand, with what each took."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from tests.builders import make_check, make_gauge, make_item
from voiceflow.checks.model import Check, CheckKind, Limit, Part, Source
from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.brief import Brief
from voiceflow.dialogue.events import Event, Resumed, Started, TimePassed
from voiceflow.dialogue.state import Hold, ItemState, Outcome
from voiceflow.errors import JournalError
from voiceflow.journal.answers import Answer
from voiceflow.journal.header import RunHeader
from voiceflow.journal.store import Journal
from voiceflow.limits.computed import Conditions
from voiceflow.settings import Settings

SOURCE = Source(document="Northmark Air Ferries OM-B (invented)", revision="4")


def make_sector() -> Check:
    """Two checks; both have an item named oxygen, and one gauge has a series of its own."""
    oxygen = make_gauge("outside.oxygen")
    assert oxygen.reading is not None
    named = replace(oxygen, reading=replace(oxygen.reading, series="crew-oxygen"))
    items = (named, make_item("outside.covers"), make_gauge("inside.oxygen"))
    parts = tuple(
        Part(
            check_id=name,
            title=name,
            kind=CheckKind.FLOW,
            source=SOURCE,
            digest="",
            items=count,
        )
        for name, count in (("outside", 2), ("inside", 1))
    )
    return replace(make_check(*items), id="two", parts=parts)


def make_header(
    run_id: str,
    check: Check | None = None,
    *,
    started_at: str = "2026-11-25T09:30:00+00:00",
    temperature: Decimal | None = None,
    hours: Decimal | None = None,
    signer: str = "",
) -> RunHeader:
    conditions = Conditions(temperature_c=temperature, hours=hours)
    return RunHeader(
        run_id=run_id,
        program_version="0.1.0",
        started_at=started_at,
        check=check or make_check(),
        settings=Settings(),
        engine="typed",
        brief=Brief(signer=signer, conditions=conditions),
    )


def answered(item_id: str, at_s: float, value: str | None = None) -> tuple[Event, Record]:
    outcome = Outcome(
        item_id=item_id,
        state=ItemState.WITHIN_LIMITS if value else ItemState.AS_EXPECTED,
        phrase=None if value else "removed",
        value=None if value is None else Decimal(value),
        unit="psi" if value else "",
        verdict=None,
        said="as said",
        confidence=1.0,
        confirmed=False,
        asked_s=at_s - 1.5,
        answered_s=at_s,
        from_left=False,
    )
    return TimePassed(at_s=at_s), Record(outcome=outcome)


def withdrawn(item_id: str, at_s: float) -> tuple[Event, Record]:
    return TimePassed(at_s=at_s), Record(withdrawn_item=item_id)


def paused(from_s: float, until_s: float) -> tuple[Event, Record]:
    hold = Hold(item_id="door", from_s=from_s, until_s=until_s)
    return TimePassed(at_s=until_s), Record(hold=hold)


def write(
    path: Path, header: RunHeader, steps: Sequence[tuple[Event, Record] | Event]
) -> tuple[Answer, ...]:
    """Write a run, each step by a program of its own; give the answers of its tail."""
    with Journal.open(path) as journal:
        journal.begin(header)
        journal.append(header.run_id, Started(at_s=1.0))
    for step in steps:
        with Journal.open(path) as journal:
            if isinstance(step, tuple):
                journal.append(header.run_id, step[0], [step[1]])
            else:
                journal.append(header.run_id, step)
    with Journal.open_to_read(path) as journal:
        return journal.answers(header.check.tail)


def test_an_answer_has_all_of_its_run(path: Path) -> None:
    header = make_header(
        "r", temperature=Decimal("-4.5"), hours=Decimal("1.25"), signer="Ada Norberg"
    )
    (found,) = write(path, header, [answered("oxygen", 9.0, "1600.0")])
    assert found == Answer(
        run_id="r",
        started_at="2026-11-25T09:30:00+00:00",
        tail="X-SKR7",
        signer="Ada Norberg",
        check_id="preparation",
        item_id="oxygen",
        series="oxygen",
        state=ItemState.WITHIN_LIMITS,
        value=Decimal("1600.0"),
        unit="psi",
        asked_s=7.5,
        answered_s=9.0,
        took_s=8.0,
        temperature_c=Decimal("-4.5"),
        minimum=Decimal(1200),
        maximum=None,
        hours=Decimal("1.25"),
    )
    # as exact as it was said
    assert str(found.value) == "1600.0"


def test_of_a_sector_the_part_and_the_bare_item_are_named(path: Path) -> None:
    steps = [
        answered("outside.oxygen", 5.0, "1600"),
        answered("outside.covers", 8.0),
        answered("inside.oxygen", 9.0, "1500"),
    ]
    found = write(path, make_header("r", make_sector()), steps)
    assert [(one.check_id, one.item_id, one.series, one.unit) for one in found] == [
        ("outside", "oxygen", "crew-oxygen", "psi"),
        ("outside", "covers", "", ""),
        ("inside", "oxygen", "oxygen", "psi"),
    ]


def test_what_was_taken_back_is_not_given(path: Path) -> None:
    steps = [
        answered("covers", 4.0),
        answered("oxygen", 9.0, "1600"),
        withdrawn("oxygen", 11.0),
        answered("oxygen", 14.0, "1610"),
        answered("door", 15.0),
        withdrawn("door", 16.0),
    ]
    found = write(path, make_header("r"), steps)
    assert [(one.item_id, one.value) for one in found] == [
        ("covers", None),
        ("oxygen", Decimal(1610)),
    ]


@pytest.mark.parametrize(
    ("steps", "took"),
    [
        # from the start, then from one answer to the next
        ([answered("covers", 4.0), answered("oxygen", 9.5, "1600")], [3.0, 5.5]),
        # less the pauses between, however many; a pause before the answer before is not its own
        (
            [
                paused(1.5, 2.0),
                answered("covers", 4.0),
                paused(5.0, 15.0),
                paused(16.0, 17.5),
                answered("oxygen", 20.0, "1600"),
                answered("door", 21.0),
            ],
            [2.5, 4.5, 1.0],
        ),
        # an item that is answered anew took the time of both
        (
            [
                answered("covers", 4.0),
                answered("oxygen", 9.0, "1600"),
                withdrawn("oxygen", 11.0),
                answered("oxygen", 14.0, "1610"),
                answered("door", 15.0),
            ],
            [3.0, 10.0, 1.0],
        ),
        # gone back over two items, each took what it took this time
        (
            [
                answered("covers", 4.0),
                answered("oxygen", 9.0, "1600"),
                withdrawn("oxygen", 10.0),
                withdrawn("covers", 10.0),
                answered("covers", 12.0),
                answered("oxygen", 13.0, "1600"),
            ],
            [3.0, 1.0],
        ),
        # while the program stood still nobody knows what was done
        (
            [answered("covers", 4.0), Resumed(at_s=5.0), answered("oxygen", 9.0, "1600")],
            [3.0, None],
        ),
        (
            [
                answered("covers", 4.0),
                Resumed(at_s=5.0),
                answered("oxygen", 9.0, "1600"),
                answered("oxygen", 10.0, "1600"),
                answered("door", 12.0),
            ],
            [3.0, None, 2.0],
        ),
    ],
)
def test_what_an_answer_took(
    path: Path, steps: list[tuple[Event, Record] | Event], took: list[float | None]
) -> None:
    found = write(path, make_header("r"), steps)
    assert [one.took_s for one in found] == took


def test_answers_are_found_by_gauge_check_time_and_tail(path: Path) -> None:
    readings = [answered("outside.oxygen", 5.0, "1600"), answered("inside.oxygen", 9.0, "1500")]
    for day in (1, 2, 3):
        # midnight in the east is the afternoon of the day before in Greenwich
        header = make_header(f"r{day}", make_sector(), started_at=f"2026-11-0{day}T00:10+09:00")
        write(path, header, [*readings, answered("outside.covers", 10.0)])
    other = replace(make_check(), tail="X-SKR9")
    write(path, make_header("other", other), [answered("oxygen", 5.0, "1300")])
    with Journal.open_to_read(path) as journal:
        tail = "X-SKR7"
        assert len(journal.answers(tail)) == 9
        assert [one.value for one in journal.answers("X-SKR9")] == [1300]
        assert journal.answers("X-SKR8") == ()
        assert [one.value for one in journal.answers(tail, series="crew-oxygen")] == [1600] * 3
        assert {one.item_id for one in journal.answers(tail, check_id="inside")} == {"oxygen"}
        assert len(journal.answers(tail, readings=True)) == 6
        assert len(journal.answers(tail, readings=True, check_id="outside")) == 3
        since = journal.answers(tail, since="2026-11-02", series="oxygen")
        assert [one.run_id for one in since] == ["r3"]
        since = journal.answers(tail, since="2026-11-01T15:10:00+00:00", series="oxygen")
        assert [one.run_id for one in since] == ["r2", "r3"]
        with pytest.raises(ValueError, match="isoformat"):
            journal.answers(tail, since="yesterday")


def test_a_limit_of_the_day_stays_with_its_answer(path: Path) -> None:
    for minimum in (1200, 1350, 1200):
        gauge = make_gauge("oxygen", limit=Limit(minimum=Decimal(minimum)))
        header = make_header(f"r{minimum}-{path.stat().st_size if path.exists() else 0}")
        write(path, replace(header, check=make_check(gauge)), [answered("oxygen", 5.0, "1600")])
    with Journal.open_to_read(path) as journal:
        found = journal.answers("X-SKR7", series="oxygen")
    assert [one.minimum for one in found] == [1200, 1350, 1200]


def test_nothing_is_written_by_who_reads(path: Path) -> None:
    write(path, make_header("r"), [])
    with Journal.open_to_read(path) as journal, pytest.raises(JournalError, match="written"):
        journal.append("r", TimePassed(at_s=2.0))
