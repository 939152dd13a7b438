"""Words -> values as a run has it: through the grammar of an item with that gauge."""

from collections.abc import Sequence
from decimal import Decimal
from functools import lru_cache

from tests.builders import make_gauge
from voiceflow.grammar.item_grammar import ItemGrammar, compile_item
from voiceflow.grammar.meaning import Ambiguous, Reading
from voiceflow.languages.registry import language
from voiceflow.numbers.scale import Scale


@lru_cache(maxsize=32)
def listening(scale: Scale) -> ItemGrammar:
    """Give what listens at a gauge, in English."""
    return compile_item(make_gauge(scale=scale), language("en"))


def understood(words: Sequence[str], scale: Scale) -> tuple[Decimal, ...]:
    """Give every value that the words mean at this gauge: none, one, or several."""
    meaning = listening(scale).meaning(words)
    options = meaning.options if isinstance(meaning, Ambiguous) else (meaning,)
    return tuple(option.value for option in options if isinstance(option, Reading))
