"""unhearable-word: a word that the recogniser has no pronunciation for.

A grammar with one such word is refused by the recogniser, or the word is never heard.
Every word of the responses and of a reading's names is looked up in the language pack
and in the recogniser's dictionary. A unit that the pack has no words for is found too:
it can be written, but not said.

Passes::

    - id: pitot-covers
      challenge: Pitot covers
      expect: [removed]
      not_as_expected: [still fitted]

Fails::

    - id: pitot-covers
      challenge: Pitot covers
      expect: [removzed]
      not_as_expected: [still fitted]
"""

from collections.abc import Iterable, Iterator

from voiceflow.checks.loader import WrittenItem
from voiceflow.checks.model import Item
from voiceflow.checks.problem import Problem
from voiceflow.lint.subject import Subject, Where

RULE = "unhearable-word"


def find(subject: Subject) -> Iterator[Problem]:
    """Find words that cannot be heard, and units that cannot be said."""
    for written, item in subject.items():
        if subject.engine_phones is not None:
            for path, text in _texts(subject, written, item):
                for word in dict.fromkeys(subject.language.tokenise(text)):
                    if not subject.phones(word):
                        yield subject.warning(
                            path,
                            RULE,
                            f"the recogniser has no pronunciation for {word!r}",
                            "Use another word, or bring a model that knows this one.",
                            item,
                        )
        if item.reading is not None and item.reading.unit:
            unit = item.reading.unit
            if unit not in subject.language.unit_words:
                yield subject.warning(
                    (*written.path, "reading", "unit"),
                    RULE,
                    f"nobody can say the unit {unit!r}: the language pack has no words for it",
                    f"Use one of {', '.join(subject.language.unit_words)}, or leave it out.",
                    item,
                )


def _texts(subject: Subject, written: WrittenItem, item: Item) -> Iterable[tuple[Where, str]]:
    for phrase in subject.phrases(written, item):
        yield phrase.path, phrase.text
    for name in subject.names(written, item):
        yield name.path, name.text
