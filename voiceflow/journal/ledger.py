"""Discrepancies after their run: what people did about them, and what is still open.

People decide; what they say is written down with their name and the time, after what was
written before, and nothing is taken away.
"""

import json
import sqlite3
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Final

from voiceflow.checks.model import RemedyAction
from voiceflow.dialogue.brief import CarriedFinding, FindingState
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
SELECT record.kind, record.form, record.json, event.run, event.seq, run.run_id
FROM record JOIN event ON event.place = record.place JOIN run ON run.place = event.run
WHERE record.kind <> 'outcome' AND record.kind IN ('discrepancy', 'withdrawal', 'agrees-again') AND {} = ?
ORDER BY record.place, record.n
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
        form: The form of its record.
        values: ... and what belongs in it.
        is_carried: It is more than information.
        is_withdrawn: A correction took it back.
        agreement: Which of the item's comparisons failed; None: none did.
    """

    finding_id: str
    run: int
    seq: int
    form: int
    values: str
    is_carried: bool
    is_withdrawn: bool = False
    agreement: int | None = None


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
        for found in self._found("run.run_id", run_id):
            if found.finding_id == finding_id:
                return found
        return None

    def open_findings(self, tail: str) -> tuple[CarriedFinding, ...]:
        """Give what nobody has cleared on a tail, in the order it was found.

        Raises:
            ValueError: If a record or a head cannot be read.
        """
        last = {step.finding_id: step for step in self.steps()}
        heads: dict[int, Json] = {}
        carried = []
        for found in self._found("run.tail", tail):
            step = last.get(found.finding_id)
            if found.is_withdrawn or not found.is_carried:
                continue
            if step is not None and step.state.is_cleared:
                continue
            if found.run not in heads:
                heads[found.run] = self._head(found.run)
            carried.append(self._carry(found, heads[found.run], step))
        return tuple(carried)

    # ---- within

    def _found(self, column: str, value: str) -> list[Found]:
        """Name the discrepancies of some runs, and tell which of them were taken back."""
        found: list[Found] = []
        places: dict[tuple[int, str], list[int]] = {}
        for kind, form, values, run, seq, run_id in self._connection.execute(
            _FOUND.format(column), (value,)
        ):
            plain = self._facts(form, values)
            if kind == "withdrawal":
                for place in places.get((run, plain["withdrawn_item"]), ()):
                    found[place] = replace(found[place], is_withdrawn=True)
                continue
            if kind == "agrees-again":
                again = plain["agrees_again"]
                for place in places.get((run, again["item_id"]), ()):
                    if found[place].agreement == again["agreement"]:
                        found[place] = replace(found[place], is_withdrawn=True)
                continue
            what = plain["discrepancy"]
            same = places.setdefault((run, what["item_id"]), [])
            same.append(len(found))
            ordinal = f".{len(same)}" if len(same) > 1 else ""
            found.append(
                Found(
                    finding_id=f"{run_id}/{what['item_id']}{ordinal}",
                    run=run,
                    seq=seq,
                    form=form,
                    values=values,
                    is_carried=_is_carried(what),
                    agreement=what.get("agreement"),
                )
            )
        return found

    def _facts(self, form: int, values: str) -> Json:
        """Give a record, as far as it matters here; of most, the form says enough."""
        plain = self._documents.parsed(form)
        what = plain["discrepancy"] or {}
        told = [what.get(name) for name in ("item_id", "reason", "action")]
        if all(isinstance(one, str) for one in told) and what.get("agreement") is None:
            return plain
        whole: Json = json.loads(self._documents.unpack(form, values))
        return whole

    def _head(self, run: int) -> Json:
        (stored,) = self._connection.execute(
            "SELECT header FROM run WHERE place = ?", (run,)
        ).fetchone()
        header: Json = json.loads(stored)
        return header | {"check": self._documents.check(header["check"])}

    def _carry(self, found: Found, head: Json, step: FindingStep | None) -> CarriedFinding:
        what = codec.load_record(self._documents.unpack(found.form, found.values)).discrepancy
        if what is None:
            msg = f"{found.finding_id} is no discrepancy"
            raise ValueError(msg)
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
            found_at=self._clock(found, what.at_s, head["started_at"]),
            state=FindingState.DEFERRED if is_deferred else FindingState.OPEN,
            by=step.by if step is not None and is_deferred else "",
            reference=step.reference if step is not None and is_deferred else "",
        )

    def _clock(self, found: Found, at_s: float, started_at: str) -> str:
        """Give when it was found: a run's own seconds stand still while the program does."""
        from_s, clock = 0.0, started_at
        row = self._connection.execute(_LAST_RESUMED, (found.run, found.seq)).fetchone()
        if row is not None:
            resumed = json.loads(self._documents.unpack(*row))
            if resumed.get("clock_at"):
                from_s, clock = resumed["at_s"], resumed["clock_at"]
        moment = datetime.fromisoformat(clock) + timedelta(seconds=at_s - from_s)
        return moment.isoformat(timespec="seconds")


def _is_carried(found: Json) -> bool:
    """Tell whether the next run hears of it: what lies within limits is information."""
    is_caution = found["reason"] == FindingReason.CAUTION
    return not is_caution and bool(found["action"] != RemedyAction.INFORMATION)
