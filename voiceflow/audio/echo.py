"""Takes the tool's own voice out of what a microphone hears, as far as it is linear.

What the loudspeaker is given is known; the way from there to the microphone is a filter
that is learnt while the tool speaks. What is learnt is taken off, and nothing else: who
speaks at the same time is left as he is, which a recogniser needs. A canceller for calls
(WebRTC's) suppresses what is left as well, and with it the first quarter of a second of
whoever interrupts; so that one is asked only whether anybody speaks
(``audio/own_voice.py``).

Measured offline, cockpit preparation, tool and person equally loud, 39 answers half a
second into their challenge, tool cut 0.3 s later (right, wrong accepted; the rest asked
about or not understood): nothing done 16, 8; WebRTC alone 33, 3; this for the recogniser
and WebRTC for the endpointer 37, 0. With the echo of a room (0.2 s to -60 dB): 15, 7;
14, 5; 35, 0; with 0.4 s: 13, 5; 10, 5; 33, 0. Synthetic speech.
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from voiceflow.audio.frames import FRAME_SAMPLES, Samples

#: So much of the way is learnt: what a device keeps back, and the sound of a cockpit.
_LENGTH_S: Final = 0.5
_PARTS: Final = round(_LENGTH_S * 16_000 / FRAME_SAMPLES)
#: How much of the way is still the same 20 ms later.
_STAYS: Final = 0.9995
#: Where learning begins. Of 1, 1e-6 and of 0.1, 1 the first pair learnt quickest: 8, 21, 27
#: dB off in the first three prompts (1e-6: 2, 13, 22).
_NEAR_AT_FIRST: Final = 1.0
_DOUBT_AT_FIRST: Final = 0.1
#: How much of the power of what is left is that of the newest 20 ms.
_NEWEST: Final = 0.2
_FULL_SCALE: Final = 32_768.0

_Spectra = NDArray[np.complex128]


class EchoCanceller:
    """Learns the way from the loudspeaker to the microphone, and takes off what came along it.

    A partitioned-block Kalman filter in the frequency domain: G. Enzner and P. Vary,
    "Frequency-domain adaptive Kalman filter for acoustic echo control in hands-free
    telephones", Signal Processing 86 (2006), in the partitioned form of F. Kuech, E. Mabande
    and G. Enzner, ICASSP 2014 (from memory, both). What somebody else says enters as noise of
    the measurement, so that it does not unteach the filter.
    """

    def __init__(self) -> None:
        bins = FRAME_SAMPLES + 1
        self._far: _Spectra = np.zeros((_PARTS, bins), dtype=np.complex128)
        self._way: _Spectra = np.zeros((_PARTS, bins), dtype=np.complex128)
        self._doubt = np.full((_PARTS, bins), _DOUBT_AT_FIRST)
        self._before = np.zeros(FRAME_SAMPLES)
        self._near = np.full(bins, _NEAR_AT_FIRST)

    def doubt(self) -> None:
        """Take note that sound of the loudspeaker comes sooner or later than before.

        What was learnt stays as the guess to begin with. Without this the filter trusts it,
        and took half a minute of speech to learn of a shift by 20 ms; with it, 5 s.
        """
        self._doubt = np.maximum(self._doubt, _DOUBT_AT_FIRST)

    def clean(self, heard: Samples, played: Samples) -> Samples:
        """Take 20 ms of what the microphone heard, and of what the loudspeaker was given.

        Args:
            heard: int16, shape (320,).
            played: The same; it comes no later than its echo, and at most 0.5 s before.

        Returns:
            What was heard without it, int16, shape (320,).
        """
        size = 2 * FRAME_SAMPLES
        far = played / _FULL_SCALE
        self._far = np.roll(self._far, 1, axis=0)
        self._far[0] = np.fft.rfft(np.concatenate((self._before, far)))
        self._before = far
        echo = np.fft.irfft((self._far * self._way).sum(axis=0), size)[FRAME_SAMPLES:]
        left = heard / _FULL_SCALE - echo
        spectrum = np.fft.rfft(np.concatenate((np.zeros(FRAME_SAMPLES), left)))
        self._learn(spectrum)
        made: Samples = (
            np.clip(np.rint(left * _FULL_SCALE), -_FULL_SCALE, _FULL_SCALE - 1)
        ).astype(np.int16)
        return made

    def _learn(self, left: _Spectra) -> None:
        power = np.abs(self._far) ** 2
        self._near += _NEWEST * (np.abs(left) ** 2 - self._near)
        # half of each block is zeros, so it holds half of what its spectrum says
        whole = 0.5 * (self._doubt * power).sum(axis=0) + self._near
        gain = self._doubt * np.conj(self._far) / (whole + 1e-12)
        change = np.fft.irfft(gain * left, 2 * FRAME_SAMPLES, axis=1)
        change[:, FRAME_SAMPLES:] = 0  # the second half would wrap round
        self._way += np.fft.rfft(change, axis=1)
        self._doubt *= _STAYS**2 * (1 - 0.5 * (gain * self._far).real)
        self._doubt += (1 - _STAYS**2) * np.abs(self._way) ** 2
