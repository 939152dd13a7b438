import csv
import io
from collections.abc import Callable
from dataclasses import replace

from tests.builders import command, expected, heard, make_check, reading
from tests.reports.conftest import Run
from voiceflow.checks.model import Check
from voiceflow.dialogue.events import Event, Started
from voiceflow.phraseology.commands import CommandName
from voiceflow.reports.content import build
from voiceflow.reports.tables import COLUMNS, to_csv

#: Worked out by hand from the three events below.
GOLDEN = """\
row,run_id,check,tail,number,item_id,area,challenge,state,response,value,unit,verdict,minimum,maximum,caution_below,caution_above,critical,confirmed,was_left,said,confidence,action,say,asked_at,answered_at,asked_s,answered_s,took_s,compared_with,expected,within,sound,written_by
item,20261125-093012-7f3a,preparation,X-SKR7,1,covers,,Pitot covers,as-expected,removed,,,,,,,,no,no,no,covers removed,0.900,,,2026-11-25T09:30:12.000+00:00,2026-11-25T09:30:14.500+00:00,0.000,2.500,2.500,,,,,
item,20261125-093012-7f3a,preparation,X-SKR7,2,oxygen,,Crew oxygen,outside-limits,,1100,psi,outside,1200,,1400,,no,yes,no,"oxygen, eleven hundred",0.750,,,2026-11-25T09:30:14.500+00:00,2026-11-25T09:30:18.000+00:00,2.500,6.000,3.500,,,,,
item,20261125-093012-7f3a,preparation,X-SKR7,3,door,,Cabin door,open-current,,,,,,,,,no,,,,,,,,,,,,,,,,
finding,20261125-093012-7f3a,preparation,X-SKR7,2,oxygen,,Crew oxygen,outside-limits,,1100,psi,,1200,,1400,,,,,"oxygen, eleven hundred",,maintenance,Call maintenance,,2026-11-25T09:30:18.000+00:00,,6.000,,,,,,
"""


def _events(said: str = "oxygen, eleven hundred") -> list[Event]:
    return [
        Started(at_s=0.0),
        heard("covers", expected(), 2.5, text="covers removed", confidence=0.9),
        heard("oxygen", reading(1100), 4.0, text=said, confidence=0.75),
        heard("oxygen", command(CommandName.AFFIRM), 6.0, text="affirm"),
    ]


def test_golden_table(make: Callable[[Check, list[Event]], Run]) -> None:
    run = make(make_check(), _events())
    table = to_csv(build(run.header, run.state, run.events))
    assert table == GOLDEN.replace("\n", "\r\n")


def test_row_for_each_item_and_each_finding(full_run: Run) -> None:
    table = to_csv(build(full_run.header, full_run.state, full_run.events))
    rows = list(csv.DictReader(io.StringIO(table, newline="")))
    assert [row["row"] for row in rows] == ["item"] * 36 + ["finding"] * 3
    assert all(tuple(row) == COLUMNS for row in rows)
    assert rows[2]["value"] == "-7"


def test_formulas_are_text(make: Callable[[Check, list[Event]], Run]) -> None:
    run = make(make_check(), _events(said='=HYPERLINK("x")'))
    header = replace(run.header, check=replace(run.header.check, tail="@tail"))
    rows = list(
        csv.DictReader(io.StringIO(to_csv(build(header, run.state, run.events)), newline=""))
    )
    assert rows[1]["said"] == '\'=HYPERLINK("x")'
    assert {row["tail"] for row in rows} == {"'@tail"}


def test_times_are_in_columns_that_say_so(full_run: Run) -> None:
    table = to_csv(build(full_run.header, full_run.state, full_run.events))
    for row in csv.DictReader(io.StringIO(table, newline="")):
        for name, value in row.items():
            if not name.endswith(("_at", "_s", "run_id")):
                assert ":" not in value, name
