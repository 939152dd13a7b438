"""Both front ends on recordings of synthetic speech, noise added: the way through, not the accuracy."""

from pathlib import Path

import numpy as np
import pytest

from voiceflow.audio.frames import RATE_HZ, Samples
from voiceflow.audio.wav import RecordingSource, read_recording
from voiceflow.checks.loader import load_check
from voiceflow.checks.shipped import find_check
from voiceflow.evaluation.noise import Noise, coloured, mix
from voiceflow.grammar.item_grammar import ItemGrammar, compile_item
from voiceflow.languages.registry import language
from voiceflow.recognition.two_front_ends import TwoFrontEnds
from voiceflow.settings import PolicySettings
from voiceflow.understanding.hypothesis import Hypothesis
from voiceflow.understanding.interpret import interpret

pytestmark = pytest.mark.speech
FIXTURES = Path(__file__).parents[2] / "audio_fixtures"
ENGLISH = language("en")
CHECK = load_check(find_check("cockpit-preparation"))
OXYGEN = compile_item(CHECK.item("crew-oxygen"), ENGLISH)
LEAD_S = 1.0
#: Recordings at crew-oxygen, and what is said in them.
SAID = {
    "readings/032-crew-oxygen-slt.flac": "one thousand three hundred",
    "readings/058-crew-oxygen-slt.flac": "thirteen hundred",
    "readings/114-crew-oxygen-slt.flac": "one two niner zero",
    "readings/170-crew-oxygen-slt.flac": "one two nine zero",
}
FIRST = next(iter(SAID))


def recorded(file: str, snr_db: float | None = None) -> Samples:
    """A recording after a second of lead, in pink noise if a ratio is given."""
    speech = read_recording(FIXTURES / file)
    samples = np.concatenate((np.zeros(round(LEAD_S * RATE_HZ), dtype=np.int16), speech))
    if snr_db is None:
        return samples
    noise = coloured(Noise.PINK, len(samples), np.random.default_rng(3))
    # 0.3 s of a quiet room before the speech, and 0.8 s after it
    end_s = len(samples) / RATE_HZ - 0.8
    return mix(samples, (LEAD_S + 0.3, end_s), noise, snr_db)


def hear(ears: TwoFrontEnds, samples: Samples, grammar: ItemGrammar = OXYGEN) -> Hypothesis:
    ears.listen(grammar)
    for frame in RecordingSource(samples).frames():
        if frame.end_s < LEAD_S:
            ears.hear_silence(frame)
        else:
            ears.feed(frame)
    return ears.finish()


@pytest.mark.parametrize("snr_db", [None, 20.0])
def test_an_answer_is_heard_with_confidence(snr_db: float | None) -> None:
    ears = TwoFrontEnds(ENGLISH)
    found = hear(ears, recorded(FIRST, snr_db))
    assert found.text == SAID[FIRST]
    assert found.confidence >= PolicySettings().accept
    assert ears.last_evidence is not None


def test_noise_is_learnt_before_the_utterance_and_counts() -> None:
    ears = TwoFrontEnds(ENGLISH)
    found = []
    for snr_db in (25.0, 10.0):
        hear(ears, recorded(FIRST, snr_db))
        assert ears.last_evidence is not None
        found.append(ears.last_evidence.noise)
    assert 0 < found[0] < found[1]


def test_words_keep_their_times_through_the_filter() -> None:
    found = hear(TwoFrontEnds(ENGLISH), recorded(FIRST, 20.0))
    assert found.timed_words[0].start_s == pytest.approx(LEAD_S + 0.3, abs=0.1)


def test_other_talk_is_not_believed() -> None:
    talk = sorted((FIXTURES / "other_talk").glob("*-sentence-slt.ogg"))[:3]
    assert talk
    ears = TwoFrontEnds(ENGLISH)
    for path in talk:
        found = hear(ears, recorded(str(path.relative_to(FIXTURES))))
        assert found.confidence < PolicySettings().accept


def test_what_only_one_heard_is_the_alternative() -> None:
    """At 0 dB the two hear different numbers somewhere, and then neither is taken."""
    ears = TwoFrontEnds(ENGLISH)
    different = 0
    for file in SAID:
        found = hear(ears, recorded(file, 0.0))
        if found.alternatives:
            different += 1
            assert found.alternatives[0] != found.words
            best = OXYGEN.meaning(found.words)
            other = OXYGEN.meaning(found.alternatives[0])
            # never the second's meaning alone
            assert interpret(found, OXYGEN, ENGLISH) != other or best == other
    assert different


def test_the_same_sound_is_heard_the_same_way_by_a_new_pair() -> None:
    """Resuming hears a recording again, and must come to the same words and confidence."""
    samples = recorded(FIRST, 10.0)
    one, other = (hear(TwoFrontEnds(ENGLISH), samples) for _ in range(2))
    assert (one.words, one.confidence, one.alternatives) == (
        other.words,
        other.confidence,
        other.alternatives,
    )


def is_quiet(ears: TwoFrontEnds) -> bool:
    return ears._is_quiet


def test_in_quiet_nothing_is_filtered_and_in_noise_it_is_again() -> None:
    ears = TwoFrontEnds(ENGLISH)
    assert not is_quiet(ears)  # nobody has spoken yet
    hear(ears, recorded(FIRST, 45.0))
    assert is_quiet(ears)
    loud = np.rint(np.random.default_rng(4).standard_normal(4 * RATE_HZ) * 1000)
    for frame in RecordingSource(loud.astype(np.int16)).frames():
        ears.hear_silence(frame)
    assert not is_quiet(ears)


def test_in_loud_noise_decoders_listen_that_know_it() -> None:
    ears = TwoFrontEnds(ENGLISH)
    loud = []
    for snr_db in (8.0, 8.0, *[25.0] * 8):
        hear(ears, recorded(FIRST, snr_db))
        assert ears.last_evidence is not None
        loud.append(ears.last_evidence.loud)
    # how loud the person speaks is known after the first utterance
    assert loud[:2] == [0.0, 1.0]
    assert loud[-1] == 0.0


def test_loud_noise_is_heard_through() -> None:
    ears = TwoFrontEnds(ENGLISH)
    found = [hear(ears, recorded(file, 10.0)).text for file in (*SAID, *SAID)]
    right = sum(text == said for text, said in zip(found, (*SAID.values(),) * 2, strict=True))
    assert right >= 5
