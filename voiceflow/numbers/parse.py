"""Words -> the values that they can mean on a scale: none, one, or several.

The way back is the way out turned round: every value's spoken forms, looked up by
their words. So nothing is understood that is not said, and no form is written twice.
The words themselves come from a language pack's ``spoken_forms``.
"""

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from functools import lru_cache
from types import MappingProxyType

from voiceflow.numbers.scale import Scale

SpokenForms = Callable[[Decimal, Scale], tuple[tuple[str, ...], ...]]

#: Indexes kept: more than one check has gauges, small enough for a few dozen MB.
INDEXES_KEPT = 16


@lru_cache(maxsize=INDEXES_KEPT)
def spoken_index(
    scale: Scale, spoken_forms: SpokenForms
) -> Mapping[tuple[str, ...], tuple[Decimal, ...]]:
    """Give every word sequence of a scale with the values that it can mean.

    Args:
        scale: The marks of the gauge.
        spoken_forms: A language pack's forms of a value (``Language.spoken_forms``).

    Returns:
        Read-only: words -> values in rising order, at least one.
    """
    index: dict[tuple[str, ...], tuple[Decimal, ...]] = {}
    for value in scale.values():
        for words in dict.fromkeys(spoken_forms(value, scale)):
            index[words] = (*index.get(words, ()), value)
    return MappingProxyType(index)


def parse_reading(
    words: Sequence[str], scale: Scale, spoken_forms: SpokenForms
) -> tuple[Decimal, ...]:
    """Give every value on the scale that these words can mean.

    Args:
        words: Lower-case words of one utterance, units already removed, one word a
            token ("thirty", "five").
        scale: The marks of the gauge.
        spoken_forms: A language pack's forms of a value (``Language.spoken_forms``).

    Returns:
        Values in rising order: none if nobody would say this, several if it is
        ambiguous (the dialogue then asks; it never picks).
    """
    return spoken_index(scale, spoken_forms).get(tuple(words), ())


def ambiguous_forms(
    scale: Scale, spoken_forms: SpokenForms
) -> Mapping[tuple[str, ...], tuple[Decimal, ...]]:
    """Give the word sequences that fit more than one value of the scale.

    Args:
        scale: The marks of the gauge.
        spoken_forms: A language pack's forms of a value (``Language.spoken_forms``).
    """
    return {
        words: values
        for words, values in spoken_index(scale, spoken_forms).items()
        if len(values) > 1
    }
