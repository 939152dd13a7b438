"""When the run will be finished, as far as it can be told, and what that endangers.

An item's times are taken for lognormal (they cannot be negative and have a long tail), of
which ``Pace`` gives the median and the ninth decile. Over the open items means and variances
add; quantiles would not: twenty items are not all late together. A slow day is slow for all
of them, so a share of the whole is added for that. The pace of this very run counts too, the
more the longer it lasts.

Nothing here is left, skipped or decided: it is told, and the person decides.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from voiceflow.checks.model import Item
from voiceflow.dialogue.brief import Departure, Pace
from voiceflow.dialogue.state import Phase, State
from voiceflow.dialogue.turn import Turn
from voiceflow.phraseology.prompts import Outlook, Prompt, TimeLimit, TimeShort

#: Standard deviations from the median to the ninth decile of a normal distribution.
_TO_NINE_OF_TEN: Final = 1.2816
#: By how much a whole day is slower or faster than another; our own guess.
_DAY_SHARE: Final = 0.15
#: This run's own pace weighs as much as what is known from before after so long.
_OWN_PACE_AFTER_S: Final = 120.0
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


def _finish_at(state: State, at_s: float) -> Finish | None:
    paces = {pace.item_id: pace for pace in state.brief.paces}
    open_items = [item for item in _before_departure(state) if item.id in paces]
    if not open_items:
        return None
    factor = own_pace(state)
    mean_s = variance = 0.0
    ready_s = max((wait.due_s for wait in state.waits if not wait.is_deadline), default=at_s)
    for item in open_items:
        mean, spread = _moments(paces[item.id])
        mean, spread = mean * factor, spread * factor**2
        if item.id == state.item_id and state.phase is not Phase.HOLDING:
            # what it has taken already is not to come, but nearly done is not done
            mean = max(mean - (at_s - state.asked_s), mean / 5)
        mean_s += mean
        variance += spread
        if item.wait is not None and item.wait.ready_in_s is not None:
            ready_s = max(ready_s, at_s + mean_s + item.wait.ready_in_s)
    spread_s = math.sqrt(variance + (_DAY_SHARE * mean_s) ** 2)
    expected_s = at_s + mean_s
    late_s = expected_s + _TO_NINE_OF_TEN * spread_s
    return Finish(expected_s=max(expected_s, ready_s), late_s=max(late_s, ready_s))


def _before_departure(state: State) -> Iterator[Item]:
    """Give the open items that have to be done before the aircraft leaves, in order."""
    answered = {outcome.item_id for outcome in state.outcomes}
    check = state.check
    before = [not part.after_flight for part in check.parts] or [True]
    for index, is_before in enumerate(before):
        if is_before:
            yield from (item for item in check.part_items(index) if item.id not in answered)


def _moments(pace: Pace) -> tuple[float, float]:
    """Give mean and variance of an item's time, seconds and seconds squared."""
    median = max(pace.expected_s, 0.1)
    sigma = math.log(max(pace.late_s / median, 1.0)) / _TO_NINE_OF_TEN
    mean = median * math.exp(sigma**2 / 2)
    return mean, mean**2 * (math.exp(sigma**2) - 1)


def own_pace(state: State) -> float:
    """Give how much slower (above 1) or faster this run is than is known from before."""
    paces = {pace.item_id: pace for pace in state.brief.paces}
    took_s = usual_s = 0.0
    before_s = state.started_s
    for outcome in state.outcomes:
        pace = paces.get(outcome.item_id)
        spent_s = outcome.answered_s - before_s - _held_s(state, before_s, outcome.answered_s)
        before_s = outcome.answered_s
        if pace is None:
            continue
        mean, _ = _moments(pace)
        took_s += min(max(spent_s, 0.0), pace.late_s * _INTERRUPTED)
        usual_s += mean
    return (took_s + _OWN_PACE_AFTER_S) / (usual_s + _OWN_PACE_AFTER_S)


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


_TELLS: Final = frozenset({Phase.ASKING, Phase.HOLDING})


def next_warning_s(state: State) -> float | None:
    """Give when the late finish passes a time to keep, if nothing is answered before.

    None if it does not, has been told, or nothing may be said now.
    """
    departure = state.brief.departure
    if departure is None or state.phase not in _TELLS:
        return None
    finish = finish_of(state)
    if finish is None:
        return None
    moments = []
    for limit, until_s in limits_of(departure):
        if limit in state.warned:
            continue
        if finish.late_s > until_s:
            return state.at_s
        # the late finish stands still while the item takes its usual time, then moves on
        # with the clock: at least so much is left to do
        least = _finish_at(state, state.at_s + _LONG_S)
        if least is not None:
            moments.append(until_s - (least.late_s - state.at_s - _LONG_S) + _PAST_S)
    return max(state.at_s, min(moments)) if moments else None


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
        if limit not in state.warned and finish.late_s > until_s
    ]
    if not passed:
        return ()
    turn.set(warned=(*state.warned, *(limit for limit, _ in passed)))
    # both at once are one warning: of the one that leaves no way out
    limit, _ = passed[-1]
    is_slot = limit is TimeLimit.SLOT
    late_s = finish.late_s + departure.taxi_s if is_slot else finish.late_s
    limit_s = departure.slot_to_s if is_slot else departure.off_blocks_s
    leavable = tuple(item.challenge for item in _before_departure(state) if item.may_wait)
    return (
        TimeShort(
            limit=limit,
            late_at=departure.clock(late_s, is_latest=True),
            limit_at=departure.clock(limit_s or 0.0),
            may_wait=leavable[:_LEAVABLE_SAID],
        ),
    )


def outlook(state: State) -> Outlook | None:
    """Give what is to be expected, for who asks; None where nothing is known."""
    finish = finish_of(state)
    if finish is None:
        return None
    departure = state.brief.departure
    has_slot = departure is not None and departure.slot_to_s is not None
    return Outlook(
        to_go_s=max(0, round(finish.expected_s - state.at_s)),
        late_s=max(0, round(finish.late_s - state.at_s)),
        ready_at=None if departure is None else departure.clock(finish.expected_s),
        late_at=None if departure is None else departure.clock(finish.late_s, is_latest=True),
        off_blocks_at=None
        if departure is None or departure.off_blocks_s is None
        else departure.clock(departure.off_blocks_s),
        runway_at=departure.clock(finish.late_s + departure.taxi_s, is_latest=True)
        if departure is not None and has_slot
        else None,
        slot_from=departure.clock(departure.slot_from_s or 0.0)
        if departure is not None and has_slot
        else None,
        slot_to=departure.clock(departure.slot_to_s or 0.0)
        if departure is not None and has_slot
        else None,
    )
