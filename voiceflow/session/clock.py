"""Time for sessions that have no audio clock: the keyboard.

With sound, time is counted in samples and no clock is asked. Here a clock is given
in from outside, so that tests bring their own.
"""

import time
from typing import Protocol


class Clock(Protocol):
    """Tells the time since the run began."""

    def now_s(self) -> float:
        """Give the seconds since the run began; never falls."""
        ...

    def wait_until(self, at_s: float) -> None:
        """Come back when it is that time; at once if it has passed."""
        ...


class MonotonicClock:
    """The computer's clock, unmoved when somebody sets the time of day."""

    def __init__(self, from_s: float = 0.0) -> None:
        """Start the clock.

        Args:
            from_s: What it shows now, for a run that goes on.
        """
        self._zero = time.monotonic() - from_s

    def now_s(self) -> float:
        """Give the seconds since the run began."""
        return time.monotonic() - self._zero

    def wait_until(self, at_s: float) -> None:
        """Sleep until then."""
        remaining_s = at_s - self.now_s()
        if remaining_s > 0:
            time.sleep(remaining_s)
