"""The grammars of a check, each compiled when it is first wanted and then kept for a while."""

from collections import OrderedDict
from threading import Lock
from typing import Final

from voiceflow.checks.model import Check
from voiceflow.grammar.item_grammar import ItemGrammar, compile_item
from voiceflow.phraseology.language import Language

#: With what was asked of it, a grammar takes 1 MB, and 3 to 17 ms to compile: kept are those
#: of the items around, which "go back" and "correction" return to.
KEPT: Final = 12


class Grammars:
    """The grammars of one check; may be used from several threads."""

    def __init__(self, check: Check, language: Language) -> None:
        self._check = check
        self._language = language
        # least recently wanted first
        self._compiled: OrderedDict[tuple[str, str | None], ItemGrammar] = OrderedDict()
        self._lock = Lock()

    def grammar(self, item_id: str, previous_id: str | None) -> ItemGrammar:
        """Give the grammar that listens at an item.

        Args:
            item_id: An item of the check.
            previous_id: The item answered last, which a correction may be about.

        Raises:
            KeyError: If the check has no such item.
        """
        key = (item_id, previous_id)
        with self._lock:
            if key not in self._compiled:
                previous = None if previous_id is None else self._check.item(previous_id)
                item = self._check.item(item_id)
                self._compiled[key] = compile_item(item, self._language, previous)
            self._compiled.move_to_end(key)
            while len(self._compiled) > KEPT:
                self._compiled.popitem(last=False)
            return self._compiled[key]
