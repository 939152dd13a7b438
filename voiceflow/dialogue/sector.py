"""A sector of several checks: one ends, the next begins; and the signature at the end.

What is carried over from earlier runs of the aircraft is told here too. It is told, never
cleared: that is for people, and not while a check runs.
"""

from voiceflow.checks.model import Item
from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.brief import CarriedFinding, FindingState
from voiceflow.dialogue.state import (
    Hold,
    HoldCause,
    PartEnding,
    PendingSignOff,
    Phase,
    SignOff,
    State,
)
from voiceflow.dialogue.summaries import own_finding
from voiceflow.dialogue.turn import Turn
from voiceflow.phraseology.prompts import (
    CarriedHere,
    CarriedOver,
    CarriedSummary,
    ConfirmSignOff,
    EndingKind,
    FindingSummary,
    NextCheck,
    PartEnded,
    PartOpening,
    Prompt,
    SpokenValue,
)


def bare_id(item_id: str) -> str:
    """Give the name of an item in its own check file: in a sector it is CHECK.ITEM."""
    return item_id.rpartition(".")[2]


def title_of_part(state: State) -> str:
    """Give the title of the check that the run is in: of a sector, its part's."""
    check = state.check
    return check.parts[state.part].title if check.parts else check.title


def is_last_of_part(state: State) -> bool:
    """Tell whether the next item in the queue belongs to the next check of the sector."""
    return bool(state.queue) and state.check.part_index(state.queue[0]) > state.part


def next_pauses(state: State) -> bool:
    """Tell whether the next check of the sector begins on the person's word."""
    return state.check.parts[state.part + 1].pauses


def kind_of(open_items: tuple[str, ...], findings: int) -> EndingKind:
    """Give how something ends: complete only with nothing open and nothing found."""
    return EndingKind.COMPLETE_EXCEPT if open_items or findings else EndingKind.COMPLETE


def opening_of_part(state: State) -> tuple[Prompt, ...]:
    """Give the first words of a sector's check; none where there is only one check."""
    if not state.check.parts:
        return ()
    part = state.check.parts[state.part]
    return (PartOpening(title=part.title, count=part.items),)


def end_part(turn: Turn) -> Prompt:
    """Write down how the present check of the sector ended; give the words for it."""
    state = turn.state
    items = {item.id for item in state.check.part_items(state.part)}
    open_items = tuple(item_id for item_id in state.open_items if item_id in items)
    findings = sum(found.item_id in items for found in state.open_discrepancies)
    part = state.check.parts[state.part]
    ending = PartEnding(
        part=state.part,
        check_id=part.check_id,
        kind=kind_of(open_items, findings),
        open_items=open_items,
        findings=findings,
        at_s=turn.at_s,
    )
    turn.record(Record(part=ending))
    turn.set(part_endings=(*state.part_endings, ending))
    challenges = tuple(state.check.item(item_id).challenge for item_id in open_items)
    return PartEnded(title=part.title, open_items=challenges, findings=findings)


def wait_for_next(turn: Turn, *before: Prompt) -> None:
    """End the present check of the sector; the next begins when the person says so."""
    ended = end_part(turn)
    state = turn.state
    item_id = state.queue[0]
    pause = Hold(item_id=item_id, from_s=turn.at_s, cause=HoldCause.NEXT_CHECK)
    turn.record(Record(hold=pause))
    turn.set(
        phase=Phase.HOLDING,
        part=state.part + 1,
        item_id=item_id,
        queue=state.queue[1:],
        pending=None,
        attempts=0,
        nudges=0,
        holds=(*state.holds, pause),
    )
    turn.say(*before, ended, next_check(turn.state))


def is_between(state: State) -> bool:
    """Tell whether one check of the sector has ended and the next waits."""
    holding = state.phase is Phase.HOLDING
    return holding and state.holds[-1].cause is HoldCause.NEXT_CHECK


def next_check(state: State) -> NextCheck:
    """Give the words with which the next check of the sector waits."""
    part = state.check.parts[state.part]
    return NextCheck(title=part.title, count=part.items, attempt=state.attempts)


# --- what earlier runs found ---


def carried_at(state: State, item: Item) -> tuple[CarriedFinding, ...]:
    """Give what earlier runs found at this item, wherever it stands in a check."""
    name = bare_id(item.id)
    part = state.check.parts
    check_id = part[state.check.part_index(item.id)].check_id if part else state.check.id
    return tuple(
        carried
        for carried in state.brief.carried
        if carried.item_id == name and carried.check_id == check_id
    )


def carried_summary(state: State, carried: CarriedFinding) -> CarriedSummary:
    """Give a carried discrepancy as it is said."""
    return CarriedSummary(
        finding=FindingSummary(
            challenge=carried.challenge,
            reason=carried.reason,
            said=carried.phrase,
            value=_spoken(state, carried),
            action=carried.action,
            # what was to be done then has been said then
            say="",
        ),
        deferred_by=carried.by if carried.state is FindingState.DEFERRED else None,
        reference=carried.reference if carried.state is FindingState.DEFERRED else "",
    )


def _spoken(state: State, carried: CarriedFinding) -> SpokenValue | None:
    """Give the value as the gauge of that item says it, or as a number by itself."""
    if carried.value is None:
        return None
    for item in state.check.items:
        spec = item.reading
        if bare_id(item.id) == carried.item_id and spec is not None and carried.value in spec.scale:
            return SpokenValue(value=carried.value, unit=spec.unit, scale=spec.scale)
    return own_finding(carried.value, carried.unit)


def carried_over(state: State) -> tuple[Prompt, ...]:
    """Give the words for everything carried over; none where there is nothing."""
    carried = tuple(carried_summary(state, each) for each in state.brief.carried)
    return (CarriedOver(carried=carried),) if carried else ()


def carried_here(state: State, item: Item) -> tuple[Prompt, ...]:
    """Give the words for what was carried over at an item that is put the first time."""
    return tuple(
        CarriedHere(carried=carried_summary(state, each)) for each in carried_at(state, item)
    )


# --- the signature ---


def wants_signature(state: State) -> bool:
    """Tell whether somebody is asked to sign."""
    return bool(state.brief.signer)


def sign_question(state: State) -> ConfirmSignOff:
    """Give the question whether the person will sign."""
    return ConfirmSignOff(
        title=state.check.title,
        signer=state.brief.signer,
        open_count=len(state.open_items),
        findings=len(state.open_discrepancies),
        attempt=state.attempts,
    )


def ask_to_sign(turn: Turn, *before: Prompt) -> None:
    """Ask the person to sign; until then the run has not ended."""
    turn.set(
        phase=Phase.SIGNING,
        pending=PendingSignOff(),
        attempts=0,
        nudges=0,
        question_due=True,
        fresh=False,
    )
    turn.say(*before, sign_question(turn.state))


def sign(turn: Turn, said: str) -> None:
    """Write the signature down."""
    state = turn.state
    findings = len(state.open_discrepancies)
    signed = SignOff(
        by=state.brief.signer,
        kind=kind_of(state.open_items, findings),
        open_items=state.open_items,
        findings=findings,
        at_s=turn.at_s,
        said=said,
    )
    turn.record(Record(sign_off=signed))
    turn.set(sign_off=signed)
