"""How far to trust words of a grammar that were also heard without it.

An engine with a grammar forces other talk into a phrase, and is often quite sure of it.
Heard once more with every word of the model allowed, the same sound comes out as what it
is most like. The spelling need not agree ("sixty four" and "sixty for" are alike): the
two are compared by how they sound. That and what the engine says of
its own words are weighed together by a logistic model; its weights are data
(``open_vocabulary.json``), fitted by ``python -m voiceflow.evaluation.vosk_training``.

The only model there was to fit with is Korean, and the only Korean speech a robotic
voice, of which it understands less than half. No measure depends on a language; how well
the weights suit people, and other models, is not known.

No engine here.
"""

import json
import math
import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray
from rapidfuzz.distance import Levenshtein

from voiceflow.grammar.item_grammar import ItemGrammar, spoken_figures
from voiceflow.grammar.meaning import Ambiguous, Correction, NoMatch
from voiceflow.phraseology.language import Language, Words
from voiceflow.recognition.evidence import uncovered
from voiceflow.understanding.hypothesis import Hypothesis, WordHypothesis
from voiceflow.understanding.interpret import interpret

#: More differences than this many for each phone count no more.
_MOST_MISMATCH: Final = 2.0
#: A phone lasts about so long, seconds; the median of right answers of the robotic voices.
_USUAL_PHONE_S: Final = 0.08
_FIGURES: Final = re.compile(r"\d+(\.\d+)?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Measures of one utterance that was heard with the grammar and without.

    Attributes:
        mismatch: Phones (letters, where not all phones are known) to be changed, added or
            dropped from what the grammar heard to what was heard without, for each phone
            of the grammar's words; 0 to 2.
        number_mismatch: ``mismatch`` where the words are a number (or hold one, after
            "correction"), else 0: numbers are much more alike than phrases.
        doubt: 1 - the engine's own confidence in the word it is least sure of, 0 to 1.
        unknown: Part of the time of all words that the grammar heard nothing it knows
            in, 0 to 1.
        brevity: 10 / phones of the grammar's words: other talk fits few phones easily.
        drawl: Natural log of how many times longer than 0.08 s a phone of the slowest
            word lasts; 0 below.
        haste: Natural log of how many times shorter than 0.08 s a phone of the fastest
            word lasts; 0 above.
        uncovered: Part of the speech that lies in no word, 0 to 1.
    """

    mismatch: float
    number_mismatch: float
    doubt: float
    unknown: float
    brevity: float
    drawl: float
    haste: float
    uncovered: float


MEASURES = tuple(field.name for field in fields(Comparison))


def compare(
    words: Sequence[WordHypothesis],
    free: Sequence[str],
    language: Language,
    loudness: NDArray[np.float64],
    times_s: NDArray[np.float64],
    *,
    unknown_s: float,
    is_reading: bool,
    is_asked: bool,
) -> Comparison | None:
    """Measure an utterance.

    Args:
        words: What the grammar heard, with times; scores are the engine's confidence.
        free: What was heard with every word allowed, as ``plain_words`` gives it.
        language: Its phones are compared.
        loudness: Power over the noise of each piece of the sound.
        times_s: Its middle, on the clock of the words; the same shape.
        unknown_s: Seconds in which the grammar heard nothing it knows.
        is_reading: Whether the words are or hold a number.
        is_asked: Whether what was heard without the grammar will be asked about in any
            case, beside the words: then that it differs counts no more.

    Returns:
        None if the grammar heard no words that last.
    """
    lengths_s = [word.end_s - word.start_s for word in words]
    if sum(lengths_s) <= 0:
        return None
    heard, other = sounds([word.word for word in words], free, language)
    mismatch = min(_MOST_MISMATCH, Levenshtein.distance(heard, other) / len(heard))
    if is_asked:
        mismatch = 0.0
    phones_s = [
        max(length_s, 0.01) / max(1, len(sounds([word.word], (), language)[0]))
        for word, length_s in zip(words, lengths_s, strict=True)
    ]
    return Comparison(
        mismatch=mismatch,
        number_mismatch=mismatch if is_reading else 0.0,
        doubt=1.0 - min(max(0.0, min(1.0, word.score or 0.0)) for word in words),
        unknown=unknown_s / (unknown_s + sum(lengths_s)),
        brevity=10 / len(heard),
        drawl=max(0.0, math.log(max(phones_s) / _USUAL_PHONE_S)),
        haste=max(0.0, -math.log(min(phones_s) / _USUAL_PHONE_S)),
        uncovered=uncovered(words, loudness, times_s),
    )


def with_rival(
    hypothesis: Hypothesis, free: Words, grammar: ItemGrammar
) -> tuple[Hypothesis, bool]:
    """Add what was heard without the grammar as an alternative, if it is a phrase of it.

    Args:
        hypothesis: What the grammar heard.
        free: What was heard with every word allowed, as ``plain_words`` gives it.
        grammar: The item's.

    Returns:
        The hypothesis, and whether both will be asked about, because they mean
        different things.
    """
    language = grammar.language
    if free == hypothesis.words:
        return hypothesis, False
    if isinstance(interpret(replace(hypothesis, words=free), grammar, language), NoMatch):
        return hypothesis, False
    best = interpret(hypothesis, grammar, language)
    doubted = replace(hypothesis, alternatives=(free,))
    both = interpret(doubted, grammar, language)
    return doubted, both != best and isinstance(both, Ambiguous | Correction)


def plain_words(text: str, language: Language) -> Words:
    """Give what an engine wrote in the words of a grammar: figures as they are said."""
    words: list[str] = []
    for word in language.tokenise(text):
        if _FIGURES.fullmatch(word):
            words.extend(next(iter(spoken_figures(word, None, language)), (word,)))
        else:
            words.append(word)
    return tuple(words)


def sounds(one: Sequence[str], other: Sequence[str], language: Language) -> tuple[Words, Words]:
    """Give what two word sequences sound like, so that they can be compared.

    Returns:
        The phones of each, in each word's first pronunciation; where the pack does not
        know those of some word, the letters of both instead, Hangul taken apart.
    """
    known = [[language.phones(word) for word in words] for words in (one, other)]
    if all(ways for words in known for ways in words):
        first, second = (tuple(phone for ways in words for phone in ways[0]) for words in known)
        return first, second
    return _letters(one), _letters(other)


def _letters(words: Iterable[str]) -> Words:
    return tuple(unicodedata.normalize("NFD", "".join(words)).casefold())


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparisonModel:
    """A logistic model over the measures.

    Attributes:
        offset: Constant, in natural log odds.
        weights: Log odds for one unit of each measure.
    """

    offset: float
    weights: Mapping[str, float]

    def confidence(self, measured: Comparison | None) -> float:
        """Give 0 to 1: how likely it is that the words were said; 0 without measures."""
        if measured is None:
            return 0.0
        odds = self.offset + sum(
            weight * getattr(measured, measure) for measure, weight in self.weights.items()
        )
        return 1.0 / (1.0 + math.exp(-max(-50.0, min(50.0, odds))))


@cache
def shipped_model() -> ComparisonModel:
    """Give the model that comes with the program."""
    place = files("voiceflow.recognition").joinpath("open_vocabulary.json")
    found = json.loads(place.read_text(encoding="utf-8"))
    weights = {measure: float(found["weights"][measure]["value"]) for measure in MEASURES}
    return ComparisonModel(
        offset=float(found["offset"]["value"]), weights=MappingProxyType(weights)
    )
