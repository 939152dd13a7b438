"""Windows of take-off times, against what the issuing bodies publish.

EUROCONTROL, page "ATFM slots", and SKYbrary, "Calculated Take Off Time (CTOT)": from 5
minutes before to 10 minutes after (seen on the pages). FAA AIM 5-2-7 a.4 (page of 20 April
2023): an EDCT no earlier than 5 minutes before, no later than 5 minutes after (seen on the
page). The seconds at the edges are computed from these.
"""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voiceflow.limits.slots import ctot_window, edct_window, is_within, nearest

NOON = datetime(2026, 11, 27, 12, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("clock", "within"),
    [("11:54:59", False), ("11:55:00", True), ("12:10:00", True), ("12:10:01", False)],
)
def test_ctot(clock: str, within: bool) -> None:
    moment = datetime.fromisoformat(f"2026-11-27T{clock}+00:00")
    assert is_within(moment, ctot_window(NOON)) is within


@pytest.mark.parametrize(
    ("clock", "within"),
    [("11:54:59", False), ("11:55:00", True), ("12:05:00", True), ("12:05:01", False)],
)
def test_edct(clock: str, within: bool) -> None:
    moment = datetime.fromisoformat(f"2026-11-27T{clock}+00:00")
    assert is_within(moment, edct_window(NOON)) is within


def test_a_window_goes_over_midnight() -> None:
    begins = datetime(2026, 11, 27, 23, 20, tzinfo=UTC)
    early, late = ctot_window(nearest("00:03", begins))
    assert (early.isoformat(), late.isoformat()) == (
        "2026-11-27T23:58:00+00:00",
        "2026-11-28T00:13:00+00:00",
    )


def test_a_time_of_day_is_of_the_nearest_day_in_utc() -> None:
    # 01:30 in the morning, two hours east: still the day before in UTC
    local = datetime.fromisoformat("2026-11-28T01:30:00+02:00")
    assert nearest("23:50", local) == datetime(2026, 11, 27, 23, 50, tzinfo=UTC)


@given(
    # hypothesis wants its bounds without an offset
    st.datetimes(
        datetime(2020, 1, 1),  # noqa: DTZ001
        datetime(2030, 1, 1),  # noqa: DTZ001
        timezones=st.just(UTC),
    ),
    st.integers(0, 23),
    st.integers(0, 59),
)
def test_nearest_is_within_half_a_day(moment: datetime, hour: int, minute: int) -> None:
    found = nearest(f"{hour:02d}:{minute:02d}", moment)
    assert (found.hour, found.minute) == (hour, minute)
    assert abs(found - moment) <= timedelta(hours=12)
