"""A microphone as a source of frames.

The only thread is PortAudio's own: its callback puts sound into a queue and does
nothing else. The audio clock counts samples, so it is the microphone's clock.
"""

import queue
from collections.abc import Iterator
from threading import Event
from types import ModuleType
from typing import Final

import numpy as np

from voiceflow.audio.devices import WITHOUT_MICROPHONE, describe_fault, sound_library
from voiceflow.audio.frames import FRAME_SAMPLES, RATE_HZ, Frame
from voiceflow.errors import AudioDeviceError

_SILENT_TOO_LONG_S: Final = 2.0


class MicrophoneSource:
    """Frames from a sound device, in real time.

    Attributes:
        overruns: How often PortAudio had to drop sound because the computer was
            too busy; the gap is not filled, because nothing was heard in it.
    """

    def __init__(self, device: str | None = None) -> None:
        """Open a microphone; it listens at once.

        Args:
            device: Part of its name, or none for the system's default.

        Raises:
            AudioDeviceError: If PortAudio is missing, or there is no such
                microphone, or it does not open.
        """
        self.overruns = 0
        self._name = device or "microphone"
        self._pieces: queue.SimpleQueue[bytes | None] = queue.SimpleQueue()
        self._closed = Event()
        self._library: ModuleType = sound_library(self._name, WITHOUT_MICROPHONE)
        try:
            self._stream = self._library.RawInputStream(
                samplerate=RATE_HZ,
                blocksize=FRAME_SAMPLES,
                device=device,
                channels=1,
                dtype="int16",
                callback=self._take,
                finished_callback=self._end,
            )
            self._stream.start()
        except (self._library.PortAudioError, ValueError) as error:
            raise AudioDeviceError(self._name, describe_fault(error), WITHOUT_MICROPHONE) from error

    def _take(self, data: object, frame_count: int, times: object, status: object) -> None:
        del frame_count, times
        if getattr(status, "input_overflow", False):
            self.overruns += 1
        self._pieces.put(bytes(data))  # type: ignore[call-overload]

    def _end(self) -> None:
        self._pieces.put(None)

    def frames(self) -> Iterator[Frame]:
        """Give frames as they are recorded, until ``close``.

        Raises:
            AudioDeviceError: If the microphone stops working.
        """
        start = 0
        while not self._closed.is_set():
            try:
                piece = self._pieces.get(timeout=_SILENT_TOO_LONG_S)
            except queue.Empty:
                piece = None
            if piece is None:
                if self._closed.is_set():
                    return
                what = "the microphone stopped delivering sound"
                raise AudioDeviceError(self._name, what, "Plug it in again, then continue")
            samples = np.frombuffer(piece, dtype=np.int16)
            yield Frame(samples=samples, start_s=start / RATE_HZ)
            start += len(samples)

    def close(self) -> None:
        """Let go of the microphone; may be called twice."""
        if self._closed.is_set():
            return
        self._closed.set()
        try:
            self._stream.close()
        except self._library.PortAudioError as error:
            raise AudioDeviceError(self._name, describe_fault(error), "Plug it in again") from error
