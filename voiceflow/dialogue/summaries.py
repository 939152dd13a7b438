"""Values for prompts, made from the state: what is said about what is known."""

from decimal import Decimal

from voiceflow.checks.model import (
    Agreement,
    Check,
    InterruptedPolicy,
    Item,
    ReadingSpec,
    Reference,
    Remedy,
    RemedyAction,
)
from voiceflow.dialogue.state import Discrepancy, State
from voiceflow.limits.cross_check import DAY_MIN, minutes_apart
from voiceflow.numbers.scale import Scale
from voiceflow.phraseology.prompts import (
    Apart,
    Challenge,
    FindingReason,
    FindingSummary,
    OfferToGoBack,
    ReferenceKind,
    RunningWaitSummary,
    SpokenValue,
)

#: How many responses are named when the tool tells what it would understand:
#: more than these cannot be kept in mind by ear.
CHOICES_SAID = 4


def spoken_value(item: Item, value: Decimal) -> SpokenValue:
    """Give a reading of an item as it is read back."""
    spec = item.reading
    if spec is None:
        msg = f"item {item.id} has no gauge"
        raise ValueError(msg)
    return SpokenValue(value=value, unit=spec.unit, scale=spec.scale)


def own_finding(value: Decimal, unit: str) -> SpokenValue:
    """Give a value of which no gauge is known here, to be said as the number that it is."""
    return SpokenValue(
        value=value, unit=unit, scale=Scale(lowest=value, highest=value, step=Decimal(1))
    )


def interrupted_policy(state: State) -> InterruptedPolicy:
    """Give what to do after an interruption of the check that the run is in."""
    parts = state.check.parts
    return parts[state.part].interrupted if parts else state.check.interrupted


def challenge(
    state: State, item: Item, *, with_area: bool = False, digit_by_digit: bool = False
) -> Challenge:
    """Give the challenge of an item; with its area where that is new or asked for."""
    new_area = item.area is not None and (with_area or item.area != state.area)
    return Challenge(
        challenge=item.challenge,
        area=item.area if new_area else None,
        digit_by_digit=digit_by_digit,
    )


def choices(item: Item) -> tuple[str, ...]:
    """Give the responses that are named when the item was not understood."""
    return (item.expect + item.not_as_expected)[:CHOICES_SAID]


def remedy_for(item: Item, reason: FindingReason) -> Remedy:
    """Give what a finding asks for; where the file is silent, the captain is told.

    A reading in the caution band is information: it is within limits.
    """
    if reason is FindingReason.CAUTION:
        return Remedy(action=RemedyAction.INFORMATION)
    if reason is FindingReason.LATE and item.wait is not None and item.wait.late is not None:
        return item.wait.late
    return item.outside or Remedy(action=RemedyAction.CAPTAIN)


def finding(check: Check, found: Discrepancy) -> FindingSummary:
    """Give a discrepancy as it is said in a list."""
    item = check.item(found.item_id)
    return FindingSummary(
        challenge=item.challenge,
        reason=found.reason,
        said=found.phrase,
        value=None if found.value is None else spoken_value(item, found.value),
        action=found.action,
        say=found.say,
        apart=_apart_of(check, item, found),
    )


def _apart_of(check: Check, item: Item, found: Discrepancy) -> Apart | None:
    """Give how far a reading was from what it had to agree with, if that is why."""
    spec, index = item.reading, found.agreement
    if spec is None or index is None or found.value is None or found.expected is None:
        return None
    return apart(check, spec, spec.agrees[index], found.value, found.expected)


def apart(
    check: Check,
    spec: ReadingSpec,
    agreement: Agreement,
    value: Decimal,
    expected: Decimal,
    of_other: Item | None = None,
) -> Apart:
    """Give how far a reading is from what it has to agree with, as it is said.

    Args:
        check: The check.
        spec: Of the reading.
        agreement: With what it has to agree.
        value: The reading.
        expected: What it would have to be, in the gauge's unit.
        of_other: Whose reading it is, where that has to be said.
    """
    by: Decimal | float | None = value - expected
    if agreement.is_time:
        by = minutes_apart(value, expected)
    difference = Decimal(DAY_MIN) if by is None else Decimal(by)
    unit = "min" if agreement.is_time else spec.unit
    names = agreement.reference.readings
    return Apart(
        kind=_kind(agreement.reference),
        names=(agreement.name,)
        if agreement.name
        else tuple(check.item(name).challenge for name in names),
        by=own_finding(abs(difference), unit),
        allowed=own_finding(agreement.within, unit),
        is_above=difference > 0,
        is_time=agreement.is_time,
        challenge="" if of_other is None else of_other.challenge,
        taken=None if of_other is None else spoken_value(of_other, value),
    )


def _kind(reference: Reference) -> ReferenceKind:
    if reference.elevation:
        return ReferenceKind.ELEVATION
    if reference.temperature:
        return ReferenceKind.TEMPERATURE
    if reference.setting is not None:
        return ReferenceKind.ALTIMETER
    return ReferenceKind.READING if len(reference.readings) == 1 else ReferenceKind.SUM


def running_waits(state: State) -> tuple[RunningWaitSummary, ...]:
    """Give the waits that run, and what remains of each, in whole seconds."""
    return tuple(
        RunningWaitSummary(
            challenge=state.check.item(wait.item_id).challenge,
            remaining_s=max(0, round(wait.due_s - state.at_s)),
        )
        for wait in state.waits
    )


def may_go_back(state: State, since_s: float) -> bool:
    """Tell whether the check has lain still so long that going back is to be offered.

    Only where there are two items to go back to.

    Args:
        state: The state, at the present time.
        since_s: When it came to rest.
    """
    away_s = state.settings.patience.away_s
    return away_s is not None and state.at_s - since_s >= away_s and len(state.outcomes) > 1


def offer(state: State, since_s: float) -> OfferToGoBack:
    """Give the offer to go back."""
    return OfferToGoBack(away_s=round(state.at_s - since_s))


def last_done(state: State) -> str | None:
    """Give the challenge of the item answered last."""
    if not state.outcomes:
        return None
    return state.check.item(state.outcomes[-1].item_id).challenge
