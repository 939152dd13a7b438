"""Readings that have to agree with something: compared as soon as all of it is known.

A reading that disagrees with what is known is asked about before it is taken. Where what it
is compared with is read later, the comparison is made then, and the discrepancy belongs to
the item that has to agree. If a reading is taken back, what rested on it is taken back too.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

from voiceflow.checks.model import Agreement, Item, Reference, Remedy, RemedyAction
from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.state import AgreesAgain, Discrepancy, Outcome, State
from voiceflow.dialogue.summaries import apart, finding
from voiceflow.dialogue.turn import Turn
from voiceflow.grammar.meaning import Meaning, Reading
from voiceflow.limits.cross_check import Difference, Taken, TakenReading, compare
from voiceflow.phraseology.prompts import (
    Apart,
    FindingReason,
    FindingRecorded,
    Prompt,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Disagreement:
    """A comparison that failed.

    Attributes:
        index: Which of the item's comparisons it is.
        agreement: That comparison.
        difference: How far the reading is off.
    """

    index: int
    agreement: Agreement
    difference: Difference


def disagreement(state: State, item: Item, value: Decimal) -> Disagreement | None:
    """Give the first comparison that a reading would fail with what is known now."""
    others = {key: each for key, each in taken(state).items() if key != item.id}
    return next(_failing(state, item, value, others), None)


def is_disagreeing(state: State, item: Item, meaning: Meaning) -> bool:
    """Tell whether what was heard is a reading that disagrees with what is known."""
    if not isinstance(meaning, Reading) or item.reading is None:
        return False
    return disagreement(state, item, meaning.value) is not None


def taken(state: State) -> dict[str, TakenReading]:
    """Give the readings that stand."""
    return {
        outcome.item_id: TakenReading(value=outcome.value, unit=outcome.unit)
        for outcome in state.outcomes
        if outcome.value is not None
    }


def _failing(state: State, item: Item, value: Decimal, others: Taken) -> Iterator[Disagreement]:
    spec = item.reading
    if spec is None:
        return
    for index, agreement in enumerate(spec.agrees):
        difference = compare(value, spec.unit, agreement, others, state.brief.conditions)
        if difference is not None and not difference.is_within:
            yield Disagreement(index=index, agreement=agreement, difference=difference)


def new_disagreements(turn: Turn, outcome: Outcome) -> tuple[Prompt, ...]:
    """Compare what can be compared now that a reading was taken; record what disagrees.

    Args:
        turn: The turn, the reading among its outcomes.
        outcome: The reading taken just now.

    Returns:
        The words for each discrepancy.
    """
    if outcome.value is None:
        return ()
    said: list[Prompt] = []
    for item in turn.state.check.items:
        concerned = item.id == outcome.item_id or outcome.item_id in _inputs(item)
        its = turn.state.outcome(item.id)
        if not concerned or its is None or its.value is None:
            continue
        failed = [
            each
            for each in _failing(turn.state, item, its.value, taken(turn.state))
            if not _is_recorded(turn.state, item, each.index)
        ]
        said.extend(_record(turn, item, its, each) for each in failed)
    return tuple(said)


def _inputs(item: Item) -> frozenset[str]:
    """Give the items whose readings an item is compared with."""
    spec = item.reading
    return frozenset(
        name for each in (spec.agrees if spec else ()) for name in inputs_of(each.reference)
    )


def inputs_of(reference: Reference) -> tuple[str, ...]:
    """Give the items that something is made of."""
    named = (*reference.readings, reference.setting, reference.qnh)
    return tuple(name for name in named if name is not None)


def _is_recorded(state: State, item: Item, index: int) -> bool:
    return any(
        found.item_id == item.id and found.agreement == index for found in state.open_discrepancies
    )


def _record(turn: Turn, item: Item, its: Outcome, failed: Disagreement) -> Prompt:
    remedy = failed.agreement.outside or item.outside or Remedy(action=RemedyAction.CAPTAIN)
    found = Discrepancy(
        item_id=item.id,
        reason=FindingReason.DISAGREES,
        phrase=None,
        value=its.value,
        unit=its.unit,
        minimum=None,
        maximum=None,
        action=remedy.action,
        say=remedy.say,
        at_s=turn.at_s,
        said=its.said,
        agreement=failed.index,
        expected=_as_read(item, failed.difference.expected),
        within=failed.agreement.within,
    )
    turn.record(Record(discrepancy=found))
    turn.set(discrepancies=(*turn.state.discrepancies, found))
    return FindingRecorded(finding=finding(turn.state.check, found))


def withdraw_with(turn: Turn, item_id: str) -> None:
    """A reading was taken back: discrepancies of other items that rested on it go with it."""
    kept = []
    for found in turn.state.discrepancies:
        item = turn.state.check.item(found.item_id)
        index = found.agreement
        rests = index is not None and not found.withdrawn and found.item_id != item_id
        if rests and index is not None and item_id in _inputs_of(item, index):
            turn.record(Record(agrees_again=AgreesAgain(item_id=item.id, agreement=index)))
            kept.append(replace(found, withdrawn=True))
        else:
            kept.append(found)
    turn.set(discrepancies=tuple(kept))


def _inputs_of(item: Item, index: int) -> tuple[str, ...]:
    return inputs_of(item.reading.agrees[index].reference) if item.reading else ()


def _as_read(item: Item, value: float) -> Decimal:
    """Give a value with as many decimals as the gauge's marks have."""
    step = item.reading.scale.step if item.reading else Decimal(1)
    exponent = min(int(step.normalize().as_tuple().exponent), 0)
    return Decimal(repr(value)).quantize(Decimal(1).scaleb(exponent))


def apart_by(state: State, item: Item, failed: Disagreement) -> Apart | None:
    """Give how far a reading is off, as it is said."""
    if item.reading is None:
        return None
    by = _as_read(item, failed.difference.apart)
    return apart(state.check, item.reading, failed.agreement, by)
