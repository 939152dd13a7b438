"""ambiguous-number: spoken figures that mean two things at one item.

Words with two meanings are never settled by the program: it asks, each time. Found are
two marks of a gauge that the language says in the same words, and a response that is
also a reading of the item's gauge, bare or with the reading's name or unit.

Passes::

    - id: crew-oxygen
      challenge: Crew oxygen
      reading: {unit: psi, scale: {from: 0, to: 2000, step: 10}, minimum: 1300}
      not_as_expected: [bottle empty]

Fails::

    - id: crew-oxygen
      challenge: Crew oxygen
      reading: {unit: psi, scale: {from: 0, to: 2000, step: 10}, minimum: 1300}
      not_as_expected: [zero]
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from voiceflow.checks.loader import WrittenItem
from voiceflow.checks.model import Item, ReadingSpec
from voiceflow.checks.problem import Problem
from voiceflow.lint.subject import Subject
from voiceflow.numbers.scale import Scale
from voiceflow.phraseology.language import Words

RULE = "ambiguous-number"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sayings:
    """What the marks of a gauge are called.

    Attributes:
        values: Words -> the first mark that is called so.
        clash: Words and the two marks that they mean, if there are such words.
    """

    values: Mapping[Words, Decimal]
    clash: tuple[Words, Decimal, Decimal] | None


def find(subject: Subject) -> Iterator[Problem]:
    """Find gauges and responses whose words mean two things."""
    seen: dict[Scale, _Sayings] = {}
    for written, item in subject.items():
        if item.reading is None:
            continue
        scale = item.reading.scale
        if scale not in seen:
            seen[scale] = _sayings(subject, scale)
        yield from _in_item(subject, written, item, item.reading, seen[scale])


def _in_item(
    subject: Subject, written: WrittenItem, item: Item, reading: ReadingSpec, sayings: _Sayings
) -> Iterator[Problem]:
    if sayings.clash is not None:
        words, one, other = sayings.clash
        yield subject.warning(
            (*written.path, "reading", "scale"),
            RULE,
            f"{' '.join(words)!r} can mean {one} or {other} on this gauge",
            "Narrow the scale or make its step coarser, if the gauge allows it; "
            "otherwise such a reading is asked about each time.",
            item,
        )
    names = [name.text for name in subject.names(written, item)]
    for phrase in subject.phrases(written, item):
        words = _number_in(subject, reading, names, subject.language.tokenise(phrase.text))
        if words in sayings.values:
            yield subject.warning(
                phrase.path,
                RULE,
                f"{phrase.text!r} is also the reading {sayings.values[words]}",
                "Use other words for this response, or let the reading say it.",
                item,
            )


def _sayings(subject: Subject, scale: Scale) -> _Sayings:
    values: dict[Words, Decimal] = {}
    clash = None
    for value in scale.values():
        for words in subject.language.spoken_forms(value, scale):
            first = values.setdefault(words, value)
            if first != value and clash is None:
                clash = words, first, value
    return _Sayings(values=values, clash=clash)


def _number_in(subject: Subject, reading: ReadingSpec, names: Iterable[str], words: Words) -> Words:
    """Take a name of the reading off the front of a phrase, and its unit off the end."""
    tokenise = subject.language.tokenise
    for name in sorted((tokenise(name) for name in names), key=len, reverse=True):
        if name and words[: len(name)] == name:
            words = words[len(name) :]
            break
    said = (tokenise(unit) for unit in subject.language.unit_words.get(reading.unit, ()))
    for unit in sorted(said, key=len, reverse=True):
        if words[-len(unit) :] == unit:
            return words[: -len(unit)]
    return words
