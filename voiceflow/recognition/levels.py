"""How loud a voice and its room come out of a microphone, and what to do about it.

Plain arithmetic on samples. Levels are root mean squares in decibels below full scale,
which is 32 768 (dBFS); speech is measured where it is loud, and the noise where nobody
speaks, so that pauses count for neither.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from voiceflow.audio.frames import RATE_HZ, Samples
from voiceflow.settings import LevelSettings

_FULL_SCALE: Final = 32_768.0
# at or beyond this a converter has nothing left
_CLIPPED: Final = 32_700
_FRAME: Final = RATE_HZ // 50
#: Frames this far below the loudest, decibels, are pauses, not speech.
_SPEECH_BELOW_DB: Final = 25.0
#: Without sound from before the phrase, this part of its frames is taken for quiet.
_QUIETEST: Final = 0.1
# rounding to whole samples alone
_LOWEST_DBFS: Final = float(20 * np.log10(1 / (_FULL_SCALE * np.sqrt(12))))


@dataclass(frozen=True, slots=True, kw_only=True)
class Levels:
    """What the phrases of a sound check came in with; medians over the phrases.

    Attributes:
        speech_dbfs: Level of the speech, decibels below full scale.
        noise_dbfs: Level of what is there while nobody speaks.
        clipped_percent: Samples at full scale in percent of the samples of speech, of
            all phrases.
    """

    speech_dbfs: float
    noise_dbfs: float
    clipped_percent: float

    @property
    def snr_db(self) -> float:
        """Speech over noise, decibels."""
        return self.speech_dbfs - self.noise_dbfs

    @property
    def sentence(self) -> str:
        """The figures, for people."""
        return (
            f"Your voice came in at {self.speech_dbfs:.0f} dBFS, the noise at "
            f"{self.noise_dbfs:.0f} dBFS: {self.snr_db:.0f} dB apart; "
            f"{self.clipped_percent:.1f} % clipped."
        )


def measure(sounds: Sequence[tuple[Samples, Samples]]) -> Levels:
    """Measure phrases.

    Args:
        sounds: For each phrase its own sound and what was heard before it while nobody
            spoke, which may be empty; int16 at 16 kHz. At least one phrase, none empty.
    """
    speech, noise = [], []
    clipped = spoken = 0
    for phrase, quiet in sounds:
        powers = _powers(phrase)
        loud = powers >= np.max(powers) * 10 ** (-_SPEECH_BELOW_DB / 10)
        speech.append(_decibels(float(np.mean(powers[loud]))))
        if len(quiet) >= _FRAME:
            noise.append(_decibels(float(np.mean(_powers(quiet)))))
        else:
            noise.append(_decibels(float(np.quantile(powers, _QUIETEST))))
        clipped += int(np.count_nonzero(np.abs(phrase.astype(np.int32)) >= _CLIPPED))
        spoken += int(np.count_nonzero(loud)) * _FRAME
    return Levels(
        speech_dbfs=round(float(np.median(speech)), 1),
        noise_dbfs=round(float(np.median(noise)), 1),
        clipped_percent=round(100 * clipped / spoken, 2),
    )


def advice(levels: Levels, settings: LevelSettings | None = None) -> Iterator[str]:
    """Give a sentence for each thing that stands in the way of hearing well.

    Args:
        levels: What was measured.
        settings: The bounds; the usual ones if none.
    """
    settings = settings or LevelSettings()
    if levels.clipped_percent > settings.most_clipped_percent:
        yield "Too loud: turn the input down, or move the microphone a little aside."
    if levels.speech_dbfs < settings.lowest_speech_dbfs:
        yield "Too quiet: turn the input up, and speak up."
    if levels.snr_db < settings.least_snr_db:
        if levels.noise_dbfs >= settings.noisy_dbfs:
            yield "Noisy: use a headset with its microphone at your mouth, or a quieter place."
        else:
            yield "Too far away: the room is quiet, but your voice hardly rises above it. Come closer."


def _powers(samples: Samples) -> np.ndarray:
    """Mean power of each 20 ms; a shorter rest is left out unless it is all there is."""
    count = len(samples) // _FRAME
    whole = samples[: count * _FRAME] if count else samples
    rows = whole.astype(np.float64).reshape(max(count, 1), -1)
    return np.asarray(np.mean(rows**2, axis=1))


def _decibels(power: float) -> float:
    least = 10 ** (_LOWEST_DBFS / 10) * _FULL_SCALE**2
    return float(10 * np.log10(max(power, least) / _FULL_SCALE**2))
