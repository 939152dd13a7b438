"""How words are pronounced, for the engines. Which words there are, the grammar says."""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from voiceflow.phraseology.language import Pronunciation

#: "tomato(2)": a further pronunciation of a word.
_VARIANT = re.compile(r"\(\d+\)$")


@dataclass(frozen=True, slots=True, kw_only=True)
class Lexicon:
    """Pronunciations of words.

    Attributes:
        pronunciations: Word -> its phone sequences, the usual one first.
    """

    pronunciations: Mapping[str, tuple[Pronunciation, ...]]

    def __contains__(self, word: object) -> bool:
        return word in self.pronunciations

    def __getitem__(self, word: str) -> tuple[Pronunciation, ...]:
        return self.pronunciations[word]

    def __len__(self) -> int:
        return len(self.pronunciations)

    def over(self, dictionary: "Lexicon") -> "Lexicon":
        """Put these pronunciations over those of another lexicon.

        A word of this lexicon keeps none of the other's pronunciations: a pack lists a
        word because the engine's dictionary lacks it or means another ("psi", which
        is a Greek letter there).
        """
        return Lexicon(pronunciations={**dictionary.pronunciations, **self.pronunciations})

    def missing(self, words: Iterable[str]) -> tuple[str, ...]:
        """Give the words without a pronunciation, sorted, once each."""
        return tuple(sorted({word for word in words if word not in self}))

    def entries(self) -> Iterator[tuple[str, Pronunciation]]:
        """Give dictionary entries: "word", then "word(2)" and so on for the variants."""
        for word, variants in self.pronunciations.items():
            for place, phones in enumerate(variants, start=1):
                yield (word if place == 1 else f"{word}({place})"), phones


def parse_dictionary(text: str) -> Lexicon:
    """Read a pronouncing dictionary in the form of the CMU dictionary.

    One entry a line: the word, perhaps with the number of the variant in brackets, then
    its phones, parted by spaces ("read(2) R IY D"). Empty lines and lines that begin
    with ";;;" count for nothing, nor does what follows " #" on a line.

    Raises:
        ValueError: If a line has a word and no phones; the message names the line.

    Source:
        The CMU Pronouncing Dictionary, release 0.7b (";;;" comments) and the later
        releases for decoders ("#" comments); form of the entries from memory.
    """
    found: dict[str, list[Pronunciation]] = {}
    for place, line in enumerate(text.splitlines(), start=1):
        if line.startswith(";;;"):
            continue
        entry = line.partition(" #")[0].split()
        if not entry:
            continue
        if len(entry) == 1:
            msg = f"line {place}: {entry[0]!r} has no phones"
            raise ValueError(msg)
        variants = found.setdefault(_VARIANT.sub("", entry[0]).lower(), [])
        phones = tuple(entry[1:])
        if phones not in variants:
            variants.append(phones)
    return Lexicon(pronunciations={word: tuple(variants) for word, variants in found.items()})
