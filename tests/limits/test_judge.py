"""Readings against limits."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voiceflow.checks.model import Limit
from voiceflow.limits.judge import Verdict, judge


def limit(
    minimum: str | None = None,
    maximum: str | None = None,
    below: str | None = None,
    above: str | None = None,
) -> Limit:
    def number(text: str | None) -> Decimal | None:
        return None if text is None else Decimal(text)

    return Limit(
        minimum=number(minimum),
        maximum=number(maximum),
        caution_below=number(below),
        caution_above=number(above),
    )


# Published limits, each judged at its edge and one step beyond.
PUBLISHED = [
    # FAA AIM 7-2-2 a, b (seen on the issuing body's page): settings above 31.00 inHg many
    # altimeters cannot take, below 28.00 inHg flight is not recommended if it cannot be set
    (limit("28.00", "31.00"), ("28.00", "31.00"), ("27.99", "31.01")),
    # FAA AIM 7-2-3 as quoted on secondary pages: over 75 ft from field elevation is questionable
    (limit("-75", "75"), ("-75", "75"), ("-76", "76")),
    # FAA AC 43.13-1B 9-50 b, seen in the document: a leak test may lose 100 psi in an hour
    (limit(None, "100"), ("0", "100"), ("101",)),
    # Jet A-1 density at 15 C, 775.0 to 840.0 kg/m3, from specification tables that list
    # ASTM D4052 (secondary pages; the standard itself was not opened)
    (limit("775.0", "840.0"), ("775.0", "840.0"), ("774.9", "840.1")),
]


@pytest.mark.parametrize(("bounds", "within", "outside"), PUBLISHED)
def test_published_limits(bounds: Limit, within: tuple[str, ...], outside: tuple[str, ...]) -> None:
    assert {judge(Decimal(value), bounds) for value in within} == {Verdict.WITHIN}
    assert {judge(Decimal(value), bounds) for value in outside} == {Verdict.OUTSIDE}


@pytest.mark.parametrize(
    ("value", "verdict"),
    [
        ("9", Verdict.OUTSIDE),
        ("10", Verdict.CAUTION),
        ("19", Verdict.CAUTION),
        ("20", Verdict.WITHIN),
        ("80", Verdict.WITHIN),
        ("81", Verdict.CAUTION),
        ("90", Verdict.CAUTION),
        ("91", Verdict.OUTSIDE),
    ],
)
def test_a_bound_belongs_to_the_better_side(value: str, verdict: Verdict) -> None:
    assert judge(Decimal(value), limit("10", "90", "20", "80")) is verdict


@given(st.decimals(allow_nan=False, allow_infinity=False))
def test_without_limits_everything_is_within(value: Decimal) -> None:
    assert judge(value, Limit()) is Verdict.WITHIN


@given(st.lists(st.integers(-100, 100), min_size=5, max_size=5))
def test_verdicts_get_no_better_further_out(numbers: list[int]) -> None:
    low, below, above, high, value = sorted(numbers[:4])[:4] + numbers[4:]
    bounds = limit(str(low), str(high), str(below), str(above))
    rank = [Verdict.WITHIN, Verdict.CAUTION, Verdict.OUTSIDE]
    here = rank.index(judge(Decimal(value), bounds))
    beyond = value + 1 if value >= above else value - 1 if value <= below else value
    assert rank.index(judge(Decimal(beyond), bounds)) >= here
