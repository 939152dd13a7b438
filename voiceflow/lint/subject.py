"""What a lint rule looks at, and how it says what it finds.

A person's own words are looked at with the check that they are laid over; what is found
in them stands at its place in the personal file.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import chain

from voiceflow.checks.loader import ReadCheck, WrittenItem
from voiceflow.checks.model import Item
from voiceflow.checks.own_words import OwnItemFile, OwnWords
from voiceflow.checks.problem import Problem, Severity
from voiceflow.checks.yaml_tree import TreePath
from voiceflow.phraseology.language import Language, Pronunciation

#: One word -> its pronunciations; empty where none is known.
Phones = Callable[[str], tuple[Pronunciation, ...]]


@dataclass(frozen=True, slots=True)
class InOwnWords:
    """A place in the personal file.

    Attributes:
        path: Its path there.
    """

    path: TreePath


#: A place in the check file, or in the personal file.
Where = TreePath | InOwnWords


@dataclass(frozen=True, slots=True, kw_only=True)
class Phrase:
    """A response, or a name of a reading, as the file has it.

    Attributes:
        text: Its words.
        path: Its path in the file.
        is_expected: It stands under expect (or is what the wait ends with).
    """

    text: str
    path: Where
    is_expected: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """One check file, read, with what is known of its language.

    Attributes:
        read: The file as far as it could be read.
        language: The pack of the check's language.
        engine_phones: Pronunciations in a recogniser's own dictionary; None if no
            recogniser was asked.
        own: The words that a person adds, if any.
    """

    read: ReadCheck
    language: Language
    engine_phones: Phones | None = None
    own: OwnWords | None = None

    def phones(self, word: str) -> tuple[Pronunciation, ...]:
        """Give how a word sounds, also as the person says it."""
        own = () if self.own is None else self.own.pronunciations(self.language.code)
        usual = self.usual_phones(word)
        return (
            *usual,
            *(each.phones for each in own if each.word == word and each.phones not in usual),
        )

    def usual_phones(self, word: str) -> tuple[Pronunciation, ...]:
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
        return tuple(chain(expected, wrong, self._own_phrases(item)))

    def names(self, written: WrittenItem, item: Item) -> tuple[Phrase, ...]:
        """Give the names of an item's reading in file order."""
        if item.reading is None:
            return ()
        here = (
            Phrase(text=text, path=(*written.path, "reading", "names", index), is_expected=True)
            for index, text in enumerate(item.reading.names)
        )
        words, base = self._own_item(item)
        own = (
            Phrase(text=text, path=InOwnWords((*base, "names", index)), is_expected=True)
            for index, text in enumerate(words.names)
        )
        return (*here, *own)

    def _own_phrases(self, item: Item) -> Iterator[Phrase]:
        words, base = self._own_item(item)
        for key, texts in (("expect", words.expect), ("not_as_expected", words.not_as_expected)):
            for index, text in enumerate(texts):
                yield Phrase(
                    text=text,
                    path=InOwnWords((*base, key, index)),
                    is_expected=key == "expect",
                )

    def _own_item(self, item: Item) -> tuple[OwnItemFile, TreePath]:
        """Give what the person adds to an item, and where it stands."""
        header = self.read.header
        if self.own is None or header is None:
            return OwnItemFile(), ()
        words = self.own.written.checks.get(header.check, {}).get(item.id, OwnItemFile())
        return words, ("checks", header.check, item.id)

    def warning(
        self, where: Where, rule: str, what: str, remedy: str, item: Item | None = None
    ) -> Problem:
        """Make a finding.

        Args:
            where: Where in the check file or the personal file.
            rule: Name of the rule.
            what: What is wrong, without a full stop.
            remedy: What to do, a sentence.
            item: The item that it belongs to.
        """
        tree, path = self.read.tree, where
        if isinstance(path, InOwnWords):
            assert self.own is not None, "its places come from there"
            tree, path = self.own.tree, path.path
        return tree.problem(
            path,
            rule,
            what,
            remedy,
            item=item.id if item is not None else None,
            severity=Severity.WARNING,
        )
