import numpy as np
import pytest
from typing_extensions import override

from tests.fakes import BeepingSynthesiser
from voiceflow.audio.frames import RATE_HZ, Samples
from voiceflow.errors import AudioDeviceError, SynthesisError
from voiceflow.session.voice import Timeline
from voiceflow.settings import VoiceSettings
from voiceflow.synthesis.earcons import Earcon, sound_of


class NotingSink:
    def __init__(self) -> None:
        self.calls: list[tuple[str, float]] = []

    def play(self, start_s: float, samples: Samples) -> None:
        self.calls.append(("play", start_s))

    def cut(self, at_s: float) -> None:
        self.calls.append(("cut", at_s))

    def verify(self) -> None:
        pass

    def reopen(self) -> bool:
        return False


class NotingSynthesiser:
    def __init__(self) -> None:
        self.rates: list[int] = []

    def synthesise(self, words: str, rate_wpm: int) -> Samples:
        self.rates.append(rate_wpm)
        return np.zeros(RATE_HZ, dtype=np.int16)


def test_pieces_follow_each_other() -> None:
    sink = NotingSink()
    voice = Timeline(NotingSynthesiser(), VoiceSettings(), (sink,))
    voice.say("one", slower=False, now_s=1.0)
    voice.say("two", slower=False, now_s=1.2)
    assert sink.calls == [("play", 1.0)]
    assert voice.take_ended(1.9) is None
    first = voice.take_ended(2.0)
    assert first is not None
    assert (first.words, first.at_s, first.completed) == ("one", 2.0, True)
    # the second begins where the first ended, however late that is looked at
    assert sink.calls == [("play", 1.0), ("play", 2.0)]
    assert voice.next_end_s == 3.0


def test_stopping_cuts_one_and_drops_the_rest() -> None:
    sink = NotingSink()
    voice = Timeline(NotingSynthesiser(), VoiceSettings(), (sink,))
    voice.say("one", slower=False, now_s=0.0)
    voice.say("two", slower=False, now_s=0.0)
    stopped = voice.stop(0.5)
    assert [(spoken.words, spoken.completed) for spoken in stopped] == [
        ("one", False),
        ("two", False),
    ]
    assert sink.calls[-1] == ("cut", 0.5)
    assert voice.next_end_s is None
    assert voice.stop(0.6) == ()


def test_slower_is_slower() -> None:
    synthesiser = NotingSynthesiser()
    voice = Timeline(synthesiser, VoiceSettings(rate_wpm=150, slower_wpm=100))
    voice.say("one", slower=False, now_s=0.0)
    voice.say("one", slower=True, now_s=0.0)
    assert synthesiser.rates == [150, 100]


def test_without_a_voice_words_end_at_once() -> None:
    voice = Timeline(None, VoiceSettings())
    voice.say("one", slower=False, now_s=3.0)
    ended = voice.take_ended(3.0)
    assert ended is not None
    assert ended.completed


class _Hoarse:
    def synthesise(self, words: str, rate_wpm: int) -> Samples:
        raise SynthesisError("it is hoarse", "Rest")


def test_a_voice_that_fails_is_told_once_and_words_end_at_once() -> None:
    voice = Timeline(_Hoarse(), VoiceSettings())
    voice.say("one", slower=False, now_s=0.0)
    voice.say("two", slower=False, now_s=0.0)
    assert voice.take_fault() == "voice"
    assert voice.take_fault() is None
    assert voice.take_ended(0.0) is not None


class _Gone(NotingSink):
    @override
    def play(self, start_s: float, samples: Samples) -> None:
        super().play(start_s, samples)
        raise AudioDeviceError("speakers", "they are gone", "Plug them in")


@pytest.mark.parametrize("pieces", [1, 3])
def test_a_device_that_fails_is_told_once(pieces: int) -> None:
    gone, there = _Gone(), NotingSink()
    voice = Timeline(BeepingSynthesiser(), VoiceSettings(), (gone, there))
    for _ in range(pieces):
        voice.say("one", slower=False, now_s=0.0)
    while voice.take_ended(10.0) is not None:
        pass
    assert voice.take_fault() == "speakers"
    assert voice.take_fault() is None
    assert len(gone.calls) == 1
    assert len(there.calls) == pieces


def test_what_nobody_can_hear_any_more_ends_at_once_and_is_not_completed() -> None:
    voice = Timeline(BeepingSynthesiser(), VoiceSettings(), (_Gone(),))
    voice.say("a piece of some length", slower=False, now_s=1.0)
    voice.say("and one more", slower=False, now_s=1.0)
    assert voice.next_end_s == 1.0
    first, second = voice.take_ended(1.0), voice.take_ended(1.0)
    assert first is not None
    assert second is not None
    assert (first.words, first.completed) == ("a piece of some length", False)
    assert (second.words, second.completed) == ("and one more", False)
    voice.say("later", slower=False, now_s=2.0)
    later = voice.take_ended(2.0)
    assert later is not None
    assert not later.completed
    assert voice.take_fault() == "speakers"
    assert voice.take_fault() is None


class _Flaky(NotingSink):
    """Works only while told to."""

    works = True

    @override
    def play(self, start_s: float, samples: Samples) -> None:
        self.verify()
        super().play(start_s, samples)

    @override
    def verify(self) -> None:
        if not self.works:
            raise AudioDeviceError("speakers", "they are gone", "Plug them in")

    @override
    def reopen(self) -> bool:
        self.calls.append(("reopen", 0.0))
        return self.works


def test_a_device_that_comes_back_is_spoken_with_again() -> None:
    sink = _Flaky()
    voice = Timeline(BeepingSynthesiser(), VoiceSettings(), (sink,))
    sink.works = False
    voice.say("nobody hears this", slower=False, now_s=1.0)
    voice.say("nor this", slower=False, now_s=1.0)
    assert voice.take_fault() == "speakers"
    assert voice.take_returned(1.5) is None
    assert sink.calls == []  # not tried at once
    assert voice.take_returned(3.5) is None
    assert voice.take_returned(4.0) is None
    assert sink.calls == [("reopen", 0.0)]  # nor each time
    sink.works = True
    assert voice.take_returned(6.0) == "speakers"
    assert voice.take_returned(9.0) is None
    # what was said meanwhile has not been heard
    unheard = [voice.take_ended(9.0), voice.take_ended(9.0)]
    assert [one is not None and one.completed for one in unheard] == [False, False]
    voice.say("now you do", slower=False, now_s=9.0)
    assert sink.calls[-1] == ("play", 9.0)
    ended = voice.take_ended(10.0)
    assert ended is not None
    assert ended.completed
    assert voice.take_fault() is None


def test_speakers_that_go_while_they_speak_have_not_been_heard_out() -> None:
    sink = _Flaky()
    voice = Timeline(BeepingSynthesiser(), VoiceSettings(), (sink,))
    voice.say("one six zero zero", slower=False, now_s=0.0)
    sink.works = False
    ended = voice.take_ended(1.0)
    assert ended is not None
    assert not ended.completed
    assert voice.take_fault() == "speakers"


def test_what_one_device_still_plays_is_heard_to_its_end() -> None:
    voice = Timeline(BeepingSynthesiser(), VoiceSettings(), (_Gone(), NotingSink()))
    voice.say("three words long", slower=False, now_s=0.0)
    assert voice.take_ended(0.2) is None
    ended = voice.take_ended(0.3)
    assert ended is not None
    assert ended.completed


def test_what_was_made_before_the_voice_failed_is_still_heard() -> None:
    class Tiring(_Hoarse):
        spoke = False

        @override
        def synthesise(self, words: str, rate_wpm: int) -> Samples:
            if self.spoke:
                return super().synthesise(words, rate_wpm)
            self.spoke = True
            return np.zeros(RATE_HZ, dtype=np.int16)

    voice = Timeline(Tiring(), VoiceSettings(), (NotingSink(),))
    for words in ("one", "two"):
        voice.say(words, slower=False, now_s=0.0)
    ended = [voice.take_ended(1.0), voice.take_ended(1.0)]
    assert [one is not None and one.completed for one in ended] == [True, False]


@pytest.mark.parametrize(
    ("at_s", "completed"),
    [(0.0, False), (0.59, False), (0.6, True), (0.99, True), (1.0, True), (1.2, True)],
)
def test_a_reply_on_the_last_word_does_not_cut_it_short(at_s: float, completed: bool) -> None:
    voice = Timeline(NotingSynthesiser(), VoiceSettings(tail_s=0.4), (NotingSink(),))
    voice.say("one second", slower=False, now_s=0.0)
    voice.say("another", slower=False, now_s=0.0)
    stopped = voice.stop(at_s)
    if at_s >= 1.0:  # the first had ended; the second is what was being said
        assert stopped[0].completed
        assert [one.completed for one in stopped[1:]] == [False]
    else:
        assert [one.completed for one in stopped] == [completed, False]


def test_a_short_piece_that_begins_this_very_moment_was_not_heard() -> None:
    voice = Timeline(BeepingSynthesiser(), VoiceSettings(), (NotingSink(),))
    voice.say("check", slower=False, now_s=1.0)
    assert [one.completed for one in voice.stop(1.0)] == [False]


class PlayedSink(NotingSink):
    def __init__(self) -> None:
        super().__init__()
        self.played: list[Samples] = []

    @override
    def play(self, start_s: float, samples: Samples) -> None:
        self.played.append(samples)


def test_volume_is_of_what_the_voice_gives() -> None:
    sink = PlayedSink()
    voice = Timeline(BeepingSynthesiser(), VoiceSettings(volume=0.25), (sink,))
    voice.say("one", slower=False, now_s=0.0)
    assert set(sink.played[0].tolist()) == {250}
    assert sink.played[0].dtype == np.int16


@pytest.mark.parametrize("wanted", [True, False])
def test_a_sound_comes_before_the_words_if_sounds_are_wanted(wanted: bool) -> None:
    sink = PlayedSink()
    voice = Timeline(BeepingSynthesiser(), VoiceSettings(earcons=wanted), (sink,))
    voice.say("one", slower=False, now_s=0.0, earcon=Earcon.HOLDING)
    lead = sound_of(Earcon.HOLDING)
    words = np.full(RATE_HZ // 10, 1000, dtype=np.int16)
    expected = np.concatenate((lead, words)) if wanted else words
    assert np.array_equal(sink.played[0], expected)
    assert voice.next_end_s == pytest.approx(len(expected) / RATE_HZ)


@pytest.mark.parametrize("wanted", [True, False])
def test_a_tone_comes_after_the_words_if_sounds_are_wanted(wanted: bool) -> None:
    sink = PlayedSink()
    voice = Timeline(BeepingSynthesiser(), VoiceSettings(earcons=wanted), (sink,))
    voice.say("one", slower=False, now_s=0.0, tone=Earcon.SPEAK)
    words = np.full(RATE_HZ // 10, 1000, dtype=np.int16)
    expected = np.concatenate((words, sound_of(Earcon.SPEAK))) if wanted else words
    assert np.array_equal(sink.played[0], expected)
    assert voice.next_end_s == pytest.approx(len(expected) / RATE_HZ)


def test_what_was_said_in_a_time_is_remembered() -> None:
    voice = Timeline(NotingSynthesiser(), VoiceSettings(), (NotingSink(),))
    voice.say("one", slower=False, now_s=1.0)
    voice.say("two", slower=False, now_s=1.2)
    assert voice.said_between(0.0, 5.0) == "one"
    voice.take_ended(2.0)
    assert voice.said_between(1.5, 2.5) == "one two"
    assert voice.said_between(2.1, 2.5) == "two"
    assert voice.said_between(3.0, 9.0) == ""


def test_what_was_cut_was_not_said() -> None:
    voice = Timeline(NotingSynthesiser(), VoiceSettings(), (NotingSink(),))
    voice.say("one", slower=False, now_s=1.0)
    voice.stop(1.4)
    assert voice.said_between(1.3, 2.0) == "one"
    assert voice.said_between(1.5, 2.0) == ""
