"""A report as CSV: one row an item, open ones too, then one row a finding, then one a note.

The first column tells them apart. Columns of times end in ``_at`` (clock,
ISO 8601) or ``_s`` (seconds), so that two tables can be compared but for them.
Codes, not words of the page: a program reads this.
"""

import csv
import io

from voiceflow.checks.model import Limit
from voiceflow.journal import spreadsheet
from voiceflow.reports.content import Answered, Finding, Moment, Report, Row, VoiceNote

#: The columns, in order.
COLUMNS = (
    "row",
    "run_id",
    "check",
    "tail",
    "number",
    "item_id",
    "area",
    "challenge",
    "state",
    "response",
    "value",
    "unit",
    "verdict",
    "minimum",
    "maximum",
    "caution_below",
    "caution_above",
    "critical",
    "confirmed",
    "was_left",
    "said",
    "confidence",
    "action",
    "say",
    "asked_at",
    "answered_at",
    "asked_s",
    "answered_s",
    "took_s",
    "compared_with",
    "expected",
    "within",
    "sound",
    "written_by",
)


def to_csv(report: Report) -> str:
    """Give the table (RFC 4180), with a row of names.

    Cells that a spreadsheet would take for a formula are made text; an empty cell
    means that the record holds nothing there.
    """
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, COLUMNS, restval="")
    writer.writeheader()
    head = {
        "run_id": report.heading.run_id,
        "check": report.heading.check_id,
        "tail": report.heading.tail,
    }
    rows = [_item(row) for row in report.rows]
    rows += [_finding(found) for found in report.findings]
    rows += [_note(note) for note in report.notes]
    for row in rows:
        cells = head | row
        writer.writerow({name: spreadsheet.cell(value) for name, value in cells.items()})
    return text.getvalue()


def _item(row: Row) -> dict[str, object]:
    cells: dict[str, object] = {
        "row": "item",
        "number": row.number,
        "item_id": row.item_id,
        "area": row.area,
        "challenge": row.challenge,
        "unit": row.unit,
        "critical": row.critical,
        **_limit(row.limit or Limit()),
    }
    if row.answer is None:
        return cells | {"state": f"open-{row.open}"}
    return cells | _answer(row.answer)


def _answer(answer: Answered) -> dict[str, object]:
    return {
        "state": answer.state,
        "response": answer.phrase,
        "value": None if answer.value is None else f"{answer.value:f}",
        "verdict": answer.verdict,
        "confirmed": answer.confirmed,
        "was_left": answer.from_left,
        "said": answer.said,
        "confidence": f"{answer.confidence:.3f}",
        "asked_at": _clock(answer.asked),
        "answered_at": _clock(answer.answered),
        "asked_s": f"{answer.asked.at_s:.3f}",
        "answered_s": f"{answer.answered.at_s:.3f}",
        "took_s": f"{answer.took_s:.3f}",
    }


def _finding(found: Finding) -> dict[str, object]:
    return {
        "row": "finding",
        "number": found.number,
        "item_id": found.item_id,
        "area": found.area,
        "challenge": found.challenge,
        "state": found.reason,
        "response": found.phrase,
        "value": None if found.value is None else f"{found.value:f}",
        "unit": found.unit,
        "said": found.said,
        "action": found.action,
        "say": found.say,
        "answered_at": _clock(found.at),
        "answered_s": f"{found.at.at_s:.3f}",
        **_limit(found.limit),
        "compared_with": " + ".join(found.compared_with),
        "expected": None if found.expected is None else f"{found.expected:f}",
        "within": None if found.within is None else f"{found.within:f}",
    }


def _note(note: VoiceNote) -> dict[str, object]:
    return {
        "row": "note",
        "number": note.item_number,
        "item_id": note.item_id,
        "challenge": note.challenge,
        "state": note.ended,
        "said": note.text,
        "answered_at": _clock(note.at),
        "answered_s": f"{note.at.at_s:.3f}",
        "took_s": f"{note.length_s:.3f}" if note.digest else None,
        "sound": note.digest,
        "written_by": note.engine,
    }


def _limit(limit: Limit) -> dict[str, object]:
    bounds = {
        "minimum": limit.minimum,
        "maximum": limit.maximum,
        "caution_below": limit.caution_below,
        "caution_above": limit.caution_above,
    }
    return {name: None if bound is None else f"{bound:f}" for name, bound in bounds.items()}


def _clock(moment: Moment) -> str | None:
    return None if moment.clock is None else moment.clock.isoformat(timespec="milliseconds")
