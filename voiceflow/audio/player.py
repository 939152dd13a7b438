"""Speakers. Sound is played from PortAudio's own thread; nobody waits here."""

import time
from collections.abc import Callable
from typing import Any, Final

from voiceflow.audio.conversion import for_device
from voiceflow.audio.devices import (
    WITHOUT_SPEAKERS,
    Direction,
    describe_fault,
    find_device,
    open_in_any_form,
    quiet_system,
    sound_library,
)
from voiceflow.audio.frames import FRAME_SAMPLES, RATE_HZ, Samples
from voiceflow.errors import AudioDeviceError

#: Speakers that have taken no sound for so long are lost, seconds. More than for a
#: microphone: a virtual device here pauses for 1.93 s when it has run dry (two of two).
STALLED_S: Final = 3.0
#: A device may take its time before it takes sound evenly: not judged in its first seconds.
_SETTLING_S: Final = 5.0
_BYTES_A_SAMPLE: Final = 2

Copy = Callable[[bytes, int, int], None]


class SpeakerPlayer:
    """Plays speech on a sound device, one piece at a time, and can be cut short.

    Attributes:
        name: The device's own name.
        latency_s: So long after it was handed over sound is heard, as the device says.
        underruns: How often the device ran dry because the computer was too busy: then
            speech stutters.
    """

    def __init__(self, device: str | None = None, copy: Copy | None = None) -> None:
        """Open the speakers, at 16 kHz mono or as the device offers.

        Args:
            device: Their name or part of it, or none for the system's default.
            copy: Takes all that goes to the device, silence as well: int16 interleaved, rate
                in Hz, number of channels. It is called on PortAudio's thread.

        Raises:
            AudioDeviceError: If PortAudio is missing, or there are no such
                speakers, or they do not open.
        """
        self.underruns = 0
        self._wanted = device
        self._copy = copy
        self._library = sound_library(device or "speakers", WITHOUT_SPEAKERS)
        # Handed over whole by one assignment, which Python makes atomic; the callback
        # only reads it and moves its own position.
        self._sound = b""
        self._position = 0
        self._closed = False
        self._stream: Any = None
        self._open()

    def _open(self) -> None:
        found = find_device(self._wanted, Direction.OUTPUT)
        self.name = found.name

        def make(rate_hz: int, channels: int) -> Any:
            return self._library.RawOutputStream(
                samplerate=rate_hz,
                device=found.index,
                channels=channels,
                # who takes a copy wants it as often as a microphone gives frames
                blocksize=0 if self._copy is None else FRAME_SAMPLES * rate_hz // RATE_HZ,
                dtype="int16",
                callback=self._give,
            )

        try:
            stream, self._rate_hz, self._channels = open_in_any_form(self._library, found, make)
            self._opened_s = self._asked_s = time.monotonic()
            stream.start()
        except (self._library.PortAudioError, ValueError) as error:
            raise AudioDeviceError(self.name, describe_fault(error), WITHOUT_SPEAKERS) from error
        self._stream = stream
        self.latency_s = float(stream.latency)

    def _give(self, out: memoryview, frame_count: int, times: object, status: object) -> None:
        del times
        if getattr(status, "output_underflow", False) and self.is_sounding:
            self.underruns += 1
        self._asked_s = time.monotonic()
        wanted = frame_count * self._channels * _BYTES_A_SAMPLE
        piece = self._sound[self._position : self._position + wanted]
        self._position += len(piece)
        sound = piece.ljust(wanted, b"\0")
        out[:] = sound
        if self._copy is not None:
            self._copy(sound, self._rate_hz, self._channels)

    @property
    def is_sounding(self) -> bool:
        """Whether something is still being played."""
        return self._position < len(self._sound)

    @property
    def _works(self) -> bool:
        if self._stream is None or not self._stream.active:
            return False
        now_s = time.monotonic()
        return now_s - self._asked_s < STALLED_S or now_s - self._opened_s < _SETTLING_S

    def play(self, samples: Samples) -> None:
        """Begin to play; what still sounds is cut.

        Args:
            samples: int16 mono at 16 kHz.

        Raises:
            AudioDeviceError: If the speakers have gone, or have not taken sound for
                ``STALLED_S``.
        """
        if self._stream is None and not self._closed:
            self._open()
        self.verify()
        self.stop()
        sound = for_device(samples, self._rate_hz, self._channels)
        self._position = 0
        self._sound = sound

    def verify(self) -> None:
        """See whether they still play; at rest nothing is known against them.

        Raises:
            AudioDeviceError: As ``play``.
        """
        if self._closed or not (self._stream is None or self._works):
            what = "the speakers have stopped"
            raise AudioDeviceError(self.name, what, WITHOUT_SPEAKERS)

    def stop(self) -> None:
        """Be quiet at once."""
        self._sound = b""

    def rest(self) -> None:
        """Let go of the device until the next ``play``."""
        self.stop()
        works = self._works
        stream, self._stream = self._stream, None
        if stream is not None:
            try:
                # what the device still holds is heard, but a device that is gone is not
                # waited for
                with quiet_system():
                    (stream.stop if works else stream.abort)()
                    stream.close()
            except self._library.PortAudioError as error:
                raise AudioDeviceError(
                    self.name, describe_fault(error), WITHOUT_SPEAKERS
                ) from error

    def reopen(self) -> bool:
        """Try to get speakers that were lost again: of the same name, else the usual ones.

        Returns:
            Whether they are there.
        """
        try:
            self.rest()
        except AudioDeviceError:
            self._stream = None  # it was gone already
        wanted = self._wanted
        for name in dict.fromkeys((wanted, None)):
            self._wanted = name
            try:
                self._open()
            except AudioDeviceError:
                continue
            finally:
                self._wanted = wanted
            return True
        return False

    def close(self) -> None:
        """Let go of the speakers; may be called twice."""
        if self._closed:
            return
        self._closed = True
        self.rest()
