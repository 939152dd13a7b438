"""Automata joined into one network, and the network made deterministic.

A network is how a grammar is written down: parts, joined by silent steps, with what
each end means. It is run directly for meanings (several paths can carry the same
words), and made deterministic and minimal for everything that only asks which
words can follow. What an item's network looks like is decided in ``item_grammar.py``.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from voiceflow.grammar.automaton import Automaton, Register, Words


class Step(NamedTuple):
    """Where a word leads in the network.

    Attributes:
        target: The state after the word.
        weight: What it adds to the number of the phrase within its part.
        restart: What was said before counts no more.
        aside: The word is no part of a plain phrase (hesitation, correction).
        idle: The word adds nothing to what is said (hesitation).
    """

    target: int
    weight: int
    restart: bool = False
    aside: bool = False
    idle: bool = False


class Network:
    """A nondeterministic automaton under construction; states are numbered from 0."""

    def __init__(self) -> None:
        self._steps: list[dict[str, list[Step]]] = []
        self._silent: list[list[int]] = []
        self._closures: dict[int, tuple[int, ...]] = {}

    def state(self) -> int:
        """Add a state."""
        self._steps.append({})
        self._silent.append([])
        return len(self._steps) - 1

    def join(self, source: int, target: int) -> None:
        """Let a state be followed by another with no word between them.

        Silent joins must not form a ring.
        """
        self._silent[source].append(target)

    def phrase(
        self,
        source: int,
        words: Words,
        target: int,
        *,
        restart: bool = False,
        aside: bool = False,
        idle: bool = False,
    ) -> None:
        """Add a path of at least one word; only its first word can be a restart."""
        state = source
        for place, word in enumerate(words):
            after = target if place == len(words) - 1 else self.state()
            step = Step(after, 0, restart and place == 0, aside or idle, idle)
            self._steps[state].setdefault(word, []).append(step)
            state = after

    def embed(self, part: Automaton, source: int, target: int) -> None:
        """Add a copy of an automaton between two states, with its weights."""
        offset = len(self._steps)
        for _ in part.moves:
            self.state()
        for state, moves in enumerate(part.moves):
            self._steps[offset + state] = {
                word: [Step(offset + move.target, move.weight)] for word, move in moves.items()
            }
        self.join(source, offset + part.start)
        for state in sorted(part.finals):
            self.join(offset + state, target)

    def closure(self, state: int) -> tuple[int, ...]:
        """Give the state and all that follow it silently, in a fixed order."""
        found = self._closures.get(state)
        if found is None:
            found = tuple(
                dict.fromkeys(
                    [state]
                    + [after for target in self._silent[state] for after in self.closure(target)]
                )
            )
            self._closures[state] = found
        return found

    def run(self, start: int, words: Iterable[str]) -> tuple[tuple[int, int], ...]:
        """Follow the words along every path.

        Returns:
            The states reached, each with the number of its phrase; once each, in a
            fixed order.
        """
        threads = {(state, 0): None for state in self.closure(start)}
        for word in words:
            threads = {
                (after, step.weight + (0 if step.restart else number)): None
                for state, number in threads
                for step in self._steps[state].get(word, ())
                for after in self.closure(step.target)
            }
        return tuple(threads)

    def moves(
        self, states: Iterable[int], *, idle: bool = True
    ) -> dict[tuple[str, bool], tuple[int, ...]]:
        """Give what can follow a set of states, with idle words or without.

        Returns:
            (word, whether it only leads to a restart) -> the set of states after it,
            silent joins followed, rising; sorted by word.
        """
        targets: dict[str, set[int]] = {}
        onward: set[str] = set()
        for state in states:
            for word, steps in self._steps[state].items():
                for step in steps:
                    if idle or not step.idle:
                        targets.setdefault(word, set()).update(self.closure(step.target))
                        if not step.restart:
                            onward.add(word)
        return {
            (word, word not in onward): tuple(sorted(targets[word])) for word in sorted(targets)
        }

    def plain_automaton(self, start: int, finals: frozenset[int]) -> Automaton:
        """Give the minimal automaton of the phrases without asides.

        Without asides the network must be acyclic.
        """
        register = Register()
        known: dict[frozenset[int], int] = {}

        def state(states: frozenset[int]) -> int:
            found = known.get(states)
            if found is None:
                targets: dict[str, set[int]] = {}
                for source in states:
                    for word, steps in self._steps[source].items():
                        for step in steps:
                            if not step.aside:
                                targets.setdefault(word, set()).update(self.closure(step.target))
                found = register.state(
                    final=not finals.isdisjoint(states),
                    arcs=[(word, state(frozenset(targets[word]))) for word in sorted(targets)],
                )
                known[states] = found
            return found

        return register.automaton(state(frozenset(self.closure(start))))

    def acceptor(self, start: int, finals: frozenset[int], *, idle: bool = True) -> "Acceptor":
        """Make the network deterministic and minimal, with idle words or without."""
        first = tuple(sorted(self.closure(start)))
        places = {first: 0}
        order = [first]
        rows: list[dict[tuple[str, bool], int]] = []
        for states in order:  # grows while it is walked
            row: dict[tuple[str, bool], int] = {}
            for label, targets in self.moves(states, idle=idle).items():
                if targets not in places:
                    places[targets] = len(order)
                    order.append(targets)
                row[label] = places[targets]
            rows.append(row)
        ends = [not finals.isdisjoint(states) for states in order]
        return _minimised(rows, ends)


@dataclass(frozen=True, slots=True, kw_only=True)
class Acceptor:
    """A minimal deterministic automaton; state 0 is the start.

    Attributes:
        finals: States in which a phrase is complete.
        moves: For each state, word -> the state after it, in rising order of words.
        restarts: For each state, the words that can only start anew ("correction").
    """

    finals: frozenset[int]
    moves: tuple[Mapping[str, int], ...]
    restarts: tuple[frozenset[str], ...]

    def run(self, words: Sequence[str]) -> int | None:
        """Give the state after the words; None if no phrase begins so."""
        state = 0
        for word in words:
            after = self.moves[state].get(word)
            if after is None:
                return None
            state = after
        return state


def _minimised(rows: Sequence[Mapping[tuple[str, bool], int]], ends: Sequence[bool]) -> Acceptor:
    """Merge states that the same words can follow (Moore's refinement).

    Every state must lead to an end, as those of a network of phrases do: then a
    missing arc alone tells two states apart.
    """
    blocks: list[int] = [int(end) for end in ends]
    size = len(set(blocks))
    while True:
        signatures: dict[tuple[int, tuple[tuple[tuple[str, bool], int], ...]], int] = {}
        blocks = [
            signatures.setdefault(
                (
                    blocks[state],
                    tuple((label, blocks[target]) for label, target in row.items()),
                ),
                len(signatures),
            )
            for state, row in enumerate(rows)
        ]
        if len(signatures) == size:
            break
        size = len(signatures)
    # blocks are numbered in the order of their first state, so the start is 0
    first = [blocks.index(block) for block in range(size)]
    return Acceptor(
        finals=frozenset(block for block, state in enumerate(first) if ends[state]),
        moves=tuple(
            {word: blocks[target] for (word, _), target in rows[state].items()} for state in first
        ),
        restarts=tuple(
            frozenset(word for word, restart in rows[state] if restart) for state in first
        ),
    )
