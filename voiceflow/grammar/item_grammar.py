"""The phrase language that listens at one item: the one object with three uses.

From it come the recognisers' grammars (``fsg.py``, ``phrase_list.py``), the way
from words to meanings (``meaning``), and the answer to "what can I say?"
(``sample.py``). Nothing is written twice.

The language of an item, with * for any number of times and ? for perhaps::

    hesitation* command
    hesitation* answer (correction hesitation* answer)*       the last answer counts
    (hesitation* correction hesitation* answer-or-previous)*  once or more

    answer             = challenge? response | name? number unit?
    answer-or-previous = an answer of this item, or of the item answered last
"""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum
from functools import lru_cache
from itertools import product

from voiceflow.checks.model import Item
from voiceflow.grammar.automaton import Automaton, Words, minimal
from voiceflow.grammar.meaning import (
    Ambiguous,
    Answer,
    Command,
    Correction,
    Meaning,
    NoMatch,
    Reading,
    Response,
    ResponseState,
)
from voiceflow.grammar.network import Acceptor, Network
from voiceflow.numbers.scale import Scale
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.language import Language

_FIGURES = re.compile(r"\d+(\.\d+)?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Arc:
    """A transition of the deterministic grammar.

    Attributes:
        source: The state before the word.
        target: The state after it.
        word: What is said.
        restart: What was said before it counts no more (a correction in one breath).
    """

    source: int
    target: int
    word: str
    restart: bool = False


class _Branch(Enum):
    """Where in the item's language a phrase ends."""

    PLAIN = "plain"
    CORRECTS_THIS = "corrects-this"
    CORRECTS_PREVIOUS = "corrects-previous"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Outcome:
    """What the phrases that end in one state of the network mean.

    Attributes:
        branch: Where the state stands.
        meanings: Number of the phrase within its part -> its meanings.
    """

    branch: _Branch
    meanings: Sequence[tuple[Answer | Command, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Part:
    """A set of phrases with what each means, by number."""

    phrases: Automaton
    meanings: Sequence[tuple[Answer | Command, ...]]


class ItemGrammar:
    """Finite-state phrases with meanings for one item, given the item answered last.

    Attributes:
        item: The item that listens.
        previous: The item answered last, which "correction ..." may be about.
        language: The pack it was compiled with.
    """

    def __init__(self, item: Item, language: Language, previous: Item | None) -> None:
        self.item = item
        self.previous = previous
        self.language = language
        self._network = Network()
        self._outcomes: dict[int, _Outcome] = {}
        self._first = self._lay_out()
        finals = frozenset(self._outcomes)
        self._acceptor: Acceptor = self._network.acceptor(self._first, finals)
        self._plain: Automaton = self._network.plain_automaton(self._first, finals)
        self._arcs = tuple(
            Arc(source=state, target=target, word=word, restart=word in restarts)
            for state, (moves, restarts) in enumerate(
                zip(self._acceptor.moves, self._acceptor.restarts, strict=True)
            )
            for word, target in moves.items()
        )
        self._vocabulary = frozenset(arc.word for arc in self._arcs)

    @property
    def item_id(self) -> str:
        """The item that listens."""
        return self.item.id

    @property
    def previous_id(self) -> str | None:
        """The item answered last."""
        return None if self.previous is None else self.previous.id

    @property
    def start(self) -> int:
        """The start state."""
        return 0

    @property
    def finals(self) -> frozenset[int]:
        """States in which a phrase is complete."""
        return self._acceptor.finals

    @property
    def arcs(self) -> tuple[Arc, ...]:
        """Every transition, by rising source, then word; states are numbered from 0."""
        return self._arcs

    @property
    def states(self) -> int:
        """How many states there are."""
        return len(self._acceptor.moves)

    @property
    def vocabulary(self) -> frozenset[str]:
        """Every word that can be heard here, hesitations included."""
        return self._vocabulary

    @property
    def hesitations(self) -> tuple[Words, ...]:
        """What people say before an answer that means nothing."""
        return ways_to_say(self.language, self.language.hesitations)

    @property
    def count(self) -> int:
        """How many phrases there are, hesitations and corrections aside."""
        return len(self._plain)

    def meaning(self, words: Sequence[str]) -> Meaning:
        """Give what a complete phrase means; NoMatch if it is none."""
        found: dict[_Branch, dict[Answer | Command, None]] = {branch: {} for branch in _Branch}
        for state, number in self._network.run(self._first, words):
            outcome = self._outcomes.get(state)
            if outcome is not None:
                found[outcome.branch].update(dict.fromkeys(outcome.meanings[number]))
        plain = self._distinct(found[_Branch.PLAIN])
        if len(plain) > 1:
            return Ambiguous(options=plain)
        if plain:
            return plain[0]
        this = _answers(self._distinct(found[_Branch.CORRECTS_THIS]))
        previous = _answers(self._distinct(found[_Branch.CORRECTS_PREVIOUS]))
        if this or previous:
            return Correction(this=this, previous=previous)
        return NoMatch()

    def is_complete(self, words: Sequence[str]) -> bool:
        """Tell whether the words are a phrase."""
        return self._acceptor.run(words) in self._acceptor.finals

    def can_go_on(self, words: Sequence[str]) -> bool:
        """Tell whether the words can be followed by another word of the same phrase.

        A correction in one breath, which can follow every answer, does not count: no
        one would wait for it.
        """
        state = self._acceptor.run(words)
        return state is not None and len(self._acceptor.moves[state]) > len(
            self._acceptor.restarts[state]
        )

    def state_after(self, words: Sequence[str]) -> int | None:
        """Give the state after the words; None if no phrase begins so."""
        return self._acceptor.run(words)

    def onward(self, state: int) -> Iterator[tuple[str, int]]:
        """Give the words that can follow in a state and where each leads.

        A correction in one breath is left out, as in ``can_go_on``.
        """
        restarts = self._acceptor.restarts[state]
        for word, target in self._acceptor.moves[state].items():
            if word not in restarts:
                yield word, target

    def correction_end(self, words: Sequence[str]) -> int | None:
        """Give how many words end with the last "correction", in any way to say it, or None."""
        said = tuple(words)
        leads = ways_to_say(self.language, self.language.commands[CommandName.CORRECTION])
        return max(
            (
                end
                for lead in leads
                for end in range(len(lead), len(said) + 1)
                if said[end - len(lead) : end] == lead
            ),
            default=None,
        )

    def phrases(self) -> Iterator[Words]:
        """Give every phrase once, without hesitations and corrections, sorted."""
        return self._plain.phrases()

    def phrase(self, number: int) -> Words:
        """Give the phrase at a place in ``phrases``.

        Raises:
            IndexError: If ``number`` is not from 0 to ``count`` - 1.
        """
        return self._plain.phrase(number)

    def _distinct(self, meanings: Iterable[Answer | Command]) -> tuple[Answer | Command, ...]:
        """Drop responses that say the same of the item as another.

        With the challenge before it one response can be another in full ("removed" and
        "covers removed" at the covers): the one with more words was said, and there is
        nothing to ask about.
        """
        kept: dict[ResponseState | Answer | Command, Answer | Command] = {}
        for meaning in meanings:
            if isinstance(meaning, Response):
                rival = kept.setdefault(meaning.state, meaning)
                if isinstance(rival, Response) and self._length(meaning) > self._length(rival):
                    kept[meaning.state] = meaning
            else:
                kept[meaning] = meaning
        return tuple(kept.values())

    def _length(self, response: Response) -> int:
        return len(self.language.tokenise(response.phrase))

    def fluent(self) -> Acceptor:
        """Give the language without hesitations, corrections included, made when asked for."""
        return self._network.acceptor(self._first, frozenset(self._outcomes), idle=False)

    def _lay_out(self) -> int:
        """Write the language in the module's docstring down as a network."""
        network, language = self._network, self.language
        leads = ways_to_say(language, language.commands[CommandName.CORRECTION])
        first = self._opening()
        self._add(first, _commands(language), _Branch.PLAIN)
        anew = self._opening()
        network.join(first, anew)
        for end in self._add_answers(anew, self.item, _Branch.PLAIN):
            for lead in leads:
                network.phrase(end, lead, anew, restart=True, aside=True)
        corrected = self._opening()
        ends = self._add_answers(corrected, self.item, _Branch.CORRECTS_THIS)
        if self.previous is not None:
            ends += self._add_answers(corrected, self.previous, _Branch.CORRECTS_PREVIOUS)
        if ends:
            for lead in leads:
                network.phrase(first, lead, corrected, aside=True)
        for end in ends:
            for lead in leads:
                network.phrase(end, lead, corrected, restart=True, aside=True)
        return first

    def _opening(self) -> int:
        """Add a state in which one may hesitate."""
        state = self._network.state()
        for words in ways_to_say(self.language, self.language.hesitations):
            self._network.phrase(state, words, state, idle=True)
        return state

    def _add(self, source: int, part: _Part, branch: _Branch) -> int:
        """Add a part with its meanings after a state; give the state that ends it."""
        end = self._network.state()
        self._network.embed(part.phrases, source, end)
        self._outcomes[end] = _Outcome(branch=branch, meanings=part.meanings)
        return end

    def _add_answers(self, source: int, item: Item, branch: _Branch) -> tuple[int, ...]:
        """Add the answers of an item after a state; give the states that end them."""
        network, language = self._network, self.language
        ends: list[int] = []
        challenges = ways_to_say(language, (item.challenge,))
        responses = _responses(item, language)
        if len(responses.phrases):
            # people say the challenge and the response in one breath
            titled = network.state()
            network.join(source, titled)
            for words in challenges:
                network.phrase(source, words, titled)
            ends.append(self._add(titled, responses, branch))
        if item.reading is not None:
            named = network.state()
            network.join(source, named)
            names = ways_to_say(language, item.reading.names)
            for words in dict.fromkeys((*challenges, *names)):
                network.phrase(source, words, named)
            part = _readings(item.reading.scale, item.reading.unit, language.spoken_forms)
            bare = self._add(named, part, branch)
            ends.append(bare)
            units = ways_to_say(language, language.unit_words.get(item.reading.unit, ()))
            if units:
                united = network.state()
                self._outcomes[united] = self._outcomes[bare]
                for words in units:
                    network.phrase(bare, words, united)
                ends.append(united)
        return tuple(ends)


def compile_item(item: Item, language: Language, previous: Item | None = None) -> ItemGrammar:
    """Compile the grammar that listens at an item.

    Args:
        item: The item being asked.
        language: The pack of the check's language.
        previous: The item answered last, for "correction ...".
    """
    return ItemGrammar(item, language, previous)


def spoken_figures(figures: str, scale: Scale | None, language: Language) -> tuple[Words, ...]:
    """Give the ways to say a number that is written in figures.

    Args:
        figures: An unsigned or signed decimal number ("15", "29.92").
        scale: The gauge it is read from; None for a number that is a name ("flaps 15").
        language: The pack.

    Returns:
        Word sequences; none if the number is not on the scale.
    """
    value = Decimal(figures)
    if scale is None:
        exponent = value.as_tuple().exponent
        step = Decimal(1).scaleb(exponent if isinstance(exponent, int) else 0)
        scale = Scale(lowest=min(value, Decimal(0)), highest=max(value, Decimal(0)), step=step)
    return language.spoken_forms(value, scale) if value in scale else ()


def _answers(meanings: Iterable[Answer | Command]) -> tuple[Answer, ...]:
    return tuple(meaning for meaning in meanings if not isinstance(meaning, Command))


def ways_to_say(language: Language, texts: Iterable[str]) -> tuple[Words, ...]:
    """Give the word sequences that say the texts, once each, in order; none is empty.

    Figures in a text ("Engine 1 oil") are said as numbers.
    """
    found: dict[Words, None] = {}
    for text in texts:
        ways = [
            spoken_figures(word, None, language) if _FIGURES.fullmatch(word) else ((word,),)
            for word in language.tokenise(text)
        ]
        for choice in product(*ways):
            words = tuple(word for piece in choice for word in piece)
            if words:
                found[words] = None
    return tuple(found)


def _part(meanings: Mapping[Words, tuple[Answer | Command, ...]]) -> _Part:
    """Number the phrases and put what they mean in the order of the numbers."""
    return _Part(
        phrases=minimal(meanings), meanings=tuple(meanings[words] for words in sorted(meanings))
    )


def _responses(item: Item, language: Language) -> _Part:
    found: dict[Words, tuple[Response, ...]] = {}
    for state, texts in (
        (ResponseState.AS_EXPECTED, item.expect),
        (ResponseState.NOT_AS_EXPECTED, item.not_as_expected),
        (ResponseState.INSUFFICIENT, language.empty_responses),
    ):
        for text in texts:
            response = Response(phrase=text, state=state)
            for words in ways_to_say(language, (text,)):
                known = found.get(words, ())
                # an empty response is none where the item wants these very words
                if state is ResponseState.INSUFFICIENT and known:
                    continue
                # two spellings of one response are one; what is as expected and not
                # as expected as well is kept as both, and will be asked about
                if all(other.state is not state for other in known):
                    found[words] = (*known, response)
    return _part(found)


def _commands(language: Language) -> _Part:
    found: dict[Words, tuple[Command, ...]] = {}
    for name, texts in language.commands.items():
        for words in ways_to_say(language, texts):
            found[words] = (*found.get(words, ()), Command(name=name))
    return _part(found)


@lru_cache(maxsize=256)
def _readings(
    scale: Scale, unit: str, spoken_forms: Callable[[Decimal, Scale], tuple[Words, ...]]
) -> _Part:
    """Number every way to say every mark of a gauge. Gauges recur, so it is kept."""
    found: dict[Words, tuple[Reading, ...]] = {}
    for value in scale.values():
        only = (Reading(value=value, unit=unit),)
        for words in dict.fromkeys(spoken_forms(value, scale)):
            # nearly every way to say a number is of one number
            known = found.setdefault(words, only)
            if known is not only:
                found[words] = (*known, *only)
    return _part(found)
