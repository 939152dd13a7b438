"""Reading and limit in, verdict out."""

from decimal import Decimal
from enum import StrEnum

from voiceflow.checks.model import Limit


class Verdict(StrEnum):
    """What a reading is, held against its limit."""

    WITHIN = "within"
    CAUTION = "caution"
    OUTSIDE = "outside"


def judge(value: Decimal, limit: Limit) -> Verdict:
    """Judge a reading.

    Args:
        value: The reading, in the gauge's own unit.
        limit: The limit, in the same unit; a bound belongs to the limit, so a
            reading equal to the minimum is within it.

    Returns:
        OUTSIDE below the minimum or above the maximum; else CAUTION below
        ``caution_below`` or above ``caution_above``; else WITHIN.
    """
    if limit.minimum is not None and value < limit.minimum:
        return Verdict.OUTSIDE
    if limit.maximum is not None and value > limit.maximum:
        return Verdict.OUTSIDE
    if limit.caution_below is not None and value < limit.caution_below:
        return Verdict.CAUTION
    if limit.caution_above is not None and value > limit.caution_above:
        return Verdict.CAUTION
    return Verdict.WITHIN
