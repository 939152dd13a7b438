"""The phrase nearest to words that were no phrase, for "did you mean".

Only ever asked about, never taken as said. Readings are not suggested at all: a
number near to what was said is a wrong number.
"""

from collections.abc import Callable, Sequence
from decimal import Decimal
from functools import lru_cache

from rapidfuzz import fuzz, process

from voiceflow.grammar.item_grammar import ItemGrammar
from voiceflow.numbers.scale import Scale
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.language import Language

#: Least likeness, 0 to 100 (Indel ratio of the texts): one wrong letter in a word of
#: seven gives 86, one word too many among three short ones about 80; two unrelated
#: phrases rarely reach 60.
LEAST_LIKENESS = 72.0

#: Commands that are no way on from words that were not understood: they take back what
#: went before, answer a question that may not be open, or change nothing.
NEVER_SUGGESTED = frozenset(
    {
        CommandName.CORRECTION,
        CommandName.DISREGARD,
        CommandName.AFFIRM,
        CommandName.NEGATIVE,
        CommandName.CONTINUE,
        CommandName.ROGER,
        CommandName.WILCO,
    }
)

#: Marks whose spoken forms hold the words that numbers are made of.
_COUNTED = tuple(Decimal(value) for value in (*range(21), *range(30, 100, 10), 100, 1000))


def nearest_phrase(words: Sequence[str], grammar: ItemGrammar, language: Language) -> str | None:
    """Give the response or command of the item that is most like the words.

    Args:
        words: What was heard or typed.
        grammar: The phrases of the item that listens.
        language: The pack the grammar was compiled with.

    Returns:
        The response as the check file has it or the command as the pack has it; None
        if nothing is near, or if the nearest holds a number that was not said.
    """
    item = grammar.item
    candidates = [
        *item.expect,
        *item.not_as_expected,
        *(
            phrase
            for name, phrases in language.commands.items()
            if name not in NEVER_SUGGESTED
            for phrase in phrases
        ),
    ]
    numbers = _number_words(language.spoken_forms)
    said = set(words)
    allowed: dict[str, str] = {}
    for phrase in candidates:
        spoken = language.tokenise(phrase)
        if all(word in said or not _is_number(word, numbers) for word in spoken):
            allowed.setdefault(" ".join(spoken), phrase)
    found = process.extractOne(
        " ".join(words), list(allowed), scorer=fuzz.ratio, score_cutoff=LEAST_LIKENESS
    )
    return None if found is None else allowed[found[0]]


def _is_number(word: str, numbers: frozenset[str]) -> bool:
    return word in numbers or any(letter.isdigit() for letter in word)


@lru_cache(maxsize=8)
def _number_words(
    spoken_forms: Callable[[Decimal, Scale], tuple[tuple[str, ...], ...]],
) -> frozenset[str]:
    """Give the words that a language makes numbers of."""
    scale = Scale(lowest=Decimal(0), highest=_COUNTED[-1], step=Decimal(1))
    return frozenset(
        word for value in _COUNTED for form in spoken_forms(value, scale) for word in form
    )
