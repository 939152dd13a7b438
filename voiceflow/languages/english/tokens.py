"""English text to the words of the grammar."""

import re
import unicodedata

_TOKEN = re.compile(
    r"""
    (?P<figure>
        (?P<sign>(?<![\w.,%])-(?=\.?\d))?          # a minus, not a hyphen
        (?P<digits>\d{1,3}(?:,\d{3})+(?:\.\d+)?    # 1,600
          | \d+(?:\.\d+)?                          # 1600, 29.92
          | (?<!\d)\.\d+)                          # .64
    )
    | (?P<word>[^\W\d_]+(?:'[^\W\d_]+)*)           # both, what's
    | (?P<sign_word>[%°])
    """,
    re.VERBOSE,
)

_SIGN_WORDS = {"%": "percent", "°": "degrees"}

#: Typographic signs that stand for plain ones.
_PLAIN_SIGNS = str.maketrans({"\u2019": "'", "\u2018": "'", "\u2212": "-", "\u2010": "-"})


def tokenise(text: str) -> tuple[str, ...]:
    """Split text into lower-case words, punctuation dropped.

    Figures are kept as one token each, thousands marks dropped and a leading minus
    kept: ``"1,600 psi"`` gives ``("1600", "psi")``, ``"-5.5"`` gives ``("-5.5",)``.
    Letters written with points are letters: ``"p.s.i."`` gives ``("p", "s", "i")``.
    The signs ``%`` and ``°`` become the words that are said for them.
    """
    plain = unicodedata.normalize("NFKC", text).translate(_PLAIN_SIGNS).lower()
    words: list[str] = []
    for found in _TOKEN.finditer(plain):
        if found["figure"]:
            words.append(found["figure"].replace(",", ""))
        elif found["word"]:
            words.append(found["word"])
        else:
            words.append(_SIGN_WORDS[found["sign_word"]])
    return tuple(words)
