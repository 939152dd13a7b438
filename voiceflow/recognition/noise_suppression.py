"""Taking steady noise off speech: a noise spectrum from where nobody speaks, a Wiener filter.

Arithmetic on samples; no engine, no files. The spectrum is learnt from sound between
utterances only, and the filter that uses it is one for each utterance. What comes out
has the length and the clock of what went in, so that words keep their times.

Short-time spectra of 32 ms every 8 ms, square-root Hann windows for analysis and for
synthesis. The gain is the Wiener gain of the a priori signal-to-noise ratio, estimated
in the decision-directed way: Y. Ephraim, D. Malah, "Speech enhancement using a minimum
mean-square error short-time spectral amplitude estimator", IEEE Trans. ASSP 32 (1984),
equation 51; P. Scalart, J. Vieira Filho, "Speech enhancement based on a priori signal
to noise estimation", ICASSP 1996 (both from memory).
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from voiceflow.audio.frames import RATE_HZ, Samples

#: Samples of one spectrum, and from one to the next.
WINDOW: Final = 512
HOP: Final = 128
HOPS_A_SECOND: Final = RATE_HZ / HOP
_BINS: Final = WINDOW // 2 + 1
_WINDOW: Final = np.sqrt(0.5 - 0.5 * np.cos(2 * np.pi * np.arange(WINDOW) / WINDOW))
# four Hann windows overlap at every sample, and come to this
_OVERLAPPED: Final = 2.0
# the weight of what the hop before was thought to be
_SMOOTHING: Final = 0.96
# where the voice is: the band whose loudness says how noisy it is
_VOICE: Final = slice(round(200 * WINDOW / RATE_HZ), round(4000 * WINDOW / RATE_HZ))
# rounding to whole samples alone has this power in a bin; no noise is less
_LEAST_POWER: Final = float(np.sum(_WINDOW**2)) / 12
_FULL_SCALE: Final = 32_768.0
_MOST_SNR_DB: Final = 60.0

Spectra = NDArray[np.float64]


class NoiseSpectrum:
    """The power of the noise in each band, learnt as sound without speech goes by."""

    def __init__(self, memory_s: float = 2.0) -> None:
        """Know nothing yet.

        Args:
            memory_s: Everything counts alike until so much was heard; from then on
                what is older counts less and less, with this time constant.
        """
        self._most = memory_s * HOPS_A_SECOND
        self._power = np.zeros(_BINS)
        self._count = 0.0
        self._waiting = np.zeros(0)

    @property
    def power(self) -> NDArray[np.float64] | None:
        """Mean power in each of 257 bands from 0 to 8 kHz, samples squared; None: unknown."""
        return np.maximum(self._power, _LEAST_POWER) if self._count else None

    @property
    def level_db(self) -> float | None:
        """How loud it is in the band of the voice: mean of the decibels of its bands."""
        power = self.power
        return None if power is None else float(np.mean(10 * np.log10(power[_VOICE])))

    def hear(self, samples: Samples) -> None:
        """Take sound without speech, int16 at 16 kHz, that follows what was taken last."""
        self._waiting = np.concatenate((self._waiting, samples))
        for power in _powers(_spectra(self._waiting)):
            self._count = min(self._count + 1, self._most)
            self._power += (power - self._power) / self._count
        self._waiting = self._waiting[_used(len(self._waiting)) :]

    def interrupt(self) -> None:
        """Say that what is taken next does not follow what was taken last."""
        self._waiting = np.zeros(0)


class WienerFilter:
    """Takes the noise off one utterance."""

    def __init__(self, noise: NDArray[np.float64] | None, floor: float) -> None:
        """Begin an utterance.

        Args:
            noise: Its power in each band, as of ``NoiseSpectrum``; None: everything is let
                through as it is.
            floor: Least gain, 0 to 1: what is left of the noise hides what the filter
                does to it, which an engine would take for speech.
        """
        self._noise = noise
        self._floor = floor
        self._before = np.zeros(_BINS)  # a priori ratio of the hop before
        # sound begins with half of a window of silence, so that its first samples are
        # in as many windows as all others
        self._waiting = np.zeros(WINDOW - HOP)
        self._overlapped = np.zeros(WINDOW - HOP)
        self._skip = WINDOW - HOP
        self._taken = self._given = 0
        self._loudness: list[float] = []

    @property
    def loudness(self) -> NDArray[np.float64]:
        """How much louder than the noise each hop was, before the filter, as a ratio of powers.

        The mean over the bands of the voice; shape (hops,), nothing where the noise is
        unknown. Hop k is centred on sample 128 k - 128.
        """
        return np.array(self._loudness)

    @property
    def snr_db(self) -> float:
        """Speech over noise in decibels: the louder half of the hops against the noise.

        The noise is weighed as the voice is, so broad-band ratios of noises differ: pink
        noise at 20, 15 and 10 dB came to 16, 11 and 7 here, brown at 10 dB to 15. Between 0
        and 60; 60 where the noise is unknown.
        """
        if not self._loudness:
            return _MOST_SNR_DB
        louder = np.sort(self._loudness)[len(self._loudness) // 2 :]
        return float(np.clip(10 * np.log10(np.mean(louder)), 0.0, _MOST_SNR_DB))

    def feed(self, samples: Samples) -> Samples:
        """Take the next samples, int16 at 16 kHz.

        Returns:
            int16: what is ready; together with ``flush``, as many as were taken.
        """
        if self._noise is None:
            return samples
        self._taken += len(samples)
        self._waiting = np.concatenate((self._waiting, samples))
        return self._filter(self._noise)

    def flush(self) -> Samples:
        """End the utterance and give the rest of it."""
        if self._noise is None:
            return np.zeros(0, dtype=np.int16)
        padding = WINDOW - HOP + (-len(self._waiting)) % HOP
        self._waiting = np.concatenate((self._waiting, np.zeros(padding)))
        left = self._taken - self._given
        return self._filter(self._noise)[:left]

    def _filter(self, noise: NDArray[np.float64]) -> Samples:
        spectra = _spectra(self._waiting)
        self._waiting = self._waiting[_used(len(self._waiting)) :]
        ratios = _powers(spectra) / noise
        self._loudness.extend(np.mean(ratios[:, _VOICE], axis=1).tolist())
        for spectrum, ratio in zip(spectra, ratios, strict=True):
            prior = _SMOOTHING * self._before + (1 - _SMOOTHING) * np.maximum(ratio - 1, 0)
            gain = np.maximum(prior / (1 + prior), self._floor)
            self._before = gain**2 * ratio
            spectrum *= gain
        return self._joined(np.fft.irfft(spectra, WINDOW, axis=1) * _WINDOW / _OVERLAPPED)

    def _joined(self, pieces: NDArray[np.float64]) -> Samples:
        track = np.zeros(len(pieces) * HOP + WINDOW - HOP)
        track[: WINDOW - HOP] = self._overlapped
        for number, piece in enumerate(pieces):
            track[number * HOP : number * HOP + WINDOW] += piece
        done = len(pieces) * HOP
        self._overlapped = track[done:]
        ready = track[min(self._skip, done) : done]
        self._skip -= min(self._skip, done)
        self._given += len(ready)
        return np.clip(np.rint(ready), -_FULL_SCALE, _FULL_SCALE - 1).astype(np.int16)


def _spectra(samples: NDArray[np.float64]) -> NDArray[np.complex128]:
    if len(samples) < WINDOW:
        return np.zeros((0, _BINS), dtype=np.complex128)
    windows = np.lib.stride_tricks.sliding_window_view(samples, WINDOW)[::HOP]
    return np.asarray(np.fft.rfft(windows * _WINDOW, axis=1))


def _used(count: int) -> int:
    """How many samples no later spectrum needs."""
    return 0 if count < WINDOW else ((count - WINDOW) // HOP + 1) * HOP


def _powers(spectra: NDArray[np.complex128]) -> Spectra:
    return np.asarray(spectra.real**2 + spectra.imag**2)
