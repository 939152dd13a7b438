"""The answers of many runs, in a narrow table that follows from their records.

``Tally`` works out the rows of one run from its events and records, as they are stored;
writing, bringing over an old journal and verifying all use it. No answer is changed or
deleted there: of the rows of an item in a run the last one stands, and one without a
state says that the answer before it was taken back.
"""

import sqlite3
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any, Final

from voiceflow.dialogue.state import ItemState
from voiceflow.journal.codec import Json

_STATES: Final = {str(state): state for state in ItemState}


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """One answer that stands.

    Attributes:
        run_id: The run it was given in.
        started_at: When that began, ISO 8601 with UTC offset.
        tail: Registration.
        signer: Who was asked to sign; empty: nobody was.
        check_id: The check's short name; of a sector, its part's.
        item_id: The item's short name in that check.
        series: The gauge's name over many runs; empty: the item has none.
        state: How it was answered.
        value: The reading; None for a response.
        unit: The gauge's unit symbol; empty for a response.
        asked_s: When the challenge was first put, seconds of the run.
        answered_s: When the answer was taken, seconds of the run.
        took_s: Seconds since the answer before it, to another item, or since the run
            began, without the pauses between; None for the first after a resumption.
        temperature_c: Of the day, degrees Celsius; None: it was not said.
        minimum: The limit it was held against, if any.
        maximum: The limit it was held against, if any.
        hours: Planned of the engines for the flight after the run; None: it was not said.
    """

    run_id: str
    started_at: str
    tail: str
    signer: str
    check_id: str
    item_id: str
    series: str
    state: ItemState
    value: Decimal | None
    unit: str
    asked_s: float
    answered_s: float
    took_s: float | None
    temperature_c: Decimal | None
    minimum: Decimal | None
    maximum: Decimal | None
    hours: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A line of a check on one aircraft: what its answers have in common."""

    tail: str
    check_id: str
    item_id: str
    series: str
    unit: str
    minimum: str | None
    maximum: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class AnswerRow:
    """A row of the table: an answer, or without a state that it was taken back.

    Attributes:
        n: The record that says so, from 0 in its event.
        line: The line answered.
        state: How, as it is stored.
        value: The reading, as it is stored.
        asked_s: When the challenge was first put, seconds of the run.
        answered_s: When the answer was taken, seconds of the run.
        took_s: As in ``Answer``.
    """

    n: int
    line: Line
    state: str | None = None
    value: str | None = None
    asked_s: float | None = None
    answered_s: float | None = None
    took_s: float | None = None


def lines_of(check: Json) -> dict[str, Line]:
    """Give the lines of a check, by the names that its items have in the run."""
    lines = {}
    parts = [part["check_id"] for part in check.get("parts", ()) for _ in range(part["items"])]
    for place, item in enumerate(check["items"]):
        spec = item.get("reading") or {}
        limit = spec.get("limit") or {}
        bare = item["id"].rpartition(".")[2] if parts else item["id"]
        lines[item["id"]] = Line(
            tail=check["tail"],
            check_id=parts[place] if parts else check["id"],
            item_id=bare,
            series=(spec.get("series") or bare) if spec else "",
            unit=spec.get("unit", ""),
            minimum=limit.get("minimum"),
            maximum=limit.get("maximum"),
        )
    return lines


class Tally:
    """Works out the rows of one run, event by event."""

    def __init__(self, lines: dict[str, Line]) -> None:
        """Begin a run.

        Args:
            lines: Those of its check.
        """
        self._lines = lines
        #: when the answer before was taken, and which item it was of
        self._before_s: float | None = None
        self._before_item: str | None = None
        #: from when the item answered last was counted, should it be answered again
        self._counted_from_s: float | None = None
        self._pauses: list[tuple[float, float]] = []

    def take(self, event: Json, records: list[Json]) -> list[AnswerRow]:
        """Give the rows of one event."""
        if event["kind"] == "started":
            self._before_s = event["at_s"]
        elif event["kind"] == "resumed":
            # what was done while the program stood still is not known
            self._before_s = self._counted_from_s = self._before_item = None
            self._pauses.clear()
        rows = []
        for n, record in enumerate(records):
            if (hold := record.get("hold")) and hold["until_s"] is not None:
                self._pauses.append((hold["from_s"], hold["until_s"]))
                continue
            outcome = record.get("outcome") or {}
            # the store asks no more of a record than that it is one
            line = self._lines.get(outcome.get("item_id") or record.get("withdrawn_item") or "")
            if line is not None:
                row = self._answer(n, line, outcome) if outcome else AnswerRow(n=n, line=line)
                rows.append(row)
        return rows

    def _answer(self, n: int, line: Line, outcome: Json) -> AnswerRow:
        item, answered_s = outcome["item_id"], outcome["answered_s"]
        if item != self._before_item:
            self._counted_from_s = self._before_s
            # a pause before the answer before it is no part of this one's time
            since = self._before_s if self._before_s is not None else answered_s
            self._pauses = [pause for pause in self._pauses if pause[1] > since]
        from_s = self._counted_from_s
        took_s = None
        if from_s is not None:
            paused_s = sum(until - max(begun, from_s) for begun, until in self._pauses)
            took_s = round(answered_s - from_s - paused_s, 3)
        self._before_s, self._before_item = answered_s, item
        return AnswerRow(
            n=n,
            line=line,
            state=outcome["state"],
            value=outcome["value"],
            asked_s=outcome["asked_s"],
            answered_s=answered_s,
            took_s=took_s,
        )


#: What is needed of the runs of a tail.
_RUNS: Final = """
SELECT place, run_id, started_at, signer, temperature_c, hours FROM run WHERE tail = :tail
"""
_SINCE: Final = " AND julianday(started_at) >= julianday(:since)"
_ANSWERS: Final = """
SELECT answer.run, answer.state, answer.value, answer.asked_s, answer.answered_s, answer.took_s,
       line.check_id, line.item_id, line.series, line.unit, line.minimum, line.maximum
FROM line CROSS JOIN answer ON answer.line = line.line
WHERE line.tail = :tail AND answer.run >= :first AND answer.state IS NOT NULL
  AND NOT EXISTS (
    SELECT 1 FROM answer AS later
    WHERE later.line = answer.line AND later.run = answer.run
      AND (later.place, later.n) > (answer.place, answer.n))
"""
_ORDER: Final = " ORDER BY answer.place, answer.n"


def find_answers(
    connection: sqlite3.Connection,
    tail: str,
    *,
    since: datetime | None,
    series: str | None,
    check_id: str | None,
    readings: bool,
) -> tuple[Answer, ...]:
    """Give the answers that stand, in journal order; see ``Journal.answers``."""
    of_runs, of_answers = _RUNS, _ANSWERS
    values: dict[str, Any] = {"tail": tail, "series": series, "check_id": check_id}
    if since is not None:
        of_runs += _SINCE
        values["since"] = since.isoformat()
    if series is not None:
        of_answers += " AND line.series = :series"
    if check_id is not None:
        of_answers += " AND line.check_id = :check_id"
    if readings:
        of_answers += " AND line.series <> '' AND answer.value IS NOT NULL"
    numbers: dict[str | None, Decimal | None] = {None: None}

    def number(text: str | None) -> Decimal | None:
        if text not in numbers:
            numbers[text] = Decimal(text)  # type: ignore[arg-type]
        return numbers[text]

    runs = {
        place: (run_id, started_at, signer, number(temperature_c), number(hours))
        for place, run_id, started_at, signer, temperature_c, hours in connection.execute(
            of_runs, values
        )
    }
    if not runs:
        return ()
    values["first"] = min(runs)
    found = []
    for (
        place,
        state,
        value,
        asked_s,
        answered_s,
        took_s,
        of_check,
        item_id,
        of_series,
        unit,
        minimum,
        maximum,
    ) in connection.execute(of_answers + _ORDER, values):
        if place not in runs:
            continue  # it began before
        run_id, started_at, signer, temperature_c, hours = runs[place]
        found.append(
            Answer(
                run_id=run_id,
                started_at=started_at,
                tail=tail,
                signer=signer,
                check_id=of_check,
                item_id=item_id,
                series=of_series,
                state=_STATES[state],
                value=number(value),
                unit="" if value is None else unit,
                asked_s=asked_s,
                answered_s=answered_s,
                took_s=took_s,
                temperature_c=temperature_c,
                hours=hours,
                minimum=number(minimum),
                maximum=number(maximum),
            )
        )
    return tuple(found)
