"""A microphone as a source of frames.

The only thread is PortAudio's own: its callback puts sound into a queue and does
nothing else. The audio clock counts samples, so it is the microphone's clock.
"""

import queue
from collections.abc import Iterator
from threading import Event
from types import ModuleType
from typing import Any, Final

from voiceflow.audio.conversion import ToFrames
from voiceflow.audio.devices import (
    STALLED_S,
    WITHOUT_MICROPHONE,
    Direction,
    describe_fault,
    find_device,
    open_in_any_form,
    quiet_system,
    sound_library,
)
from voiceflow.audio.frames import FRAME_SAMPLES, RATE_HZ, Frame
from voiceflow.errors import AudioDeviceError

#: A device may take its time to begin: a virtual one here took 2.0 s, in three of three.
FIRST_SOUND_S: Final = 5.0
_PLUG_IN: Final = "Plug it in again, then continue"


class MicrophoneSource:
    """Frames from a sound device, in real time.

    Attributes:
        name: The device's own name.
        overruns: How often PortAudio had to drop sound because the computer was
            too busy; the gap is not filled, because nothing was heard in it.
    """

    def __init__(self, device: str | None = None) -> None:
        """Open a microphone; it listens at once.

        At 16 kHz mono if the device offers that, else at its own rate and number of
        channels.

        Args:
            device: Its name or part of it, or none for the system's default.

        Raises:
            AudioDeviceError: If PortAudio is missing, or there is no such
                microphone, or it does not open.
        """
        self.overruns = 0
        self._pieces: queue.SimpleQueue[bytes | None] = queue.SimpleQueue()
        self._closed = Event()
        self._library: ModuleType = sound_library(device or "microphone", WITHOUT_MICROPHONE)
        found = find_device(device, Direction.INPUT)
        self.name = found.name

        def make(rate_hz: int, channels: int) -> Any:
            return self._library.RawInputStream(
                samplerate=rate_hz,
                blocksize=FRAME_SAMPLES * rate_hz // RATE_HZ,
                device=found.index,
                channels=channels,
                dtype="int16",
                callback=self._take,
                finished_callback=self._end,
            )

        try:
            self._stream, rate_hz, channels = open_in_any_form(self._library, found, make)
            self._stream.start()
        except (self._library.PortAudioError, ValueError) as error:
            raise AudioDeviceError(self.name, describe_fault(error), WITHOUT_MICROPHONE) from error
        self._form = rate_hz, channels

    @property
    def has_sound(self) -> bool:
        """Whether sound has come that was not taken yet."""
        return not self._pieces.empty()

    def _take(self, data: object, frame_count: int, times: object, status: object) -> None:
        del frame_count, times
        if getattr(status, "input_overflow", False):
            self.overruns += 1
        self._pieces.put(bytes(data))  # type: ignore[call-overload]

    def _end(self) -> None:
        self._pieces.put(None)

    def frames(self) -> Iterator[Frame]:
        """Give frames as they are recorded from now on, until ``close``.

        Raises:
            AudioDeviceError: If the microphone stops working, or gives no sound for
                ``STALLED_S``.
        """
        self._drop_old()
        converter = ToFrames(*self._form)
        patience_s = FIRST_SOUND_S
        start = 0
        while not self._closed.is_set():
            try:
                piece = self._pieces.get(timeout=patience_s)
            except queue.Empty:
                piece = None
            if self._closed.is_set():
                return
            if piece is None:
                what = "the microphone stopped delivering sound"
                raise AudioDeviceError(self.name, what, _PLUG_IN)
            patience_s = STALLED_S
            for samples in converter.take(piece):
                yield Frame(samples=samples, start_s=start / RATE_HZ)
                start += len(samples)

    def _drop_old(self) -> None:
        """What came before anybody listened belongs to no run."""
        while not self._pieces.empty():
            if self._pieces.get() is None:
                self._pieces.put(None)
                return

    def close(self) -> None:
        """Let go of the microphone; may be called twice."""
        if self._closed.is_set():
            return
        self._closed.set()
        try:
            # not stop: that waits for a device which may be gone
            with quiet_system():
                self._stream.abort()
                self._stream.close()
        except self._library.PortAudioError as error:
            raise AudioDeviceError(self.name, describe_fault(error), "Plug it in again") from error
