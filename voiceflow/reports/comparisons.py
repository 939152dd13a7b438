"""What readings had to agree with, made or not made: as plain values, no words of ours.

A comparison that was not made is told with what was missing: silence would look like
agreement.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from voiceflow.checks.model import Agreement, Check, Item
from voiceflow.dialogue.agreement import as_read, inputs_of, taken
from voiceflow.dialogue.state import State
from voiceflow.limits.cross_check import compare


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """A reading, and something that it had to agree with.

    Attributes:
        number: The item's place in the check, from 1.
        item_id: The item's short name.
        challenge: The item's challenge.
        value: The reading.
        unit: Its unit symbol.
        compared_with: With what: a name, or challenges that are added up.
        expected: What the reading would have had to be; None: the comparison was not made.
        within: How near, in the gauge's unit; of times in minutes.
        agrees: Whether it was so near; None: the comparison was not made.
        missing: What was not known: "elevation", "temperature", or challenges.
        is_time: Both are times of day.
    """

    number: int
    item_id: str
    challenge: str
    value: Decimal
    unit: str
    compared_with: tuple[str, ...]
    expected: Decimal | None
    within: Decimal
    agrees: bool | None
    missing: tuple[str, ...]
    is_time: bool


def comparisons(state: State) -> Iterator[Comparison]:
    """Give every comparison of the readings that stand, in the check's order."""
    readings = taken(state)
    for number, item in enumerate(state.check.items, 1):
        spec, its = item.reading, readings.get(item.id)
        if spec is None or its is None:
            continue
        for agreement in spec.agrees:
            difference = compare(its.value, spec.unit, agreement, readings, state.brief.conditions)
            yield Comparison(
                number=number,
                item_id=item.id,
                challenge=item.challenge,
                value=its.value,
                unit=spec.unit,
                compared_with=compared_with(state.check, agreement),
                expected=None if difference is None else as_read(item, difference),
                within=agreement.within,
                agrees=None if difference is None else difference.is_within,
                missing=() if difference is not None else tuple(_missing(state, agreement)),
                is_time=agreement.is_time,
            )


def compared_with(check: Check, agreement: Agreement) -> tuple[str, ...]:
    """Give what a reading has to agree with: a name, or challenges that are added up."""
    reference = agreement.reference
    if agreement.name:
        return (agreement.name,)
    if reference.elevation:
        return ("field elevation",)
    if reference.temperature:
        return ("temperature of the day",)
    if reference.setting is not None:
        return ("altimeter by its setting",)
    return tuple(check.item(name).challenge for name in reference.readings if _has(check, name))


def _missing(state: State, agreement: Agreement) -> Iterator[str]:
    reference, day = agreement.reference, state.brief.conditions
    if (reference.elevation or reference.setting is not None) and day.elevation_ft is None:
        yield "elevation"
    if reference.temperature and day.temperature_c is None:
        yield "temperature"
    readings = taken(state)
    for name in inputs_of(reference):
        if name not in readings:
            item = _item(state.check, name)
            # an item that this aircraft has not is not in the check
            yield name if item is None else item.challenge


def _has(check: Check, name: str) -> bool:
    return _item(check, name) is not None


def _item(check: Check, name: str) -> Item | None:
    return next((item for item in check.items if item.id == name), None)
