"""What every voice must do."""

from collections.abc import Callable

import numpy as np
import pytest

from voiceflow.audio.frames import RATE_HZ
from voiceflow.languages.registry import language
from voiceflow.synthesis.cache import CachedSynthesiser
from voiceflow.synthesis.pyttsx3_wav import Pyttsx3Synthesiser
from voiceflow.synthesis.silent import SilentSynthesiser
from voiceflow.synthesis.synthesiser import Synthesiser

WORDS = "crew oxygen, one six five zero"
MAKERS: list[Callable[[], Synthesiser]] = [
    SilentSynthesiser,
    lambda: Pyttsx3Synthesiser(language("en")),
    lambda: CachedSynthesiser(Pyttsx3Synthesiser(language("en"))),
]


@pytest.fixture(params=MAKERS, ids=["silent", "pyttsx3", "cached"])
def voice(request: pytest.FixtureRequest) -> Synthesiser:
    made: Synthesiser = request.param()
    return made


def test_it_gives_samples_of_a_plausible_length(voice: Synthesiser) -> None:
    samples = voice.synthesise(WORDS, 170)
    assert samples.dtype == np.int16
    assert samples.ndim == 1
    assert 0.8 * RATE_HZ < len(samples) < 6 * RATE_HZ


def test_slower_is_longer(voice: Synthesiser) -> None:
    assert len(voice.synthesise(WORDS, 120)) > 1.1 * len(voice.synthesise(WORDS, 170))


def test_the_same_words_take_the_same_time(voice: Synthesiser) -> None:
    """Not the same samples: eSpeak lets its voice waver a little."""
    first = len(voice.synthesise(WORDS, 170))
    voice.synthesise("something else", 240)
    assert len(voice.synthesise(WORDS, 170)) == pytest.approx(first, rel=0.01)


def test_no_words_make_no_sound(voice: Synthesiser) -> None:
    assert len(voice.synthesise("", 170)) == 0


def test_silence_at_the_ends_is_short(voice: Synthesiser) -> None:
    if isinstance(voice, SilentSynthesiser):
        pytest.skip("it is all silence")
    samples = voice.synthesise(WORDS, 170)
    loud = np.flatnonzero(np.abs(samples.astype(int)) >= 100)
    assert loud[0] <= 0.05 * RATE_HZ
    assert len(samples) - 1 - loud[-1] <= 0.05 * RATE_HZ
