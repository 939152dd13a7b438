"""A run out of the journal: JSON lines for programs, CSV for spreadsheets.

The JSON line of an event is the one that the command line prints with ``--json``:
there is one format. Texts only; the caller writes the files.
"""

import csv
import io
from collections.abc import Iterable, Iterator, Sequence

from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.events import Event, Heard
from voiceflow.grammar.meaning import Command, Meaning, Reading, Response
from voiceflow.journal import codec, spreadsheet
from voiceflow.journal.header import RunHeader
from voiceflow.journal.store import Entry

#: Columns of the CSV; times end in ``_s``, seconds into the run.
COLUMNS = (
    "run_id",
    "seq",
    "at_s",
    "kind",
    "item_id",
    "text",
    "meaning",
    "phrase",
    "value",
    "unit",
    "command",
    "confidence",
    "engine",
    "speech_start_s",
    "speech_end_s",
    "words",
    "completed",
    "device",
    "records",
    "length_s",
    "digest",
)


def json_line(run_id: str, seq: int, event: Event, records: Sequence[Record]) -> str:
    """Give one event as one line of JSON, without a line end.

    Args:
        run_id: The run.
        seq: The event's place in it, from 0.
        event: What happened; its own fields stand beside ``run_id`` and ``seq``.
        records: The facts written down with it, under ``records``.
    """
    return codec.to_text(
        {
            "run_id": run_id,
            "seq": seq,
            **codec.plain_event(event),
            "records": [codec.plain_record(record) for record in records],
        }
    )


def header_line(header: RunHeader) -> str:
    """Give a run's head as one line of JSON, told from an event by ``"kind":"run"``."""
    return codec.to_text({"kind": "run", **codec.plain_header(header)})


def to_json_lines(header: RunHeader, entries: Iterable[Entry]) -> Iterator[str]:
    """Give a whole run as JSON lines: its head, then one event a line."""
    yield header_line(header)
    for entry in entries:
        yield json_line(header.run_id, entry.seq, entry.event, entry.records)


def to_csv(run_id: str, entries: Iterable[Entry]) -> str:
    """Give a run's events as CSV (RFC 4180), one row an event, with a row of names."""
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, COLUMNS, restval="")
    writer.writeheader()
    for entry in entries:
        row = _row(entry.event)
        row |= {
            "run_id": run_id,
            "seq": entry.seq,
            "records": " ".join(codec.record_kind(record) for record in entry.records),
        }
        writer.writerow({name: spreadsheet.cell(value) for name, value in row.items()})
    return text.getvalue()


def _row(event: Event) -> dict[str, object]:
    row: dict[str, object] = {"at_s": event.at_s, "kind": event.kind}
    if isinstance(event, Heard):
        said = event.utterance
        return row | {
            "item_id": event.item_id,
            "text": said.text,
            "confidence": said.confidence,
            "engine": said.engine,
            "speech_start_s": said.speech_start_s,
            "speech_end_s": said.speech_end_s,
            **_meaning(said.meaning),
        }
    # the other events are flat: those of their fields that have a column of their own
    plain = codec.plain_event(event)
    return row | {name: plain[name] for name in COLUMNS if name in plain}


def _meaning(meaning: Meaning) -> dict[str, object]:
    row: dict[str, object] = {"meaning": meaning.kind}
    match meaning:
        case Response():
            row["phrase"] = meaning.phrase
        case Reading():
            row |= {"value": meaning.value, "unit": meaning.unit}
        case Command():
            row["command"] = meaning.name
        case _:
            # a correction, several meanings or none: the whole is in the JSON lines
            pass
    return row
