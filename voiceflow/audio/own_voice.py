"""The tool's own voice in its own microphone: what is needed where it speaks over speakers.

Two views of the same 20 ms come out: in one the own voice is suppressed so far that no
endpointer takes it for speech; in the other only what is known of it is taken off, so that
a recogniser hears who speaks at the same time (``audio/echo.py`` has the figures).
"""

import math
from collections import deque
from contextlib import suppress
from dataclasses import replace
from importlib import import_module
from queue import Empty, SimpleQueue
from time import monotonic
from typing import Any, Final, Protocol

import numpy as np

from voiceflow.audio.conversion import ToFrames
from voiceflow.audio.echo import EchoCanceller
from voiceflow.audio.frames import FRAME_S, FRAME_SAMPLES, RATE_HZ, Frame, Samples
from voiceflow.errors import UsageError

#: What WebRTC's processing takes at once: 10 ms.
_STEP: Final = RATE_HZ // 100
#: Sound of the own voice comes back so long after it was given to the device, and rings on.
#: Counted in frames of 20 ms: 0.16 s. Somebody who answers after the usual 0.2 s does not
#: speak over it.
_RINGS_ON: Final = 8
#: What a device keeps in hand, seconds, within that; one that keeps more rings on longer.
_USUAL_LATENCY_S: Final = 0.05
#: Steps of int16 that sound: what is played is all zeros between two pieces of speech.
_SOUNDS: Final = 30
#: Frames that wait all through so many are too many: they are from a time when the
#: microphone stood still, and what is played would seem to come after its echo.
_WATCHED: Final = 50
#: So many frames in a row that came late, a minute, are the speakers' slower clock: clocks
#: differ by 0.02 % at most, a frame of 20 ms in two minutes. Or frames of both just come at the
#: same time: then one in hand ends the waiting for good.
_WAITED_FOR: Final = 3000
#: A device asks for sound at least so often, seconds.
_PATIENCE_S: Final = 0.1


#: Pieces kept for a microphone that stands still: some seconds' worth, as devices take them.
_MOST_PIECES: Final = 1000


class Loopback:
    """What the speakers are given, in step with what a microphone gives.

    Both devices give 20 ms in 20 ms, so nothing is aligned but the beginning. A frame that
    is late is waited for: what is put in or left out later moves all that follows, and the
    filters learn the way anew, which takes them seconds. Where the speakers' clock is the
    slower one, every frame comes to be waited for; after a minute of it one of silence is put
    in, in silence.

    Attributes:
        latency_s: So long after it was given the device sounds, as it says.
        is_moved: What is given has been moved against what is heard; who acts on it sets it
            back.
    """

    def __init__(self) -> None:
        self._pieces: SimpleQueue[tuple[bytes, int, int]] = SimpleQueue()
        self._form: tuple[int, int] | None = None
        self._converter: ToFrames | None = None
        self._ready: deque[Samples] = deque()
        self._taken = 0
        self._least = 0  # frames that waited, of those taken since last looked at
        self._stands_still = True
        self._waits = 0  # frames in a row that had to be waited for
        self._silent = True  # the frame before
        self.latency_s = 0.0
        self.is_moved = False

    def give(self, sound: bytes, rate_hz: int, channels: int) -> None:
        """Take what goes to the device; may be called from any thread.

        Args:
            sound: int16, interleaved; silence as well.
            rate_hz: Its rate.
            channels: How many there are.
        """
        self._pieces.put((sound, rate_hz, channels))
        if self._pieces.qsize() > _MOST_PIECES:
            # nobody takes it: the microphone is gone, and this is older than it will be wanted
            with suppress(Empty):
                self._pieces.get_nowait()

    def take(self) -> Samples:
        """Give the next 20 ms of it, shape (320,).

        Silence if the device takes nothing; that is found out by waiting ``_PATIENCE_S``
        once, and not again before it takes something.
        """
        self._convert(0.0)
        if self._stands_still and self._ready:
            # what was given before anybody listened
            self.forget()
        if not self._ready and not self._stands_still:
            self._waits += 1
            if self._waits >= _WAITED_FOR and self._silent:
                self._waits = 0
                self.is_moved = True
                return _silence()
            self._convert(_PATIENCE_S)
        elif self._ready:
            self._waits = 0
        self._stands_still = not self._ready
        if self._stands_still:
            self._silent = True
            return _silence()
        next_one = self._ready.popleft()
        self._silent = not sounds(next_one)
        self._drop_stale()
        return next_one

    def forget(self) -> None:
        """Drop all but the newest 20 ms: the microphone stood still."""
        self._convert(0.0)
        self._stands_still = True
        self.is_moved = True
        while len(self._ready) > 1:
            self._ready.popleft()

    def _drop_stale(self) -> None:
        waiting = len(self._ready)
        self._least = min(self._least, waiting) if self._taken % _WATCHED else waiting
        self._taken += 1
        if not self._taken % _WATCHED and self._least > 1:
            self.is_moved = True
            for _ in range(self._least - 1):
                self._ready.popleft()

    def _convert(self, patience_s: float) -> None:
        """Take what has been given; wait for it as long as there is no frame of it."""
        until_s = monotonic() + patience_s
        while True:
            left_s = 0.0 if self._ready else max(0.0, until_s - monotonic())
            try:
                sound, *form = self._pieces.get(left_s > 0, left_s or None)
            except Empty:
                return
            if self._converter is None or (form[0], form[1]) != self._form:
                self._form = (form[0], form[1])
                self._converter = ToFrames(*self._form)
            self._ready.extend(self._converter.take(sound))


def _silence() -> Samples:
    return np.zeros(FRAME_SAMPLES, dtype=np.int16)


def sounds(played: Samples) -> bool:
    """Tell whether a piece of what is played is speech: between two pieces are zeros."""
    return bool(np.abs(played.astype(np.int32)).max(initial=0) > _SOUNDS)


class Suppressor(Protocol):
    """Takes an own voice off, and whatever is mixed with it as far as it must."""

    def clean(self, heard: Samples, played: Samples) -> Samples:
        """Take 20 ms of what was heard and of what was played, give what is left of it."""
        ...

    def restart(self) -> None:
        """Forget the way that sound takes: it is another one."""
        ...


class CallSuppressor:
    """The echo canceller of WebRTC, from the audio processing of ``livekit``."""

    def __init__(self) -> None:
        """Load it.

        Raises:
            UsageError: If the library is not here.
        """
        try:
            # only where there are speakers: it is large, and optional
            self._rtc: Any = import_module("livekit.rtc")
        except (ImportError, OSError) as error:
            what = "listening beside speakers needs a library against echo, and it is not here"
            remedy = "Install it: pip install livekit. Or use a headset, with --listening headset."
            raise UsageError(what, remedy) from error
        self._processing: Any = None
        self.restart()

    def restart(self) -> None:
        """Forget the way that sound takes: it is another one.

        A new one knows the way within its first words; one that was moved by 20 ms let the
        own voice through for 18 s.
        """
        self._processing = self._rtc.AudioProcessingModule(echo_cancellation=True)

    def clean(self, heard: Samples, played: Samples) -> Samples:
        """Take 20 ms of what was heard and of what was played, give what is left of it."""
        pieces = []
        for start in range(0, len(heard), _STEP):
            far = self._frame(played[start : start + _STEP])
            near = self._frame(heard[start : start + _STEP])
            self._processing.process_reverse_stream(far)
            # it finds out by itself how late the echo is
            self._processing.set_stream_delay_ms(0)
            self._processing.process_stream(near)
            pieces.append(np.frombuffer(near.data, dtype=np.int16).copy())
        return np.concatenate(pieces)

    def _frame(self, samples: Samples) -> Any:
        sound = bytearray(np.ascontiguousarray(samples, dtype=np.int16).tobytes())
        return self._rtc.AudioFrame(sound, RATE_HZ, 1, _STEP)


class OwnVoiceFilter:
    """Cleans the frames of a microphone from what the speakers play."""

    def __init__(self, loopback: Loopback, suppressor: Suppressor) -> None:
        """Know nothing of the room yet.

        Args:
            loopback: What the speakers are given.
            suppressor: For the endpointer.
        """
        self._loopback = loopback
        self._suppressor = suppressor
        self._canceller = EchoCanceller()
        self._since_sound = _RINGS_ON + 1

    def clean(self, frame: Frame) -> Frame:
        """Give a frame of 320 samples without the own voice, and with ``gate``."""
        played = self._loopback.take()
        if self._loopback.is_moved:
            self._loopback.is_moved = False
            self._canceller.doubt()
            self._suppressor.restart()
        self._since_sound = 0 if sounds(played) else self._since_sound + 1
        return replace(
            frame,
            samples=self._canceller.clean(frame.samples, played),
            gate=self._suppressor.clean(frame.samples, played),
            over_own_voice=self._since_sound <= self._rings_on,
        )

    @property
    def _rings_on(self) -> int:
        """For how many frames its sound may still be heard."""
        late_s = max(0.0, self._loopback.latency_s - _USUAL_LATENCY_S)
        return _RINGS_ON + math.ceil(late_s / FRAME_S)

    def interrupt(self) -> None:
        """Take note that the microphone was gone."""
        self._loopback.forget()
