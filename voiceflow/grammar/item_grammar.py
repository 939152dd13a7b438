"""The phrase language that listens at one item: the one object with three uses.

From it come the recognisers' grammars (``fsg.py``, ``phrase_list.py``), the way
from words to meanings (``meanings``), and the answer to "what can I say?"
(``sample.py``). Nothing is written twice.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from voiceflow.checks.model import Item
from voiceflow.grammar.meaning import Meaning
from voiceflow.phraseology.language import Language


@dataclass(frozen=True, slots=True, kw_only=True)
class Arc:
    """A transition; ``word`` is None where no word is said.

    ``weight`` adds up along a path to the number of the phrase; ``restart`` forgets
    what was said before it (a correction in one breath).
    """

    source: int
    target: int
    word: str | None
    weight: int = 0
    restart: bool = False


class ItemGrammar:
    """Finite-state phrases with meanings for one item, given the item answered last.

    Attributes:
        item_id: The item that listens.
        previous_id: The item answered last, which "correction ..." may be about.
        language_code: The pack it was compiled with.
    """

    item_id: str
    previous_id: str | None
    language_code: str

    @property
    def start(self) -> int:
        """The start state."""
        raise NotImplementedError

    @property
    def finals(self) -> frozenset[int]:
        """States in which a phrase is complete."""
        raise NotImplementedError

    @property
    def arcs(self) -> tuple[Arc, ...]:
        """Every transition."""
        raise NotImplementedError

    @property
    def vocabulary(self) -> frozenset[str]:
        """Every word that can be heard here, hesitations included."""
        raise NotImplementedError

    def meaning(self, words: Sequence[str]) -> Meaning:
        """Give what a complete phrase means; NoMatch if it is none."""
        raise NotImplementedError

    def is_complete(self, words: Sequence[str]) -> bool:
        """Tell whether the words are a phrase."""
        raise NotImplementedError

    def can_go_on(self, words: Sequence[str]) -> bool:
        """Tell whether the words can be followed by another word."""
        raise NotImplementedError

    def phrases(self) -> Iterator[tuple[str, ...]]:
        """Give every phrase once, without hesitations and corrections, in a fixed order."""
        raise NotImplementedError


def compile_item(item: Item, language: Language, previous: Item | None = None) -> ItemGrammar:
    """Compile the grammar that listens at an item.

    Args:
        item: The item being asked.
        language: The pack of the check's language.
        previous: The item answered last, for "correction ...".
    """
    raise NotImplementedError
