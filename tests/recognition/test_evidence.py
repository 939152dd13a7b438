from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from voiceflow.recognition.evidence import MEASURES, Evidence, Model, gather, shipped_model
from voiceflow.settings import PolicySettings
from voiceflow.understanding.hypothesis import Hypothesis, WordHypothesis

HESITATIONS = (("uh",),)
LOUD = np.array([1.0] * 20 + [1000.0] * 80 + [1.0] * 20)  # speech from 0.152 to 0.792 s


def heard(*words: tuple[str, float, float, float]) -> Hypothesis:
    """Words with start, end, and loss in thousandths."""
    timed = tuple(
        WordHypothesis(word=word, start_s=start, end_s=end, score=loss / 1000)
        for word, start, end, loss in words
    )
    return Hypothesis(
        engine="pocketsphinx",
        words=tuple(word.word for word in timed),
        confidence=0.5,
        start_s=0.0,
        end_s=1.0,
        timed_words=timed,
    )


BOTH = heard(("both", 0.15, 0.35, 3.0), ("removed", 0.35, 0.8, 5.0))
NOTHING = heard()


def measure(lead: Hypothesis, second: Hypothesis, snr_db: float = 40.0) -> Evidence | None:
    return gather(lead, second, HESITATIONS, LOUD, 0.0, snr_db, is_reading=False)


def test_measures_of_a_plain_answer() -> None:
    found = measure(BOTH, BOTH)
    assert found is not None
    assert found.mean_loss == pytest.approx((3 * 0.2 + 5 * 0.45) / 0.65)
    assert found.worst_loss == pytest.approx(5)
    assert (found.disagreement, found.brevity, found.hesitation) == (0, 0.5, 0)
    assert found.uncovered == 0
    assert found.noise == 0


def test_no_words_no_evidence_no_confidence() -> None:
    assert measure(NOTHING, BOTH) is None
    assert measure(heard(("uh", 0.2, 0.4, 3.0)), BOTH) is None
    assert shipped_model().confidence(None) == 0.0


def test_hesitations_are_no_disagreement_but_take_their_share() -> None:
    hesitant = heard(("uh", 0.15, 0.35, 3.0), ("removed", 0.35, 0.75, 5.0))
    found = measure(hesitant, heard(("removed", 0.35, 0.75, 5.0)))
    assert found is not None
    assert found.disagreement == 0
    assert found.hesitation == pytest.approx(1 / 3)
    assert found.brevity == 1


@pytest.mark.parametrize("second", [NOTHING, heard(("removed", 0.2, 0.8, 3.0))])
def test_other_words_are_a_disagreement(second: Hypothesis) -> None:
    found = measure(BOTH, second)
    assert found is not None
    assert found.disagreement == 1


def test_speech_outside_the_words_is_uncovered() -> None:
    found = measure(heard(("removed", 0.15, 0.45, 3.0)), BOTH)
    assert found is not None
    assert found.uncovered == pytest.approx(0.5, abs=0.06)


def test_noise_counts_below_30_db() -> None:
    found = measure(BOTH, BOTH, snr_db=12.0)
    assert found is not None
    assert found.noise == pytest.approx(1.8)
    assert found.noisy_reading == 0


def test_a_short_number_with_hesitations_is_never_quite_sure() -> None:
    sure = Model(offset=50.0, weights={})
    found = measure(heard(("uh", 0.15, 0.35, 3.0), ("fifty", 0.35, 0.75, 5.0)), BOTH)
    assert found is not None
    assert sure.confidence(found) == pytest.approx(1)
    assert sure.confidence(replace(found, reading=1.0)) < PolicySettings().accept_reading
    assert sure.confidence(replace(found, reading=1.0, hesitation=0.0)) == pytest.approx(1)
    assert sure.confidence(replace(found, reading=1.0, brevity=1 / 3)) == pytest.approx(1)


@st.composite
def evidences(draw: st.DrawFn) -> Evidence:
    return Evidence(
        **{measure: draw(st.floats(0, 20)) for measure in MEASURES if measure != "shortness"},
        shortness=-draw(st.floats(0, 2)),
    )


@given(
    evidence=evidences(),
    more=st.floats(0, 5),
    measure=st.sampled_from(
        ("mean_loss", "worst_loss", "second_loss", "second_worst", "disagreement", "uncovered")
    ),
)
def test_a_worse_fit_never_counts_more(evidence: Evidence, more: float, measure: str) -> None:
    model = shipped_model()
    worse = replace(evidence, **{measure: getattr(evidence, measure) + more})
    assert 0 <= model.confidence(worse) <= model.confidence(evidence) <= 1


def _reading(loss: float, snr_db: float = 40.0) -> Evidence:
    words = heard(("nine", 0.15, 0.35, loss), ("eight", 0.35, 0.6, loss), ("two", 0.6, 0.8, loss))
    found = gather(words, words, HESITATIONS, LOUD, 0.0, snr_db, is_reading=True)
    assert found is not None
    return found


def test_what_a_profile_asks_for_wanes_with_noise() -> None:
    usual = shipped_model()
    strict = replace(usual, reading_offset=-3.0)
    lost = []
    for snr_db in (40.0, 25.0, 20.0, 10.0):
        evidence = _reading(3.0, snr_db)
        lost.append(usual.confidence(evidence) - strict.confidence(evidence))
    assert min(lost[:3]) > 0
    assert lost[3] == 0


def test_a_profile_makes_a_question_of_a_doubtful_reading_and_of_nothing_else() -> None:
    policy = PolicySettings()
    usual = shipped_model()
    strict = replace(usual, reading_offset=-3.0)
    for loss in (3.0, 5.0, 6.0):
        assert usual.confidence(_reading(loss)) >= policy.accept_reading
    doubted = [strict.confidence(_reading(loss)) for loss in (3.0, 5.0, 6.0)]
    assert doubted[0] >= policy.accept_reading
    assert all(policy.confirm <= sure < policy.accept_reading for sure in doubted[1:])
    phrase = measure(BOTH, BOTH)
    assert strict.confidence(phrase) == usual.confidence(phrase)


@given(loss=st.floats(0, 40), offset=st.floats(-10, 0))
def test_a_profile_never_raises_confidence_nor_silences_a_reading(
    loss: float, offset: float
) -> None:
    policy = PolicySettings()
    usual = shipped_model().confidence(_reading(loss))
    strict = replace(shipped_model(), reading_offset=offset).confidence(_reading(loss))
    assert strict <= usual
    for level in (policy.ask_again, policy.confirm):
        assert (usual >= level) == (strict >= level)
