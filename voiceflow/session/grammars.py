"""The grammars of a check, each compiled when it is first wanted and then kept."""

from threading import Lock

from voiceflow.checks.model import Check
from voiceflow.grammar.item_grammar import ItemGrammar, compile_item
from voiceflow.phraseology.language import Language


class Grammars:
    """The grammars of one check; may be used from several threads."""

    def __init__(self, check: Check, language: Language) -> None:
        self._check = check
        self._language = language
        self._compiled: dict[tuple[str, str | None], ItemGrammar] = {}
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
            return self._compiled[key]
