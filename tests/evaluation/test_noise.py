from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.signal import welch

from tests.evaluation.test_run import make_row
from voiceflow.audio.frames import RATE_HZ, Samples
from voiceflow.audio.wav import write_wav
from voiceflow.errors import UsageError
from voiceflow.evaluation.cockpit import Happening, minute, sound
from voiceflow.evaluation.noise import Noise, babble, coloured, mix, seed_of, steady
from voiceflow.evaluation.run import sound_of, with_noise


def dice(seed: int = 1) -> np.random.Generator:
    return np.random.default_rng(seed)


def rms(samples: np.ndarray) -> float:
    return float(np.sqrt(np.mean(samples.astype(np.float64) ** 2)))


def speech(seconds: float = 1.0, amplitude: float = 3000.0) -> Samples:
    tone = amplitude * np.sin(2 * np.pi * 300 * np.arange(round(seconds * RATE_HZ)) / RATE_HZ)
    return tone.astype(np.int16)


@pytest.mark.parametrize(("noise", "decibels"), [(Noise.PINK, -3.01), (Noise.BROWN, -6.02)])
def test_power_falls_by_so_much_an_octave(noise: Noise, decibels: float) -> None:
    # outside reference: scipy's estimate of the spectrum (Welch's method)
    made = coloured(noise, 60 * RATE_HZ, dice())
    frequencies, power = welch(made, RATE_HZ, nperseg=4096)
    inside = (frequencies > 60) & (frequencies < 6000)
    slope = np.polyfit(np.log2(frequencies[inside]), 10 * np.log10(power[inside]), 1)[0]
    assert slope == pytest.approx(decibels, abs=0.15)
    assert rms(made) == pytest.approx(1.0)


def test_fans_are_half_tones_and_half_pink() -> None:
    made = steady(Noise.FANS, 60 * RATE_HZ, dice())
    assert rms(made) == pytest.approx(1.0)
    # outside reference: scipy's estimate of the spectrum (Welch's method), 1 Hz a band
    frequencies, power = welch(made, RATE_HZ, nperseg=RATE_HZ)
    tones = power > 20 * np.median(power[(frequencies > 60) & (frequencies < 2200)])
    loudest = frequencies[int(np.argmax(power))]
    assert 84 <= loudest <= 421
    assert np.sum(power[tones & (frequencies > 60)]) / np.sum(power) == pytest.approx(0.5, abs=0.1)


@pytest.mark.parametrize("snr_db", [20.0, 10.0, 0.0])
def test_the_ratio_is_that_of_the_speech_part(snr_db: float) -> None:
    silence = np.zeros(RATE_HZ, dtype=np.int16)
    track = np.concatenate([silence, speech(), silence, silence])
    noise = coloured(Noise.PINK, len(track), dice())
    mixed = mix(track, (1.0, 2.0), noise, snr_db)
    added = mixed.astype(np.float64) - track
    # by hand: the ratio of the amplitudes is 10 ** (dB / 20)
    assert rms(track[RATE_HZ : 2 * RATE_HZ]) / rms(added) == pytest.approx(
        10 ** (snr_db / 20), rel=0.01
    )


def test_what_is_too_loud_is_cut_off_and_does_not_wrap() -> None:
    loud = np.full(RATE_HZ, 30_000, dtype=np.int16)
    assert mix(loud, (0.0, 1.0), np.ones(RATE_HZ), 0.0).min() == 32_767


def test_babble_is_everybody_equally_loud() -> None:
    loud, soft = speech(1.0, 9000), speech(0.7, 90)
    together = babble([loud, soft], 3 * RATE_HZ, dice())
    assert len(together) == 3 * RATE_HZ
    assert rms(together) == pytest.approx(1.0)
    with pytest.raises(ValueError, match="somebody"):
        babble([], 10, dice())


def test_seeds_are_the_same_everywhere() -> None:
    # the first eight bytes of SHA-256 of "abc": FIPS 180-2, appendix B.1
    assert seed_of("abc") == 0xBA7816BF8F01CFEA


def test_clean_rows_come_in_every_noise_at_every_ratio() -> None:
    rows = (make_row("a"), make_row("b", snr_db=5))
    noisy = with_noise(rows, [Noise.PINK, Noise.BROWN], [20.0, 10.0])
    assert [row.key for row in noisy] == [
        "a + pink 20 dB",
        "a + pink 10 dB",
        "a + brown 20 dB",
        "a + brown 10 dB",
    ]
    assert {row.part for row in noisy} == {"noise"}


def test_babble_is_of_other_voices() -> None:
    rows = [make_row(f"{voice}{n}", voice) for voice in ("me", "you") for n in range(6)]
    noisy = with_noise(rows, [Noise.BABBLE], [15.0])
    for row in noisy:
        other = "you" if row.voice == "me" else "me"
        assert {path.name for path in row.talkers} <= {f"{other}{n}" for n in range(6)}
        assert len(set(row.talkers)) == 6
    assert noisy == with_noise(rows, [Noise.BABBLE], [15.0])
    with pytest.raises(UsageError, match="babble"):
        with_noise(rows[:6], [Noise.BABBLE], [15.0])


def test_a_row_sounds_the_same_every_time_and_unlike_others(tmp_path: Path) -> None:
    path = tmp_path / "one.wav"
    write_wav(path, speech(1.5))
    row = replace(make_row("one"), path=path)
    pink, brown = with_noise([row], [Noise.PINK, Noise.BROWN], [15.0])
    assert np.array_equal(sound_of(pink), sound_of(pink))
    assert not np.array_equal(sound_of(pink), sound_of(brown))
    assert np.array_equal(sound_of(row), speech(1.5))


@pytest.mark.parametrize("kind", Happening)
def test_sounds_are_short_and_finite(kind: Happening) -> None:
    for seed in range(20):
        made = sound(kind, dice(seed))
        assert np.isfinite(made).all()
        assert 0.05 <= len(made) / RATE_HZ <= 1.3
        assert rms(made) == pytest.approx(1.0)


def test_a_minute_of_cockpit_has_sounds_above_its_noise() -> None:
    made = minute(dice())
    assert made.dtype == np.int16
    assert len(made) == 60 * RATE_HZ
    levels = sorted(rms(piece) for piece in np.array_split(made, 600))
    assert levels[-1] > 5 * levels[300]
    assert np.array_equal(made, minute(dice()))
    assert not np.array_equal(made, minute(dice(2)))
