"""Whole numbers taken apart: into places, and into the pairs of group form.

Arithmetic only; what a place is called is a language pack's matter.
"""

from collections.abc import Sequence


def split_places(number: int, sizes: Sequence[int]) -> tuple[int, ...]:
    """Take a number apart into how many of each size, and the rest.

    Args:
        number: Not below zero.
        sizes: Falling, each above one: (1000, 100), or (10000, 1000, 100, 10)
            for a language that counts in myriads.

    Returns:
        A count for each size, then the rest: 1650 by (1000, 100) -> (1, 6, 50).
    """
    counts = []
    for size in sizes:
        count, number = divmod(number, size)
        counts.append(count)
    return (*counts, number)


def split_pairs(number: int) -> tuple[int, int] | None:
    """Take a number of three or four digits apart into its leading and its last pair.

    Returns:
        1650 -> (16, 50), 245 -> (2, 45), 1004 -> (10, 4); None for other lengths,
        which are not said in pairs.

    Source:
        FAA Order JO 7110.65, 2-4-20 NOTE (group form): rows in
        tests/published/group_form.yaml.
    """
    if not 100 <= number <= 9999:  # three or four digits
        return None
    return divmod(number, 100)
