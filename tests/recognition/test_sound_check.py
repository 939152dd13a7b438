"""The sound check with a synthetic voice: what it learns, and that the engine takes it."""

from contextlib import closing
from itertools import pairwise

import numpy as np
import pytest

from voiceflow.audio.wav import RecordingSource
from voiceflow.errors import UsageError
from voiceflow.evaluation.people import gauge_grammar
from voiceflow.languages.registry import language
from voiceflow.recognition.engines.pocketsphinx import bundled_model
from voiceflow.recognition.second_opinion import recogniser_for
from voiceflow.recognition.sound_check import (
    LEAST_PHRASES,
    PHRASES,
    Phrase,
    learn,
)
from voiceflow.synthesis.pyttsx3_wav import Pyttsx3Synthesiser

ENGLISH = language("en")


@pytest.fixture(scope="module")
def phrases() -> list[Phrase]:
    voice = Pyttsx3Synthesiser(ENGLISH)
    margin = np.zeros(4800, dtype=np.int16)
    return [
        Phrase(
            words=tuple(text.split()),
            samples=np.concatenate([margin, voice.synthesise(text, 150), margin]),
        )
        for text in PHRASES
    ]


def test_each_digit_is_said_four_times_and_none_twice_running() -> None:
    said = [tuple(text.split()) for text in PHRASES]
    counts = [sum(words.count(digit) for words in said) for digit in {*sum(said, ())}]
    assert len(counts) == 10
    assert min(counts) >= 4
    assert all(one != two for words in said for one, two in pairwise(words))


@pytest.mark.speech
def test_it_learns_and_the_engine_takes_it(phrases: list[Phrase]) -> None:
    profile = learn("robot", phrases, ENGLISH)
    assert profile.phrases >= LEAST_PHRASES
    assert profile.held_out_words >= 8
    assert profile.helps
    base = bundled_model()
    for adapted in (profile.suppressed, profile.plain):
        model = adapted.model(base)
        assert model.means.shape == base.means.shape
        assert np.isfinite(model.means).all()
        assert not np.array_equal(model.means, base.means)
        assert not np.array_equal(model.log_weights, base.log_weights)
    said = phrases[0]
    grammar = gauge_grammar()
    with closing(recogniser_for(profile, ENGLISH)) as recogniser:
        recogniser.listen(grammar)
        for frame in RecordingSource(said.samples).frames():
            recogniser.feed(frame)
        assert recogniser.finish().words == said.words


@pytest.mark.speech
def test_silence_teaches_nothing(phrases: list[Phrase]) -> None:
    silent = [
        Phrase(words=phrase.words, samples=np.zeros(8000, dtype=np.int16)) for phrase in phrases
    ]
    with pytest.raises(UsageError, match="the words were found in"):
        learn("nobody", silent, ENGLISH)


@pytest.mark.speech
def test_too_few_phrases_are_told(phrases: list[Phrase]) -> None:
    with pytest.raises(UsageError, match="of 2 phrases"):
        learn("short", phrases[:2], ENGLISH)
