"""Levels, against what arithmetic says of known signals."""

import math

import numpy as np
import pytest

from voiceflow.audio.frames import Samples
from voiceflow.audio.level import SILENCE_DB, LevelMeter, peak_db
from voiceflow.cli.level import advice, told


def sine(amplitude: float, seconds: float = 1.0) -> Samples:
    time_s = np.arange(round(16_000 * seconds)) / 16_000
    return np.rint(amplitude * np.sin(2 * math.pi * 440 * time_s)).astype(np.int16)


def metered(*pieces: tuple[Samples, bool]) -> LevelMeter:
    meter = LevelMeter()
    for samples, is_speech in pieces:
        meter.take(samples, is_speech=is_speech)
    return meter


def test_a_sine_at_full_scale_is_3_db_below_a_square() -> None:
    meter = metered((sine(32_767), True))
    assert meter.speech_db == pytest.approx(20 * math.log10(1 / math.sqrt(2)), abs=0.01)
    assert meter.peak_db == pytest.approx(0.0, abs=0.01)


def test_half_the_amplitude_is_6_db_less() -> None:
    full, half = metered((sine(30_000), True)), metered((sine(15_000), True))
    assert full.speech_db is not None
    assert half.speech_db is not None
    assert full.speech_db - half.speech_db == pytest.approx(20 * math.log10(2), abs=0.01)


def test_only_speech_counts_for_the_level_and_everything_for_the_peak() -> None:
    meter = metered((sine(1_000), True), (sine(20_000), False))
    assert meter.speech_db == pytest.approx(
        20 * math.log10(1_000 / 32_768 / math.sqrt(2)), abs=0.05
    )
    assert meter.peak_db == pytest.approx(20 * math.log10(20_000 / 32_768), abs=0.01)


def test_the_lowest_value_of_16_bits_is_full_scale() -> None:
    assert peak_db(np.array([-32_768], dtype=np.int16)) == 0.0
    assert peak_db(np.zeros(5, dtype=np.int16)) == SILENCE_DB
    assert peak_db(np.zeros(0, dtype=np.int16)) == SILENCE_DB


@pytest.mark.parametrize(
    ("pieces", "words"),
    [
        ([(np.zeros(1600, dtype=np.int16), False)], "There is no signal"),
        ([(np.full(1600, 2, dtype=np.int16), False)], "There is no signal"),
        ([(sine(500), False)], "Nobody was heard"),
        ([(sine(40), True)], "too quiet"),
        (
            [(np.clip(sine(3000).astype(int) * 20, -32_768, 32_767).astype(np.int16), True)],
            "too loud",
        ),
        ([(sine(3_000), True)], None),
    ],
)
def test_advice(pieces: list[tuple[Samples, bool]], words: str | None) -> None:
    meter = metered(*pieces)
    said = advice(meter)
    if words is None:
        assert said is None
        assert list(told(meter))[1] == "That is a good level."
    else:
        assert said is not None
        assert words in said
