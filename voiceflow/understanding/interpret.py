"""From a hypothesis to what it means at the item that listens.

Nothing is taken by likeness: words are a phrase of the item's language, or they mean
nothing and at most suggest a question ("did you mean").
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TypeVar

from voiceflow.grammar.item_grammar import ItemGrammar, spoken_figures
from voiceflow.grammar.meaning import (
    Ambiguous,
    Answer,
    Command,
    Correction,
    Meaning,
    NoMatch,
    Reading,
    Response,
)
from voiceflow.numbers.scale import Scale
from voiceflow.phraseology.language import Language
from voiceflow.understanding.hypothesis import Hypothesis
from voiceflow.understanding.near_miss import nearest_phrase

_Choice = Response | Reading | Command
_Option = TypeVar("_Option", bound=_Choice)

#: The engine whose words may hold figures, since they come from a keyboard.
TYPED = "typed"

_FIGURES = re.compile(r"[-+]?(\d+(\.\d+)?|\.\d+)")


def interpret(hypothesis: Hypothesis, grammar: ItemGrammar, language: Language) -> Meaning:
    """Give what a hypothesis means at an item.

    Args:
        hypothesis: What the engine believes was said. Its alternatives can only cast
            doubt on its best words: they are never taken in their place.
        grammar: The phrases of the item that listens.
        language: The pack the grammar was compiled with.

    Returns:
        The meaning of the words, hesitations among them left out; NoMatch, with the
        nearest response or command if one is near, when they are no phrase, and with what
        the alternatives would be as answers, to be asked about. Figures
        are numbers only where they were typed, and only if the gauge has that mark;
        after them the symbol of its unit is typed as the check file has it ("64 psi"),
        capitals or not. Where an alternative is a phrase too and means something else,
        both meanings, the best first, as Ambiguous (or as a Correction with both answers).
    """
    meaning = _interpret_words(hypothesis, hypothesis.words, grammar, language)
    others = [
        _interpret_words(hypothesis, words, grammar, language) for words in hypothesis.alternatives
    ]
    if isinstance(meaning, NoMatch):
        answers = [answer for other in others for answer in _answers(other)]
        return replace(meaning, alternatives=tuple(dict.fromkeys(answers)))
    for other in others:
        meaning = _either(meaning, other)
    return meaning


def _answers(meaning: Meaning) -> tuple[Answer, ...]:
    if isinstance(meaning, NoMatch | Correction):
        return ()
    return tuple(one for one in _options(meaning) if isinstance(one, Response | Reading))


def _either(best: Meaning, other: Meaning) -> Meaning:
    """Give both meanings where they differ in a way that changes the record or the course."""
    if isinstance(best, NoMatch) or isinstance(other, NoMatch):
        return best
    if isinstance(best, Correction) and isinstance(other, Correction):
        return Correction(
            this=_united(best.this, other.this), previous=_united(best.previous, other.previous)
        )
    if isinstance(best, Correction) or isinstance(other, Correction):
        # to say "correction" or not decides which answer stands: no prompt names that choice
        return NoMatch()
    options = _united(_options(best), _options(other))
    return best if options == _options(best) else Ambiguous(options=options)


def _options(meaning: Response | Reading | Command | Ambiguous) -> tuple[_Choice, ...]:
    return meaning.options if isinstance(meaning, Ambiguous) else (meaning,)


def _united(best: tuple[_Option, ...], others: tuple[_Option, ...]) -> tuple[_Option, ...]:
    """Add what is not there yet; of responses, a state that is not there yet."""
    states = {option.state for option in best if isinstance(option, Response)}
    more = (
        option
        for option in others
        if option not in best and not (isinstance(option, Response) and option.state in states)
    )
    return (*best, *more)


def _interpret_words(
    hypothesis: Hypothesis, words: Sequence[str], grammar: ItemGrammar, language: Language
) -> Meaning:
    plain = _without(words, grammar.hesitations)
    for said in dict.fromkeys((tuple(words), plain)):
        meaning = grammar.meaning(said)
        if not isinstance(meaning, NoMatch):
            return meaning
    if hypothesis.engine == TYPED and any(_FIGURES.fullmatch(word) for word in plain):
        return _typed_figures(plain, grammar, language)
    return NoMatch(suggestion=nearest_phrase(plain, grammar, language))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Typed:
    """What was typed in figures.

    Attributes:
        values: The figures.
        unit: The unit whose symbol was typed after them; None if there was none.
    """

    values: set[Decimal]
    unit: str | None

    def only(self, options: Iterable[_Option]) -> tuple[_Option, ...]:
        """Drop readings of another value or another unit than the typed one."""
        return tuple(
            option
            for option in options
            if not isinstance(option, Reading)
            or (option.value in self.values and self.unit in (None, option.unit))
        )


def _without(words: Sequence[str], hesitations: Iterable[tuple[str, ...]]) -> tuple[str, ...]:
    """Drop hesitations wherever they stand."""
    longest_first = sorted(hesitations, key=len, reverse=True)
    kept: list[str] = []
    place = 0
    while place < len(words):
        for hesitation in longest_first:
            if tuple(words[place : place + len(hesitation)]) == hesitation:
                place += len(hesitation)
                break
        else:
            kept.append(words[place])
            place += 1
    return tuple(kept)


def _typed_figures(words: tuple[str, ...], grammar: ItemGrammar, language: Language) -> Meaning:
    """Understand words with figures as if the figures had been said.

    They may be a reading of this item, a reading of the item answered last (after
    "correction"), or part of a response ("flaps 15"). The words for a number can mean
    more than the number ("two nine nine two" in inches); figures mean only themselves.
    """
    values = {Decimal(word) for word in words if _FIGURES.fullmatch(word)}
    gauges: list[tuple[Scale | None, str]] = [
        (item.reading.scale, item.reading.unit)
        for item in (grammar.item, grammar.previous)
        if item is not None and item.reading is not None
    ]
    options: dict[Response | Reading | Command, None] = {}
    this: dict[Response | Reading, None] = {}
    previous: dict[Response | Reading, None] = {}
    for scale, unit in dict.fromkeys((*gauges, (None, ""))):
        worded = _say_symbol(words, unit, language)
        said = _say_figures(worded, scale, language)
        meaning = NoMatch() if said is None else grammar.meaning(said)
        # two units can be said alike: a symbol means its own one only
        typed = _Typed(values=values, unit=unit if worded != words else None)
        if isinstance(meaning, Correction):
            this.update(dict.fromkeys(typed.only(meaning.this)))
            previous.update(dict.fromkeys(typed.only(meaning.previous)))
        elif isinstance(meaning, Ambiguous):
            options.update(dict.fromkeys(typed.only(meaning.options)))
        elif not isinstance(meaning, NoMatch):
            options.update(dict.fromkeys(typed.only((meaning,))))
    if len(options) > 1:
        return Ambiguous(options=tuple(options))
    if options:
        return next(iter(options))
    if this or previous:
        return Correction(this=tuple(this), previous=tuple(previous))
    return NoMatch(off_scale=_off_scale(words, grammar, language))


def _off_scale(words: tuple[str, ...], grammar: ItemGrammar, language: Language) -> Decimal | None:
    """Give the number that was typed as a reading of the item and is no mark of its gauge."""
    item = grammar.item
    if item.reading is None:
        return None
    unit = language.tokenise(item.reading.unit)
    if not _FIGURES.fullmatch(words[0]) or words[1:] not in ((), unit):
        return None
    value = Decimal(words[0])
    return None if value in item.reading.scale else value


def _say_symbol(words: tuple[str, ...], unit: str, language: Language) -> tuple[str, ...]:
    """Put words for a unit where its symbol follows figures.

    The symbol of a unit that nobody can say is left out: typed, it is plain enough.
    """
    symbol = language.tokenise(unit)
    if not symbol:
        return words
    spoken = language.tokenise(next(iter(language.unit_words.get(unit, ())), ""))
    said: list[str] = []
    place = 0
    while place < len(words):
        said.append(words[place])
        place += 1
        if _FIGURES.fullmatch(said[-1]) and words[place : place + len(symbol)] == symbol:
            said.extend(spoken)
            place += len(symbol)
    return tuple(said)


def _say_figures(
    words: Sequence[str], scale: Scale | None, language: Language
) -> tuple[str, ...] | None:
    """Put the words for the figures in their place; None if a figure has none."""
    said: list[str] = []
    for word in words:
        if _FIGURES.fullmatch(word):
            forms = spoken_figures(word, scale, language)
            if not forms:
                return None
            said.extend(forms[0])
        else:
            said.append(word)
    return tuple(said)
