"""An item's grammar as a list of phrases, for recognisers that make word pairs of it.

Vosk makes a bigram model of the phrases that it is given (from memory of its source;
seen: it answers with mixtures of them): what counts is which word can follow which,
and how often the list says so. The whole language of a gauge would
say "stand by" once among ten thousands of readings, and so all but forbid it. The
list is therefore the shortest that a simple search finds in which every pair of
neighbouring words of the language occurs, first and last words included: each pair is
then about as likely as any other.

Such a recogniser can put together what is no phrase. ``ItemGrammar.meaning`` decides.
"""

from collections import deque
from collections.abc import Iterator

from voiceflow.grammar.automaton import Words
from voiceflow.grammar.item_grammar import Arc, ItemGrammar
from voiceflow.grammar.pruning import prune

#: Stands before the first and after the last word.
_EDGE = ""


def to_phrase_list(grammar: ItemGrammar, without: frozenset[str] = frozenset()) -> tuple[str, ...]:
    """Give phrases that hold every pair of neighbouring words of an item's language.

    Args:
        grammar: The item's grammar.
        without: Words that the recogniser cannot hear: no phrase with one of them is
            given, and the pairs are those of the phrases that are left.

    Returns:
        Phrases, once each, in a fixed order, the words parted by one space: phrases of
        the language, corrections among them, then each hesitation on its own.
    """
    hesitations = [words for words in grammar.hesitations if without.isdisjoint(words)]
    covering = _Cover(grammar, without).phrases()
    return tuple(dict.fromkeys(" ".join(words) for words in (*covering, *hesitations)))


class _Cover:
    """Walks an item's automaton until every pair of words has been said."""

    def __init__(self, grammar: ItemGrammar, without: frozenset[str]) -> None:
        # a hesitation could stand before anything: it is listed once, on its own
        acceptor = grammar.fluent()
        arcs = (
            Arc(source=state, target=target, word=word, restart=word in restarts)
            for state, (moves, restarts) in enumerate(
                zip(acceptor.moves, acceptor.restarts, strict=True)
            )
            for word, target in moves.items()
        )
        self._out: list[list[Arc]] = [[] for _ in acceptor.moves]
        for arc in prune(arcs, acceptor.finals, without):
            self._out[arc.source].append(arc)
        self._finals = acceptor.finals
        self._start = 0
        self._entry = self._shortest_entries()
        self._exit = self._shortest_exits()
        self._said: set[tuple[str, str]] = set()

    def phrases(self) -> Iterator[Words]:
        """Give phrases until no pair is left."""
        for state in self._order:
            for last in self._entry[state]:
                if state in self._finals and (last, _EDGE) not in self._said:
                    yield self._note(self._prefix(state, last))
                for arc in self._out[state]:
                    if (last, arc.word) not in self._said:
                        yield self._note(self._walk(state, last, arc))

    def _shortest_entries(self) -> list[dict[str, Arc | None]]:
        """Give for each state and each word that leads to it the arc first found."""
        entry: list[dict[str, Arc | None]] = [{} for _ in self._out]
        entry[self._start][_EDGE] = None
        self._order = [self._start]
        for state in self._order:  # grows while it is walked
            for arc in self._out[state]:
                if not entry[arc.target]:
                    self._order.append(arc.target)
                entry[arc.target].setdefault(arc.word, arc)
        return entry

    def _shortest_exits(self) -> list[Arc | None]:
        """Give for each state the first arc of a shortest way to an end."""
        into: list[list[Arc]] = [[] for _ in self._out]
        for arcs in self._out:
            for arc in arcs:
                into[arc.target].append(arc)
        ways: list[Arc | None] = [None] * len(self._out)
        seen = set(self._finals)
        queue = deque(sorted(self._finals))
        while queue:
            for arc in into[queue.popleft()]:
                if arc.source not in seen:
                    seen.add(arc.source)
                    ways[arc.source] = arc
                    queue.append(arc.source)
        return ways

    def _prefix(self, state: int, last: str) -> list[str]:
        """Give a short way from the start to a state, the last word given."""
        words: list[str] = []
        arc = self._entry[state][last]
        while arc is not None:
            words.append(arc.word)
            arc = next(iter(self._entry[arc.source].values()))
        words.reverse()
        return words

    def _walk(self, state: int, last: str, arc: Arc) -> list[str]:
        """Give a phrase through an arc that goes on by pairs not yet said.

        It corrects itself at that arc or not at all, lest one phrase hold them all.
        """
        words = self._prefix(state, last)
        fresh = {(last, arc.word)}
        step: Arc | None = arc
        while step is not None:
            words.append(step.word)
            state = step.target
            step = next(
                (
                    onward
                    for onward in self._out[state]
                    if not onward.restart
                    and (words[-1], onward.word) not in self._said
                    and (words[-1], onward.word) not in fresh
                ),
                None if state in self._finals else self._exit[state],
            )
            if step is not None:
                fresh.add((words[-1], step.word))
        return words

    def _note(self, words: list[str]) -> Words:
        pairs = zip((_EDGE, *words), (*words, _EDGE), strict=True)
        self._said.update(pairs)
        return tuple(words)
