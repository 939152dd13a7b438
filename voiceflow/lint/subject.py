"""What a lint rule looks at, and how it says what it finds."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import chain

from voiceflow.checks.loader import ReadCheck, WrittenItem
from voiceflow.checks.model import Item
from voiceflow.checks.problem import Problem, Severity
from voiceflow.checks.yaml_tree import TreePath
from voiceflow.phraseology.language import Language, Pronunciation

#: One word -> its pronunciations; empty where none is known.
Phones = Callable[[str], tuple[Pronunciation, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Phrase:
    """A response as the file has it.

    Attributes:
        text: The response.
        path: Its path in the file.
        is_expected: It stands under expect (or is what the wait ends with).
    """

    text: str
    path: TreePath
    is_expected: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """One check file, read, with what is known of its language.

    Attributes:
        read: The file as far as it could be read.
        language: The pack of the check's language.
        engine_phones: Pronunciations in a recogniser's own dictionary; None if no
            recogniser was asked.
    """

    read: ReadCheck
    language: Language
    engine_phones: Phones | None = None

    def phones(self, word: str) -> tuple[Pronunciation, ...]:
        """Give how a word sounds: as the pack has it, else as the recogniser has it."""
        known = self.language.pronunciations.get(word) or self.language.phones(word)
        if known or self.engine_phones is None:
            return known
        return self.engine_phones(word)

    def items(self) -> Iterator[tuple[WrittenItem, Item]]:
        """Give every item that could be read, also those that this tail does not have."""
        for written in self.read.items:
            if written.item is not None:
                yield written, written.item

    def phrases(self, written: WrittenItem, item: Item) -> tuple[Phrase, ...]:
        """Give the responses of an item in file order."""
        is_in_file = (*written.path, "expect", 0) in self.read.tree.values_at
        expected = (
            Phrase(
                text=text,
                path=(*written.path, *(("expect", index) if is_in_file else ("wait", "until"))),
                is_expected=True,
            )
            for index, text in enumerate(item.expect)
        )
        wrong = (
            Phrase(text=text, path=(*written.path, "not_as_expected", index), is_expected=False)
            for index, text in enumerate(item.not_as_expected)
        )
        return tuple(chain(expected, wrong))

    def warning(
        self, path: TreePath, rule: str, what: str, remedy: str, item: Item | None = None
    ) -> Problem:
        """Make a finding.

        Args:
            path: Where in the file.
            rule: Name of the rule.
            what: What is wrong, without a full stop.
            remedy: What to do, a sentence.
            item: The item that it belongs to.
        """
        return self.read.tree.problem(
            path,
            rule,
            what,
            remedy,
            item=item.id if item is not None else None,
            severity=Severity.WARNING,
        )
