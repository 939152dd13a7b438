"""Phrases out of an item's grammar: to show what can be said."""

from collections.abc import Callable
from decimal import Decimal
from itertools import zip_longest

from voiceflow.grammar.automaton import Words
from voiceflow.grammar.item_grammar import ItemGrammar
from voiceflow.numbers.scale import Scale

#: Marks looked at for one that is said in many words; as many as take no time.
_MARKS_TRIED = 100


def sample(grammar: ItemGrammar, count: int) -> tuple[str, ...]:
    """Give phrases that show what can be said at an item.

    Args:
        grammar: The phrases of the item.
        count: How many at most.

    Returns:
        Responses as the check file has them, then readings (one as it is read back, and
        one other in several forms), then each command by the phrase that is taught. With too little room for all, each
        of the three gives up its last ones. Always the same for the same item.
    """
    kinds = (
        tuple(dict.fromkeys((*grammar.item.expect, *grammar.item.not_as_expected))),
        _example_readings(grammar),
        tuple(phrases[0] for phrases in grammar.language.commands.values() if phrases),
    )
    turns = [
        (kind, phrase)
        for turn in zip_longest(*kinds)
        for kind, phrase in enumerate(turn)
        if phrase is not None
    ][: max(count, 0)]
    return tuple(phrase for _, phrase in sorted(turns, key=lambda turn: turn[0]))


def _example_readings(grammar: ItemGrammar) -> tuple[str, ...]:
    """Give a reading in the readback's form with its unit, and another in several forms."""
    reading = grammar.item.reading
    if reading is None:
        return ()
    spoken_forms = grammar.language.spoken_forms
    units = grammar.language.unit_words.get(reading.unit, ())[:1]
    upper = _mark(reading.scale, Decimal("0.65"))
    read_back = (*spoken_forms(upper, reading.scale)[0], *units)
    return tuple(dict.fromkeys(map(" ".join, (read_back, *_varied(reading.scale, spoken_forms)))))


def _varied(
    scale: Scale, spoken_forms: Callable[[Decimal, Scale], tuple[Words, ...]]
) -> tuple[Words, ...]:
    """Give forms of one mark that differ in length, the shortest first.

    It is the mark that is said in most different words, among some that are spread
    over the scale; of each length it is the last form, since a pack gives plain digits
    first.
    """
    tried = (_mark(scale, Decimal(place) / _MARKS_TRIED) for place in range(_MARKS_TRIED))
    forms = max((spoken_forms(mark, scale) for mark in tried), key=_variety)
    by_length = {len(form): form for form in forms}
    return tuple(by_length[length] for length in sorted(by_length))


def _variety(forms: tuple[Words, ...]) -> tuple[int, int]:
    return len({word for form in forms for word in form}), len(forms)


def _mark(scale: Scale, share: Decimal) -> Decimal:
    """Give the mark at a share of the way up the scale."""
    quantum = Decimal(1).scaleb(-scale.places)
    return (scale.lowest + int(share * (len(scale) - 1)) * scale.step).quantize(quantum)
