"""Speakers. Sound is played from PortAudio's own thread; nobody waits here."""

from typing import Final

import numpy as np

from voiceflow.audio.devices import WITHOUT_SPEAKERS, describe_fault, sound_library
from voiceflow.audio.frames import RATE_HZ, Samples
from voiceflow.errors import AudioDeviceError

_BYTES_A_SAMPLE: Final = 2


class SpeakerPlayer:
    """Plays speech on a sound device, one piece at a time, and can be cut short."""

    def __init__(self, device: str | None = None) -> None:
        """Open the speakers.

        Args:
            device: Part of their name, or none for the system's default.

        Raises:
            AudioDeviceError: If PortAudio is missing, or there are no such
                speakers, or they do not open.
        """
        self._name = device or "speakers"
        self._library = sound_library(self._name, WITHOUT_SPEAKERS)
        # Handed over whole by one assignment, which Python makes atomic; the callback
        # only reads it and moves its own position.
        self._sound = b""
        self._position = 0
        self._closed = False
        try:
            self._stream = self._library.RawOutputStream(
                samplerate=RATE_HZ,
                device=device,
                channels=1,
                dtype="int16",
                callback=self._give,
            )
            self._stream.start()
        except (self._library.PortAudioError, ValueError) as error:
            raise AudioDeviceError(self._name, describe_fault(error), WITHOUT_SPEAKERS) from error

    def _give(self, out: memoryview, frame_count: int, times: object, status: object) -> None:
        del times, status
        wanted = frame_count * _BYTES_A_SAMPLE
        piece = self._sound[self._position : self._position + wanted]
        self._position += len(piece)
        out[:] = piece.ljust(wanted, b"\0")

    def play(self, samples: Samples) -> None:
        """Begin to play; what still sounds is cut.

        Args:
            samples: int16 mono at 16 kHz.

        Raises:
            AudioDeviceError: If the speakers have gone.
        """
        if self._closed or not self._stream.active:
            what = "the speakers have stopped"
            raise AudioDeviceError(self._name, what, WITHOUT_SPEAKERS)
        self.stop()
        sound = np.ascontiguousarray(samples, dtype=np.int16).tobytes()
        self._position = 0
        self._sound = sound

    def stop(self) -> None:
        """Be quiet at once."""
        self._sound = b""

    def close(self) -> None:
        """Let go of the speakers; may be called twice."""
        if self._closed:
            return
        self._closed = True
        try:
            self._stream.close()
        except self._library.PortAudioError as error:
            raise AudioDeviceError(self._name, describe_fault(error), WITHOUT_SPEAKERS) from error
