"""When the run will be finished, as far as it can be told, and what that endangers.

An item's times are taken for lognormal (they cannot be negative and have a long tail), of
which ``Pace`` gives the median and the ninth decile. Over the open items means and variances
add; quantiles would not: twenty items are not all late together. What makes a whole run slow
or fast makes all of its items so: one factor stands for that, known to be about 1 at the
start and better with each answer, as an observation narrows what was assumed before (Bayes'
rule for a normal mean).

Nothing here is left, skipped or decided: it is told, and the person decides.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from voiceflow.checks.model import Item
from voiceflow.dialogue.brief import Departure, Pace
from voiceflow.dialogue.sector import is_between
from voiceflow.dialogue.state import Phase, State
from voiceflow.dialogue.turn import Turn
from voiceflow.phraseology.prompts import Outlook, Prompt, TimeLimit, TimeShort

#: Standard deviations from the median to the ninth decile of a normal distribution.
_TO_NINE_OF_TEN: Final = 1.2816
#: By how much a whole day is slower or faster than another; our own guess.
_DAY_SHARE: Final = 0.15
#: By how much all that is guessed of a crew may be wrong alike; our own guess too.
_GUESS_SHARE: Final = 0.35
#: So many times of an item weigh as much as the guess.
GUESS_WEIGHS: Final = 3
#: What is being done is never taken to be shorter from now than this share of it.
_LEAST_SHARE: Final = 0.2
#: An answer that took longer than this many times its ninth decile was an interruption.
_INTERRUPTED: Final = 3.0
#: So many items are named that could be left: more cannot be kept in mind.
_LEAVABLE_SAID: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Finish:
    """When all that has to be done before the departure is done, in seconds of the run.

    Attributes:
        expected_s: As likely earlier as later.
        late_s: Nine times of ten earlier.
    """

    expected_s: float
    late_s: float


def finish_of(state: State) -> Finish | None:
    """Give when the run will be finished; None where nothing is known of its items.

    In a sector only what comes before the departure counts.
    """
    return _finish_at(state, state.at_s)


@dataclass(slots=True)
class _Sum:
    """Of what is still to be done, one after the other; seconds and seconds squared."""

    mean_s: float = 0.0
    variance: float = 0.0

    def add(self, pace: Pace, since_s: float | None = None) -> None:
        """Add one thing to do; what it has taken already since then is not to come."""
        mean, variance = _moments(pace)
        if since_s is not None:
            # nearly done is not done
            mean = max(mean - since_s, mean * _LEAST_SHARE)
        self.mean_s += mean
        self.variance += variance


def _finish_at(state: State, at_s: float) -> Finish | None:
    paces = {pace.item_id: pace for pace in state.brief.paces}
    pauses = {pace.item_id: pace for pace in state.brief.pauses}
    items = [item for item in _to_come(state) if item.id in paces]
    if not items:
        return None
    own = _own(state)
    between = is_between(state)
    begun = state.part if between else state.part + 1
    ready_s = max((wait.due_s for wait in state.waits if not wait.is_deadline), default=at_s)
    expected_s = late_s = ready_s
    before = _Sum()
    for item in items:
        is_current = item.id == state.item_id
        if (pause := pauses.get(item.id)) is not None:
            if between and is_current:
                before.add(pause, at_s - state.holds[-1].from_s)
            elif state.check.part_index(item.id) >= begun:
                before.add(pause)
        in_hand = is_current and state.phase is not Phase.HOLDING
        before.add(paces[item.id], at_s - state.asked_s if in_hand else None)
        if item.wait is not None and item.wait.ready_in_s is not None:
            # it begins when the item is answered, and that may be late
            half, nine_of_ten = _quantiles(before, own)
            expected_s = max(expected_s, at_s + half + item.wait.ready_in_s)
            late_s = max(late_s, at_s + nine_of_ten + item.wait.ready_in_s)
    half, nine_of_ten = _quantiles(before, own)
    return Finish(expected_s=max(expected_s, at_s + half), late_s=max(late_s, at_s + nine_of_ten))


def _quantiles(total: _Sum, own: tuple[float, float]) -> tuple[float, float]:
    """Give how long it takes, as likely less as more, and nine times of ten less."""
    factor, share = own
    mean_s = total.mean_s * factor
    common = (share * total.mean_s) ** 2
    spread_s = math.sqrt(total.variance * factor**2 + common)
    return mean_s, mean_s + _TO_NINE_OF_TEN * spread_s


def _to_come(state: State) -> Iterator[Item]:
    """Give the items that will be put before the aircraft leaves, in the check's order.

    One that was left twice stays open and is not put again: nothing waits for it.
    """
    answered = {outcome.item_id for outcome in state.outcomes}
    still = {state.item_id, *state.queue, *state.left}
    given_up = {item_id for item_id in state.came_back if item_id not in still}
    check = state.check
    before = [not part.after_flight for part in check.parts] or [True]
    for index, is_before in enumerate(before):
        if is_before:
            for item in check.part_items(index):
                if item.id not in answered and item.id not in given_up:
                    yield item


def _moments(pace: Pace) -> tuple[float, float]:
    """Give mean and variance of an item's time, seconds and seconds squared."""
    median = max(pace.expected_s, 0.1)
    sigma = math.log(max(pace.late_s / median, 1.0)) / _TO_NINE_OF_TEN
    mean = median * math.exp(sigma**2 / 2)
    # of this very item a guess may be wrong too, by about as much as its times vary
    doubt = 1 + _guessed(pace) / 2
    return mean, mean**2 * (math.exp(sigma**2) - 1) * doubt


def _guessed(pace: Pace) -> float:
    """Give how much of a pace is a guess: 1 with nothing behind it, then less and less."""
    return GUESS_WEIGHS / (GUESS_WEIGHS + pace.count)


def own_pace(state: State) -> float:
    """Give how much slower (above 1) or faster this run is than is known from before."""
    return _own(state)[0]


def _own(state: State) -> tuple[float, float]:
    """Give this run's own pace, and the standard deviation with which it is known."""
    paces = {pace.item_id: pace for pace in state.brief.paces}
    took_s = usual_s = variance = 0.0
    before_s = state.started_s
    for outcome in state.outcomes:
        pace = paces.get(outcome.item_id)
        spent_s = outcome.answered_s - before_s - _held_s(state, before_s, outcome.answered_s)
        before_s = outcome.answered_s
        if pace is None:
            continue
        mean, spread = _moments(pace)
        took_s += min(max(spent_s, 0.0), pace.late_s * _INTERRUPTED)
        usual_s += mean
        variance += spread
    guessed = sum(map(_guessed, paces.values())) / max(len(paces), 1)
    assumed = _DAY_SHARE**2 + (_GUESS_SHARE * guessed) ** 2
    if not usual_s:
        return 1.0, math.sqrt(assumed)
    weight = assumed / (assumed + variance / usual_s**2)
    return 1 + weight * (took_s / usual_s - 1), math.sqrt(assumed * (1 - weight))


def _held_s(state: State, from_s: float, to_s: float) -> float:
    """Give how long the check was paused between two moments."""
    return sum(
        max(
            0.0,
            min(to_s, state.at_s if hold.until_s is None else hold.until_s)
            - max(from_s, hold.from_s),
        )
        for hold in state.holds
    )


# --- what is endangered ---


def limits_of(departure: Departure) -> Iterator[tuple[TimeLimit, float]]:
    """Give until when all has to be done, for each time that is to be kept."""
    if departure.off_blocks_s is not None:
        yield TimeLimit.OFF_BLOCKS, departure.off_blocks_s
    if departure.slot_to_s is not None:
        yield TimeLimit.SLOT, departure.slot_to_s - departure.taxi_s


def leaves_s(departure: Departure, ready_s: float) -> float:
    """Give when the aircraft leaves its stand: when all is done, not before it is planned."""
    planned_s = departure.off_blocks_s
    return ready_s if planned_s is None else max(ready_s, planned_s)


def _passes(departure: Departure, limit: TimeLimit, late_s: float, until_s: float) -> bool:
    """Tell whether a late finish is past a time to keep; for a slot, off-blocks may be too."""
    return (leaves_s(departure, late_s) if limit is TimeLimit.SLOT else late_s) > until_s


_TELLS: Final = frozenset({Phase.ASKING, Phase.HOLDING})


def next_warning_s(state: State) -> float | None:
    """Give when the late finish passes a time to keep, if nothing is answered before.

    None if it does not, has been told, or nothing may be said now.
    """
    departure = state.brief.departure
    if departure is None or state.phase not in _TELLS:
        return None
    untold = [each for each in limits_of(departure) if each[0] not in state.warned]
    finish = finish_of(state) if untold else None
    # the late finish stands still while the item takes its usual time, then moves on with
    # the clock: at least so much is left to do
    least = _finish_at(state, state.at_s + _LONG_S) if untold else None
    if finish is None or least is None:
        return None
    if any(_passes(departure, limit, finish.late_s, until_s) for limit, until_s in untold):
        return state.at_s
    left_s = least.late_s - state.at_s - _LONG_S
    return max(state.at_s, min(until_s for _, until_s in untold) - left_s + _PAST_S)


#: It is told once it has passed, not at the very moment.
_PAST_S: Final = 1.0
#: Longer than any item takes: by then the present one is all but done.
_LONG_S: Final = 86_400.0


def take_warning(turn: Turn) -> tuple[Prompt, ...]:
    """Give the warning that is due, once for each time to keep; nothing is left by it."""
    state = turn.state
    departure = state.brief.departure
    finish = None if departure is None else finish_of(state)
    if departure is None or finish is None:
        return ()
    passed = [
        (limit, until_s)
        for limit, until_s in limits_of(departure)
        if limit not in state.warned and _passes(departure, limit, finish.late_s, until_s)
    ]
    if not passed:
        return ()
    turn.set(warned=(*state.warned, *(limit for limit, _ in passed)))
    # both at once are one warning: of the one that leaves no way out
    limit, until_s = passed[-1]
    late_s, limit_s = finish.late_s, until_s
    if limit is TimeLimit.SLOT:
        late_s = leaves_s(departure, late_s) + departure.taxi_s
        limit_s = until_s + departure.taxi_s
    # where the plan itself is too late, it helps nobody to leave an item
    helps = finish.late_s > until_s
    return (
        TimeShort(
            limit=limit,
            late_at=departure.clock(late_s, is_latest=True),
            limit_at=departure.clock(limit_s),
            may_wait=_could_be_left(state) if helps else (),
        ),
    )


def _could_be_left(state: State) -> tuple[str, ...]:
    """Give the challenges of items that may be left and have not been, the nearest first."""
    had = {*state.left, *state.came_back}
    items = (item for item in _to_come(state) if item.may_wait and item.id not in had)
    return tuple(item.challenge for item in items)[:_LEAVABLE_SAID]


def outlook(state: State) -> Outlook | None:
    """Give what is to be expected, for who asks; None where nothing is known."""
    finish = finish_of(state)
    if finish is None:
        return None
    told = Outlook(
        to_go_s=max(0, round(finish.expected_s - state.at_s)),
        late_s=max(0, math.ceil(finish.late_s - state.at_s)),
    )
    departure = state.brief.departure
    if departure is None:
        return told
    told = replace(
        told,
        ready_at=departure.clock(finish.expected_s),
        late_at=departure.clock(finish.late_s, is_latest=True),
    )
    if departure.off_blocks_s is not None:
        told = replace(told, off_blocks_at=departure.clock(departure.off_blocks_s))
    if departure.slot_from_s is None or departure.slot_to_s is None:
        return told
    runway_s = leaves_s(departure, finish.late_s) + departure.taxi_s
    return replace(
        told,
        runway_at=departure.clock(runway_s, is_latest=True),
        slot_from=departure.clock(departure.slot_from_s),
        slot_to=departure.clock(departure.slot_to_s),
    )
