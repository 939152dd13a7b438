"""How alike two phrases sound, for the rules that compare them.

Measured with the English pack's phone distances (total over the phrase, in phones
that are wholly different): standby / stand by 0, off / on 0.67, locked / blocked 0.75,
fifteen / fifty 0.75, forty / fourteen 0.75, dark / parked 0.98, removed / released 1.15,
down / out 1.2, both clear / person near 2.1. A recogniser with a grammar was seen to take
off for on and fourteen for forty, and to keep the later ones apart in quiet.

What this cannot see: "armed" was once heard as "affirm" where "armed" was not in the
grammar; by phones the two are far apart (2.1), and a limit that finds them would find
open / closed as well.
"""

from voiceflow.grammar.confusability import GAP_COST, phrase_distance
from voiceflow.lint.subject import Subject
from voiceflow.phraseology.language import Pronunciation, Words

#: Phrases that differ by less than this many whole phones sound alike: above the pairs
#: that were confused (0.75), below the nearest that nobody confuses (open / affirm, 0.91) ...
TOO_NEAR_PHONES = 0.8
#: ... and long ones that differ by less than this part of their length.
TOO_NEAR_PART = 0.15


def sound_alike(subject: Subject, one: str, other: str) -> bool:
    """Tell whether two phrases may be heard for each other.

    Phrases with a word that nobody can pronounce are like nothing: that word is
    another rule's finding. Words written differently but said as one are alike.
    """
    a, b = subject.language.tokenise(one), subject.language.tokenise(other)
    if "".join(a) == "".join(b):
        return bool(a)
    if not _has_sound(subject, a) or not _has_sound(subject, b):
        return False
    (least_a, most_a), (least_b, most_b) = _lengths(subject, a), _lengths(subject, b)
    longest = max(least_a, least_b)
    too_near = max(TOO_NEAR_PHONES / longest, TOO_NEAR_PART)
    surplus = max(least_a - most_b, least_b - most_a, 0)
    if surplus * GAP_COST / longest >= too_near:
        return False  # what one has and the other has not parts them: no need to align
    return phrase_distance(a, b, subject.phones, subject.language.phone_distance) < too_near


def begins(subject: Subject, one: str, other: str) -> bool:
    """Tell whether one of two phrases is how the other begins, word by word."""
    a, b = sorted((subject.language.tokenise(one), subject.language.tokenise(other)), key=len)
    return bool(a) and b[: len(a)] == a


def is_clipped(subject: Subject, one: str, other: str) -> bool:
    """Tell whether one of two phrases is what is left when the other loses an end.

    By words, and by phones where all are known: "locked" is the end of "unlocked".
    """
    a, b = subject.language.tokenise(one), subject.language.tokenise(other)
    if _is_at_an_end(a, b):
        return True
    if not _has_sound(subject, a) or not _has_sound(subject, b):
        return False
    return _is_at_an_end(_usual(subject, a), _usual(subject, b))


def _is_at_an_end(one: tuple[str, ...], other: tuple[str, ...]) -> bool:
    short, long = sorted((one, other), key=len)
    return bool(short) and (long[: len(short)] == short or long[-len(short) :] == short)


def _has_sound(subject: Subject, words: Words) -> bool:
    return bool(words) and all(subject.phones(word) for word in words)


def _lengths(subject: Subject, words: Words) -> tuple[int, int]:
    """Give the phones of the shortest and of the longest pronunciation."""
    ways = [[len(way) for way in subject.phones(word)] for word in words]
    return sum(map(min, ways)), sum(map(max, ways))


def _usual(subject: Subject, words: Words) -> Pronunciation:
    return tuple(phone for word in words for phone in subject.phones(word)[0])
