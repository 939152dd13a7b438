from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest

from voiceflow.checks.model import (
    Check,
    CheckKind,
    InterruptedPolicy,
    Item,
    Limit,
    ReadingSpec,
    RemedyAction,
    Source,
)
from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.brief import FindingState
from voiceflow.dialogue.events import Event, Heard, Started, Utterance
from voiceflow.dialogue.state import Discrepancy, ItemState, Outcome
from voiceflow.grammar.meaning import Reading
from voiceflow.journal.header import RunHeader
from voiceflow.journal.ledger import FindingStep
from voiceflow.limits.judge import Verdict
from voiceflow.numbers.scale import Scale
from voiceflow.phraseology.prompts import FindingReason
from voiceflow.settings import Settings

CHECK = Check(
    id="cockpit-preparation",
    title="Cockpit preparation",
    kind=CheckKind.FLOW,
    language="en",
    aircraft="Skerry 42",
    tail="X-SKR7",
    source=Source(document="Northmark Air Ferries OM-B part 2 (invented)", revision="4"),
    interrupted=InterruptedPolicy.RESUME,
    items=(
        Item(
            id="crew-oxygen",
            challenge="Crew oxygen",
            reading=ReadingSpec(
                names=("oxygen",),
                unit="psi",
                scale=Scale(lowest=Decimal(0), highest=Decimal(2000), step=Decimal(10)),
                limit=Limit(minimum=Decimal(1500)),
            ),
        ),
        Item(id="covers", challenge="Pitot covers", expect=("removed",), not_as_expected=("on",)),
    ),
    check_digest="c" * 64,
    aircraft_digest="a" * 64,
)


def make_header(run_id: str = "20261125-093012-7f3a") -> RunHeader:
    return RunHeader(
        run_id=run_id,
        program_version="0.1.0",
        started_at="2026-11-25T09:30:12+00:00",
        check=CHECK,
        settings=Settings(),
        engine="typed",
    )


def make_entries() -> list[tuple[Event, tuple[Record, ...]]]:
    """Events with the records that a dialogue might give: the store asks no more."""
    entries: list[tuple[Event, tuple[Record, ...]]] = [(Started(at_s=0.0), ())]
    for number in range(1, 6):
        value = Decimal(1500 + 10 * number)
        utterance = Utterance(
            text="sauerstoff fünfzehnhundert, 산소",
            meaning=Reading(value=value, unit="psi"),
            confidence=0.75,
            engine="typed",
            speech_start_s=number - 0.5,
            speech_end_s=number - 0.1,
        )
        outcome = Outcome(
            item_id="crew-oxygen",
            state=ItemState.WITHIN_LIMITS,
            phrase=None,
            value=value,
            unit="psi",
            verdict=Verdict.WITHIN,
            said=utterance.text,
            confidence=0.75,
            confirmed=False,
            asked_s=number - 0.9,
            answered_s=float(number),
            from_left=False,
        )
        entries.append(
            (
                Heard(at_s=float(number), item_id="crew-oxygen", utterance=utterance),
                (Record(withdrawn_item="crew-oxygen"), Record(outcome=outcome)),
            )
        )
    return entries


def make_found(
    item_id: str = "crew-oxygen",
    *,
    at_s: float = 6.0,
    reason: FindingReason = FindingReason.OUTSIDE_LIMITS,
    action: RemedyAction = RemedyAction.MAINTENANCE,
) -> Discrepancy:
    """A reading below its minimum."""
    return Discrepancy(
        item_id=item_id,
        reason=reason,
        phrase=None,
        value=Decimal("1400.0"),
        unit="psi",
        minimum=Decimal(1500),
        maximum=None,
        action=action,
        say="Call maintenance",
        at_s=at_s,
        said="one four zero zero",
    )


def make_step(
    run_id: str,
    item: str = "crew-oxygen",
    state: FindingState = FindingState.DEFERRED,
    reference: str = "Deferred item 35-1",
) -> FindingStep:
    """What Bo Lind did about it a day later."""
    return FindingStep(
        finding_id=f"{run_id}/{item}",
        state=state,
        by="Bo Lind",
        reference=reference,
        at="2026-11-26T08:00:00+00:00",
    )


@pytest.fixture
def header() -> RunHeader:
    return make_header()


@pytest.fixture
def header_named() -> Callable[[str], RunHeader]:
    return make_header


@pytest.fixture
def entries() -> list[tuple[Event, tuple[Record, ...]]]:
    return make_entries()


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "new folder" / "journal.sqlite"
