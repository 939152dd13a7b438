from collections.abc import Callable
from itertools import product
from pathlib import Path

import pocketsphinx
import pytest
from hypothesis import given
from hypothesis import strategies as st
from rapidfuzz.distance import Levenshtein

from voiceflow.grammar.confusability import GAP_COST, phrase_distance
from voiceflow.languages.english.lexicon import read_lexicon
from voiceflow.languages.registry import language

PHONES: dict[str, tuple[tuple[str, ...], ...]] = {
    "a": (("A",),),
    "ab": (("A", "B"),),
    "ba": (("B", "A"), ("A",)),
    "abc": (("A", "B", "C"), ("A", "C"), ("C", "C", "C")),
    "silent": ((),),
}


def phones(word: str) -> tuple[tuple[str, ...], ...]:
    return PHONES.get(word, ())


def unlike(x: str, y: str) -> float:
    return 0.5 if {x, y} == {"A", "B"} else 1.0


def reference(a: list[str], b: list[str], substitution: int, gap: int) -> tuple[float, int]:
    """Least weighted Levenshtein distance over all pairs of pronunciations (rapidfuzz)."""

    def ways(words: list[str]) -> list[tuple[str, ...]]:
        return [sum(choice, ()) for choice in product(*(PHONES[word] for word in words))]

    least = min(
        Levenshtein.distance(x, y, weights=(gap, gap, substitution))
        for x in ways(a)
        for y in ways(b)
    )
    return least, max(min(map(len, ways(a))), min(map(len, ways(b))))


known_words = st.lists(st.sampled_from(("a", "ab", "ba", "abc")), min_size=1, max_size=4)


@given(known_words, known_words)
def test_it_is_the_least_edit_distance_over_all_pronunciations(a: list[str], b: list[str]) -> None:
    """Against rapidfuzz, every substitution at 1, in units of a quarter."""
    least, longest = reference(a, b, 4, round(4 * GAP_COST))
    found = phrase_distance(a, b, phones, lambda x, y: 1.0)
    assert found == pytest.approx(min(1.0, least / 4 / longest))


@given(known_words, known_words)
def test_it_is_a_share_and_order_does_not_matter(a: list[str], b: list[str]) -> None:
    distance = phrase_distance(a, b, phones, unlike)
    assert 0 <= distance <= 1
    assert distance == pytest.approx(phrase_distance(b, a, phones, unlike))
    assert phrase_distance(a, a, phones, unlike) == 0


@pytest.mark.parametrize(
    ("a", "b", "distance"),
    [
        ("", "", 0),
        ("silent", "silent", 0),  # no phones: the word stands for itself
        ("a", "", GAP_COST),
        ("a", "ba", 0),  # "ba" can be said as "a" is
        ("a b", "a", GAP_COST / 2),  # "b" is not known
        ("b", "b", 0),
        ("b", "c", 1),
        ("b", "a", 1),
        ("ab", "a a", 0.25),  # A and B are half alike
    ],
)
def test_worked_by_hand(a: str, b: str, distance: float) -> None:
    assert phrase_distance(a.split(), b.split(), phones, unlike) == pytest.approx(distance)


@pytest.fixture(scope="module")
def english() -> Callable[[str, str], float]:
    """English words as PocketSphinx's copy of the CMU dictionary has them."""
    path = Path(pocketsphinx.get_model_path("en-us/cmudict-en-us.dict"))
    pack = language("en")
    lexicon = read_lexicon(path.read_text(encoding="utf-8")) | dict(pack.pronunciations)

    def distance(a: str, b: str) -> float:
        words = pack.tokenise(a), pack.tokenise(b)
        assert lexicon.keys() >= {*words[0], *words[1]}
        return phrase_distance(*words, lexicon.__getitem__, pack.phone_distance)

    return distance


@pytest.mark.parametrize(
    ("near", "far"),
    [
        # common practice, no source: what is taken for each other on the radio
        (("forty", "fourteen"), ("forty", "ninety")),
        (("fifty", "fifteen"), ("fifty", "seventeen")),
        (("nine", "five"), ("nine", "six")),
    ],
)
def test_what_is_taken_for_each_other_is_nearer(
    english: Callable[[str, str], float], near: tuple[str, str], far: tuple[str, str]
) -> None:
    assert english(*near) < english(*far)


@pytest.mark.parametrize(
    ("a", "b"),
    [("two", "too"), ("four", "for"), ("read back", "red back"), ("stand by", "stand buy")],
)
def test_homophones_are_the_same(english: Callable[[str, str], float], a: str, b: str) -> None:
    """Words with a pronunciation in common in the CMU dictionary."""
    assert english(a, b) == 0
