"""Sound of a device, in pieces of any length, to frames' form and back."""

from collections.abc import Iterator

import numpy as np
import soxr

from voiceflow.audio.frames import FRAME_SAMPLES, RATE_HZ, Samples
from voiceflow.audio.wav import to_int16

_FULL_SCALE = 32_768


class ToFrames:
    """Mixes channels to one, resamples to 16 kHz and cuts into 320 samples.

    At 16 kHz mono nothing is changed. At 44.1 and 48 kHz the resampler keeps up to
    30 ms of sound and gives it in pieces of up to 35 ms.
    """

    def __init__(self, rate_hz: int, channels: int) -> None:
        """Begin a stream.

        Args:
            rate_hz: Of what is taken.
            channels: Of what is taken; interleaved.
        """
        self._channels = channels
        self._resampler = None
        if rate_hz != RATE_HZ:
            self._resampler = soxr.ResampleStream(rate_hz, RATE_HZ, 1, dtype="float32")
        self._waiting: Samples = np.zeros(0, dtype=np.int16)

    def take(self, piece: bytes) -> Iterator[Samples]:
        """Take int16 sound, interleaved; give what is whole of it, shape (320,) each."""
        samples = np.frombuffer(piece, dtype=np.int16)
        if self._channels > 1 or self._resampler is not None:
            mono = samples.reshape(-1, self._channels).astype(np.float32).mean(axis=1)
            mono /= _FULL_SCALE
            if self._resampler is not None:
                mono = self._resampler.resample_chunk(mono)
            samples = to_int16(mono)
        whole = np.concatenate((self._waiting, samples)) if len(self._waiting) else samples
        end = len(whole) - len(whole) % FRAME_SAMPLES
        self._waiting = whole[end:]
        for start in range(0, end, FRAME_SAMPLES):
            yield whole[start : start + FRAME_SAMPLES]


def for_device(samples: Samples, rate_hz: int, channels: int) -> bytes:
    """Bring 16 kHz mono sound to a device's form.

    Args:
        samples: int16 mono at 16 kHz.
        rate_hz: Wanted.
        channels: Wanted; the same sound on each, interleaved.
    """
    if rate_hz != RATE_HZ:
        sound = samples.astype(np.float32) / _FULL_SCALE
        samples = to_int16(soxr.resample(sound, RATE_HZ, rate_hz))
    if channels > 1:
        samples = np.repeat(samples, channels)
    return np.ascontiguousarray(samples, dtype=np.int16).tobytes()
