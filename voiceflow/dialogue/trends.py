"""What is said of how a gauge went over many runs, once its reading is taken.

The slope was worked out before the run (``history/trends.py``) and is in its brief; here
it meets the reading of the day and its limit, by arithmetic alone.
"""

from decimal import Decimal

from voiceflow.checks.model import Item
from voiceflow.dialogue.brief import TrendNote
from voiceflow.dialogue.sector import bare_id
from voiceflow.dialogue.state import Outcome, State
from voiceflow.dialogue.turn import Turn
from voiceflow.limits.judge import Verdict
from voiceflow.limits.trend import Slope, is_plain, reach
from voiceflow.phraseology.prompts import TrendRemark

#: How exactly the change is said: two figures, "twelve", "zero decimal three one".
_FIGURES = 2


def series_of(item: Item) -> str:
    """Give the name of an item's gauge over many runs; empty if it has none."""
    if item.reading is None:
        return ""
    return item.reading.series or bare_id(item.id)


def trend_remark(turn: Turn, item: Item, outcome: Outcome) -> tuple[TrendRemark, ...]:
    """Give the remark on a reading that was just taken, if one is due.

    Due is one where the gauge plainly goes towards its limit and will be there within the
    horizon; once a run for each gauge, and not where the reading is outside limits already.
    """
    state = turn.state
    spec = item.reading
    if spec is None or outcome.value is None or outcome.verdict is Verdict.OUTSIDE:
        return ()
    note = next((note for note in state.brief.trends if note.item_id == item.id), None)
    if note is None or _is_told(state, item):
        return ()
    horizon = _horizon(state, note)
    slope = Slope(middle=note.per_day, low=note.low, high=note.high)
    if horizon is None or not is_plain(slope, over=note.days, mark=float(spec.scale.step)):
        return ()
    ahead = reach(outcome.value, spec.limit, slope.middle)
    if ahead is None or ahead > horizon:
        return ()
    turn.set(trends_told=(*state.trends_told, item.id))
    return (
        TrendRemark(
            falls=slope.middle < 0,
            change=_two_figures(abs(slope.middle)),
            unit=spec.unit,
            ahead=int(ahead),
            flown=note.flown,
        ),
    )


def _horizon(state: State, note: TrendNote) -> float | None:
    settings = state.settings.trend
    return settings.horizon_hours if note.flown else settings.horizon_days


def _is_told(state: State, item: Item) -> bool:
    """Tell whether it was said of this gauge, here or at another item that reads it."""
    told = {series_of(state.check.item(item_id)) for item_id in state.trends_told}
    return series_of(item) in told


def _two_figures(change: float) -> Decimal:
    """Give a change as it is said: two figures, no zeros at the end."""
    rounded = Decimal(f"{change:.{_FIGURES}g}").normalize()
    # 120 is 1.2E+2 when normalised, and is said in full
    return rounded.quantize(Decimal(1)) if rounded == rounded.to_integral_value() else rounded
