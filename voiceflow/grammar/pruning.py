"""A grammar without the phrases that hold certain words."""

from collections.abc import Iterable

from voiceflow.grammar.item_grammar import Arc


def prune(arcs: Iterable[Arc], finals: frozenset[int], without: frozenset[str]) -> tuple[Arc, ...]:
    """Leave out every phrase with one of some words, and no other.

    Arcs from which no end can be reached any more go too: a decoder could get stuck
    there.

    Args:
        arcs: Of a grammar.
        finals: Its states in which a phrase is complete.
        without: The words.
    """
    left = tuple(arc for arc in arcs if arc.word not in without)
    if not without:
        return left
    into: dict[int, list[int]] = {}
    for arc in left:
        into.setdefault(arc.target, []).append(arc.source)
    alive = set(finals)
    waiting = sorted(finals)
    while waiting:
        for state in into.get(waiting.pop(), ()):
            if state not in alive:
                alive.add(state)
                waiting.append(state)
    return tuple(arc for arc in left if arc.target in alive)
