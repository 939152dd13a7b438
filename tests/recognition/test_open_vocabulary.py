"""What is measured of words heard with a grammar and without, on hand-made hypotheses."""

import json
import math
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from tests.builders import make_gauge
from voiceflow.grammar.item_grammar import compile_item
from voiceflow.grammar.meaning import Ambiguous, Reading
from voiceflow.languages.registry import language
from voiceflow.recognition import open_vocabulary
from voiceflow.recognition.open_vocabulary import (
    MEASURES,
    Comparison,
    ComparisonModel,
    compare,
    plain_words,
    shipped_model,
    sounds,
    with_rival,
)
from voiceflow.understanding.hypothesis import Hypothesis, WordHypothesis
from voiceflow.understanding.interpret import interpret

ENGLISH, KOREAN = language("en"), language("ko")
TIMES_S: NDArray[np.float64] = np.linspace(0.01, 0.99, 50)  # one second in frames
LOUD = np.where((TIMES_S > 0.2) & (TIMES_S < 0.8), 1000.0, 1.0)  # speech from 0.2 to 0.8 s


def heard(*words: tuple[str, float, float, float]) -> tuple[WordHypothesis, ...]:
    """Words with start, end and the engine's confidence."""
    return tuple(
        WordHypothesis(word=word, start_s=start, end_s=end, score=conf)
        for word, start, end, conf in words
    )


REMOVED = heard(("모두", 0.2, 0.5, 1.0), ("제거", 0.5, 0.8, 0.9))


def measure(
    words: tuple[WordHypothesis, ...] = REMOVED,
    free: str = "모두 제거",
    *,
    loudness: NDArray[np.float64] = LOUD,
    unknown_s: float = 0.0,
    is_reading: bool = False,
    is_asked: bool = False,
) -> Comparison:
    found = compare(
        words,
        tuple(free.split()),
        KOREAN,
        loudness,
        TIMES_S,
        unknown_s=unknown_s,
        is_reading=is_reading,
        is_asked=is_asked,
    )
    assert found is not None
    return found


def test_measures_of_a_plain_answer() -> None:
    found = measure()
    assert found.mismatch == found.number_mismatch == found.unknown == found.uncovered == 0
    assert found.doubt == pytest.approx(0.1)
    assert found.brevity == pytest.approx(10 / 8)  # ㅁㅗㄷㅜ ㅈㅔㄱㅓ
    assert found.drawl == 0
    assert found.haste == pytest.approx(math.log(0.08 / 0.075))


def test_what_sounds_alike_agrees_however_it_is_written() -> None:
    # the final of 각 moves to the vowel after it: 각오 and 가고 are said alike
    words = heard(("각오", 0.2, 0.8, 1.0))
    assert measure(words, "가고").mismatch == 0
    assert measure(words, "가 고").mismatch == 0


@pytest.mark.parametrize(
    ("free", "edits"),
    [("", 8), ("모두 제고", 1), ("모두", 4), ("모두 제거 요", 1), ("노두 세고", 3)],
)
def test_each_phone_that_differs_counts(free: str, edits: int) -> None:
    assert measure(free=free).mismatch == pytest.approx(edits / 8)


def test_there_is_a_most_that_can_differ() -> None:
    assert measure(free="모두 제거 " * 20).mismatch == 2


def test_letters_are_compared_where_a_word_has_no_phones() -> None:
    one, other = sounds(("제거",), ("psi",), KOREAN)
    assert one == tuple("\u110c\u1166\u1100\u1165")
    assert other == tuple("psi")
    one, other = sounds(("removed",), ("zzyx", "Moved"), ENGLISH)
    assert (one, other) == (tuple("removed"), tuple("zzyxmoved"))


def test_numbers_count_twice_and_only_numbers() -> None:
    found = measure(free="모두", is_reading=True)
    assert found.number_mismatch == found.mismatch == 0.5
    assert measure(free="모두").number_mismatch == 0


def test_what_is_asked_about_in_any_case_does_not_count() -> None:
    found = measure(free="하나 장착", is_reading=True, is_asked=True)
    assert found.mismatch == found.number_mismatch == 0


def test_unknown_words_take_their_share_of_the_time() -> None:
    assert measure(unknown_s=0.2).unknown == pytest.approx(0.25)


def test_slow_and_fast_words() -> None:
    words = heard(("모두", 0.2, 0.28, 1.0), ("제거", 0.3, 1.5, 1.0))
    found = measure(words)
    assert found.haste == pytest.approx(math.log(0.08 / 0.02))
    assert found.drawl == pytest.approx(math.log(0.3 / 0.08))


def test_speech_outside_the_words_is_uncovered() -> None:
    found = measure(heard(("모두", 0.2, 0.5, 1.0)))
    assert found.uncovered == pytest.approx(0.5, abs=0.1)
    assert measure(heard(("모두", 0.2, 0.5, 1.0)), loudness=np.ones(50)).uncovered == 0


def test_without_words_there_is_nothing_to_measure() -> None:
    nothing = np.zeros(0)
    for words in ((), heard(("모두", 0.2, 0.2, 1.0))):
        found = compare(
            words,
            ("모두",),
            KOREAN,
            nothing,
            nothing,
            unknown_s=0.0,
            is_reading=False,
            is_asked=False,
        )
        assert found is None
    assert shipped_model().confidence(None) == 0.0


@pytest.mark.parametrize(
    ("text", "words"),
    [("[9] 시", "구 시"), ("[15] 점 [5]", "십 오 점 오"), ("천육백오십", "천 육백 오십"), ("", "")],
)
def test_figures_are_written_as_they_are_said(text: str, words: str) -> None:
    assert plain_words(text, KOREAN) == tuple(words.split())


OXYGEN = compile_item(
    make_gauge("oxygen", "승무원 산소", names=("산소",), not_as_expected=("계기 고장",)),
    KOREAN,
)


def said(words: str) -> Hypothesis:
    return Hypothesis(
        engine="vosk", words=tuple(words.split()), confidence=1.0, start_s=0.0, end_s=1.0
    )


def test_another_number_is_asked_about_with_both() -> None:
    found, is_asked = with_rival(said("천 육백"), ("천", "오백"), OXYGEN)
    assert is_asked
    assert found.words == ("천", "육백")
    meaning = interpret(found, OXYGEN, KOREAN)
    assert isinstance(meaning, Ambiguous)
    values = [option.value for option in meaning.options if isinstance(option, Reading)]
    assert values == [Decimal(1600), Decimal(1500)]


def test_the_same_number_in_other_words_is_no_question() -> None:
    found, is_asked = with_rival(said("천 육백"), ("일", "육", "공", "공"), OXYGEN)
    assert not is_asked
    assert interpret(found, OXYGEN, KOREAN) == Reading(value=Decimal(1600), unit="psi")


@pytest.mark.parametrize("free", ["천 육백", "천 오백 삼", "오늘 날씨", ""])
def test_what_is_no_phrase_of_the_item_is_no_alternative(free: str) -> None:
    found, is_asked = with_rival(said("천 육백"), tuple(free.split()), OXYGEN)
    assert found == said("천 육백")
    assert not is_asked


def test_the_model_adds_up_log_odds() -> None:
    model = ComparisonModel(offset=2.0, weights={"mismatch": -4.0, "doubt": -1.0})
    plain = replace(measure(), doubt=0.0)
    assert model.confidence(plain) == pytest.approx(1 / (1 + math.exp(-2)))
    assert model.confidence(replace(plain, mismatch=0.5)) == pytest.approx(0.5)
    assert model.confidence(replace(plain, mismatch=0.5, doubt=1.0)) == pytest.approx(
        1 / (1 + math.exp(1))
    )


comparisons = st.builds(Comparison, **{measure: st.floats(0, 3) for measure in MEASURES})


@given(
    measured=comparisons,
    more=st.floats(0, 3),
    worse=st.sampled_from(MEASURES),
)
def test_nothing_measured_ever_speaks_for_the_words(
    measured: Comparison, more: float, worse: str
) -> None:
    model = shipped_model()
    changed = replace(measured, **{worse: getattr(measured, worse) + more})
    assert 0 <= model.confidence(changed) <= model.confidence(measured) <= 1


def test_what_is_shipped_says_where_it_is_from() -> None:
    path = Path(open_vocabulary.__file__).with_name("open_vocabulary.json")
    shipped = json.loads(path.read_text(encoding="utf-8"))
    assert set(shipped["weights"]) == set(MEASURES)
    assert all(entry["unit"] for entry in shipped["weights"].values())
    assert all(entry["value"] <= 0 for entry in shipped["weights"].values())
    assert "synthetic" in shipped["fitted to"]
    assert "ko" in shipped["fitted to"]
    assert all(group["count"] for group in shipped["training figures"].values())
    assert shipped_model().offset == shipped["offset"]["value"]
