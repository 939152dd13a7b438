"""Readings that have to agree with something: compared as soon as all of it is known.

A reading that disagrees with what is known is asked about before it is taken, and so is one
with which an earlier reading would disagree. The discrepancy belongs to the item that has to
agree, whichever was read last. If a reading is taken back, what rested on it is taken back
too.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from typing import Final

from voiceflow.checks.model import Agreement, Item, ReadingSpec, Reference, Remedy, RemedyAction
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
    FindingWithdrawn,
    Prompt,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Disagreement:
    """A comparison that failed.

    Attributes:
        item: The item that has to agree.
        spec: Its gauge.
        value: Its reading.
        index: Which of the item's comparisons it is.
        agreement: That comparison.
        expected: What the reading would have to be, as the gauge has it.
    """

    item: Item
    spec: ReadingSpec
    value: Decimal
    index: int
    agreement: Agreement
    expected: Decimal


def taken(state: State) -> dict[str, TakenReading]:
    """Give the readings that stand."""
    return {
        outcome.item_id: TakenReading(value=outcome.value, unit=outcome.unit)
        for outcome in state.outcomes
        if outcome.value is not None
    }


def is_disagreeing(state: State, item: Item, meaning: Meaning) -> bool:
    """Tell whether what was heard is a reading with which something would disagree."""
    if not isinstance(meaning, Reading):
        return False
    return next(_failing_with(state, item, meaning.value), None) is not None


def differences(state: State, item: Item, value: Decimal) -> tuple[Apart, ...]:
    """Give everything that would disagree if an item had this reading: its own first."""
    return tuple(
        _apart(state, each, of_other=each.item.id != item.id)
        for each in _failing_with(state, item, value)
    )


def standing_differences(state: State, item: Item) -> tuple[Apart, ...]:
    """Give how far an item's reading is from what it disagrees with, as it stands."""
    summaries = (
        finding(state.check, found).apart
        for found in state.open_discrepancies
        if found.item_id == item.id
    )
    return tuple(each for each in summaries if each is not None)


def new_disagreements(turn: Turn, outcome: Outcome) -> tuple[Prompt, ...]:
    """Compare what can be compared now that a reading was taken; record what disagrees.

    Args:
        turn: The turn, the reading among its outcomes.
        outcome: The reading taken just now.

    Returns:
        The words for each discrepancy.
    """
    state = turn.state
    if outcome.value is None:
        return ()
    item = state.check.item(outcome.item_id)
    failed = tuple(_failing_with(state, item, outcome.value))
    return tuple(_record(turn, each, of_other=each.item.id != item.id) for each in failed)


def told_shortly(said: Iterable[Prompt]) -> tuple[Prompt, ...]:
    """Put discrepancies of one item that need the same into one: the question named each."""
    shorter: list[Prompt] = []
    for prompt in said:
        last = shorter[-1] if shorter else None
        if (
            isinstance(prompt, FindingRecorded)
            and isinstance(last, FindingRecorded)
            and prompt.finding.reason is FindingReason.DISAGREES
            and last.finding.reason in _ALIKE
            and _what_to_do(prompt) == _what_to_do(last)
        ):
            shorter[-1] = replace(last, count=last.count + 1)
        else:
            shorter.append(prompt)
    return tuple(shorter)


#: What is recorded in the same words.
_ALIKE: Final = frozenset({FindingReason.OUTSIDE_LIMITS, FindingReason.DISAGREES})


def _what_to_do(recorded: FindingRecorded) -> tuple[object, ...]:
    found = recorded.finding
    return (found.challenge, recorded.of_other, found.action, found.say)


def _failing_with(state: State, item: Item, value: Decimal) -> Iterator[Disagreement]:
    """Give every comparison that fails if an item has this reading: its own, then others'."""
    spec = item.reading
    if spec is None:
        return
    readings = {**taken(state), item.id: TakenReading(value=value, unit=spec.unit)}
    yield from _failing(item, spec, readings, state)
    for other in state.check.items:
        if other.id != item.id and other.id in readings and other.reading is not None:
            for each in _failing(other, other.reading, readings, state):
                if item.id in inputs_of(each.agreement.reference):
                    yield each


def _failing(
    item: Item, spec: ReadingSpec, readings: Taken, state: State
) -> Iterator[Disagreement]:
    """Give the comparisons of an item that fail with these readings, its own among them."""
    value = readings[item.id].value
    for index, agreement in enumerate(spec.agrees):
        difference = compare(value, spec.unit, agreement, readings, state.brief.conditions)
        if difference is not None and not difference.is_within:
            yield Disagreement(
                item=item,
                spec=spec,
                value=value,
                index=index,
                agreement=agreement,
                expected=as_read(item, difference),
            )


def inputs_of(reference: Reference) -> tuple[str, ...]:
    """Give the items that something is made of."""
    named = (*reference.readings, reference.setting, reference.qnh)
    return tuple(name for name in named if name is not None)


def _record(turn: Turn, failed: Disagreement, *, of_other: bool) -> Prompt:
    item, state = failed.item, turn.state
    remedy = failed.agreement.outside or item.outside or Remedy(action=RemedyAction.CAPTAIN)
    said = {outcome.item_id: outcome.said for outcome in state.outcomes}
    found = Discrepancy(
        item_id=item.id,
        reason=FindingReason.DISAGREES,
        phrase=None,
        value=failed.value,
        unit=failed.spec.unit,
        minimum=None,
        maximum=None,
        action=remedy.action,
        say=remedy.say,
        at_s=turn.at_s,
        said=said[item.id],
        agreement=failed.index,
        expected=failed.expected,
        within=failed.agreement.within,
    )
    turn.record(Record(discrepancy=found))
    turn.set(discrepancies=(*state.discrepancies, found))
    return FindingRecorded(finding=finding(state.check, found), of_other=of_other)


def withdraw_with(turn: Turn, item_id: str, *, quietly: bool) -> None:
    """A reading was taken back: discrepancies of other items that rested on it go with it.

    Args:
        turn: The turn.
        item_id: The item whose reading was taken back.
        quietly: Say nothing of it.
    """
    kept = []
    for found in turn.state.discrepancies:
        item = turn.state.check.item(found.item_id)
        index = found.agreement
        rests = index is not None and not found.withdrawn and found.item_id != item_id
        if rests and index is not None and item_id in _inputs_of(item, index):
            turn.record(Record(agrees_again=AgreesAgain(item_id=item.id, agreement=index)))
            kept.append(replace(found, withdrawn=True))
            if not quietly:
                turn.tell(FindingWithdrawn(challenge=item.challenge))
        else:
            kept.append(found)
    turn.set(discrepancies=tuple(kept))


def _inputs_of(item: Item, index: int) -> tuple[str, ...]:
    return inputs_of(item.reading.agrees[index].reference) if item.reading else ()


def as_read(item: Item, difference: Difference) -> Decimal:
    """Give what was expected with as many decimals as the gauge's marks have.

    Rounded away from the reading: a difference of 60.4 where 60 is allowed is told as 61,
    never as 60.
    """
    step = item.reading.scale.step if item.reading else Decimal(1)
    exponent = min(int(step.normalize().as_tuple().exponent), 0)
    away = ROUND_FLOOR if difference.apart > 0 else ROUND_CEILING
    # what conversions leave in the sixth decimal is nobody's difference
    exact = Decimal(repr(round(difference.expected, 6)))
    return exact.quantize(Decimal(1).scaleb(exponent), away)


def _apart(state: State, failed: Disagreement, *, of_other: bool) -> Apart:
    """Give how far a reading is off, as it is said."""
    return apart(
        state.check,
        failed.spec,
        failed.agreement,
        failed.value,
        failed.expected,
        failed.item if of_other else None,
    )
