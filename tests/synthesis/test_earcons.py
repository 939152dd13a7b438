import numpy as np
import pytest

from voiceflow.audio.frames import RATE_HZ, Samples
from voiceflow.synthesis.earcons import Earcon, sound_of


def pitches_hz(samples: Samples) -> list[float]:
    """The strongest frequency of each half."""
    found = []
    for half in np.array_split(samples.astype(float), 2):
        spectrum = np.abs(np.fft.rfft(half, 8 * RATE_HZ // 10))
        found.append(float(np.argmax(spectrum)) * RATE_HZ / (8 * RATE_HZ // 10))
    return found


@pytest.mark.parametrize("earcon", Earcon)
def test_a_sound_is_short_and_begins_and_ends_in_silence(earcon: Earcon) -> None:
    samples = sound_of(earcon)
    assert samples.dtype == np.int16
    assert 0.1 < len(samples) / RATE_HZ < 0.3
    assert abs(int(samples[0])) < 100
    assert abs(int(samples[-1])) < 100
    assert 3000 < np.abs(samples.astype(int)).max() < 10_000
    with pytest.raises(ValueError, match="read-only"):
        samples[0] = 1


def test_they_can_be_told_apart_by_the_way_they_go() -> None:
    finding, holding, going_on, again, speak = (pitches_hz(sound_of(earcon)) for earcon in Earcon)
    assert holding[0] > holding[1] + 100
    assert going_on[1] > going_on[0] + 100
    assert finding[0] == pytest.approx(finding[1], abs=20)
    assert again[0] == pytest.approx(again[1], abs=20)
    assert again[0] > finding[0] + 100
    assert speak[0] == pytest.approx(speak[1], abs=20)
    assert speak[0] > again[0] + 100
