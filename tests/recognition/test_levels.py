"""Levels of tones and noise that are known, and the advice on them."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from voiceflow.audio.frames import RATE_HZ, Samples
from voiceflow.recognition.levels import Levels, advice, measure

NOTHING = np.zeros(0, dtype=np.int16)
GOOD = Levels(speech_dbfs=-25.0, noise_dbfs=-65.0, clipped_percent=0.0)


def tone(peak: float, seconds: float = 1.0) -> Samples:
    times = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    wave = 32_768 * peak * np.sin(2 * np.pi * 400 * times)
    return np.clip(np.rint(wave), -32_768, 32_767).astype(np.int16)


def test_a_sine_is_3_db_below_its_peak_and_pauses_do_not_count() -> None:
    # the mean square of a sine is half of its peak's square: 10 log10 2 = 3.01 dB
    pause = np.zeros(2 * RATE_HZ, dtype=np.int16)
    found = measure([(np.concatenate([pause, tone(0.1), pause]), tone(0.001))])
    assert found.speech_dbfs == pytest.approx(-23.0, abs=0.1)
    assert found.noise_dbfs == pytest.approx(-63.0, abs=0.1)
    assert found.snr_db == pytest.approx(40.0, abs=0.1)
    assert found.clipped_percent == 0


def test_without_quiet_before_it_the_quietest_of_the_phrase_is_the_noise() -> None:
    found = measure([(np.concatenate([tone(0.01), tone(0.1, 2.0)]), NOTHING)])
    assert found.noise_dbfs == pytest.approx(-43.0, abs=0.1)


@given(peak=st.floats(0.01, 0.9))
def test_twice_as_loud_is_6_db(peak: float) -> None:
    one, other = (measure([(tone(peak / part), NOTHING)]).speech_dbfs for part in (1, 2))
    assert one - other == pytest.approx(6.02, abs=0.2)


def test_the_middle_phrase_counts_and_a_short_one_can_be_measured() -> None:
    short = np.full(7, 3277, dtype=np.int16)
    found = measure([(tone(0.001), NOTHING), (short, NOTHING), (tone(0.5), NOTHING)])
    assert found.speech_dbfs == pytest.approx(-20.0, abs=0.1)


def test_clipping_is_measured() -> None:
    assert measure([(tone(3.0), NOTHING)]).clipped_percent > 50
    assert measure([(np.full(400, -32_768, dtype=np.int16), NOTHING)]).clipped_percent > 50


@pytest.mark.parametrize(
    ("speech", "noise", "clipped", "starts"),
    [
        (-25.0, -65.0, 0.0, []),
        (-62.0, -90.0, 0.0, ["Too quiet"]),
        (-6.0, -60.0, 4.0, ["Too loud"]),
        (-25.0, -35.0, 0.0, ["Noisy"]),
        (-45.0, -58.0, 0.0, ["Too far away"]),
        (-60.0, -70.0, 0.0, ["Too quiet", "Too far away"]),
    ],
)
def test_advice_names_what_is_wrong(
    speech: float, noise: float, clipped: float, starts: list[str]
) -> None:
    levels = Levels(speech_dbfs=speech, noise_dbfs=noise, clipped_percent=clipped)
    found = list(advice(levels))
    assert [sentence.split(":")[0] for sentence in found] == starts


def test_the_figures_are_told() -> None:
    assert "-25 dBFS" in GOOD.sentence
    assert "40 dB apart" in GOOD.sentence
