from dataclasses import replace

import pytest

from tests.builders import make_gauge, make_item
from voiceflow.audio.wav import RecordingSource
from voiceflow.errors import EngineError
from voiceflow.grammar.item_grammar import ItemGrammar, compile_item
from voiceflow.languages.registry import language
from voiceflow.recognition.engines.pocketsphinx import (
    PocketSphinxRecogniser,
    bundled_pronunciations,
    can_hear,
)
from voiceflow.settings import PolicySettings
from voiceflow.synthesis.pyttsx3_wav import Pyttsx3Synthesiser
from voiceflow.understanding.hypothesis import Hypothesis

pytestmark = pytest.mark.speech
ENGLISH = language("en")


@pytest.fixture(scope="module")
def recogniser() -> PocketSphinxRecogniser:
    return PocketSphinxRecogniser(ENGLISH)


@pytest.fixture(scope="module")
def voice() -> Pyttsx3Synthesiser:
    return Pyttsx3Synthesiser(ENGLISH)


@pytest.fixture(scope="module")
def gauge() -> ItemGrammar:
    return compile_item(make_gauge(), ENGLISH)


def hear(
    recogniser: PocketSphinxRecogniser, voice: Pyttsx3Synthesiser, grammar: ItemGrammar, words: str
) -> Hypothesis:
    recogniser.listen(grammar)
    for frame in RecordingSource(voice.synthesise(words, 150)).frames():
        recogniser.feed(frame)
    return recogniser.finish()


def test_languages_it_can_hear_are_told_by_their_packs() -> None:
    assert can_hear(ENGLISH)
    assert not can_hear(language("ko"))
    with pytest.raises(EngineError, match="--engine vosk"):
        PocketSphinxRecogniser(language("ko"))


def test_its_dictionary_gives_every_way_to_say_a_word() -> None:
    assert bundled_pronunciations("removed") == ("R IY M UW V D",)
    assert len(bundled_pronunciations("either")) == 2
    assert bundled_pronunciations("qzxvfroob") == ()


def test_the_packs_words_replace_those_of_the_dictionary() -> None:
    """In the engine's dictionary "psi" is the Greek letter."""
    ways = [" ".join(way) for way in ENGLISH.pronunciations["psi"]]
    decoder = PocketSphinxRecogniser(ENGLISH)._decoder
    assert decoder.lookup_word("psi") in ways


@pytest.mark.parametrize("expect", [("qzxvfroob",), ("removed", "qzxvfroob off")])
def test_an_answer_that_nobody_can_pronounce_is_named(
    recogniser: PocketSphinxRecogniser, expect: tuple[str, ...]
) -> None:
    grammar = compile_item(make_item("odd", expect=expect), ENGLISH)
    with pytest.raises(EngineError, match=rf"odd: .* qzxvfroob.*{expect[-1]}"):
        recogniser.listen(grammar)


def test_a_challenge_that_nobody_can_pronounce_costs_the_answer_nothing(
    voice: Pyttsx3Synthesiser,
) -> None:
    recogniser = PocketSphinxRecogniser(ENGLISH)  # learns of this test's sound only
    item = make_item("odd", "Qzxvfroob cover")
    grammar = compile_item(item, ENGLISH)
    assert recogniser.unheard_words(grammar) == {"qzxvfroob"}
    assert hear(recogniser, voice, grammar, "both removed").words == ("both", "removed")
    # also as the item before, whose answer can be corrected
    after = compile_item(make_item("door", "Cabin door", expect=("closed",)), ENGLISH, item)
    words = hear(recogniser, voice, after, "correction removed").words
    assert words == ("correction", "removed")


def test_a_name_that_nobody_can_pronounce_costs_the_reading_nothing(
    voice: Pyttsx3Synthesiser,
) -> None:
    recogniser = PocketSphinxRecogniser(ENGLISH)
    item = make_gauge()
    assert item.reading is not None
    odd = replace(item, reading=replace(item.reading, names=("qzxvfroob",)))
    grammar = compile_item(odd, ENGLISH)
    words = hear(recogniser, voice, grammar, "one five zero zero psi").words
    assert words == ("one", "five", "zero", "zero", "psi")


def test_sound_before_any_grammar_is_refused(voice: Pyttsx3Synthesiser) -> None:
    deaf = PocketSphinxRecogniser(ENGLISH)
    frame = next(RecordingSource(voice.synthesise("affirm", 150)).frames())
    with pytest.raises(EngineError, match="listen"):
        deaf.feed(frame)


def test_words_carry_no_marks_of_variants(
    recogniser: PocketSphinxRecogniser, voice: Pyttsx3Synthesiser, gauge: ItemGrammar
) -> None:
    hypothesis = hear(recogniser, voice, gauge, "oxygen one thousand five hundred psi")
    assert hypothesis.words
    assert gauge.vocabulary.issuperset(hypothesis.words)
    assert [word.word for word in hypothesis.timed_words] == list(hypothesis.words)


def test_other_talk_is_not_taken_with_confidence(
    recogniser: PocketSphinxRecogniser, voice: Pyttsx3Synthesiser
) -> None:
    grammar = compile_item(make_item(), ENGLISH)
    talk = "the passengers would like some coffee before we taxi to the runway"
    answer = hear(recogniser, voice, grammar, "both removed")
    assert answer.words == ("both", "removed")
    assert answer.confidence >= PolicySettings().accept
    assert hear(recogniser, voice, grammar, talk).confidence < PolicySettings().accept


def test_many_grammars_do_not_fill_the_decoder(
    voice: Pyttsx3Synthesiser, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("voiceflow.recognition.engines.pocketsphinx._SEARCHES_KEPT", 2)
    recogniser = PocketSphinxRecogniser(ENGLISH)
    for number in range(5):
        grammar = compile_item(make_item(f"item-{number}"), ENGLISH)
        assert hear(recogniser, voice, grammar, "both removed").words == ("both", "removed")
    assert len(recogniser._searches) == 2
