"""The slope, its interval and the rises of servicing, held against outside figures."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import theilslopes

from voiceflow.history.slopes import rises, theil_sen

counts = st.integers(2, 40)
seeds = st.integers(0, 2**32 - 1)


def test_the_example_of_sen() -> None:
    # Sen (1968), as the tests of two public packages have it (R's deming, scipy; V2): slope 4;
    # 26/7 to 35/8 is its interval for 93 %. The interval for 95 % is at least as wide; the
    # whole line is 6 + 4 t.
    line = theil_sen([1, 2, 3, 4, 10, 12, 18], [9, 15, 19, 20, 45, 55, 78])
    assert line is not None
    assert line.slope.middle == 4.0
    assert line.at_zero == 6.0
    assert line.slope.low <= 26 / 7 + 1e-12
    assert line.slope.high >= 35 / 8 - 1e-12


def test_a_published_interval_with_ties() -> None:
    # R package statpsych, manual of ci.theil (V): 0.5, from 0.3243243 to 0.75 for 95 %
    y = [21, 4, 9, 12, 35, 18, 10, 22, 24, 1, 6, 8, 13, 16, 19]
    x = [67, 28, 30, 28, 52, 40, 25, 37, 44, 10, 14, 20, 28, 40, 51]
    line = theil_sen(x, y)
    assert line is not None
    assert line.slope.middle == pytest.approx(0.5)
    assert line.slope.low == pytest.approx(0.3243243, abs=1e-7)
    assert line.slope.high == pytest.approx(0.75)


def test_by_hand() -> None:
    # pairs: 1/1, 3/2, 2/1, 6/3, 5/2, 3/1 -> 1, 1.5, 2, 2, 2.5, 3: the middle is 2. Four
    # readings: n(n-1)(2n+5)/18 = 8.667, 1.96 x 2.944 = 5.77, so from the first to the last.
    line = theil_sen([0, 1, 2, 3], [0, 1, 3, 6])
    assert line is not None
    assert (line.slope.low, line.slope.middle, line.slope.high) == (1.0, 2.0, 3.0)
    # 0 - 0, 1 - 2, 3 - 4, 6 - 6: the middle of -1, -1, 0, 0
    assert line.at_zero == -0.5


@given(counts, seeds, st.sampled_from([0.001, 0.5, 1.0, 10.0]))
def test_the_same_as_scipy(count: int, seed: int, mark: float) -> None:
    random = np.random.default_rng(seed)
    x = np.cumsum(random.uniform(0.1, 3, count))
    # with ties, as the marks of a gauge make them
    y = np.round((5 - 0.3 * x + random.normal(0, 1, count)) / mark) * mark
    line = theil_sen(list(x), list(y))
    assert line is not None
    theirs = theilslopes(y, x, 0.95, method="joint")
    assert line.slope.middle == pytest.approx(theirs.slope)
    assert line.slope.low == pytest.approx(theirs.low_slope)
    assert line.slope.high == pytest.approx(theirs.high_slope)
    assert line.at_zero == pytest.approx(theirs.intercept)


@given(counts, seeds, st.sampled_from([0.001, 0.5, 1.0, 10.0]))
@pytest.mark.filterwarnings("ignore:.*:RuntimeWarning")
def test_with_readings_of_one_time_too_it_is_never_narrower(
    count: int, seed: int, mark: float
) -> None:
    random = np.random.default_rng(seed)
    x = np.cumsum(random.integers(0, 3, count)) / 2
    y = np.round((5 - 0.3 * x + random.normal(0, 1, count)) / mark) * mark
    line = theil_sen(list(x), list(y))
    if len(np.unique(x)) == 1:
        assert line is None
        return
    assert line is not None
    theirs = theilslopes(y, x, 0.95, method="joint")
    assert line.slope.middle == pytest.approx(theirs.slope)
    assert line.slope.low <= line.slope.middle <= line.slope.high
    if np.isfinite(theirs.low_slope):  # scipy's variance may fall below 0
        assert line.slope.low <= theirs.low_slope + 1e-9
        assert line.slope.high >= theirs.high_slope - 1e-9


@given(st.integers(12, 40), seeds)
def test_a_quarter_of_misread_gauges_does_not_make_a_slope(count: int, seed: int) -> None:
    # the breakdown point of the method is 29 %
    random = np.random.default_rng(seed)
    y = 1500 - 3.0 * np.arange(count)
    wrong = random.choice(count, count // 4, replace=False)
    y[wrong] = random.uniform(0, 2000, len(wrong))
    line = theil_sen(list(range(count)), list(y))
    assert line is not None
    assert line.slope.middle == pytest.approx(-3.0)


def test_one_time_is_no_line() -> None:
    assert theil_sen([], []) is None
    assert theil_sen([3.0, 3.0], [1.0, 2.0]) is None


# --- refills ---

MARK = 10.0


def found(values: list[float]) -> tuple[int, ...]:
    return rises(values, noise=5.0, least=2 * MARK)


def test_a_refill() -> None:
    assert found([1500, 1480, 1460, 1440, 1850, 1830, 1810, 1790]) == (4,)


def test_two_refills_and_one_that_was_small() -> None:
    values = [15.0, 14.5, 14.0, 13.0, 12.5, 17.0, 16.5, 16.0, 15.0, 14.5, 17.0, 16.5, 16.0]
    assert rises(values, noise=5.0, least=1.0) == (5, 10)


def test_a_top_up_while_it_falls_fast() -> None:
    # less than it had been at two readings before: found, because the usual fall is taken off
    assert found([1600, 1500, 1400, 1550, 1450, 1350]) == (3,)


@pytest.mark.parametrize("place", range(1, 9))
@pytest.mark.parametrize("misread", [900.0, 1900.0])
def test_one_misread_gauge_is_none(place: int, misread: float) -> None:
    values = [1500.0 - 5 * day for day in range(10)]
    values[place] = misread
    assert found(values) == ()


def test_a_rise_to_the_last_reading_is_believed() -> None:
    assert found([1500, 1490, 1480, 1470, 1850]) == (4,)


def test_too_few() -> None:
    assert found([]) == ()
    assert found([1000]) == ()
    assert found([1000, 1800]) == ()


def test_noise_alone_is_hardly_ever_a_refill() -> None:
    random = np.random.default_rng(1)
    taken = 0
    for _ in range(300):
        y = 1500 + random.normal(0, 30, 20) - random.uniform(-5, 5) * np.arange(20)
        taken += bool(found(list(np.round(y / MARK) * MARK)))
    # 0.6 % of 2,000 were (settings.TrendSettings.refill_noise)
    assert taken <= 6


@given(st.integers(4, 30), st.integers(4, 30), seeds, st.floats(1.0, 15.0))
def test_a_rise_far_beyond_the_noise_is_always_one(
    before: int, after: int, seed: int, fall: float
) -> None:
    random = np.random.default_rng(seed)
    days = np.arange(before + after)
    # as it is read: to the nearest mark, now and then to the next one
    y = np.round((1500 - fall * days + random.uniform(-8, 8, len(days))) / MARK) * MARK
    y[before:] += 600
    assert before in found(list(y))


def test_steps_of_a_straight_line_have_no_noise() -> None:
    line = [1000.0 - 4 * day for day in range(20)]
    assert all(after < before for before, after in pairwise(line))
    assert found(line) == ()
