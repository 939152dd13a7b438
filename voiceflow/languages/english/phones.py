"""How unlike two English phones sound, from their phonetic features.

The features are those of any textbook of phonetics (common knowledge, no single
source); the weights are ours, chosen so that the order of distances is right: voicing
alone is the smallest difference (P and B), then place (M and N), then manner.

Consonants, one row a phone: voiced, place (0 at the lips to 1 in the throat),
sonorant, nasal, continuant, strident (hissing), lateral.
Vowels, one row a phone: height (0 close to 1 open), backness (0 front to 1 back),
rounding, length; a diphthong has a second row for where it ends.
"""

from typing import NamedTuple


class _Consonant(NamedTuple):
    voiced: float
    place: float
    sonorant: float
    nasal: float
    continuant: float
    strident: float
    lateral: float


class _Vowel(NamedTuple):
    height: float
    backness: float
    rounding: float
    length: float


#                                voice place son nas cont strid lat
_CONSONANTS: dict[str, _Consonant] = {
    "P": _Consonant(0, 0.0, 0, 0, 0, 0, 0),
    "B": _Consonant(1, 0.0, 0, 0, 0, 0, 0),
    "T": _Consonant(0, 0.4, 0, 0, 0, 0, 0),
    "D": _Consonant(1, 0.4, 0, 0, 0, 0, 0),
    "K": _Consonant(0, 0.8, 0, 0, 0, 0, 0),
    "G": _Consonant(1, 0.8, 0, 0, 0, 0, 0),
    "CH": _Consonant(0, 0.5, 0, 0, 0.3, 1, 0),
    "JH": _Consonant(1, 0.5, 0, 0, 0.3, 1, 0),
    "F": _Consonant(0, 0.1, 0, 0, 1, 0.3, 0),
    "V": _Consonant(1, 0.1, 0, 0, 1, 0.3, 0),
    "TH": _Consonant(0, 0.3, 0, 0, 1, 0, 0),
    "DH": _Consonant(1, 0.3, 0, 0, 1, 0, 0),
    "S": _Consonant(0, 0.4, 0, 0, 1, 1, 0),
    "Z": _Consonant(1, 0.4, 0, 0, 1, 1, 0),
    "SH": _Consonant(0, 0.5, 0, 0, 1, 1, 0),
    "ZH": _Consonant(1, 0.5, 0, 0, 1, 1, 0),
    "HH": _Consonant(0, 1.0, 0, 0, 1, 0, 0),
    "M": _Consonant(1, 0.0, 1, 1, 0, 0, 0),
    "N": _Consonant(1, 0.4, 1, 1, 0, 0, 0),
    "NG": _Consonant(1, 0.8, 1, 1, 0, 0, 0),
    "L": _Consonant(1, 0.4, 1, 0, 1, 0, 1),
    "R": _Consonant(1, 0.5, 1, 0, 1, 0, 0),
    "W": _Consonant(1, 0.2, 1, 0, 1, 0, 0),
    "Y": _Consonant(1, 0.6, 1, 0, 1, 0, 0),
}
_CONSONANT_WEIGHTS = _Consonant(
    voiced=0.10, place=0.32, sonorant=0.23, nasal=0.10, continuant=0.12, strident=0.08, lateral=0.05
)

#            height back round length
_VOWELS: dict[str, tuple[_Vowel, _Vowel]] = {
    name: (rows[0], rows[-1])
    for name, rows in {
        "IY": (_Vowel(0.0, 0.0, 0, 1),),
        "IH": (_Vowel(0.2, 0.2, 0, 0),),
        "EH": (_Vowel(0.6, 0.1, 0, 0),),
        "AE": (_Vowel(0.85, 0.1, 0, 0.5),),
        "AA": (_Vowel(1.0, 0.9, 0, 1),),
        "AO": (_Vowel(0.7, 1.0, 1, 1),),
        "AH": (_Vowel(0.6, 0.6, 0, 0),),
        "UH": (_Vowel(0.2, 0.8, 1, 0),),
        "UW": (_Vowel(0.0, 1.0, 1, 1),),
        "ER": (_Vowel(0.5, 0.5, 0.3, 1),),
        "EY": (_Vowel(0.45, 0.0, 0, 1), _Vowel(0.1, 0.1, 0, 1)),
        "OW": (_Vowel(0.45, 0.9, 1, 1), _Vowel(0.1, 0.9, 1, 1)),
        "AY": (_Vowel(1.0, 0.5, 0, 1), _Vowel(0.1, 0.1, 0, 1)),
        "AW": (_Vowel(1.0, 0.5, 0, 1), _Vowel(0.1, 0.9, 1, 1)),
        "OY": (_Vowel(0.7, 1.0, 1, 1), _Vowel(0.1, 0.1, 0, 1)),
    }.items()
}
_VOWEL_WEIGHTS = _Vowel(height=0.45, backness=0.30, rounding=0.10, length=0.15)

#: Glides and the vowels that they are made like: the only consonants near a vowel.
_GLIDES: dict[frozenset[str], float] = {
    frozenset(("W", "UW")): 0.3,
    frozenset(("W", "UH")): 0.4,
    frozenset(("W", "OW")): 0.5,
    frozenset(("Y", "IY")): 0.3,
    frozenset(("Y", "IH")): 0.4,
    frozenset(("R", "ER")): 0.2,
    frozenset(("L", "OW")): 0.6,
    frozenset(("L", "UH")): 0.6,
}

#: Every phone of the table, in ARPAbet.
PHONES: tuple[str, ...] = (*_CONSONANTS, *_VOWELS)


def phone_distance(a: str, b: str) -> float:
    """Tell how unlike two phones sound.

    Args:
        a: A phone in ARPAbet, without stress mark.
        b: Another.

    Returns:
        0 for the same phone, 1 for nothing alike; the same both ways. A phone that
        is not in the table is 1 from every other.
    """
    if a == b:
        return 0.0
    if a in _CONSONANTS and b in _CONSONANTS:
        return _weighted(_CONSONANTS[a], _CONSONANTS[b], _CONSONANT_WEIGHTS)
    if a in _VOWELS and b in _VOWELS:
        (start_a, end_a), (start_b, end_b) = _VOWELS[a], _VOWELS[b]
        return (
            _weighted(start_a, start_b, _VOWEL_WEIGHTS) + _weighted(end_a, end_b, _VOWEL_WEIGHTS)
        ) / 2
    return _GLIDES.get(frozenset((a, b)), 1.0)


def _weighted(a: tuple[float, ...], b: tuple[float, ...], weights: tuple[float, ...]) -> float:
    """Give the weighted sum of the differences of two feature rows."""
    return sum(weight * abs(one - other) for one, other, weight in zip(a, b, weights, strict=True))
