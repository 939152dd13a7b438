"""An item's grammar as a finite-state grammar with one final state, for PocketSphinx."""

from dataclasses import dataclass

from voiceflow.grammar.item_grammar import ItemGrammar
from voiceflow.grammar.pruning import prune

Transition = tuple[int, int, float, str | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class FiniteStateGrammar:
    """A grammar in the form that finite-state decoders take.

    Attributes:
        start: The start state.
        final: The one final state; nothing leads out of it.
        states: How many states there are, numbered from 0.
        transitions: (from, to, probability, word); the word is None where none is
            said. Every probability is 1: shared evenly among the arcs of a state
            they made recognition no better when measured.
    """

    start: int
    final: int
    states: int
    transitions: tuple[Transition, ...]


def to_fsg(grammar: ItemGrammar, without: frozenset[str] = frozenset()) -> FiniteStateGrammar:
    """Give the whole language of an item, hesitations and corrections included.

    Args:
        grammar: The item's grammar.
        without: Words that the decoder cannot hear: every phrase with one of them is
            left out, and no other.
    """
    final = grammar.states
    arcs = prune(grammar.arcs, grammar.finals, without)
    said: list[Transition] = [(arc.source, arc.target, 1.0, arc.word) for arc in arcs]
    silent: list[Transition] = [(state, final, 1.0, None) for state in sorted(grammar.finals)]
    return FiniteStateGrammar(
        start=grammar.start,
        final=final,
        states=final + 1,
        transitions=(*said, *silent),
    )
