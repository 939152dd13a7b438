"""The sound check with a synthetic voice: what it learns, and that the engine takes it."""

from contextlib import closing
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from voiceflow.audio.wav import RecordingSource
from voiceflow.errors import UsageError
from voiceflow.evaluation.people import gauge_grammar
from voiceflow.languages.registry import language
from voiceflow.recognition.engines.pocketsphinx import bundled_model
from voiceflow.recognition.profile import USUAL_LOG_ODDS, recogniser_for
from voiceflow.recognition.sound_check import (
    DIGIT_PHRASES,
    LEAST_PHRASES,
    LEAST_READINGS,
    PHRASES,
    Phrase,
    learn,
    sure_enough,
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
    said = [tuple(text.split()) for text in DIGIT_PHRASES]
    counts = [sum(words.count(digit) for words in said) for digit in {*sum(said, ())}]
    assert len(counts) == 10
    assert min(counts) >= 4
    assert all(one != two for words in said for one, two in pairwise(words))


@pytest.mark.speech
def test_it_learns_and_the_engine_takes_it(phrases: list[Phrase]) -> None:
    profile = learn("robot", phrases, ENGLISH)
    assert profile.phrases >= LEAST_PHRASES
    # the voice is hard to hear: some phrases are not found in the sound
    assert profile.held_out_words >= 3 * LEAST_PHRASES
    assert profile.is_adapted
    base = bundled_model()
    for front in (profile.suppressed, profile.plain):
        assert len(front.cepstral_mean) == 13
        assert front.adapted is None or front.errors_after <= front.errors_before
    for adapted in filter(None, (profile.suppressed.adapted, profile.plain.adapted)):
        model = adapted.model(base)
        assert model.means.shape == base.means.shape
        assert np.isfinite(model.means).all()
        assert not np.array_equal(model.means, base.means)
        assert not np.array_equal(model.log_weights, base.log_weights)
    sureness = profile.sureness
    assert sureness is not None
    assert sureness.sure_log_odds >= USUAL_LOG_ODDS
    assert sureness.right_mean > sureness.wrong_mean
    said = phrases[0]
    grammar = gauge_grammar()
    with closing(recogniser_for(profile, ENGLISH)) as recogniser:
        recogniser.listen(grammar)
        for frame in RecordingSource(said.samples).frames():
            recogniser.feed(frame)
        # the first utterance of a session: the cepstral mean is there from the start
        assert recogniser.finish().words == said.words
        assert recogniser.last_evidence is not None


def test_a_threshold_lies_where_right_ones_are_taken_and_wrong_ones_are_not() -> None:
    right = [6.0, 6.5, 5.5, 6.2, 5.8, 6.4]
    for wrong in ([3.0, 3.5, 2.5, 3.2, 2.8, 3.1], [5.0, 5.5, 4.5, 5.2, 4.8, 5.9]):
        found = sure_enough(right, wrong)
        assert found is not None
        taken = [odds for odds in right if odds >= found.sure_log_odds]
        assert len(taken) >= len(right) - 2
        assert sum(odds >= found.sure_log_odds for odds in wrong) <= 1
        assert (found.right_count, found.wrong_count) == (6, 6)


@given(
    right=st.lists(st.floats(-20, 12), min_size=LEAST_READINGS, max_size=20),
    wrong=st.lists(st.floats(-20, 12), min_size=LEAST_READINGS, max_size=20),
)
def test_no_voice_is_believed_sooner_than_anybody(right: list[float], wrong: list[float]) -> None:
    found = sure_enough(right, wrong)
    assert found is not None
    assert found.sure_log_odds >= round(USUAL_LOG_ODDS, 2)


def test_too_few_readings_choose_nothing() -> None:
    few = [5.0] * (LEAST_READINGS - 1)
    assert sure_enough(few, [1.0] * 20) is None
    assert sure_enough([5.0] * 20, few) is None


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
