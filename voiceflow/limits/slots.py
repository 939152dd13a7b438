"""Take-off times with a window, and times of day that belong to a run.

Sources: the ATFM slot is from 5 minutes before to 10 minutes after the calculated take-off
time (EUROCONTROL, page "ATFM slots"; SKYbrary, "Calculated Take Off Time"); an expect
departure clearance time is kept no earlier than 5 minutes before and no later than 5
minutes after (FAA AIM 5-2-7 a.4, page of 20 April 2023).
"""

from datetime import UTC, datetime, timedelta
from typing import Final

_CTOT_EARLY: Final = timedelta(minutes=5)
_CTOT_LATE: Final = timedelta(minutes=10)
_EDCT_EITHER_WAY: Final = timedelta(minutes=5)
_DAY: Final = timedelta(days=1)


def nearest(time_of_day: str, moment: datetime) -> datetime:
    """Give the time of that name that is nearest to a moment, on whichever day.

    Args:
        time_of_day: "HH:MM", UTC.
        moment: With a UTC offset.

    Raises:
        ValueError: If it is no time of day.
    """
    hours, _, minutes = time_of_day.partition(":")
    there = moment.astimezone(UTC)
    today = there.replace(hour=int(hours), minute=int(minutes), second=0, microsecond=0)
    return min((today - _DAY, today, today + _DAY), key=lambda each: abs(each - there))


def ctot_window(take_off: datetime) -> tuple[datetime, datetime]:
    """Give begin and end of the window of a calculated take-off time; both belong to it."""
    return take_off - _CTOT_EARLY, take_off + _CTOT_LATE


def edct_window(take_off: datetime) -> tuple[datetime, datetime]:
    """Give begin and end of the window of an expect departure clearance time."""
    return take_off - _EDCT_EITHER_WAY, take_off + _EDCT_EITHER_WAY


def is_within(moment: datetime, window: tuple[datetime, datetime]) -> bool:
    """Tell whether a take-off at that moment keeps the window."""
    return window[0] <= moment <= window[1]
