from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from voiceflow.dialogue.policy import Decision
from voiceflow.evaluation.metrics import (
    Quantile,
    Result,
    Spread,
    Tally,
    is_same,
    judge_recording,
    judge_utterance,
    wilson,
)
from voiceflow.grammar.meaning import (
    Command,
    Meaning,
    NoMatch,
    Reading,
    Response,
    ResponseState,
)
from voiceflow.phraseology.commands import CommandName

SIXTEEN_HUNDRED = Reading(value=Decimal(1600), unit="psi")
FIFTEEN_HUNDRED = Reading(value=Decimal(1500), unit="psi")
REMOVED = Response(phrase="removed", state=ResponseState.AS_EXPECTED)
BOTH_REMOVED = Response(phrase="both removed", state=ResponseState.AS_EXPECTED)
SAY_AGAIN = Command(name=CommandName.SAY_AGAIN)


@pytest.mark.parametrize(
    ("meant", "heard", "same"),
    [
        (SIXTEEN_HUNDRED, Reading(value=Decimal("1600.0"), unit="psi"), True),
        (SIXTEEN_HUNDRED, FIFTEEN_HUNDRED, False),
        (SIXTEEN_HUNDRED, Reading(value=Decimal(1600), unit="bar"), False),
        (REMOVED, Response(phrase="removed", state=ResponseState.AS_EXPECTED), True),
        (REMOVED, BOTH_REMOVED, False),
        (REMOVED, Response(phrase="removed", state=ResponseState.NOT_AS_EXPECTED), False),
        (SAY_AGAIN, Command(name=CommandName.SAY_AGAIN), True),
        (SAY_AGAIN, Command(name=CommandName.AFFIRM), False),
        (NoMatch(), NoMatch(suggestion="removed"), True),
        (NoMatch(), REMOVED, False),
        (REMOVED, NoMatch(suggestion="removed"), False),
        (SIXTEEN_HUNDRED, SAY_AGAIN, False),
    ],
)
def test_same_meaning(meant: Meaning, heard: Meaning, same: bool) -> None:
    assert is_same(meant, heard) is same


@pytest.mark.parametrize(
    ("heard", "decision", "result"),
    [
        (SIXTEEN_HUNDRED, Decision.ACCEPT, Result.RIGHT),
        (SIXTEEN_HUNDRED, Decision.CONFIRM, Result.RIGHT),
        (FIFTEEN_HUNDRED, Decision.ACCEPT, Result.WRONG_ACCEPTED),
        (FIFTEEN_HUNDRED, Decision.CONFIRM, Result.WRONG_CONFIRMED),
        (SIXTEEN_HUNDRED, Decision.ASK_AGAIN, Result.ASKED),
        (SIXTEEN_HUNDRED, Decision.IGNORE, Result.IGNORED),
    ],
)
def test_one_utterance(heard: Meaning, decision: Decision, result: Result) -> None:
    assert judge_utterance(SIXTEEN_HUNDRED, heard, decision) is result


def test_a_recording_in_which_nothing_was_found_is_ignored() -> None:
    assert judge_recording(REMOVED, []) is Result.IGNORED


def test_a_recording_cut_in_two_is_wrong_if_either_half_is_taken_wrong() -> None:
    halves = [(SIXTEEN_HUNDRED, Decision.ACCEPT), (FIFTEEN_HUNDRED, Decision.ACCEPT)]
    assert judge_recording(SIXTEEN_HUNDRED, halves) is Result.WRONG_ACCEPTED
    assert judge_recording(SIXTEEN_HUNDRED, halves[::-1]) is Result.WRONG_ACCEPTED


def test_an_ignored_breath_does_not_spoil_a_right_answer() -> None:
    found: list[tuple[Meaning, Decision]] = [
        (NoMatch(), Decision.IGNORE),
        (SIXTEEN_HUNDRED, Decision.ACCEPT),
    ]
    assert judge_recording(SIXTEEN_HUNDRED, found) is Result.RIGHT


@given(
    st.integers(1, 3000).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))),
    st.sampled_from([0.8, 0.95, 0.99]),
)
def test_wilson_agrees_with_scipy(counts: tuple[int, int], level: float) -> None:
    # outside reference: scipy.stats.binomtest(...).proportion_ci(method="wilson")
    successes, trials = counts
    expected = binomtest(successes, trials).proportion_ci(level, method="wilson")
    found = wilson(successes, trials, level)
    assert found.low == pytest.approx(expected.low, abs=1e-9)
    assert found.high == pytest.approx(expected.high, abs=1e-9)


def test_wilson_by_hand() -> None:
    # 10 of 10 at 95 %: the lower bound is 1 / (1 + z^2 / 10), z = 1.959964: 0.72247
    found = wilson(10, 10)
    assert found.high == 1.0
    assert found.low == pytest.approx(0.72247, abs=5e-6)


def test_wilson_without_trials_says_nothing() -> None:
    assert (wilson(0, 0).low, wilson(0, 0).high) == (0.0, 1.0)


@pytest.mark.parametrize(("successes", "trials"), [(-1, 3), (4, 3)])
def test_wilson_refuses_counts_that_cannot_be(successes: int, trials: int) -> None:
    with pytest.raises(ValueError, match="cannot be"):
        wilson(successes, trials)


def test_tally_by_hand() -> None:
    tally = Tally.of([Result.RIGHT, Result.RIGHT, Result.RIGHT, Result.ASKED])
    assert tally.total == 4
    assert tally.count(Result.RIGHT) == 3
    assert tally.count(Result.ASKED, Result.IGNORED) == 1
    assert tally.share(Result.RIGHT) == 0.75
    assert Tally.of([]).share(Result.RIGHT) == 0.0


def test_spread_by_hand() -> None:
    # 1 .. 20: the median lies between 10 and 11; the nearest rank of 95 % is ceil(19.0) = 19
    spread = Spread.of(range(1, 21))
    assert (spread.median, spread.p95) == (10.5, 19)
    assert Spread.of([7.0]) == Spread(median=7.0, p95=7.0)
    assert Spread.of([]) == Spread(median=None, p95=None)


def test_a_quantile_with_its_bounds() -> None:
    found = Quantile.of(range(1, 101), 0.5)
    # Wilson's interval of 50 in 100 is 40.4 % to 59.6 %
    assert found == Quantile(value=50, low=41, high=60)
    assert Quantile.of(range(1, 101), 0.95) == Quantile(value=95, low=89, high=98)
    assert Quantile.of([7.0], 0.95) == Quantile(value=7.0, low=7.0, high=7.0)
    assert Quantile.of([], 0.5) is None


@given(st.lists(st.floats(0, 10), min_size=1), st.floats(0.01, 1))
def test_so_many_measurements_stay_within_a_quantile(values: list[float], part: float) -> None:
    found = Quantile.of(values, part)
    assert found is not None
    assert sum(value <= found.value for value in values) >= part * len(values) - 1e-9
    assert found.low <= found.value <= found.high
