"""When a reading that changes so will be at its limit."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voiceflow.checks.model import Limit
from voiceflow.limits.trend import Slope, is_plain, reach

AT_LEAST = Limit(minimum=Decimal(1300))
BOTH = Limit(minimum=Decimal(55), maximum=Decimal(70))


@pytest.mark.parametrize(
    ("value", "limit", "slope", "days"),
    [
        # by hand
        ("1410", AT_LEAST, -12.0, 110 / 12),
        ("1300", AT_LEAST, -12.0, 0.0),
        ("1290", AT_LEAST, -12.0, None),  # below it already
        ("1410", AT_LEAST, 12.0, None),  # nothing is above
        ("1410", AT_LEAST, 0.0, None),
        ("60", BOTH, -0.5, 10.0),
        ("60", BOTH, 0.5, 20.0),
        ("71", BOTH, 0.5, None),
        ("60", Limit(), -1.0, None),
    ],
)
def test_by_hand(value: str, limit: Limit, slope: float, days: float | None) -> None:
    found = reach(Decimal(value), limit, slope)
    assert found == (None if days is None else pytest.approx(days))


@given(
    st.integers(0, 2000),
    st.floats(0.001, 50.0).flatmap(lambda size: st.sampled_from([-size, size])),
)
def test_after_so_many_days_it_is_there(value: int, slope: float) -> None:
    limit = Limit(minimum=Decimal(500), maximum=Decimal(1500))
    ahead = reach(Decimal(value), limit, slope)
    if ahead is not None:
        bound = 500 if slope < 0 else 1500
        assert value + slope * ahead == pytest.approx(bound)
        assert ahead >= 0


@pytest.mark.parametrize(
    ("low", "middle", "high", "over", "plain"),
    [
        (-3.0, -2.0, -1.0, 10.0, True),
        (1.0, 2.0, 3.0, 10.0, True),
        (-3.0, -2.0, 0.0, 10.0, False),
        (0.0, 2.0, 3.0, 10.0, False),
        (-1.0, 0.0, 1.0, 10.0, False),
        (-0.3, -0.2, -0.1, 10.0, False),  # 2 psi in all, on a gauge by 10
        (-0.3, -0.2, -0.1, 50.0, True),
    ],
)
def test_plain_is_beyond_chance_and_a_mark_at_least(
    low: float, middle: float, high: float, over: float, plain: bool
) -> None:
    assert is_plain(Slope(low=low, middle=middle, high=high), over=over, mark=10.0) is plain
