"""Gathers what is known before a run begins: from the plan, the day and the journal."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from voiceflow.checks.model import Check
from voiceflow.checks.plan import Plan
from voiceflow.dialogue.brief import Brief, CarriedFinding, Departure, SlotKind
from voiceflow.history.paces import paces, pauses
from voiceflow.history.trends import measured_oil, trend_notes
from voiceflow.journal.store import Journal
from voiceflow.limits.computed import Conditions, MeasuredOil
from voiceflow.limits.slots import ctot_window, edct_window, nearest

#: How far back times of items and readings are looked for: people and gauges change.
_LOOKED_BACK: Final = timedelta(days=90)


def oil_of(journal: Journal, check: Check, begins: datetime) -> MeasuredOil | None:
    """Give what an engine uses, as the runs before tell; None if they do not.

    Raises:
        JournalError: If the journal cannot be read.
    """
    if not any(limit.name == "engine-oil" for limit in check.computed):
        return None
    since = (begins - _LOOKED_BACK).isoformat()
    answers = journal.answers(check.tail, since=since, readings=True)
    return measured_oil(check, answers, begins)


@dataclass(frozen=True, slots=True, kw_only=True)
class Briefing:
    """Where to look.

    Attributes:
        journal: What was found and read before.
        check: What will be run.
        plan: The plan of the sector; None: it is one check.
        conditions: Of the day.
        signer: Who signs, if the command line says so.
    """

    journal: Journal
    check: Check
    plan: Plan | None
    conditions: Conditions
    signer: str | None = None

    def brief(self, begins: datetime) -> Brief:
        """Give what is known.

        Args:
            begins: Clock time of second 0 of the run, with a UTC offset.

        Raises:
            JournalError: If the journal cannot be read.
        """
        plan, tail = self.plan, self.check.tail
        signer = self.signer if self.signer is not None else plan.captain if plan else ""
        since = (begins - _LOOKED_BACK).isoformat()
        answers = self.journal.answers(tail, since=since)
        return Brief(
            flight=plan.flight if plan else "",
            signer=signer,
            conditions=self.conditions,
            departure=_departure(plan, begins) if plan else None,
            carried=_once(self.journal.open_findings(tail)) if tail else (),
            paces=paces(self.check, answers, signer),
            pauses=pauses(self.check, answers, signer),
            trends=trend_notes(self.check, answers, self.conditions, begins),
        )


def _once(carried: Iterable[CarriedFinding]) -> tuple[CarriedFinding, ...]:
    """Give what was carried over; what was found again and again is told as found last."""
    last = {(each.check_id, each.item_id, each.reason, each.state): each for each in carried}
    return tuple(last.values())


def _departure(plan: Plan, begins: datetime) -> Departure | None:
    """Give the times to keep; None where the plan has none."""
    if plan.off_blocks is None and plan.ctot is None and plan.edct is None:
        return None

    def second(moment: datetime) -> float:
        return (moment - begins).total_seconds()

    window: tuple[datetime, datetime] | None = None
    slot: SlotKind | None = None
    if plan.ctot is not None:
        slot, window = SlotKind.CTOT, ctot_window(nearest(plan.ctot, begins))
    elif plan.edct is not None:
        slot, window = SlotKind.EDCT, edct_window(nearest(plan.edct, begins))
    return Departure(
        zero_at=begins.isoformat(),
        off_blocks_s=None if plan.off_blocks is None else second(nearest(plan.off_blocks, begins)),
        slot_from_s=None if window is None else second(window[0]),
        slot_to_s=None if window is None else second(window[1]),
        slot=slot,
        taxi_s=plan.taxi_s,
    )
