"""Discrepancies after their run: what people did about them, and what is still open.

People decide; what they say is written down with their name and the time, after what was
written before, and nothing is taken away.
"""

import json
import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from voiceflow.checks.model import RemedyAction
from voiceflow.dialogue.brief import CarriedFinding, FindingState
from voiceflow.dialogue.state import Discrepancy
from voiceflow.journal import codec
from voiceflow.journal.answers import lines_of
from voiceflow.journal.codec import Json
from voiceflow.journal.packing import Documents
from voiceflow.phraseology.prompts import FindingReason


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingStep:
    """What people did about a discrepancy.

    Attributes:
        finding_id: ``RUN_ID/ITEM_ID``; ``RUN_ID/ITEM_ID.2`` for the second one of that item.
        state: How it stands from then on.
        by: Who said so.
        reference: Under what, as that person wrote it; empty: nothing was given.
        at: When, ISO 8601 with UTC offset.
    """

    finding_id: str
    state: FindingState
    by: str
    reference: str
    at: str


_STEPS: Final = "SELECT finding_id, state, by_whom, reference, at FROM finding_step"
_FOUND: Final = """
SELECT record.place, record.n, record.kind, record.form, record.json, event.run, event.seq
FROM record JOIN event ON event.place = record.place
WHERE record.kind <> 'outcome' AND record.kind IN ('discrepancy', 'withdrawal', 'agrees-again')
"""
_LAST_RESUMED: Final = """
SELECT form, json FROM event WHERE run = ? AND seq <= ? AND form IN (
    SELECT id FROM document WHERE json LIKE '{"kind":"resumed",%')
ORDER BY seq DESC LIMIT 1
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A discrepancy in the journal.

    Attributes:
        finding_id: Its name.
        run: The place of its run.
        seq: Its event.
        discrepancy: What was found.
        is_withdrawn: A correction took it back.
    """

    finding_id: str
    run: int
    seq: int
    discrepancy: Discrepancy
    is_withdrawn: bool


class Ledger:
    """Reads what was found, and what was done about it."""

    def __init__(self, connection: sqlite3.Connection, documents: Documents) -> None:
        self._connection = connection
        self._documents = documents

    def steps(self, finding_id: str | None = None) -> tuple[FindingStep, ...]:
        """Give what people did, in the order it was written down; of one or of all.

        Raises:
            ValueError: If a step cannot be read.
        """
        if finding_id is None:
            rows = self._connection.execute(f"{_STEPS} ORDER BY place")
        else:
            rows = self._connection.execute(
                f"{_STEPS} WHERE finding_id = ? ORDER BY place", (finding_id,)
            )
        return tuple(
            FindingStep(finding_id=of, state=FindingState(state), by=by, reference=reference, at=at)
            for of, state, by, reference, at in rows
        )

    def find(self, finding_id: str) -> Found | None:
        """Give the discrepancy of that name, if there is one.

        Raises:
            ValueError: If a record of its run cannot be read.
        """
        run_id = finding_id.partition("/")[0]
        rows = self._connection.execute(
            f"{_FOUND} AND event.run = (SELECT place FROM run WHERE run_id = ?)"
            " ORDER BY record.place, record.n",
            (run_id,),
        )
        for found in self._numbered(rows, {}):
            if found.finding_id == finding_id:
                return found
        return None

    def open_findings(self, tail: str) -> tuple[CarriedFinding, ...]:
        """Give what nobody has cleared on a tail, in the order it was found.

        Raises:
            ValueError: If a record or a head cannot be read.
        """
        last = {step.finding_id: step for step in self.steps()}
        rows = self._connection.execute(
            f"{_FOUND} AND event.run IN (SELECT place FROM run WHERE tail = ?)"
            " ORDER BY record.place, record.n",
            (tail,),
        )
        heads: dict[int, Json] = {}
        carried = []
        for found in self._numbered(rows, {}):
            step = last.get(found.finding_id)
            if found.is_withdrawn or not _is_carried(found.discrepancy):
                continue
            if step is not None and step.state.is_cleared:
                continue
            if found.run not in heads:
                heads[found.run] = self._head(found.run)
            carried.append(self._carry(found, heads[found.run], step))
        return tuple(carried)

    # ---- within

    def _numbered(
        self, rows: Iterable[tuple[int, int, str, int, str, int, int]], names: dict[int, str]
    ) -> tuple[Found, ...]:
        """Name the discrepancies of these rows, and tell which of them were taken back."""
        found: list[Found] = []
        counts: dict[tuple[int, str], int] = {}
        gone: set[int] = set()
        standing: dict[tuple[int, str], list[int]] = {}
        for _, _, _, form, values, run, seq in rows:
            record = codec.load_record(self._documents.unpack(form, values))
            if record.withdrawn_item is not None:
                gone.update(standing.pop((run, record.withdrawn_item), ()))
                continue
            again = record.agrees_again
            if again is not None:
                gone.update(
                    place
                    for place in standing.get((run, again.item_id), ())
                    if found[place].discrepancy.agreement == again.agreement
                )
                continue
            discrepancy = record.discrepancy
            if discrepancy is None:
                continue
            key = (run, discrepancy.item_id)
            counts[key] = counts.get(key, 0) + 1
            standing.setdefault(key, []).append(len(found))
            if run not in names:
                (names[run],) = self._connection.execute(
                    "SELECT run_id FROM run WHERE place = ?", (run,)
                ).fetchone()
            ordinal = f".{counts[key]}" if counts[key] > 1 else ""
            found.append(
                Found(
                    finding_id=f"{names[run]}/{discrepancy.item_id}{ordinal}",
                    run=run,
                    seq=seq,
                    discrepancy=discrepancy,
                    is_withdrawn=False,
                )
            )
        return tuple(
            Found(
                finding_id=each.finding_id,
                run=each.run,
                seq=each.seq,
                discrepancy=each.discrepancy,
                is_withdrawn=place in gone,
            )
            for place, each in enumerate(found)
        )

    def _head(self, run: int) -> Json:
        (stored,) = self._connection.execute(
            "SELECT header FROM run WHERE place = ?", (run,)
        ).fetchone()
        return self._documents.unpack_header(stored)

    def _carry(self, found: Found, head: Json, step: FindingStep | None) -> CarriedFinding:
        what = found.discrepancy
        line = lines_of(head["check"])[what.item_id]
        (challenge,) = [
            item["challenge"] for item in head["check"]["items"] if item["id"] == what.item_id
        ]
        is_deferred = step is not None and step.state is FindingState.DEFERRED
        return CarriedFinding(
            finding_id=found.finding_id,
            check_id=line.check_id,
            item_id=line.item_id,
            challenge=challenge,
            reason=what.reason,
            phrase=what.phrase,
            value=what.value,
            unit=what.unit,
            action=what.action,
            say=what.say,
            found_at=self._clock(found, head["started_at"]),
            state=FindingState.DEFERRED if is_deferred else FindingState.OPEN,
            by=step.by if step is not None and is_deferred else "",
            reference=step.reference if step is not None and is_deferred else "",
        )

    def _clock(self, found: Found, started_at: str) -> str:
        """Give when it was found: a run's own seconds stand still while the program does."""
        from_s, clock = 0.0, started_at
        row = self._connection.execute(_LAST_RESUMED, (found.run, found.seq)).fetchone()
        if row is not None:
            resumed = json.loads(self._documents.unpack(*row))
            if resumed.get("clock_at"):
                from_s, clock = resumed["at_s"], resumed["clock_at"]
        moment = datetime.fromisoformat(clock) + timedelta(seconds=found.discrepancy.at_s - from_s)
        return moment.isoformat(timespec="seconds")


def _is_carried(found: Discrepancy) -> bool:
    """Tell whether the next run hears of it: what lies within limits is information."""
    return (
        found.reason is not FindingReason.CAUTION and found.action is not RemedyAction.INFORMATION
    )
