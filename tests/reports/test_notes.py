"""Notes in reports: with the finding that they are about, and where their sound is."""

import csv
import io
import json

import pytest

from tests.builders import command, expected, heard, make_check, reading, wrong
from tests.reports.conftest import Run, make_run
from tests.reports.test_html import Page
from voiceflow.dialogue.events import Event, NoteTaken, Started
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.prompts import NoteEnd
from voiceflow.reports.content import Report, build
from voiceflow.reports.html import render, render_log
from voiceflow.reports.structured import to_json
from voiceflow.reports.tables import to_csv

DIGEST = "ab" * 32


def taken(at_s: float, item_id: str, **fields: object) -> NoteTaken:
    usual: dict[str, object] = {"digest": DIGEST, "length_s": 8.25, "text": "", "engine": ""}
    return NoteTaken(at_s=at_s, item_id=item_id, **(usual | fields))  # type: ignore[arg-type]


def note(at_s: float, listening: str, item_id: str, **fields: object) -> list[Event]:
    return [
        heard(listening, command(CommandName.NOTE), at_s),
        taken(at_s + 2.0, item_id, **fields),
    ]


@pytest.fixture
def noted() -> Run:
    events: list[Event] = [
        Started(at_s=0.0),
        heard("covers", wrong(), 2.0),
        heard("covers", command(CommandName.AFFIRM), 4.0),
        # about what was found, though the next item is being asked
        *note(6.0, "oxygen", "covers", text="one <left> cover is torn", engine="vosk"),
        *note(12.0, "oxygen", "oxygen"),
        *note(16.0, "oxygen", "oxygen", ended=NoteEnd.BOUND, length_s=60.0),
        heard("oxygen", reading(1500), 24.0),
        *note(26.0, "door", "door", digest="", length_s=0.0, text="sticks", engine="typed"),
        heard("door", expected("closed"), 30.0),
    ]
    return make_run(make_check(), events)


def report_of(run: Run) -> Report:
    return build(run.header, run.state, run.events)


def test_a_note_stands_with_the_finding_of_its_item(noted: Run) -> None:
    report = report_of(noted)
    assert [each.item_id for each in report.notes] == ["covers", "oxygen", "oxygen", "door"]
    (found,) = report.findings
    assert [each.number for each in found.notes] == [1]
    assert [each.number for each in report.notes_beside] == [2, 3, 4]


def test_with_several_findings_of_an_item_it_stands_with_the_last() -> None:
    events: list[Event] = [
        Started(at_s=0.0),
        heard("covers", wrong(), 2.0),
        heard("covers", command(CommandName.AFFIRM), 4.0),
        heard("oxygen", command(CommandName.GO_BACK), 6.0),
        heard("covers", wrong(), 8.0),
        heard("covers", command(CommandName.AFFIRM), 10.0),
        *note(12.0, "oxygen", "covers"),
    ]
    (found,) = report_of(make_run(make_check(), events)).findings
    # the first one was taken back
    assert found.at.at_s == 10.0
    assert len(found.notes) == 1


def test_the_page_has_words_length_time_and_where_the_sound_is(noted: Run) -> None:
    page = Page(render(report_of(noted)))
    assert "Notes: 4" in page.text
    assert "“ one <left> cover is torn ” (words as vosk wrote them down," in page.text
    assert "8.2" in page.text
    assert "sound only" in page.text
    assert "kept up to here: no more fits into a note" in page.text
    assert "“ sticks ” (typed)," in page.text
    for number in (1, 2, 3):
        assert f"{noted.header.run_id} {number} --to note-{number}.flac" in page.text
    # a typed one has none
    assert "--to note-4.flac" not in page.text
    # no sound on the page itself
    assert "audio" not in page.tags
    assert "data:" not in render(report_of(noted))


def test_the_log_has_it_in_the_row_of_the_finding_and_the_rest_below(noted: Run) -> None:
    page = Page(render_log(report_of(noted))).text
    assert "Note 1: “ one <left> cover is torn ”" in page
    assert "Other notes: 3" in page


def test_a_run_without_notes_has_no_word_of_them(full_run: Run) -> None:
    report = report_of(full_run)
    assert "Notes" not in render(report)
    assert "notes" not in render_log(report)


def test_the_table_has_a_row_a_note(noted: Run) -> None:
    rows = list(csv.DictReader(io.StringIO(to_csv(report_of(noted)), newline="")))
    notes = [row for row in rows if row["row"] == "note"]
    assert [row["item_id"] for row in notes] == ["covers", "oxygen", "oxygen", "door"]
    first, _, full, typed = notes
    assert (first["said"], first["written_by"]) == ("one <left> cover is torn", "vosk")
    assert (first["sound"], first["took_s"], first["answered_s"]) == (DIGEST, "8.250", "8.000")
    assert full["state"] == "bound"
    assert (typed["sound"], typed["took_s"]) == ("", "")


def test_the_json_has_them_with_their_finding(noted: Run) -> None:
    plain = json.loads(to_json(report_of(noted)))
    assert [each["number"] for each in plain["notes"]] == [1, 2, 3, 4]
    assert plain["findings"][0]["notes"][0]["digest"] == DIGEST
