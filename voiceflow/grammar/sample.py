"""Phrases out of an item's grammar: to show what can be said, and to test with."""

from collections.abc import Iterable, Iterator
from decimal import Decimal
from itertools import zip_longest

from voiceflow.grammar.automaton import Words
from voiceflow.grammar.item_grammar import ItemGrammar
from voiceflow.numbers.scale import Scale


def sample(grammar: ItemGrammar, count: int) -> tuple[str, ...]:
    """Give phrases that show what can be said at an item.

    Args:
        grammar: The phrases of the item.
        count: How many at most.

    Returns:
        Responses as the check file has them, then two readings in different forms, then
        each command by the phrase that is taught. With too little room for all, each
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


def random_phrases(grammar: ItemGrammar, draws: Iterable[float]) -> Iterator[Words]:
    """Give phrases, every one as likely as any other.

    Args:
        grammar: The phrases of the item; hesitations and corrections are not drawn.
        draws: Numbers from 0 up to, not including, 1, one for each phrase; chance is
            the caller's affair.
    """
    for draw in draws:
        yield grammar.phrase(int(draw * grammar.count))


def _example_readings(grammar: ItemGrammar) -> tuple[str, ...]:
    """Give a reading in the readback's form with its unit, and one in the last form."""
    reading = grammar.item.reading
    if reading is None:
        return ()
    spoken_forms = grammar.language.spoken_forms
    units = grammar.language.unit_words.get(reading.unit, ())[:1]
    upper = _mark(reading.scale, Decimal("0.65"))
    middle = _mark(reading.scale, Decimal("0.4"))
    return tuple(
        dict.fromkeys(
            (
                " ".join((*spoken_forms(upper, reading.scale)[0], *units)),
                " ".join(spoken_forms(middle, reading.scale)[-1]),
            )
        )
    )


def _mark(scale: Scale, share: Decimal) -> Decimal:
    """Give the mark at a share of the way up the scale."""
    quantum = Decimal(1).scaleb(-scale.places)
    return (scale.lowest + int(share * (len(scale) - 1)) * scale.step).quantize(quantum)
