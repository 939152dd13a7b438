import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from voiceflow.audio.frames import RATE_HZ, Samples
from voiceflow.recognition.noise_suppression import WINDOW, NoiseSpectrum, WienerFilter

FRAME = 320


def noise(seconds: float, rms: float, seed: int = 1) -> Samples:
    dice = np.random.default_rng(seed)
    return np.rint(dice.standard_normal(round(seconds * RATE_HZ)) * rms).astype(np.int16)


def tone(seconds: float, amplitude: float) -> Samples:
    times = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    return np.rint(amplitude * np.sin(2 * np.pi * 1000 * times)).astype(np.int16)


def learnt(samples: Samples) -> NoiseSpectrum:
    spectrum = NoiseSpectrum()
    for start in range(0, len(samples), FRAME):
        spectrum.hear(samples[start : start + FRAME])
    return spectrum


def through(one: WienerFilter, samples: Samples, size: int = FRAME) -> Samples:
    pieces = [one.feed(samples[start : start + size]) for start in range(0, len(samples), size)]
    return np.concatenate((*pieces, one.flush()))


def rms(samples: Samples) -> float:
    return float(np.sqrt(np.mean(samples.astype(np.float64) ** 2)))


@given(count=st.integers(0, 3000), size=st.integers(1, 700))
def test_as_many_samples_come_out_as_went_in(count: int, size: int) -> None:
    samples = noise(1, 500)[:count]
    filtered = through(WienerFilter(np.full(WINDOW // 2 + 1, 1e5), 0.2), samples, size)
    assert len(filtered) == count
    assert filtered.dtype == np.int16


@given(size=st.integers(1, 700))
def test_without_any_gain_less_than_1_sound_comes_out_as_it_is(size: int) -> None:
    samples = noise(0.3, 2000)
    same = through(WienerFilter(np.full(WINDOW // 2 + 1, 1e5), 1.0), samples, size)
    assert np.array_equal(same, samples)


def test_where_the_noise_is_unknown_sound_comes_out_as_it_is() -> None:
    one = WienerFilter(NoiseSpectrum().power, 0.2)
    samples = noise(0.5, 2000)
    assert np.array_equal(through(one, samples), samples)
    assert one.snr_db == 60
    assert one.loudness.shape == (0,)


def test_it_does_not_matter_how_sound_is_cut() -> None:
    power = learnt(noise(1, 300)).power
    samples = noise(0.5, 300, seed=2) + tone(0.5, 3000)
    whole = through(WienerFilter(power, 0.1), samples, len(samples))
    assert np.array_equal(through(WienerFilter(power, 0.1), samples, 77), whole)


def test_white_noise_is_learnt_with_its_power() -> None:
    """Each band of a spectrum of white noise has the noise's power times the window's energy."""
    power = learnt(noise(4, 300)).power
    assert power is not None
    energy = WINDOW / 2  # of a square-root Hann window
    assert np.mean(power[2:-2]) == pytest.approx(300**2 * energy, rel=0.05)


def test_an_interruption_joins_nothing() -> None:
    """Half a window of one tone and half of another is no sound that there was."""
    apart, joined = NoiseSpectrum(), NoiseSpectrum()
    for spectrum in (apart, joined):
        spectrum.hear(tone(0.02, 1000))
        if spectrum is apart:
            spectrum.interrupt()
        spectrum.hear(tone(0.02, 1000))
    assert apart.power is None
    assert joined.power is not None


def test_steady_noise_goes_down_to_the_floor_and_speech_stays() -> None:
    spectrum = learnt(noise(2, 300))
    only_noise = through(WienerFilter(spectrum.power, 0.2), noise(1, 300, seed=2))
    assert rms(only_noise[RATE_HZ // 2 :]) == pytest.approx(0.2 * 300, rel=0.15)
    loud = tone(1, 4000)
    mixed = through(WienerFilter(spectrum.power, 0.2), loud + noise(1, 300, seed=3))
    left = (mixed - loud)[RATE_HZ // 4 : -RATE_HZ // 4]
    assert rms(left) < 0.35 * 300


@pytest.mark.parametrize(("amplitude", "low", "high"), [(0.0, -0.1, 3.0), (8000.0, 25.0, 60.0)])
def test_how_loud_speech_is_against_the_noise(amplitude: float, low: float, high: float) -> None:
    one = WienerFilter(learnt(noise(2, 300)).power, 0.2)
    through(one, noise(1, 300, seed=4) + tone(1, amplitude))
    assert low <= one.snr_db <= high


def test_more_noise_is_less_over_it() -> None:
    found = []
    for level in (100, 300, 900):
        one = WienerFilter(learnt(noise(2, level)).power, 0.2)
        through(one, noise(1, level, seed=5) + tone(1, 4000))
        found.append(one.snr_db)
    assert found == sorted(found, reverse=True)
