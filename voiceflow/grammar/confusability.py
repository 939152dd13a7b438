"""How alike two phrases sound, by a weighted edit distance over their phones.

Which distance is too small is for ``lint`` to say.

Source:
    R. A. Wagner, M. J. Fischer, The string-to-string correction problem, Journal of
    the ACM 21(1), 1974; here over all pronunciations of both phrases at once.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

Phones = tuple[str, ...]

#: A phone that one phrase has and the other has not. Dearer than a substitution by a
#: related phone, cheaper than by an unrelated one (1): a slurred end is less striking
#: than a wholly different sound. Ours; no source.
GAP_COST = 0.75


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ways:
    """All pronunciations of a phrase as a network of phones.

    Attributes:
        arcs: For each node but the first, the arcs into it: (node before, phone).
            Nodes stand after all that lead to them; the last one ends the phrase.
        ends: Nodes in which a pronunciation of the last word ends.
        shortest: Phones of the shortest pronunciation.
    """

    arcs: tuple[tuple[tuple[int, str], ...], ...]
    ends: tuple[int, ...]
    shortest: int


def phrase_distance(
    a: Sequence[str],
    b: Sequence[str],
    phones: Callable[[str], tuple[Phones, ...]],
    phone_distance: Callable[[str, str], float],
) -> float:
    """Tell how unlike two phrases sound in the pronunciations that are most alike.

    Args:
        a: Words of one phrase.
        b: Words of the other.
        phones: A word's pronunciations; a word without any sounds like itself alone.
        phone_distance: How unlike two phones sound, 0 the same to 1 nothing alike.

    Returns:
        0 if they can sound the same, to 1 if nothing is alike: the least total cost of
        substituted phones (their distance) and of added or dropped ones (``GAP_COST``),
        over the length of the longer phrase, each in its shortest pronunciation.
        The order of the phrases does not matter if it does not to ``phone_distance``.
    """
    # the words themselves stand in for phones that are not known
    unknown: set[str] = set()

    def distance(x: str, y: str) -> float:
        if x == y:
            return 0.0
        if x in unknown or y in unknown:
            return 1.0
        return phone_distance(x, y)

    first, second = _ways(a, phones, unknown), _ways(b, phones, unknown)
    longest = max(first.shortest, second.shortest)
    if longest == 0:
        return 0.0
    costs: list[list[float]] = []
    for i, into_i in enumerate(first.arcs):
        row: list[float] = []
        costs.append(row)
        for j, into_j in enumerate(second.arcs):
            best = 0.0 if i == j == 0 else float("inf")
            for before, _ in into_i:
                best = min(best, costs[before][j] + GAP_COST)
            for before, _ in into_j:
                best = min(best, row[before] + GAP_COST)
            for before_i, x in into_i:
                for before_j, y in into_j:
                    best = min(best, costs[before_i][before_j] + distance(x, y))
            row.append(best)
    return min(1.0, min(costs[i][j] for i in first.ends for j in second.ends) / longest)


def _ways(
    words: Sequence[str], phones: Callable[[str], tuple[Phones, ...]], unknown: set[str]
) -> _Ways:
    """Lay out all pronunciations of a phrase, word after word."""
    arcs: list[tuple[tuple[int, str], ...]] = [()]
    ends: tuple[int, ...] = (0,)
    shortest = 0
    for word in words:
        variants = tuple(variant for variant in phones(word) if variant)
        if not variants:
            symbol = f"<{word}>"  # no phone set writes a phone so
            unknown.add(symbol)
            variants = ((symbol,),)
        before, after = ends, []
        for variant in variants:
            arcs.append(tuple((node, variant[0]) for node in before))
            for phone in variant[1:]:
                arcs.append(((len(arcs) - 1, phone),))
            after.append(len(arcs) - 1)
        ends = tuple(after)
        shortest += min(map(len, variants))
    return _Ways(arcs=tuple(arcs), ends=ends, shortest=shortest)
