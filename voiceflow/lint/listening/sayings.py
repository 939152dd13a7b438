"""What is said in a listening test: every response of an item, and readings over its gauge."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from voiceflow.checks.model import Item
from voiceflow.grammar.meaning import Reading, Response, ResponseState
from voiceflow.numbers.scale import Scale
from voiceflow.phraseology.language import Language


@dataclass(frozen=True, slots=True, kw_only=True)
class Saying:
    """One phrase to be said at one item.

    Attributes:
        item_id: The item.
        text: The words.
        meaning: What they mean there.
    """

    item_id: str
    text: str
    meaning: Response | Reading


def sayings(item: Item, language: Language, *, readings: int, forms: int) -> Iterator[Saying]:
    """Give what is to be said at an item, always the same.

    Args:
        item: The item.
        language: The pack of its language.
        readings: How many values of its gauge, spread evenly over it, ends included.
        forms: In how many forms each value is said; every value takes other ones, so
            that over the values all are heard.
    """
    for state, phrases in (
        (ResponseState.AS_EXPECTED, item.expect),
        (ResponseState.NOT_AS_EXPECTED, item.not_as_expected),
    ):
        for phrase in phrases:
            yield Saying(item_id=item.id, text=phrase, meaning=Response(phrase=phrase, state=state))
    if item.reading is None:
        return
    for place, value in enumerate(spread(item.reading.scale, readings)):
        ways = list(dict.fromkeys(language.spoken_forms(value, item.reading.scale)))
        for turn in range(min(forms, len(ways))):
            words = ways[(place * forms + turn) % len(ways)]
            yield Saying(
                item_id=item.id,
                text=" ".join(words),
                meaning=Reading(value=value, unit=item.reading.unit),
            )


def spread(scale: Scale, count: int) -> tuple[Decimal, ...]:
    """Give so many marks of a scale, spread evenly, the ends among them."""
    marks = tuple(scale.values())
    if count >= len(marks):
        return marks
    if count < 2:
        return marks[:count]
    last = len(marks) - 1
    return tuple(marks[round(place * last / (count - 1))] for place in range(count))
