"""unhearable-word: a word that the recogniser has no pronunciation for.

Every word that the item adds to what is listened for is looked up in the language pack
and in the recogniser's dictionary. What it costs depends on where the word stands:

- in a response: the response is never heard, and the recogniser refuses the item;
- in the challenge or in a reading's name, which may be said before an answer: the
  answer is heard only without it.

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

    - id: pitot-covers-again
      challenge: Pitotz covers
      expect: [removed]
      not_as_expected: [still fitted]
"""

from collections.abc import Iterator
from dataclasses import dataclass

from voiceflow.checks.loader import WrittenItem
from voiceflow.checks.model import Item
from voiceflow.checks.problem import Problem
from voiceflow.grammar.item_grammar import ways_to_say
from voiceflow.lint.subject import Subject, Where

RULE = "unhearable-word"


def find(subject: Subject) -> Iterator[Problem]:
    """Find words that cannot be heard."""
    for written, item in subject.items():
        if subject.engine_phones is not None:
            for text in _texts(subject, written, item):
                for word in _unheard(subject, text.text):
                    what = f"the recogniser has no pronunciation for {word!r}"
                    yield subject.warning(text.path, RULE, what + text.cost, text.remedy, item)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Text:
    """A text of an item that is listened for, and what it costs if it is not heard."""

    path: Where
    text: str
    cost: str = ""
    remedy: str = "Use another word, or bring a model that knows this one."


def _texts(subject: Subject, written: WrittenItem, item: Item) -> Iterator[_Text]:
    aside = "Use another word, or answer without it."
    yield _Text(
        path=(*written.path, "challenge"),
        text=item.challenge,
        cost=": an answer with the challenge before it will not be heard",
        remedy=aside,
    )
    for phrase in subject.phrases(written, item):
        yield _Text(path=phrase.path, text=phrase.text)
    for name in subject.names(written, item):
        yield _Text(
            path=name.path,
            text=name.text,
            cost=": a reading with this name before it will not be heard",
            remedy=aside,
        )


def _unheard(subject: Subject, text: str) -> tuple[str, ...]:
    """Give the words that keep a text from being heard in each way to say it."""
    ways = [
        [word for word in way if not subject.phones(word)]
        for way in ways_to_say(subject.language, (text,))
    ]
    fewest = min(ways, key=len, default=[])
    return tuple(dict.fromkeys(fewest))
