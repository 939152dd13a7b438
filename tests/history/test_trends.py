"""How gauges go: which readings count, at which temperature, and what the note says."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import pairwise

import pytest
from CoolProp.CoolProp import PropsSI

from tests.builders import make_check, make_gauge, make_item
from tests.history.past import (
    FIRST,
    PA_A_PSI,
    PastAnswer,
    gauge,
    past,
    reference_density,
    reference_psi,
    shown_psi,
)
from voiceflow.checks.model import Item, TrendKind
from voiceflow.dialogue.brief import TrendNote
from voiceflow.history.trends import (
    Trend,
    by_series,
    measured_oil,
    measured_oil_per_hour,
    trend,
    trend_notes,
)
from voiceflow.limits.computed import UNKNOWN, Conditions
from voiceflow.settings import TrendSettings


def slope_of(found: Trend) -> float:
    assert found.daily is not None
    return found.daily.slope.middle


def kept(item: Item, kind: TrendKind, series: str = "") -> Item:
    assert item.reading is not None
    return replace(item, reading=replace(item.reading, trend=kind, series=series))


# --- which readings count ---


def test_a_steady_fall() -> None:
    found = trend(gauge(), past([1700 - 12 * day for day in range(10)]))
    assert slope_of(found) == pytest.approx(-12.0)
    assert found.counted == tuple(range(10))
    assert found.days == pytest.approx(9.0)
    assert found.at_c is None


@pytest.mark.parametrize(("count", "every_h"), [(4, 48.0), (12, 6.0)])
def test_too_few_readings_or_days_give_no_slope(count: int, every_h: float) -> None:
    found = trend(gauge(), past([1700 - 12 * each for each in range(count)], every_h=every_h))
    assert found.daily is None


def test_only_what_was_read_since_the_refill_counts() -> None:
    before = [1500 - 20 * day for day in range(8)]
    after = [1850 - 20 * day for day in range(6)]
    found = trend(gauge(), past([*before, *after]))
    assert found.serviced == (8,)
    assert found.counted == tuple(range(8, 14))
    assert slope_of(found) == pytest.approx(-20.0)
    # across the refill it would have looked like a gain
    assert before[0] < after[0]


def test_of_two_readings_after_a_refill_no_slope_is_made() -> None:
    found = trend(gauge(), past([*(1500 - 20 * day for day in range(8)), 1850, 1830]))
    assert found.serviced == (8,)
    assert found.counted == (8, 9)
    assert found.daily is None


def test_where_there_is_only_a_maximum_servicing_lowers_it() -> None:
    rising = [20 + day for day in range(8)]
    wear = gauge(mark=1.0, minimum=None, maximum="60")
    found = trend(wear, past([*rising, *(value - 15 for value in rising)]))
    assert found.serviced == (8,)
    assert slope_of(found) == pytest.approx(1.0)


def test_readings_in_another_unit_do_not_count() -> None:
    bar = [replace(one, unit="bar") for one in past([100.0] * 6)]
    psi = past([1700 - 10 * day for day in range(6)])
    assert len(trend(gauge(), [*bar, *psi]).readings) == 6


def test_the_newest_count_and_the_order_is_that_of_time() -> None:
    answers = past([1700 - 5 * day for day in range(40)])
    few = TrendSettings(most=10)
    found = trend(gauge(), list(reversed(answers)), settings=few)
    assert [one.run_id for one in found.readings] == [f"run-{day}" for day in range(30, 40)]
    assert all(one.at < other.at for one, other in pairwise(found.readings))


def test_responses_and_items_without_a_gauge_are_no_readings() -> None:
    reading, response = past([1500, 1500])
    others = [replace(response, value=None), replace(response, series="")]
    assert by_series([reading, *others]) == {"oxygen": [reading]}
    with pytest.raises(ValueError, match="no reading"):
        trend(gauge(), [replace(response, value=None)])


# --- one temperature ---


def oxygen_by_day(days: Sequence[float], leak: float = 0.0) -> list[float]:
    """Give what a cylinder shows by CoolProp's reference equation, at such temperatures."""
    full = reference_density(1650.0, 15.0)
    shown = (reference_psi(full * (1 - leak * day), degrees) for day, degrees in enumerate(days))
    return [round(psi / 10) * 10.0 for psi in shown]


COLD_WEEK = [18.0, 14.0, 11.0, 7.0, 4.0, 0.0, -3.0, -7.0, -11.0, -14.0]


def test_a_cold_week_is_no_leak() -> None:
    shown = oxygen_by_day(COLD_WEEK)
    assert shown[0] - shown[-1] > 200  # as it was read, it fell
    plain = trend(gauge(), past(shown, temperatures=COLD_WEEK))
    assert slope_of(plain) < -20
    found = trend(gauge(TrendKind.OXYGEN), past(shown, temperatures=COLD_WEEK), temperature_c=15.0)
    assert found.at_c == 15.0
    # the formula is 1.6 % off the reference over the whole range: 0.3 % a day at most here
    assert slope_of(found) == pytest.approx(0.0, abs=3.0)
    for one in found.readings:
        assert one.value == pytest.approx(1650.0, rel=0.01)


def test_a_leak_in_a_cold_week_is_seen_as_large_as_it_is() -> None:
    shown = oxygen_by_day(COLD_WEEK, leak=0.01)
    found = trend(gauge(TrendKind.OXYGEN), past(shown, temperatures=COLD_WEEK), temperature_c=15.0)
    assert found.daily is not None
    assert found.daily.slope.high < 0
    # 1 % a day of 1,665 psi absolute
    assert slope_of(found) == pytest.approx(-16.6, abs=3.0)


def test_a_tyre_by_the_ideal_gas_agrees_with_the_reference_for_air() -> None:
    density = float(PropsSI("D", "P", 62 * PA_A_PSI + 101_325, "T", 288.15, "Air"))
    shown = [
        (float(PropsSI("P", "D", density, "T", degrees + 273.15, "Air")) - 101_325) / PA_A_PSI
        for degrees in COLD_WEEK
    ]
    tyre = gauge(TrendKind.AIR, mark=1.0, minimum="55", maximum="70")
    found = trend(tyre, past(shown, temperatures=COLD_WEEK), temperature_c=15.0)
    for one in found.readings:
        assert one.value == pytest.approx(62.0, rel=0.003)
    assert shown[0] - shown[-1] > 5


def test_bar_is_as_good_as_psi() -> None:
    shown = oxygen_by_day(COLD_WEEK)
    bar = [value * PA_A_PSI / 1e5 for value in shown]
    psi = trend(gauge(TrendKind.OXYGEN), past(shown, temperatures=COLD_WEEK))
    other = trend(
        gauge(TrendKind.OXYGEN, unit="bar"), past(bar, unit="bar", temperatures=COLD_WEEK)
    )
    assert psi.at_c == other.at_c == -14.0  # of the last reading, as no day was said
    assert slope_of(other) * 1e5 / PA_A_PSI == pytest.approx(slope_of(psi), abs=1e-3)


def test_without_its_temperature_a_gas_is_not_compared() -> None:
    degrees = [None if day % 2 else 10.0 for day in range(12)]
    answers = past([1700 - 10 * day for day in range(12)], temperatures=degrees)
    found = trend(gauge(TrendKind.OXYGEN), answers)
    assert found.counted == (0, 2, 4, 6, 8, 10)
    assert [one.value is None for one in found.readings] == [bool(day % 2) for day in range(12)]
    assert slope_of(found) == pytest.approx(-10.0)
    never = trend(gauge(TrendKind.OXYGEN), past([1700 - 10 * day for day in range(12)]))
    assert never.counted == ()
    assert never.days == 0.0
    assert never.daily is None
    # nor is one of a day that cannot have been
    degrees[0] = -200.0
    odd = past([1700 - 10 * day for day in range(12)], temperatures=degrees)
    assert trend(gauge(TrendKind.OXYGEN), odd).counted == (2, 4, 6, 8, 10)


# --- oil, by the hours flown ---

OIL = gauge(TrendKind.FLOWN_HOURS, series="left-oil", unit="qt", mark=0.5, minimum="10")


def oil(values: Sequence[float], hours: Sequence[str | None] | str | None) -> list[PastAnswer]:
    return past(values, series="left-oil", unit="qt", hours=hours)


def test_oil_by_the_hours_flown() -> None:
    # 0.25 qt an hour; flights of 2 and 4 hours by turns, so days are uneven and hours are not
    flown = ["2", "4"] * 5
    contents = [18.0]
    for hours in flown[:-1]:
        contents.append(contents[-1] - 0.25 * float(hours))
    found = trend(OIL, oil(contents, flown))
    assert found.flown is not None
    assert found.flown.slope.middle == pytest.approx(-0.25)
    assert found.flown.slope.low == pytest.approx(found.flown.slope.high)
    assert found.flown_at[-1] == pytest.approx(2 * 5 + 4 * 4)
    measured = measured_oil_per_hour(OIL, oil(contents, flown))
    assert measured is not None
    assert measured.per_hour == pytest.approx(0.25)
    assert (measured.unit, measured.series, measured.count) == ("qt", "left-oil", 10)


def test_oil_by_days_where_the_hours_are_not_known() -> None:
    answers = oil([18 - 0.5 * day for day in range(8)], None)
    found = trend(OIL, answers)
    assert found.flown is None
    assert slope_of(found) == pytest.approx(-0.5)
    assert measured_oil_per_hour(OIL, answers) is None


def test_a_flight_planned_twice_was_flown_once() -> None:
    # at 06:00 the check was begun for a flight of 4 hours, and half an hour later once more
    answers = oil([18 - day for day in range(8)], "4")
    begun = datetime.fromisoformat(answers[3].started_at) + timedelta(minutes=30)
    again = replace(answers[3], run_id="again", started_at=begun.isoformat())
    found = trend(OIL, [*answers, again])
    assert found.flown is not None
    assert found.flown_at[-1] == pytest.approx(7 * 4 + 0.5)
    assert found.flown.slope.middle == pytest.approx(-0.25, abs=0.01)


def test_after_a_fresh_fill_the_one_before_tells_what_it_uses() -> None:
    answers = oil([16, 15.5, 15, 14.5, 14, 13.5, 18, 17.5], "2")
    found = trend(OIL, answers)
    assert found.serviced == (6,)
    assert found.flown is None
    measured = measured_oil_per_hour(OIL, answers)
    assert measured is not None
    assert measured.per_hour == pytest.approx(0.25)
    assert measured.count == 6


@pytest.mark.parametrize(
    "values",
    [[18, 17.5, 17], [18, 18.5, 18, 18.5, 18, 18.5, 18], [15, 15.5, 16, 16.5, 17, 17.5]],
)
def test_oil_that_does_not_plainly_fall_is_not_measured(values: list[float]) -> None:
    assert measured_oil_per_hour(OIL, oil(values, "2")) is None


def test_the_thirstier_engine_counts() -> None:
    left, right = (
        kept(make_gauge(f"{side}-oil", unit="qt"), TrendKind.FLOWN_HOURS)
        for side in ("left", "right")
    )
    answers = [
        *past([18 - 0.5 * day for day in range(8)], series="left-oil", unit="qt", hours="2"),
        *past([18 - 0.8 * day for day in range(8)], series="right-oil", unit="qt", hours="2"),
    ]
    now = FIRST + timedelta(days=8)
    measured = measured_oil(make_check(left, right), answers, now)
    assert measured is not None
    assert measured.series == "right-oil"
    assert measured.per_hour == pytest.approx(0.4)
    assert measured_oil(make_check(), answers, now) is None
    assert measured_oil(make_check(left), [], now) is None
    assert measured_oil(make_check(left), answers, now + timedelta(days=100)) is None


# --- notes for the brief ---


def test_the_notes_of_a_check() -> None:
    oxygen = kept(make_gauge("before.crew-oxygen"), TrendKind.OXYGEN, "crew-oxygen")
    fuel = kept(make_gauge("before.fuel", unit="kg"), TrendKind.NONE, "fuel")
    oil_item = kept(make_gauge("before.left-oil", unit="qt"), TrendKind.FLOWN_HOURS)
    battery = make_gauge("before.battery", unit="V")
    check = make_check(oxygen, fuel, oil_item, battery, make_item("before.covers"))
    answers = [
        *past(
            [1700 - 10 * day for day in range(10)],
            series="crew-oxygen",
            temperatures=[15.0] * 10,
        ),
        *past([900 - 50 * day for day in range(10)], series="fuel", unit="kg"),
        *past([18 - 0.5 * day for day in range(10)], series="left-oil", unit="qt", hours="2"),
        *past([25.0] * 3, series="battery", unit="V"),
    ]
    now = FIRST + timedelta(days=10)
    warm = trend_notes(check, answers, Conditions(temperature_c=Decimal(15)), now)
    assert warm == (
        TrendNote(
            item_id="before.crew-oxygen", per_day=-10.0, low=-10.0, high=-10.0, count=10, days=9.0
        ),
        TrendNote(
            item_id="before.left-oil",
            per_day=-0.25,
            low=-0.25,
            high=-0.25,
            count=10,
            days=18.0,
            flown=True,
        ),
    )
    # at the temperature of the day: in the cold, the same leak is fewer psi
    cold = trend_notes(check, answers, Conditions(temperature_c=Decimal(-20)), now)
    shown = [shown_psi(1700.0 - 10 * day, 15.0, -20.0) for day in range(10)]
    assert cold[0].per_day == pytest.approx((shown[-1] - shown[0]) / 9, rel=0.02)
    assert -8.5 < cold[0].per_day < -7.5


def test_readings_older_than_the_window_do_not_count() -> None:
    check = make_check(make_gauge())
    answers = past([1700 - 10 * day for day in range(10)])
    days = TrendSettings().window_days
    for late, notes in ((0.0, 1), (days + 4.0, 1), (days + 5.0, 0)):
        now = FIRST + timedelta(days=late + 0.01)
        assert len(trend_notes(check, answers, UNKNOWN, now)) == notes, late


def test_a_gauge_with_readings_but_no_slope_has_no_note() -> None:
    answers = past([1500] * 9 + [1850])
    assert trend_notes(make_check(make_gauge()), answers, UNKNOWN, FIRST) == ()
