"""Both front ends on synthetic speech in noise: the way through, not the accuracy."""

import numpy as np
import pytest

from tests.builders import make_gauge, make_item
from voiceflow.audio.frames import RATE_HZ, Samples
from voiceflow.audio.wav import RecordingSource
from voiceflow.evaluation.noise import Noise, coloured, mix
from voiceflow.grammar.item_grammar import ItemGrammar, compile_item
from voiceflow.languages.registry import language
from voiceflow.recognition.two_front_ends import TwoFrontEnds
from voiceflow.settings import PolicySettings
from voiceflow.synthesis.pyttsx3_wav import Pyttsx3Synthesiser
from voiceflow.understanding.hypothesis import Hypothesis
from voiceflow.understanding.interpret import interpret

pytestmark = pytest.mark.speech
ENGLISH = language("en")
COVERS = compile_item(make_item(), ENGLISH)
OXYGEN = compile_item(make_gauge(), ENGLISH)
LEAD_S = 1.0


@pytest.fixture(scope="module")
def voice() -> Pyttsx3Synthesiser:
    return Pyttsx3Synthesiser(ENGLISH)


def said(voice: Pyttsx3Synthesiser, words: str, snr_db: float | None = None) -> Samples:
    """Speech after a second of lead, in pink noise if a ratio is given."""
    quiet = np.zeros(round(LEAD_S * RATE_HZ), dtype=np.int16)
    speech = voice.synthesise(words, 150)
    samples = np.concatenate((quiet, speech, quiet[: RATE_HZ // 2]))
    if snr_db is None:
        return samples
    noise = coloured(Noise.PINK, len(samples), np.random.default_rng(3))
    return mix(samples, (LEAD_S, LEAD_S + len(speech) / RATE_HZ), noise, snr_db)


def hear(ears: TwoFrontEnds, grammar: ItemGrammar, samples: Samples) -> Hypothesis:
    ears.listen(grammar)
    for frame in RecordingSource(samples).frames():
        if frame.end_s < LEAD_S - 0.3:
            ears.hear_silence(frame)
        else:
            ears.feed(frame)
    return ears.finish()


def test_in_quiet_an_answer_is_heard_with_confidence(voice: Pyttsx3Synthesiser) -> None:
    ears = TwoFrontEnds(ENGLISH)
    found = hear(ears, COVERS, said(voice, "both removed"))
    assert found.words == ("both", "removed")
    assert found.confidence >= PolicySettings().accept
    assert ears.last_evidence is not None
    assert ears.last_evidence.noise == 0


def test_noise_is_learnt_before_the_utterance_and_counts(voice: Pyttsx3Synthesiser) -> None:
    ears = TwoFrontEnds(ENGLISH)
    found = []
    for snr_db in (25.0, 10.0):
        hear(ears, COVERS, said(voice, "both removed", snr_db))
        assert ears.last_evidence is not None
        found.append(ears.last_evidence.noise)
    assert 0 < found[0] < found[1]


def test_words_keep_their_times_through_the_filter(voice: Pyttsx3Synthesiser) -> None:
    found = hear(TwoFrontEnds(ENGLISH), COVERS, said(voice, "both removed", 20.0))
    assert LEAD_S - 0.1 <= found.timed_words[0].start_s <= LEAD_S + 0.2


def test_other_talk_is_not_believed(voice: Pyttsx3Synthesiser) -> None:
    talk = "the passengers would like some coffee before we taxi to the runway"
    found = hear(TwoFrontEnds(ENGLISH), COVERS, said(voice, talk))
    assert found.confidence < PolicySettings().accept


def test_what_only_one_heard_is_the_alternative(voice: Pyttsx3Synthesiser) -> None:
    """At 0 dB the two hear different numbers somewhere, and then neither is taken."""
    ears = TwoFrontEnds(ENGLISH)
    different = 0
    for words in ("one six five zero", "nine forty", "one thousand four hundred", "seven ten"):
        found = hear(ears, OXYGEN, said(voice, words, 0.0))
        if found.alternatives:
            different += 1
            assert found.alternatives[0] != found.words
            # whatever it comes to, it is not the best words alone unless both mean the same
            alone = interpret(found, OXYGEN, ENGLISH)
            other = OXYGEN.meaning(found.alternatives[0])
            assert alone == OXYGEN.meaning(found.words) or alone != other
    assert different


def test_the_same_sound_is_heard_the_same_way_by_a_new_pair(voice: Pyttsx3Synthesiser) -> None:
    """Resuming hears a recording again, and must come to the same words and confidence."""
    samples = said(voice, "one six five zero", 10.0)
    one, other = (hear(TwoFrontEnds(ENGLISH), OXYGEN, samples) for _ in range(2))
    assert (one.words, one.confidence, one.alternatives) == (
        other.words,
        other.confidence,
        other.alternatives,
    )


def test_in_quiet_nothing_is_filtered_and_in_noise_it_is_again(voice: Pyttsx3Synthesiser) -> None:
    ears = TwoFrontEnds(ENGLISH)
    assert not ears._is_quiet()  # nobody has spoken yet
    hear(ears, COVERS, said(voice, "both removed", 45.0))
    assert ears._is_quiet()
    dice = np.random.default_rng(4)
    loud = np.rint(dice.standard_normal(4 * RATE_HZ) * 1000).astype(np.int16)
    for frame in RecordingSource(loud).frames():
        ears.hear_silence(frame)
    assert not ears._is_quiet()
