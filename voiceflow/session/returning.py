"""A microphone that may go and come back while a check runs.

Time is counted in samples as long as there are any. While there are none the wall's
clock moves it on, so that waits and deadlines run; when sound returns it is counted
on from there.
"""

from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import replace
from typing import Final, Protocol

from voiceflow.audio.frames import Frame
from voiceflow.audio.microphone import FIRST_SOUND_S
from voiceflow.audio.source import Change, Gap
from voiceflow.errors import AudioDeviceError
from voiceflow.session.clock import Clock

#: How often time moves on without sound: what is being said ends this exactly.
_TICK_S: Final = 0.05
#: Pauses between two tries to open the microphone again, seconds.
_RETRY_S: Final = 1.0
#: A headset that starts anew takes some seconds; only then another microphone is taken.
_TRIES_OF_THE_SAME: Final = 6


class LiveMicrophone(Protocol):
    """What is needed of a microphone."""

    @property
    def name(self) -> str:
        """Its own name."""
        ...

    @property
    def overruns(self) -> int:
        """How often sound was dropped so far."""
        ...

    @property
    def has_sound(self) -> bool:
        """Whether sound has come that was not taken yet."""
        ...

    def frames(self) -> Iterator[Frame]:
        """Give frames until it is closed.

        Raises:
            AudioDeviceError: If it stops working.
        """
        ...

    def close(self) -> None:
        """Let go of it; may be called twice."""
        ...


class Reopening:
    """Opens a lost microphone again: the same one, after some tries the usual one."""

    def __init__(
        self,
        open_device: Callable[[str | None], LiveMicrophone],
        name: str | None,
        look_anew: Callable[[], None],
    ) -> None:
        """Remember which.

        Args:
            open_device: Opens the microphone of a name, or for none the usual one; raises
                AudioDeviceError.
            name: Which was wanted.
            look_anew: Has the devices listed anew.
        """
        self._open_device = open_device
        self._name = name
        self._look_anew = look_anew
        self._failed = 0

    def __call__(self) -> LiveMicrophone:
        """Open it.

        Raises:
            AudioDeviceError: If there is none yet.
        """
        self._look_anew()
        try:
            microphone = self._open_device(self._name)
        except AudioDeviceError:
            self._failed += 1
            if self._name is None or self._failed < _TRIES_OF_THE_SAME:
                raise
            microphone = self._open_device(None)
        self._failed = 0
        return microphone


class ReturningMicrophone:
    """Frames of a microphone, and gaps while it is gone; it is tried again and again."""

    def __init__(
        self,
        first: LiveMicrophone,
        open_again: Callable[[], LiveMicrophone],
        clock: Clock,
        tell: Callable[[str], None],
    ) -> None:
        """Take an open microphone.

        Args:
            first: Listens already.
            open_again: Opens it again, or another one in its place; raises
                AudioDeviceError as long as there is none.
            clock: Time while there is no sound.
            tell: Takes a remark for the person.
        """
        self._microphone = first
        self._open_again = open_again
        self._clock = clock
        self._tell = tell
        self._lost_overruns = 0  # of microphones that are gone
        self._closed = False

    @property
    def overruns(self) -> int:
        """How often sound was dropped so far."""
        return self._lost_overruns + self._microphone.overruns

    def frames(self) -> Iterator[Frame | Gap]:
        """Give frames, and gaps while the microphone is gone, until ``close``."""
        now_s = 0.0
        while not self._closed:
            from_s = now_s
            seen_s = self._clock.now_s()
            try:
                for frame in self._microphone.frames():
                    seen_s = self._clock.now_s()
                    later = replace(frame, start_s=frame.start_s + from_s)
                    now_s = later.end_s
                    yield later
            except AudioDeviceError as error:
                self._tell(
                    f"{error.device}: {error.what}. Plug it in again; it is waited for. "
                    "Ctrl-C stops here, and the run can be resumed."
                )
            else:
                return  # closed
            # time of the run = time of the clock + ahead
            ahead_s = now_s - seen_s
            yield Gap(end_s=ahead_s + self._clock.now_s(), change=Change.LOST)
            for at_s in self._wait():
                yield Gap(end_s=ahead_s + at_s)
            now_s = ahead_s + self._clock.now_s()
            if not self._closed:
                self._tell(f"Listening again, with {self._microphone.name}.")
                yield Gap(end_s=now_s, change=Change.RETURNED)

    def _wait(self) -> Iterator[float]:
        """Wait for a microphone that gives sound, telling the time meanwhile."""
        self._let_go()
        is_open = False
        until_s = self._clock.now_s()  # the next try, or the end of patience with this one
        while not self._closed:
            now_s = self._clock.now_s()
            if is_open and self._microphone.has_sound:
                return
            if now_s >= until_s:
                if is_open:
                    self._let_go()
                is_open = self._try()
                until_s = self._clock.now_s() + (FIRST_SOUND_S if is_open else _RETRY_S)
            yield self._clock.now_s()
            self._clock.wait_until(self._clock.now_s() + _TICK_S)

    def _try(self) -> bool:
        try:
            microphone = self._open_again()
        except AudioDeviceError:
            return False
        self._lost_overruns += self._microphone.overruns
        self._microphone = microphone
        return True

    def _let_go(self) -> None:
        with suppress(AudioDeviceError):  # it may be gone already
            self._microphone.close()

    def close(self) -> None:
        """Let go of the microphone; may be called twice."""
        self._closed = True
        self._microphone.close()
