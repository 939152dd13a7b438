"""Which outcomes may score, and the curves over a threshold.

Plain arithmetic on outcomes.
"""

from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from voiceflow.evaluation.manifest import Role, Row
from voiceflow.evaluation.metrics import Interval, wilson
from voiceflow.evaluation.run import Outcome


def with_training_voices(rows: Iterable[Row], voices: Collection[str]) -> tuple[Row, ...]:
    """Say of further voices that weights or thresholds were set with them."""
    return tuple(replace(row, role=Role.TRAIN) if row.voice in voices else row for row in rows)


def training_voices(rows: Iterable[Row]) -> frozenset[str]:
    """Give the voices that some row says training was done with."""
    return frozenset(row.voice for row in rows if row.role is Role.TRAIN)


def scoring(outcomes: Sequence[Outcome]) -> tuple[Outcome, ...]:
    """Leave out every recording for training, and every other one of the same voices."""
    trained = training_voices(outcome.row for outcome in outcomes)
    return tuple(outcome for outcome in outcomes if outcome.row.voice not in trained)


#: The part that holds other talk in great number.
OTHER_TALK: Final = "other talk"
_SHORT: Final = 3


def shortened(rows: Sequence[Row]) -> tuple[Row, ...]:
    """Leave out what an everyday run does without.

    Of the part "other talk" every third row that scores stays, of each kind, and none
    for training; everything else stays.
    """
    talk = [row for row in rows if row.part == OTHER_TALK and row.role is Role.SCORE]
    kept = {row.key for row in thinned(talk, _SHORT)}
    return tuple(row for row in rows if row.part != OTHER_TALK or row.key in kept)


def thinned(rows: Iterable[Row], every: int) -> tuple[Row, ...]:
    """Keep every so manyth row of each part, voice, noise and form of speaking, and the first."""
    seen: Counter[tuple[str, ...]] = Counter()
    kept = []
    for row in rows:
        group = (row.part, row.voice, row.condition, row.form if row.kind == "none" else "")
        if seen[group] % every == 0:
            kept.append(row)
        seen[group] += 1
    return tuple(kept)


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One threshold of a trade-off.

    Attributes:
        threshold: Confidence at or above which an utterance would be accepted.
        rejected: Part of the right answers below it, 0 to 1.
        accepted: Part of other talk at or above it, 0 to 1.
    """

    threshold: float
    rejected: float
    accepted: float


def trade_off(outcomes: Sequence[Outcome]) -> tuple[Point, ...]:
    """Give what each threshold on the confidence would cost, by itself.

    Right answers are recordings in which the right meaning was heard, at the highest
    confidence it was heard with. Other talk counts with the highest confidence of
    anything that means something, or with none.

    Returns:
        By threshold, rising from 0 to above 1; none where one of the two is missing.
    """
    right = [_right(outcome) for outcome in outcomes if outcome.row.kind != "none"]
    good = [one for one in right if one is not None]
    other = [_taken(outcome) for outcome in outcomes if outcome.row.kind == "none"]
    if not good or not other:
        return ()
    # the last threshold is one that nothing reaches
    thresholds = [*sorted({0.0, *good, *(one for one in other if one is not None)}), 1.000001]
    return tuple(
        Point(
            threshold=threshold,
            rejected=sum(one < threshold for one in good) / len(good),
            accepted=sum(one is not None and one >= threshold for one in other) / len(other),
        )
        for threshold in thresholds
    )


def _right(outcome: Outcome) -> float | None:
    pairs = zip(outcome.confidences, outcome.meant, strict=True)
    return max((confidence for confidence, meant in pairs if meant), default=None)


def _taken(outcome: Outcome) -> float | None:
    # of a row that means nothing, "meant" is true of what means nothing
    pairs = zip(outcome.confidences, outcome.meant, strict=True)
    return max((confidence for confidence, meant in pairs if not meant), default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bin:
    """Utterances of about one confidence.

    Attributes:
        confidence: Their mean confidence, 0 to 1.
        right: Part of them that has the right meaning.
        total: How many.
        interval: 95 % interval of that part.
    """

    confidence: float
    right: float
    total: int
    interval: Interval


def reliability(outcomes: Sequence[Outcome], bins: int = 10) -> tuple[Bin, ...]:
    """Hold confidences against how often they are deserved.

    Every utterance heard counts: answers with the right meaning are right, answers with
    another and all other talk taken for something are wrong. What was heard as meaning
    nothing has no answer to be confident of, and is left out.

    Args:
        outcomes: What was heard.
        bins: How many equal parts the range of confidence is cut into.

    Returns:
        The bins that hold something, by rising confidence.
    """
    heard = [
        (confidence, meant and outcome.row.kind != "none")
        for outcome in outcomes
        for confidence, meant in zip(outcome.confidences, outcome.meant, strict=True)
        if not (meant and outcome.row.kind == "none")
    ]
    made = []
    for index in range(bins):
        inside = [one for one in heard if min(bins - 1, int(one[0] * bins)) == index]
        if inside:
            right = sum(is_right for _, is_right in inside)
            made.append(
                Bin(
                    confidence=sum(confidence for confidence, _ in inside) / len(inside),
                    right=right / len(inside),
                    total=len(inside),
                    interval=wilson(right, len(inside)),
                )
            )
    return tuple(made)


def calibration_error(bins: Sequence[Bin]) -> float:
    """Give the mean distance of confidence from the part that is right, by utterance."""
    total = sum(one.total for one in bins)
    return sum(abs(one.confidence - one.right) * one.total for one in bins) / max(1, total)
