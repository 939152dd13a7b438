"""How long items take: sensible without history, this crew's own with it."""

from dataclasses import dataclass

import numpy as np
import pytest

from tests.builders import make_check, make_gauge, make_item
from voiceflow.checks.model import Wait
from voiceflow.history.paces import guess_s, paces

CHECK = make_check(make_item(), make_gauge())


@dataclass(frozen=True)
class Took:
    took_s: float | None
    item_id: str = "covers"
    check_id: str = "preparation"
    signer: str = "Ada North"


def test_without_history_it_is_a_guess_by_kind() -> None:
    covers, oxygen = paces(CHECK, (), "")
    assert covers.count == oxygen.count == 0
    assert covers.expected_s < oxygen.expected_s < oxygen.late_s
    critical = make_item(critical=True)
    timed = make_item(wait=Wait(within_s=30.0))
    assert guess_s(critical) > guess_s(make_item())
    assert guess_s(timed) == 30.0


def test_with_much_history_it_is_the_quantiles_of_the_crew() -> None:
    """Against numpy's quantiles, of times drawn once."""
    times = np.random.default_rng(7).lognormal(2.0, 0.4, 40)
    covers, _ = paces(CHECK, [Took(float(each)) for each in times], "Ada North")
    half, late = np.quantile(times, [0.5, 0.9])
    assert covers.count == 40
    # 3 guesses against 40 times
    assert covers.expected_s == pytest.approx(half, rel=0.08)
    assert covers.late_s == pytest.approx(late, rel=0.08)


def test_a_few_times_move_the_guess_only_so_far() -> None:
    covers, _ = paces(CHECK, [Took(60.0)], "Ada North")
    assert guess_s(CHECK.items[0]) < covers.expected_s < 30.0


def test_ones_own_times_count_alone_where_there_are_enough() -> None:
    others = [Took(30.0, signer="Bo Lind")] * 20
    few, _ = paces(CHECK, [*others, *[Took(3.0)] * 4], "Ada North")
    enough, _ = paces(CHECK, [*others, *[Took(3.0)] * 10], "Ada North")
    assert few.expected_s > 20
    assert enough.expected_s < 5


def test_one_long_interruption_does_not_matter() -> None:
    calm, _ = paces(CHECK, [Took(5.0)] * 20, "")
    held, _ = paces(CHECK, [*[Took(5.0)] * 19, Took(1800.0)], "")
    assert held.expected_s == calm.expected_s
    assert held.late_s == pytest.approx(calm.late_s, abs=1.0)


def test_times_of_other_items_and_unknown_ones_do_not_count() -> None:
    covers, _ = paces(
        CHECK, [Took(50.0, item_id="door"), Took(50.0, check_id="other"), Took(None)], ""
    )
    assert covers.count == 0
