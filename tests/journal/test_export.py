import csv
import io
import json
from pathlib import Path

import pytest

from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.events import DeviceLost, Event, Spoken
from voiceflow.journal import codec, export, spreadsheet
from voiceflow.journal.header import RunHeader
from voiceflow.journal.store import Entry, Journal

Entries = list[tuple[Event, tuple[Record, ...]]]


@pytest.fixture
def stored(path: Path, header: RunHeader, entries: Entries) -> tuple[Entry, ...]:
    with Journal.open(path) as journal:
        journal.begin(header)
        for entry in entries:
            journal.append(header.run_id, *entry)
        journal.append(header.run_id, Spoken(at_s=6.0, words="=SUM(A1)\n, too", completed=False))
        journal.append(header.run_id, DeviceLost(at_s=6.5, device="Headset"))
        return journal.entries(header.run_id)


def test_json_lines_hold_the_whole_run(header: RunHeader, stored: tuple[Entry, ...]) -> None:
    head, *lines = [json.loads(line) for line in export.to_json_lines(header, stored)]
    assert head.pop("kind") == "run"
    assert codec.load_header(json.dumps(head)) == header
    assert len(lines) == len(stored)
    for line, entry in zip(lines, stored, strict=True):
        assert (line.pop("run_id"), line.pop("seq")) == (header.run_id, entry.seq)
        records = tuple(codec.load_record(json.dumps(fact)) for fact in line.pop("records"))
        assert records == entry.records
        assert codec.load_event(json.dumps(line)) == entry.event


def test_csv_has_a_row_an_event(header: RunHeader, stored: tuple[Entry, ...]) -> None:
    rows = list(csv.DictReader(io.StringIO(export.to_csv(header.run_id, stored), newline="")))
    assert [row["kind"] for row in rows] == ["started", *["heard"] * 5, "spoken", "device-lost"]
    assert tuple(rows[0]) == export.COLUMNS
    assert rows[1] | {"text": ""} == {
        "run_id": header.run_id,
        "seq": "1",
        "at_s": "1.0",
        "kind": "heard",
        "item_id": "crew-oxygen",
        "text": "",
        "meaning": "reading",
        "phrase": "",
        "value": "1510",
        "unit": "psi",
        "command": "",
        "confidence": "0.75",
        "engine": "typed",
        "speech_start_s": "0.5",
        "speech_end_s": "0.9",
        "words": "",
        "completed": "",
        "device": "",
        "records": "withdrawal outcome",
        "length_s": "",
        "digest": "",
    }
    assert rows[-2]["words"] == "'=SUM(A1)\n, too"
    assert rows[-2]["completed"] == "no"
    assert rows[-1]["device"] == "Headset"


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (None, ""),
        (True, "yes"),
        ("-12.5", "-12.5"),
        ("+3", "+3"),
        ("=1+1", "'=1+1"),
        ("@here", "'@here"),
        ("-", "'-"),
        ("+-3", "'+-3"),
        ("-Infinity", "'-Infinity"),
        ("\t=1", "'\t=1"),
        ("a=1", "a=1"),
        (0, "0"),
    ],
)
def test_cells_are_text_or_numbers_never_formulas(value: object, text: str) -> None:
    assert spreadsheet.cell(value) == text
