from hypothesis import given
from hypothesis import strategies as st

from voiceflow.recognition.rejection import WordFit, confidence
from voiceflow.settings import PolicySettings, RejectionSettings

SETTINGS = RejectionSettings()
fits = st.builds(WordFit, loss=st.floats(0, 10), frames=st.integers(1, 200))


@given(words=st.lists(fits, max_size=8))
def test_it_is_between_0_and_1(words: list[WordFit]) -> None:
    assert 0.0 <= confidence(words, SETTINGS) <= 1.0


def test_no_words_are_worth_nothing() -> None:
    assert confidence([], SETTINGS) == 0.0


@given(words=st.lists(fits, min_size=1, max_size=8), worse=st.floats(0, 1))
def test_a_worse_fit_never_counts_more(words: list[WordFit], worse: float) -> None:
    changed = [WordFit(loss=words[0].loss + worse, frames=words[0].frames), *words[1:]]
    assert confidence(changed, SETTINGS) <= confidence(words, SETTINGS) + 1e-12


def test_the_medians_measured_fall_on_the_right_sides() -> None:
    """Median loss of right answers 0.0041 (worst word 0.0055), of other talk 0.0085 (0.0114)."""
    policy = PolicySettings()
    right = [WordFit(loss=0.0055, frames=20), WordFit(loss=0.0034, frames=40)]
    other = [WordFit(loss=0.0114, frames=20), WordFit(loss=0.0071, frames=40)]
    assert confidence(right, SETTINGS) >= policy.accept
    assert confidence(other, SETTINGS) < policy.confirm
