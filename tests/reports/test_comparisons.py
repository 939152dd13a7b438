"""Readings held against each other, on the pages and in the table."""

import csv
import io
from dataclasses import replace
from decimal import Decimal

from tests.builders import make_check, make_gauge, make_scale, reading
from tests.dialogue.conversation import Conversation
from tests.reports.conftest import make_header
from tests.reports.test_html import Page
from voiceflow.checks.model import Agreement, Item, Limit, Reference
from voiceflow.dialogue.brief import Brief
from voiceflow.limits.computed import Conditions
from voiceflow.phraseology.commands import CommandName
from voiceflow.reports.content import Report, build
from voiceflow.reports.html import render, render_log
from voiceflow.reports.tables import to_csv

FEET = make_scale("-200", "2000", "10")


def altimeter(item_id: str, challenge: str, *agrees: Agreement) -> Item:
    item = make_gauge(item_id, challenge, unit="ft", scale=FEET, limit=Limit())
    assert item.reading is not None
    return replace(item, reading=replace(item.reading, agrees=agrees))


def report(elevation_ft: str | None) -> Report:
    """Left 130 ft, right 200 ft; each within 75 ft of the field, and 60 ft of the other."""
    field = Agreement(reference=Reference(elevation=True), within=Decimal(75))
    other = Agreement(
        reference=Reference(readings=("left",)), within=Decimal(60), name="the left one"
    )
    clocks = [
        make_gauge(
            item_id,
            challenge,
            unit="",
            scale=replace(make_scale("0", "2359", "1"), digits=4),
            limit=Limit(),
        )
        for item_id, challenge in (("clock", "Clock"), ("watch", "Watch"))
    ]
    time = Agreement(reference=Reference(readings=("clock",)), within=Decimal(1), is_time=True)
    watch = clocks[1]
    assert watch.reading is not None
    check = make_check(
        altimeter("left", "Left altimeter", field),
        altimeter("right", "Right altimeter", field, other),
        clocks[0],
        replace(watch, reading=replace(watch.reading, agrees=(time,))),
    )
    day = Conditions(elevation_ft=None if elevation_ft is None else Decimal(elevation_ft))
    talk = Conversation(check, brief=Brief(conditions=day)).start()
    for value, unit in (("130", "ft"), ("200", "ft"), ("3", ""), ("2358", "")):
        talk.say(reading(value, unit))
        if talk.state.pending is not None:
            talk.say(CommandName.AFFIRM)
    header = replace(make_header(check), brief=Brief(conditions=day))
    return build(header, talk.state, talk.events)


def page_text(page: str) -> str:
    return Page(page).text.replace("\N{NO-BREAK SPACE}", " ")


def test_every_comparison_is_told_with_what_came_of_it() -> None:
    text = page_text(render(report("118")))
    for line in (
        "Held against each other: 4",
        "Left altimeter, 130 ft . field elevation: 118 ft, to within 75 ft: agrees",
        "Right altimeter, 200 ft . field elevation: 118 ft, to within 75 ft: DISAGREES",
        "Right altimeter, 200 ft . the left one: 130 ft, to within 60 ft: DISAGREES",
        "Watch, 2358 . Clock: 00:03, to within 1 min: DISAGREES",
    ):
        assert line in text, line


def test_what_disagrees_stands_out_among_the_items() -> None:
    found = report("118")
    assert [row.disagrees for row in found.rows] == [False, True, False, True]
    assert page_text(render(found)).count("DISAGREES") == 3 + 2
    # two of the right altimeter, one of the watch
    assert len(found.findings) == 3
    assert "Limit: the left one: 130 ft, to within 60 ft" in page_text(render(found))


def test_a_comparison_that_was_not_made_is_told() -> None:
    found = report(None)
    made = [(each.item_id, each.agrees, each.missing) for each in found.comparisons]
    assert made == [
        ("left", None, ("elevation",)),
        ("right", None, ("elevation",)),
        ("right", False, ()),
        ("watch", False, ()),
    ]
    for page in (render(found), render_log(found)):
        text = page_text(page)
        assert text.count("field elevation: NOT COMPARED, no elevation") == 2
    assert "NOT COMPARED" not in page_text(render_log(report("118")))


def test_the_table_holds_what_was_compared() -> None:
    rows = [
        row for row in csv.DictReader(io.StringIO(to_csv(report("118")))) if row["row"] == "finding"
    ]
    assert [(row["compared_with"], row["expected"], row["within"]) for row in rows] == [
        ("field elevation", "118", "75"),
        ("the left one", "130", "60"),
        ("Clock", "3", "1"),
    ]
