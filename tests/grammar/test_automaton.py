from collections.abc import Set as AbstractSet

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voiceflow.grammar.automaton import Automaton, Words, minimal

phrase_sets = st.frozensets(
    st.lists(st.sampled_from(("a", "b", "c")), max_size=5).map(tuple), max_size=40
)


def right_language(automaton: Automaton, state: int) -> frozenset[Words]:
    """All that can follow a state, listed without the automaton's own help."""
    ends: set[Words] = {()} if state in automaton.finals else set()
    for word, move in automaton.moves[state].items():
        ends.update((word, *rest) for rest in right_language(automaton, move.target))
    return frozenset(ends)


def brute_force_states(phrases: AbstractSet[Words]) -> int:
    """Number of states of the minimal automaton: distinct right languages of prefixes
    (Myhill and Nerode)."""
    prefixes = {phrase[:size] for phrase in phrases for size in range(len(phrase) + 1)} | {()}
    return len(
        {
            frozenset(
                phrase[len(prefix) :] for phrase in phrases if phrase[: len(prefix)] == prefix
            )
            for prefix in prefixes
        }
    )


@given(phrase_sets)
def test_it_holds_the_phrases_and_numbers_them_in_order(phrases: frozenset[Words]) -> None:
    automaton = minimal(phrases)
    ordered = sorted(phrases)
    assert list(automaton.phrases()) == ordered
    assert len(automaton) == len(ordered)
    for number, phrase in enumerate(ordered):
        assert automaton.number(phrase) == number
        assert automaton.phrase(number) == phrase


@given(phrase_sets, st.lists(st.sampled_from(("a", "b", "c")), max_size=6).map(tuple))
def test_it_holds_nothing_else(phrases: frozenset[Words], words: Words) -> None:
    assert (minimal(phrases).number(words) is not None) == (words in phrases)


@given(phrase_sets)
def test_no_two_states_can_be_followed_by_the_same_words(phrases: frozenset[Words]) -> None:
    automaton = minimal(phrases)
    languages = [right_language(automaton, state) for state in range(len(automaton.moves))]
    assert len(set(languages)) == len(languages) == brute_force_states(phrases)
    assert [len(found) for found in languages] == list(automaton.counts)


def test_repetitions_count_once_and_order_does_not_matter() -> None:
    forwards = minimal([("one", "six"), ("one",), ("one", "six")])
    backwards = minimal([("one",), ("one", "six")])
    assert forwards == backwards
    assert len(forwards) == 2


@pytest.mark.parametrize("number", [-1, 2])
def test_a_place_that_does_not_exist_is_refused(number: int) -> None:
    with pytest.raises(IndexError, match="of 2"):
        minimal([("on",), ("off",)]).phrase(number)
