"""Finite sets of phrases as minimal automata that number their phrases.

An automaton here is acyclic and deterministic, and no two of its states can be
followed by the same words. Its arcs carry weights that add up along a phrase to
the phrase's place in the sorted set, so that a plain tuple, indexed by that number,
says what each phrase means. What the phrases mean does not belong here.

Source:
    J. Daciuk, S. Mihov, B. W. Watson, R. E. Watson, Incremental construction of
    minimal acyclic finite-state automata, Computational Linguistics 26(1), 2000;
    C. L. Lucchesi, T. Kowaltowski, Applications of finite automata representing large
    vocabularies, Software: Practice and Experience 23(1), 1993 (numbering of phrases).
"""

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

Words = tuple[str, ...]


class Move(NamedTuple):
    """Where a word leads, and what it adds to the number of the phrase."""

    target: int
    weight: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Automaton:
    """A finite set of phrases, each with its number.

    Attributes:
        start: The start state.
        finals: States in which a phrase is complete.
        moves: For each state, word -> move, in rising order of words; every state
            stands after the states that it leads to.
        counts: For each state, how many phrases can follow it.
    """

    start: int
    finals: frozenset[int]
    moves: tuple[Mapping[str, Move], ...]
    counts: tuple[int, ...]

    def __len__(self) -> int:
        return self.counts[self.start]

    def number(self, words: Sequence[str]) -> int | None:
        """Give the place of a phrase in the sorted set, from 0; None if it is not in it."""
        state, number = self.start, 0
        for word in words:
            move = self.moves[state].get(word)
            if move is None:
                return None
            state = move.target
            number += move.weight
        return number if state in self.finals else None

    def phrase(self, number: int) -> Words:
        """Give the phrase at a place in the sorted set.

        Raises:
            IndexError: If there is no such place.
        """
        if not 0 <= number < len(self):
            msg = f"phrase {number} of {len(self)}"
            raise IndexError(msg)
        words: list[str] = []
        state = self.start
        while number or state not in self.finals:
            # the last arc whose weight is not above what is left
            arcs = list(self.moves[state].items())
            place = bisect_right(arcs, number, key=lambda arc: arc[1].weight) - 1
            word, move = arcs[place]
            words.append(word)
            number -= move.weight
            state = move.target
        return tuple(words)

    def phrases(self) -> Iterator[Words]:
        """Give every phrase once, sorted."""
        stack: list[tuple[int, Words]] = [(self.start, ())]
        while stack:
            state, words = stack.pop()
            if state in self.finals:
                yield words
            stack.extend(
                (move.target, (*words, word))
                for word, move in reversed(tuple(self.moves[state].items()))
            )


class Register:
    """Makes the states of automata, each only once (Daciuk's register).

    States are made from the end of the phrases to their start: a state that could be
    followed by the same words as an older one is the older one.
    """

    def __init__(self) -> None:
        self._states: dict[tuple[bool, tuple[tuple[str, int], ...]], int] = {}
        self._moves: list[dict[str, Move]] = []
        self._counts: list[int] = []

    def state(self, *, final: bool, arcs: Sequence[tuple[str, int]]) -> int:
        """Give the state with these arcs, an old one where there is one.

        Args:
            final: Whether a phrase is complete in it.
            arcs: Words in rising order, each with the state that it leads to.
        """
        key = (final, tuple(arcs))
        known = self._states.get(key)
        if known is not None:
            return known
        count = int(final)
        moves: dict[str, Move] = {}
        for word, target in arcs:
            moves[word] = Move(target, count)
            count += self._counts[target]
        state = len(self._moves)
        self._moves.append(moves)
        self._counts.append(count)
        self._states[key] = state
        return state

    def automaton(self, start: int) -> Automaton:
        """Give the automaton that begins in a state; nothing may be added after it."""
        return Automaton(
            start=start,
            finals=frozenset(state for (final, _), state in self._states.items() if final),
            moves=tuple(self._moves),
            counts=tuple(self._counts),
        )


def minimal(phrases: Iterable[Words]) -> Automaton:
    """Build the minimal automaton of a set of phrases; repetitions count once."""
    register = Register()
    # the path of the phrase before: states whose end is not yet known
    open_arcs: list[list[tuple[str, int]]] = [[]]
    open_final = [False]
    before: Words = ()

    def close(depth: int) -> None:
        for place in range(len(open_arcs) - 1, depth, -1):
            target = register.state(final=open_final.pop(), arcs=open_arcs.pop())
            open_arcs[-1].append((before[place - 1], target))

    for words in sorted(phrases):
        shared = 0
        for old, new in zip(before, words, strict=False):
            if old != new:
                break
            shared += 1
        close(shared)
        for _ in range(len(words) - shared):
            open_arcs.append([])
            open_final.append(False)
        open_final[-1] = True
        before = words
    close(0)
    return register.automaton(register.state(final=open_final[0], arcs=open_arcs[0]))
