"""What is left of an item when a recogniser has no way to hear some words.

No grammar is compiled for it, so that every item of a check can be looked at before
a run begins. Which words a recogniser cannot hear is the recogniser's affair.
"""

from dataclasses import dataclass

from voiceflow.checks.model import Item
from voiceflow.grammar.automaton import Words
from voiceflow.grammar.item_grammar import ways_to_say
from voiceflow.phraseology.language import Language


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemWords:
    """The words that an item adds to a language, and those of the standing commands.

    The pack's own words for numbers are left out, but for numbers in a text ("flaps
    15"): they do not depend on the check file.

    Attributes:
        challenge: Ways to say the challenge, which may stand before an answer.
        names: Ways to say the names of a reading, which may stand before a number.
        units: Ways to say its unit, which may follow the number.
        responses: Each response of the item, as the check file has it, with the ways
            to say it.
        commands: Each command with the ways to say it.
    """

    challenge: tuple[Words, ...]
    names: tuple[Words, ...]
    units: tuple[Words, ...]
    responses: tuple[tuple[str, tuple[Words, ...]], ...]
    commands: tuple[tuple[str, tuple[Words, ...]], ...]

    @property
    def vocabulary(self) -> frozenset[str]:
        """Every word in it."""
        ways = [*self.challenge, *self.names, *self.units]
        for _, more in (*self.responses, *self.commands):
            ways += more
        return frozenset(word for way in ways for word in way)

    def lost_responses(self, unheard: frozenset[str]) -> tuple[str, ...]:
        """Give the responses that can be said in no way without these words."""
        return _lost(self.responses, unheard)

    def lost_commands(self, unheard: frozenset[str]) -> tuple[str, ...]:
        """Give the names of the commands that can be given in no way without these words."""
        return _lost(self.commands, unheard)


def item_words(item: Item, language: Language) -> ItemWords:
    """Gather the words of an item, without compiling its grammar."""
    reading = item.reading
    units = () if reading is None else language.unit_words.get(reading.unit, ())
    return ItemWords(
        challenge=ways_to_say(language, (item.challenge,)),
        names=() if reading is None else ways_to_say(language, reading.names),
        units=ways_to_say(language, units),
        responses=tuple(
            (text, ways_to_say(language, (text,)))
            for text in dict.fromkeys((*item.expect, *item.not_as_expected))
        ),
        commands=tuple(
            (str(name), ways_to_say(language, texts)) for name, texts in language.commands.items()
        ),
    )


def lost_readings(item: Item, language: Language, unheard: frozenset[str]) -> bool:
    """Tell whether a mark of the item's gauge can be said in no way without these words."""
    if item.reading is None or not unheard:
        return False
    scale = item.reading.scale
    return any(
        ways and not _is_left(ways, unheard)
        for ways in (language.spoken_forms(value, scale) for value in scale.values())
    )


def _lost(
    named: tuple[tuple[str, tuple[Words, ...]], ...], unheard: frozenset[str]
) -> tuple[str, ...]:
    return tuple(name for name, ways in named if ways and not _is_left(ways, unheard))


def _is_left(ways: tuple[Words, ...], unheard: frozenset[str]) -> bool:
    return any(unheard.isdisjoint(way) for way in ways)
