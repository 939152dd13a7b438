"""A journal of made-up runs, written as a session writes it."""

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from pathlib import Path

from tests.history.past import FIRST
from voiceflow.checks.model import Check
from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.brief import Brief
from voiceflow.dialogue.events import Started, TimePassed
from voiceflow.dialogue.state import ItemState, Outcome
from voiceflow.journal.header import RunHeader
from voiceflow.journal.store import Journal
from voiceflow.limits.computed import Conditions
from voiceflow.settings import Settings


def keep_runs(
    path: Path,
    check: Check,
    values: Mapping[str, Sequence[float]],
    *,
    temperatures: Sequence[float] | None = None,
    hours: str | None = None,
    first: datetime = FIRST,
    every_h: float = 24.0,
    prefix: str = "run",
) -> None:
    """Write a run for each place in the readings.

    Args:
        path: The journal.
        check: What was run.
        values: The readings of each item, as many of each.
        temperatures: Of each run's day, degrees Celsius; None: not said.
        hours: Planned, the same for each run; None: not said.
        first: When the first run began.
        every_h: Hours from one to the next.
        prefix: Runs are named by it and a number.
    """
    units = {item.id: item.reading.unit for item in check.items if item.reading is not None}
    with Journal.open(path) as journal, journal.together():
        for number, readings in enumerate(zip(*values.values(), strict=True)):
            conditions = Conditions(
                temperature_c=None if temperatures is None else Decimal(str(temperatures[number])),
                hours=None if hours is None else Decimal(hours),
            )
            header = RunHeader(
                run_id=f"{prefix}-{number}",
                program_version="0.1.0",
                started_at=(first + timedelta(hours=every_h * number)).isoformat(),
                check=check,
                settings=Settings(),
                engine="typed",
                brief=Brief(conditions=conditions),
            )
            journal.begin(header)
            journal.append(header.run_id, Started(at_s=0.0))
            for item_id, value in zip(values, readings, strict=True):
                outcome = Outcome(
                    item_id=item_id,
                    state=ItemState.WITHIN_LIMITS,
                    phrase=None,
                    value=Decimal(str(value)),
                    unit=units[item_id],
                    verdict=None,
                    said="as said",
                    confidence=1.0,
                    confirmed=False,
                    asked_s=3.0,
                    answered_s=5.0,
                    from_left=False,
                )
                journal.append(header.run_id, TimePassed(at_s=5.0), [Record(outcome=outcome)])
