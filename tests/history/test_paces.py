"""How long items take: sensible without history, this crew's own with it."""

from dataclasses import dataclass, replace

import numpy as np
import pytest

from tests.builders import make_check, make_gauge, make_item
from voiceflow.checks.model import Check, CheckKind, Part, Source, Wait
from voiceflow.dialogue.brief import Brief
from voiceflow.dialogue.finishing import finish_of
from voiceflow.dialogue.machine import begin
from voiceflow.dialogue.state import ItemState, Outcome, Phase, RunningWait, State
from voiceflow.history.paces import guess_s, paces, pauses

CHECK = make_check(make_item(), make_gauge())


@dataclass(frozen=True)
class Took:
    took_s: float | None
    item_id: str = "covers"
    check_id: str = "preparation"
    signer: str = "Ada North"
    run_id: str = "run-1"
    asked_s: float = 0.0
    answered_s: float = 0.0


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


def test_a_slow_crew_is_slow_where_nobody_knows_too() -> None:
    usual = guess_s(CHECK.items[1])
    _, slow = paces(CHECK, [Took(18.0)] * 20, "Ada North")
    _, once = paces(CHECK, [Took(18.0)], "Ada North")
    assert slow.count == 0
    # three times as long as we guess of the one, so of the other
    assert slow.expected_s == pytest.approx(usual * 3, rel=0.25)
    assert usual < once.expected_s < usual * 1.5


# --- between the checks of a sector ---


def sector(*, pauses: bool = True) -> Check:
    source = Source(document="Northmark Air Ferries OM-B (invented)", revision="4")
    items = tuple(
        make_item(f"{part}.item-{n}", f"Item {n}") for part in ("outside", "inside") for n in (1, 2)
    )
    parts = tuple(
        Part(
            check_id=name,
            title=name,
            kind=CheckKind.FLOW,
            source=source,
            digest="",
            items=2,
            pauses=pauses,
        )
        for name in ("outside", "inside")
    )
    return replace(make_check(*items), parts=parts)


def a_run(run_id: str, pause_s: float, *, stopped: bool = False) -> list[Took]:
    def took(check_id: str, n: int, answered_s: float, took_s: float | None = 10.0) -> Took:
        return Took(
            took_s,
            item_id=f"item-{n}",
            check_id=check_id,
            run_id=run_id,
            asked_s=answered_s - 10,
            answered_s=answered_s,
        )

    ends_s = 20.0
    return [
        took("outside", 1, 10.0),
        took("outside", 2, ends_s),
        took("inside", 1, ends_s + pause_s + 10, None if stopped else 10.0),
        took("inside", 2, ends_s + pause_s + 20),
    ]


def test_the_way_to_the_next_check_is_known_from_runs_before() -> None:
    answers = [answer for n in range(40) for answer in a_run(f"run-{n}", 90.0 if n % 2 else 110.0)]
    (pause,) = pauses(sector(), answers, "Ada North")
    assert (pause.item_id, pause.count) == ("inside.item-1", 40)
    assert pause.expected_s == pytest.approx(100.0, rel=0.1)


def test_without_history_the_way_is_a_guess_and_none_where_none_is_waited() -> None:
    (pause,) = pauses(sector(), (), "")
    assert pause.count == 0
    assert 0 < pause.expected_s < pause.late_s
    assert pauses(sector(pauses=False), (), "") == ()
    assert pauses(CHECK, (), "") == ()


def test_a_stop_of_the_program_is_no_way_to_the_next_check() -> None:
    (pause,) = pauses(sector(), a_run("run-1", 5000.0, stopped=True), "Ada North")
    assert pause.count == 0


# --- that late is late in about one run of ten, all the way from the answers ---

ITEMS = 30
HEATS = 10


def on_the_way(state: State, ends: np.ndarray, done: int, ready_s: float) -> State:
    """Give the state of a run after so many answers."""
    at_s = float(ends[done - 1]) if done else 0.0
    outcomes = tuple(
        Outcome(
            item_id=f"item-{n}",
            state=ItemState.AS_EXPECTED,
            phrase="removed",
            value=None,
            unit="",
            verdict=None,
            said="removed",
            confidence=1.0,
            confirmed=False,
            asked_s=0.0,
            answered_s=float(ends[n]),
            from_left=False,
        )
        for n in range(done)
    )
    due_s = float(ends[HEATS]) + ready_s
    heats = RunningWait(item_id=f"item-{HEATS}", due_s=due_s, is_deadline=False)
    return replace(
        state,
        phase=Phase.ASKING,
        item_id=f"item-{done}",
        outcomes=outcomes,
        waits=(heats,) if ready_s and done > HEATS else (),
        at_s=at_s,
        asked_s=at_s,
    )


@pytest.mark.parametrize(
    ("ready_s", "done"), [(0.0, 0), (0.0, 10), (0.0, 20), (300.0, 0), (300.0, 5)]
)
def test_the_late_finish_is_passed_in_about_one_run_of_ten(ready_s: float, done: int) -> None:
    """Crews drawn with items of their own; each day slower or faster by 15 %."""
    draw = np.random.default_rng(5)
    heat = Wait(ready_in_s=ready_s) if ready_s else None
    check = make_check(
        *(
            make_item(f"item-{n}", f"Item {n}", wait=heat if n == HEATS else None)
            for n in range(ITEMS)
        )
    )
    passed = []
    for _ in range(25):
        medians, sigmas = draw.lognormal(np.log(8), 0.5, ITEMS), draw.uniform(0.3, 0.8, ITEMS)

        def day(medians: np.ndarray = medians, sigmas: np.ndarray = sigmas) -> np.ndarray:
            return draw.lognormal(np.log(medians), sigmas) * draw.lognormal(0, 0.15)

        answers = [
            Took(float(seconds), item_id=f"item-{n}")
            for _ in range(20)
            for n, seconds in enumerate(day())
        ]
        brief = Brief(paces=paces(check, answers, "Ada North"))
        start = begin(check, brief=brief)
        for _ in range(40):
            ends = np.cumsum(day())
            ended = max(ends[-1], ends[HEATS] + ready_s if ready_s else 0.0)
            finish = finish_of(on_the_way(start, ends, done, ready_s))
            assert finish is not None
            passed.append(ended > finish.late_s)
    assert 0.05 < np.mean(passed) < 0.15
