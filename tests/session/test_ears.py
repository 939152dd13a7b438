"""What reaches a recogniser as an utterance, and what as silence."""

import numpy as np
from typing_extensions import override

from tests.builders import expected, make_gauge, make_item
from tests.fakes import LoudFinder, ScriptedRecogniser
from voiceflow.audio.frames import FRAME_S, FRAME_SAMPLES, Frame
from voiceflow.dialogue.events import Heard
from voiceflow.grammar.item_grammar import ItemGrammar, compile_item
from voiceflow.grammar.meaning import Meaning, NoMatch, Response
from voiceflow.languages.registry import language
from voiceflow.session.ears import Ears, Perceived, Waiting
from voiceflow.settings import Pauses

ENGLISH = language("en")
GRAMMAR = compile_item(make_item(), ENGLISH)
#: Frames of silence, of sound, of silence, twice; 0.1 s of silence ends an utterance.
COURSE = "." * 30 + "#" * 20 + "." * 30 + "#" * 5 + "." * 20


class WatchedRecogniser(ScriptedRecogniser):
    """Notes the numbers of the frames it is given, and as what."""

    def __init__(self) -> None:
        super().__init__(["removed", "removed"])
        self.silence: list[int] = []
        self.speech: list[int] = []

    @override
    def feed(self, frame: Frame) -> None:
        super().feed(frame)
        self.speech.append(round(frame.start_s / FRAME_S))

    @override
    def hear_silence(self, frame: Frame) -> None:
        self.silence.append(round(frame.start_s / FRAME_S))


def give(item_id: str, previous_id: str | None) -> ItemGrammar:
    del item_id, previous_id
    return GRAMMAR


def listened(*, wanted: bool) -> WatchedRecogniser:
    recogniser = WatchedRecogniser()
    ears = Ears(finder=LoudFinder(), recogniser=recogniser, grammar=give, language=ENGLISH)
    if wanted:
        ears.listen("covers", None)
    for number, what in enumerate(COURSE):
        samples = np.full(FRAME_SAMPLES, 1000 if what == "#" else 0, dtype=np.int16)
        ears.feed(Frame(samples=samples, start_s=number * FRAME_S))
    ears.flush()
    return recogniser


def test_silence_is_heard_once_in_order_and_never_holds_speech() -> None:
    recogniser = listened(wanted=True)
    assert recogniser.silence == sorted(set(recogniser.silence))
    assert not set(recogniser.silence) & set(recogniser.speech)
    assert all(COURSE[number] == "." for number in recogniser.silence)
    assert all(number in recogniser.speech for number, what in enumerate(COURSE) if what == "#")
    # of the first lead all but what may belong to the speech
    assert recogniser.silence[:28] == list(range(28))


def test_speech_that_nobody_listens_to_is_no_silence_either() -> None:
    recogniser = listened(wanted=False)
    assert recogniser.speech == []
    assert recogniser.silence
    assert all(COURSE[number] == "." for number in recogniser.silence)


PAUSES = Pauses(complete_s=0.2, extendable_s=0.5, incomplete_s=0.9)


class HesitantRecogniser(WatchedRecogniser):
    """Changes its mind: gives these partial hypotheses one after the other, then the last."""

    def __init__(self, *partials: str) -> None:
        super().__init__()
        self._partials = list(partials)
        self.asked = 0

    @override
    def partial(self) -> tuple[str, ...]:
        said = self._partials[min(self.asked, len(self._partials) - 1)]
        self.asked += 1
        return tuple(said.split())


def allowed(recogniser: HesitantRecogniser, course: str) -> list[tuple[float, float]]:
    finder = LoudFinder()
    ears = Ears(finder=finder, recogniser=recogniser, grammar=give, language=ENGLISH, pauses=PAUSES)
    ears.listen("covers", None)
    for number, what in enumerate(course):
        samples = np.full(FRAME_SAMPLES, 1000 if what == "#" else 0, dtype=np.int16)
        ears.feed(Frame(samples=samples, start_s=number * FRAME_S))
    return finder.allowed


def test_the_finder_is_told_how_long_to_wait_for_what_may_follow() -> None:
    # words that have just changed are not trusted; then they stand
    assert allowed(HesitantRecogniser("removed"), "..####....") == [
        (0.02, 0.9),
        (0.04, 0.2),
        (0.06, 0.2),
        (0.08, 0.2),
    ]
    partials = ("both", "both removed", "both removed", "removed both")
    assert allowed(HesitantRecogniser(*partials), "..####....") == [
        (0.02, 0.9),
        (0.04, 0.9),
        (0.06, 0.2),
        (0.08, 0.9),
    ]


def test_words_are_asked_for_in_silence_only_and_anew_after_it() -> None:
    recogniser = HesitantRecogniser("removed")
    assert allowed(recogniser, "..##..##..##") == [(0.02, 0.9), (0.04, 0.2)] * 2
    assert recogniser.asked == 4


def test_without_pauses_the_finder_waits_as_it_likes() -> None:
    recogniser = HesitantRecogniser("removed")
    ears = Ears(finder=LoudFinder(), recogniser=recogniser, grammar=give, language=ENGLISH)
    ears.listen("covers", None)
    for number, what in enumerate(COURSE):
        samples = np.full(FRAME_SAMPLES, 1000 if what == "#" else 0, dtype=np.int16)
        ears.feed(Frame(samples=samples, start_s=number * FRAME_S))
    assert recogniser.asked == 0


def test_what_may_be_all_that_is_said_is_told_once() -> None:
    told: list[tuple[str, Meaning]] = []
    recogniser = HesitantRecogniser("both", "both removed", "both removed", "both removed")
    ears = Ears(
        finder=LoudFinder(),
        recogniser=recogniser,
        grammar=give,
        language=ENGLISH,
        pauses=PAUSES,
        expected=lambda item_id, meaning: told.append((item_id, meaning)),
    )
    ears.listen("covers", None)
    for number, what in enumerate("..####....."):
        samples = np.full(FRAME_SAMPLES, 1000 if what == "#" else 0, dtype=np.int16)
        ears.feed(Frame(samples=samples, start_s=number * FRAME_S))
    assert told == [("covers", expected("both removed"))]


def mixed(course: str, said: str, own: str) -> list[Heard]:
    """Hear "removed", with "o" for sound over the tool's voice and "," for its ringing on."""
    ears = Ears(
        finder=LoudFinder(),
        recogniser=ScriptedRecogniser([said]),
        grammar=give,
        language=ENGLISH,
        own_words=lambda from_s, to_s: own,
    )
    ears.listen("covers", None)
    events: list[Perceived] = []
    for number, what in enumerate(course):
        samples = np.full(FRAME_SAMPLES, 1000 if what in "#o" else 0, dtype=np.int16)
        frame = Frame(samples=samples, start_s=number * FRAME_S, over_own_voice=what in "o,")
        events += ears.feed(frame)
    events += ears.flush()
    return [event for event in events if isinstance(event, Heard)]


def test_an_utterance_over_the_own_voice_says_so() -> None:
    (over,) = mixed("...oooooo####......", "removed", "Pitot covers")
    assert over.utterance.over_own_voice
    assert over.utterance.confidence > 0.5
    assert isinstance(over.utterance.meaning, Response)
    (after,) = mixed("...,,,,,,o####.....", "removed", "Pitot covers")
    assert not after.utterance.over_own_voice


def test_the_own_words_are_nobodys_answer() -> None:
    (own,) = mixed("...oooooooooo......", "uh removed", "Confirm: removed?")
    assert own.utterance.text == "uh removed"
    assert own.utterance.meaning == NoMatch()
    assert own.utterance.confidence == 0.0
    # who is still heard when the tool has been cut is a person
    (over,) = mixed("...oooooo##########....", "removed", "Confirm: removed?")
    assert isinstance(over.utterance.meaning, Response)
    assert over.utterance.over_own_voice
    # said when the tool is silent, the same words are an answer
    (answer,) = mixed("...##########......", "removed", "Confirm: removed?")
    assert isinstance(answer.utterance.meaning, Response)


def test_noise_is_not_learnt_from_the_own_voice() -> None:
    recogniser = WatchedRecogniser()
    ears = Ears(finder=LoudFinder(), recogniser=recogniser, grammar=give, language=ENGLISH)
    ears.listen("covers", None)
    for number in range(40):
        frame = Frame(
            samples=np.zeros(FRAME_SAMPLES, dtype=np.int16),
            start_s=number * FRAME_S,
            over_own_voice=10 <= number < 20,
        )
        ears.feed(frame)
    assert recogniser.silence == [*range(10), *range(20, 30)]


def test_who_hears_himself_again_and_again_is_told() -> None:
    told: list[str] = []
    ears = Ears(
        finder=LoudFinder(),
        recogniser=ScriptedRecogniser(["removed"] * 4),
        grammar=give,
        language=ENGLISH,
        own_words=lambda from_s, to_s: "Confirm: removed?",
        tell=told.append,
    )
    ears.listen("covers", None)
    for number, what in enumerate(("." * 10 + "o" * 10) * 4 + "." * 20):
        samples = np.full(FRAME_SAMPLES, 1000 if what == "o" else 0, dtype=np.int16)
        ears.feed(Frame(samples=samples, start_s=number * FRAME_S, over_own_voice=what == "o"))
    assert len(told) == 1
    assert "use a headset" in told[0]


def test_runs_from_before_wait_as_they_did() -> None:
    old = Waiting(Pauses(complete_s=0.384, extendable_s=0.896, incomplete_s=1.792))
    gauge = compile_item(make_gauge(), ENGLISH)
    for words, pause_s in (("one six zero zero", 0.384), ("one six", 1.792)):
        old.allowed_s(gauge, tuple(words.split()), 0.04)
        assert old.allowed_s(gauge, tuple(words.split()), 0.08) == pause_s
