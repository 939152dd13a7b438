"""How Korean words sound, from their letters, and how unlike two sounds are.

Hangul writes sounds, so a word's sounds follow from its letters: Unicode takes a
syllable apart, the silent initial ㅇ goes, a final consonant moves to a following
vowel, and other finals fall together into seven (ㄱ ㄴ ㄷ ㄹ ㅁ ㅂ ㅇ), as the
standard pronunciation of Korean has it (common knowledge of phonetics, no single
source). Assimilation between consonants is not done: distances would hardly change.
"""

import unicodedata
from typing import NamedTuple

from voiceflow.phraseology.language import Pronunciation

_INITIALS = "ㄱㄲㄴㄷㄸㄹㅁㅂㅃㅅㅆㅇㅈㅉㅊㅋㅌㅍㅎ"
_VOWELS = "ㅏㅐㅑㅒㅓㅔㅕㅖㅗㅘㅙㅚㅛㅜㅝㅞㅟㅠㅡㅢㅣ"
_FINALS = (
    "ㄱ ㄲ ㄳ ㄴ ㄵ ㄶ ㄷ ㄹ ㄺ ㄻ ㄼ ㄽ ㄾ ㄿ ㅀ ㅁ ㅂ ㅄ ㅅ ㅆ ㅇ ㅈ ㅊ ㅋ ㅌ ㅍ ㅎ".replace(
        " ", ""
    )
)
#: What each final sounds like where no vowel follows.
_FINALS_SOUND = "ㄱㄱㄱㄴㄴㄴㄷㄹㄱㅁㄹㄹㄹㅂㄹㅁㅂㅂㄷㄷㅇㄷㄷㄱㄷㅂㄷ"
_FIRST_INITIAL, _FIRST_VOWEL, _FIRST_FINAL = 0x1100, 0x1161, 0x11A8


class _Consonant(NamedTuple):
    place: float  # 0 at the lips to 1 in the throat
    release: float  # 0 plain, 0.5 tense, 1 with breath
    sonorant: float
    nasal: float
    hissing: float
    stop: float


_CONSONANTS: dict[str, _Consonant] = {
    "ㅂ": _Consonant(0.0, 0, 0, 0, 0, 1),
    "ㅃ": _Consonant(0.0, 0.5, 0, 0, 0, 1),
    "ㅍ": _Consonant(0.0, 1, 0, 0, 0, 1),
    "ㅁ": _Consonant(0.0, 0, 1, 1, 0, 0),
    "ㄷ": _Consonant(0.4, 0, 0, 0, 0, 1),
    "ㄸ": _Consonant(0.4, 0.5, 0, 0, 0, 1),
    "ㅌ": _Consonant(0.4, 1, 0, 0, 0, 1),
    "ㄴ": _Consonant(0.4, 0, 1, 1, 0, 0),
    "ㄹ": _Consonant(0.4, 0, 1, 0, 0, 0),
    "ㅅ": _Consonant(0.4, 0, 0, 0, 1, 0),
    "ㅆ": _Consonant(0.4, 0.5, 0, 0, 1, 0),
    "ㅈ": _Consonant(0.5, 0, 0, 0, 1, 0.7),
    "ㅉ": _Consonant(0.5, 0.5, 0, 0, 1, 0.7),
    "ㅊ": _Consonant(0.5, 1, 0, 0, 1, 0.7),
    "ㄱ": _Consonant(0.8, 0, 0, 0, 0, 1),
    "ㄲ": _Consonant(0.8, 0.5, 0, 0, 0, 1),
    "ㅋ": _Consonant(0.8, 1, 0, 0, 0, 1),
    "ㅇ": _Consonant(0.8, 0, 1, 1, 0, 0),
    "ㅎ": _Consonant(1.0, 1, 0, 0, 0, 0),
}
_CONSONANT_WEIGHTS = _Consonant(
    place=0.30, release=0.15, sonorant=0.20, nasal=0.10, hissing=0.10, stop=0.15
)


class _Vowel(NamedTuple):
    height: float  # 0 close to 1 open
    backness: float  # 0 front to 1 back
    rounding: float
    y_glide: float
    w_glide: float


_VOWEL_SOUNDS: dict[str, _Vowel] = {
    "ㅣ": _Vowel(0.0, 0.0, 0, 0, 0),
    "ㅔ": _Vowel(0.5, 0.0, 0, 0, 0),
    "ㅐ": _Vowel(0.6, 0.0, 0, 0, 0),
    "ㅏ": _Vowel(1.0, 0.6, 0, 0, 0),
    "ㅓ": _Vowel(0.6, 0.9, 0, 0, 0),
    "ㅗ": _Vowel(0.4, 1.0, 1, 0, 0),
    "ㅜ": _Vowel(0.0, 1.0, 1, 0, 0),
    "ㅡ": _Vowel(0.0, 0.8, 0, 0, 0),
    "ㅖ": _Vowel(0.5, 0.0, 0, 1, 0),
    "ㅒ": _Vowel(0.6, 0.0, 0, 1, 0),
    "ㅑ": _Vowel(1.0, 0.6, 0, 1, 0),
    "ㅕ": _Vowel(0.6, 0.9, 0, 1, 0),
    "ㅛ": _Vowel(0.4, 1.0, 1, 1, 0),
    "ㅠ": _Vowel(0.0, 1.0, 1, 1, 0),
    "ㅟ": _Vowel(0.0, 0.0, 0, 0, 1),
    "ㅞ": _Vowel(0.5, 0.0, 0, 0, 1),
    "ㅚ": _Vowel(0.5, 0.0, 0, 0, 1),
    "ㅙ": _Vowel(0.6, 0.0, 0, 0, 1),
    "ㅘ": _Vowel(1.0, 0.6, 0, 0, 1),
    "ㅝ": _Vowel(0.6, 0.9, 0, 0, 1),
    "ㅢ": _Vowel(0.0, 0.4, 0, 0, 0),
}
_VOWEL_WEIGHTS = _Vowel(height=0.40, backness=0.25, rounding=0.10, y_glide=0.125, w_glide=0.125)

#: Every sound of the tables, as compatibility letters.
PHONES: tuple[str, ...] = (*_CONSONANTS, *_VOWEL_SOUNDS)


def phones(word: str) -> tuple[Pronunciation, ...]:
    """Give the sounds of a word; empty if it is not all Hangul."""
    sounds: list[str] = []
    final = ""  # of the syllable before, not yet placed
    for letter in unicodedata.normalize("NFD", word):
        code = ord(letter)
        if _FIRST_INITIAL <= code < _FIRST_INITIAL + len(_INITIALS):
            initial = _INITIALS[code - _FIRST_INITIAL]
            if initial == "ㅇ":
                sounds.extend(_before_vowel(final))
            else:
                sounds.extend((*_before_consonant(final), initial))
            final = ""
        elif _FIRST_VOWEL <= code < _FIRST_VOWEL + len(_VOWELS):
            sounds.append(_VOWELS[code - _FIRST_VOWEL])
        elif _FIRST_FINAL <= code < _FIRST_FINAL + len(_FINALS):
            final = _FINALS[code - _FIRST_FINAL]
        else:
            return ()
    sounds.extend(_before_consonant(final))
    return (tuple(sounds),) if sounds else ()


def phone_distance(a: str, b: str) -> float:
    """Tell how unlike two sounds are.

    Args:
        a: A sound, as a compatibility letter.
        b: Another.

    Returns:
        0 for the same, 1 for nothing alike (a vowel and a consonant, or a letter that
        is not in the tables); the same both ways.
    """
    if a == b:
        return 0.0
    if a in _CONSONANTS and b in _CONSONANTS:
        return _weighted(_CONSONANTS[a], _CONSONANTS[b], _CONSONANT_WEIGHTS)
    if a in _VOWEL_SOUNDS and b in _VOWEL_SOUNDS:
        return _weighted(_VOWEL_SOUNDS[a], _VOWEL_SOUNDS[b], _VOWEL_WEIGHTS)
    return 1.0


def _before_vowel(final: str) -> tuple[str, ...]:
    """A final before a vowel keeps its own sound; clusters and ㅎ are simplified."""
    if not final or final == "ㅎ":
        return ()
    return (final,) if final in _CONSONANTS else _before_consonant(final)


def _before_consonant(final: str) -> tuple[str, ...]:
    return (_FINALS_SOUND[_FINALS.index(final)],) if final else ()


def _weighted(a: tuple[float, ...], b: tuple[float, ...], weights: tuple[float, ...]) -> float:
    return sum(weight * abs(one - other) for one, other, weight in zip(a, b, weights, strict=True))
