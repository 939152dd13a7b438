"""Counting: what became of each recording, and how sure the counts are.

Plain arithmetic on values; no sound, no files, no engine.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import ceil, sqrt
from statistics import NormalDist, median

from voiceflow.dialogue.policy import Decision
from voiceflow.grammar.meaning import (
    Ambiguous,
    Command,
    Correction,
    Meaning,
    NoMatch,
    Reading,
    Response,
)


class Result(StrEnum):
    """What became of one recording.

    For a recording that means something: RIGHT is its very meaning, accepted or put
    as a question; WRONG_ACCEPTED and WRONG_CONFIRMED are another meaning, taken or
    put as a question; ASKED is a request to repeat; IGNORED is silence. For a
    recording that means nothing, ASKED and IGNORED are both as they should be.
    """

    RIGHT = "right"
    WRONG_ACCEPTED = "wrong accepted"
    WRONG_CONFIRMED = "wrong confirmed"
    ASKED = "asked again"
    IGNORED = "ignored"


#: From worst to best: a recording that was cut into several utterances counts as the worst
#: of them, except that one right answer outweighs fragments that were asked about or ignored.
_RANK = (
    Result.WRONG_ACCEPTED,
    Result.WRONG_CONFIRMED,
    Result.RIGHT,
    Result.ASKED,
    Result.IGNORED,
)


def is_same(meant: Meaning, heard: Meaning) -> bool:
    """Tell whether two meanings are the same: kind, value and unit, phrase and state, or command.

    Values are compared as numbers (29.9 is 29.90); a meaning of nothing equals only
    another meaning of nothing, whatever its suggestion.
    """
    match meant, heard:
        case (Reading(), Reading()):
            return meant.value == heard.value and meant.unit == heard.unit
        case (Response(), Response()):
            return meant.phrase == heard.phrase and meant.state is heard.state
        case (Command(), Command()):
            return meant.name is heard.name
        case (NoMatch(), NoMatch()):
            return True
        case (Ambiguous(), Ambiguous()) | (Correction(), Correction()):
            return meant == heard
        case _:
            return False


def judge_utterance(meant: Meaning, heard: Meaning, decision: Decision) -> Result:
    """Judge one utterance against what was meant."""
    match decision:
        case Decision.IGNORE:
            return Result.IGNORED
        case Decision.ASK_AGAIN:
            return Result.ASKED
        case Decision.ACCEPT:
            return Result.RIGHT if is_same(meant, heard) else Result.WRONG_ACCEPTED
        case Decision.CONFIRM:
            return Result.RIGHT if is_same(meant, heard) else Result.WRONG_CONFIRMED


def judge_recording(meant: Meaning, heard: Sequence[tuple[Meaning, Decision]]) -> Result:
    """Judge all utterances that were found in one recording.

    Args:
        meant: The meaning in the manifest.
        heard: Meaning and decision of each utterance, in order; none: IGNORED.
    """
    results = {judge_utterance(meant, meaning, decision) for meaning, decision in heard}
    return next((result for result in _RANK if result in results), Result.IGNORED)


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """Bounds of a proportion, 0 to 1."""

    low: float
    high: float


def wilson(successes: int, trials: int, level: float = 0.95) -> Interval:
    """Give the score interval of a proportion.

    Args:
        successes: 0 to trials.
        trials: How many there were; 0 gives the whole range.
        level: Confidence, between 0 and 1.

    Raises:
        ValueError: If the counts cannot be.

    Source:
        E. B. Wilson, "Probable inference, the law of succession, and statistical
        inference", J. Am. Stat. Assoc. 22 (1927), without continuity correction.
    """
    if not 0 <= successes <= trials:
        msg = f"{successes} of {trials} cannot be"
        raise ValueError(msg)
    if trials == 0:
        return Interval(low=0.0, high=1.0)
    z = NormalDist().inv_cdf(0.5 + level / 2)
    share = successes / trials
    denominator = 1 + z * z / trials
    centre = (share + z * z / (2 * trials)) / denominator
    half = z * sqrt(share * (1 - share) / trials + z * z / (4 * trials * trials)) / denominator
    low = 0.0 if successes == 0 else max(0.0, centre - half)
    high = 1.0 if successes == trials else min(1.0, centre + half)
    return Interval(low=low, high=high)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """Counts of one group of recordings.

    Attributes:
        counts: One for each Result, in the order of the enumeration.
    """

    counts: tuple[int, ...]

    @classmethod
    def of(cls, results: Iterable[Result]) -> "Tally":
        """Count."""
        found = list(results)
        return cls(counts=tuple(found.count(result) for result in Result))

    def count(self, *results: Result) -> int:
        """How many came out so."""
        order = tuple(Result)
        return sum(self.counts[order.index(result)] for result in results)

    @property
    def total(self) -> int:
        """How many recordings."""
        return sum(self.counts)

    def share(self, *results: Result) -> float:
        """Which part came out so, 0 to 1; 0 if there are no recordings."""
        return self.count(*results) / self.total if self.total else 0.0

    def interval(self, *results: Result) -> Interval:
        """The 95 % score interval of that part."""
        return wilson(self.count(*results), self.total)


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """Middle and upper end of a set of measurements; all None if there are none."""

    median: float | None
    p95: float | None

    @classmethod
    def of(cls, values: Iterable[float]) -> "Spread":
        """Give the median and the 95th percentile (nearest rank)."""
        ordered = sorted(values)
        if not ordered:
            return cls(median=None, p95=None)
        rank = max(1, -(-95 * len(ordered) // 100))
        return cls(median=median(ordered), p95=ordered[rank - 1])


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantile:
    """A value that a part of the measurements stays within, and how sure that is.

    Attributes:
        value: The measurement of that rank (nearest rank).
        low: Lower bound of the 95 % interval.
        high: Upper bound; the largest measurement where there are too few for a bound.
    """

    value: float
    low: float
    high: float

    @classmethod
    def of(cls, values: Iterable[float], part: float) -> "Quantile | None":
        """Give the quantile, or None if there are no measurements.

        The bounds are the measurements at the ranks that the score interval of the part
        gives: no assumption is made about how the measurements are spread.

        Args:
            values: The measurements.
            part: Above 0, at most 1.
        """
        ordered = sorted(values)
        if not ordered:
            return None
        count = len(ordered)
        rank = max(1, ceil(part * count))
        bounds = wilson(rank, count)
        return cls(
            value=ordered[rank - 1],
            low=ordered[max(0, ceil(bounds.low * count) - 1)],
            high=ordered[min(count, ceil(bounds.high * count)) - 1],
        )
