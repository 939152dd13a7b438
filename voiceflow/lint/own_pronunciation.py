"""own-pronunciation: a person's way to say a word that sounds like another word.

A pronunciation in the personal file makes the recogniser take that sound for the word. If
it is nearly how a number word, a word of a standing command or another word of the check
is said, the one is heard for the other. Found are ways that come nearer to another word
than the word's usual ways do. The finding stands in the personal file.

With the personal file::

    pronunciations:
      parked: [D AA R K T]

Passes::

    - id: display
      challenge: Display
      expect: [parked]
      not_as_expected: [blank]

Fails::

    - id: display
      challenge: Display
      expect: [parked]
      not_as_expected: [blank]

    - id: lamp
      challenge: Lamp
      expect: [dark]
      not_as_expected: [still lit]
"""

from collections.abc import Iterator

from voiceflow.checks.problem import Problem
from voiceflow.grammar.confusability import phrase_distance
from voiceflow.lint.likeness import TOO_NEAR_PHONES
from voiceflow.lint.subject import InOwnWords, Subject
from voiceflow.phraseology.language import Pronunciation
from voiceflow.session.vocabulary import number_words

RULE = "own-pronunciation"


def find(subject: Subject) -> Iterator[Problem]:
    """Find pronunciations that bring a word near to another one."""
    own = subject.own
    if own is None or own.written.language != subject.language.code:
        return
    others = sorted(_vocabulary(subject))
    for word, ways in own.written.pronunciations.items():
        usual = subject.usual_phones(word)
        for index, way in enumerate(ways):
            phones = tuple(way.split())
            other = next(
                (
                    other
                    for other in others
                    if other != word and _is_nearer(subject, phones, usual, other)
                ),
                None,
            )
            if other is not None:
                yield subject.warning(
                    InOwnWords(("pronunciations", word, index)),
                    RULE,
                    f"{word!r} said as {way} sounds like {other!r}",
                    "Keep it only if you really say it so, and listen to the readbacks.",
                )


def _vocabulary(subject: Subject) -> set[str]:
    """Give the words that can be heard in this check, those of readings and commands too."""
    pack = subject.language
    texts = [phrase for phrases in pack.commands.values() for phrase in phrases]
    for written, item in subject.items():
        texts += [phrase.text for phrase in subject.phrases(written, item)]
        texts += [name.text for name in subject.names(written, item)]
    return {word for text in texts for word in pack.tokenise(text)} | number_words(pack)


def _is_nearer(
    subject: Subject, way: Pronunciation, usual: tuple[Pronunciation, ...], other: str
) -> bool:
    theirs = subject.usual_phones(other)
    if not theirs:
        return False
    distance = _phones_apart(subject, (way,), theirs)
    return distance < TOO_NEAR_PHONES and (
        not usual or distance < _phones_apart(subject, usual, theirs)
    )


def _phones_apart(
    subject: Subject, one: tuple[Pronunciation, ...], other: tuple[Pronunciation, ...]
) -> float:
    """Give how far two words are apart, in phones that are wholly different."""
    sounds = {"one": one, "other": other}
    longest = max(min(map(len, one)), min(map(len, other)))
    part = phrase_distance(
        ("one",), ("other",), lambda word: sounds[word], subject.language.phone_distance
    )
    return part * longest
