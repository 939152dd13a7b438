"""How complete words are at an item: may the person have more to say?

The endpointer waits by it. Where nothing that could follow would say anything else, the
tool answers at once; where a number may go on ("fifty", "fifty five"), it waits a little;
half a phrase is waited for longest.
"""

from collections.abc import Iterable, Iterator, Sequence
from enum import StrEnum

from voiceflow.grammar.automaton import Words
from voiceflow.grammar.item_grammar import ItemGrammar, ways_to_say
from voiceflow.grammar.meaning import Reading


class Completeness(StrEnum):
    """What could follow the words so far."""

    COMPLETE = "complete"  # a phrase, and whatever may follow it says the same
    SETTLED = "settled"  # a reading, and only its unit may follow
    EXTENDABLE = "extendable"  # a phrase that can become another one
    BEGUN = "begun"  # a number that is none yet
    INCOMPLETE = "incomplete"  # no phrase, or "correction" by itself


def completeness(grammar: ItemGrammar, words: Sequence[str]) -> Completeness:
    """Tell how complete words are.

    A reading is settled once nothing can follow but its unit: when its digits are as many
    as the gauge has, or a longer value would lie off its scale; and complete with it. Hesitations before an
    answer count for nothing. "Correction" by itself is a command, but an answer mostly
    follows it, so it counts as incomplete; and a corrected answer is never called complete,
    because who corrects himself once may do so twice. The start of a correction, which can
    follow every answer, is not waited for.

    Args:
        grammar: Of the item that listens.
        words: What was heard so far.
    """
    words = tuple(words)
    state = grammar.state_after(words)
    if state is None or state not in grammar.finals:
        is_begun = state is not None and _is_number(grammar, words)
        return Completeness.BEGUN if is_begun else Completeness.INCOMPLETE
    correction = grammar.correction_end(words)
    if correction == len(words):
        return Completeness.INCOMPLETE
    if correction is not None:
        return Completeness.EXTENDABLE
    meant = grammar.meaning(words)
    more = tuple(_continuations(grammar, state))
    if any(grammar.meaning(words + one) != meant for one in more):
        return Completeness.EXTENDABLE
    return Completeness.SETTLED if more and isinstance(meant, Reading) else Completeness.COMPLETE


def _is_number(grammar: ItemGrammar, words: Words) -> bool:
    """Tell whether a number has begun: who only names a gauge has yet to look at it."""
    item, language = grammar.item, grammar.language
    if item.reading is None or grammar.correction_end(words) is not None:
        return False
    rest = _without(words, grammar.hesitations)
    rest = _without(rest, ways_to_say(language, (item.challenge, *item.reading.names)))
    commands = (text for texts in language.commands.values() for text in texts)
    answers = (*item.expect, *item.not_as_expected, *language.empty_responses)
    others = ways_to_say(language, (*commands, *answers))
    return bool(rest) and not any(phrase[: len(rest)] == rest for phrase in others)


def _without(words: Words, leads: Iterable[Words]) -> Words:
    """Take every lead off the beginning, and what is left of one that ends the words."""
    known = sorted(leads, key=len, reverse=True)
    while words:
        found = (one for one in known if one and one[: len(words)] == words[: len(one)])
        lead = next(found, None)
        if lead is None:
            break
        words = words[len(lead) :]
    return words


def _continuations(grammar: ItemGrammar, state: int) -> Iterator[Words]:
    """Give what can follow a state to the end of a phrase, no state twice on the way."""
    stack: list[tuple[tuple[int, ...], Words]] = [((state,), ())]
    while stack:
        way, words = stack.pop()
        if words and way[-1] in grammar.finals:
            yield words
        stack.extend(
            ((*way, target), (*words, word))
            for word, target in grammar.onward(way[-1])
            if target not in way
        )
