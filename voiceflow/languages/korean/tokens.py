"""Korean text to the words of the grammar."""

import re
import unicodedata

from voiceflow.languages.korean.numbers import split_number
from voiceflow.languages.korean.units import UNIT_WORDS

_TOKEN = re.compile(
    r"""
    (?P<figure>(?:(?<![\w.,%])-(?=\.?\d))?
        (?:\d{1,3}(?:,\d{3})+(?:\.\d+)? | \d+(?:\.\d+)? | (?<!\d)\.\d+))
    | (?P<hangul>[가-힣]+)
    | (?P<letters>[^\W\d_가-힣]+)
    | (?P<sign>%|°c?)
    """,
    re.VERBOSE,
)

#: Written in one go: a number that names a place, or three digits and more, perhaps
#: with its unit. Two digits alone are left, for they are often a word (오일, oil).
_NUMBER = re.compile(
    r"(?P<minus>영하|마이너스)?(?P<number>(?=[^십백천만]*[십백천만]|[영공일이삼사오육칠팔구점]{3})[영공일이삼사오육칠팔구십백천만점]+)"
    rf"(?P<unit>{'|'.join(sorted({word for ways in UNIT_WORDS.values() for word in ways}, key=len, reverse=True))})?"
)

#: Symbols that people type for a unit -> the word.
_SYMBOLS = {symbol.lower(): ways[0] for symbol, ways in UNIT_WORDS.items()} | {"°": "도"}

_PLAIN_SIGNS = str.maketrans({"\u2212": "-", "\u2010": "-"})


def tokenise(text: str) -> tuple[str, ...]:
    """Split text into words as the grammar has them, punctuation dropped.

    Spaces part words, as people write them; only numbers written in one go are parted
    further (천육백오십 gives 천 육백 오십, 이십팔볼트 gives 이십 팔 볼트). Figures are
    kept as one token each, thousands marks dropped and a leading minus kept. Symbols of
    units become words.
    """
    plain = unicodedata.normalize("NFKC", text).translate(_PLAIN_SIGNS).lower()
    words: list[str] = []
    for found in _TOKEN.finditer(plain):
        word = found.group()
        if found["figure"]:
            words.append(word.replace(",", ""))
        elif found["hangul"] and (number := _NUMBER.fullmatch(word)):
            if number["minus"]:
                words.append(number["minus"])
            words.extend(split_number(number["number"]))
            if number["unit"]:
                words.append(number["unit"])
        else:
            words.append(_SYMBOLS.get(word, word))
    return tuple(words)
