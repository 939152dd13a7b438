"""Push-to-talk: what is said while the key says quiet is not heard."""

from tests.fakes import LoudFinder, ScriptedRecogniser, spoken
from tests.session.rig import preparation
from voiceflow.audio.wav import RecordingSource
from voiceflow.dialogue.events import Heard, SpeechStarted
from voiceflow.languages.registry import language
from voiceflow.session.ears import Ears, Perceived
from voiceflow.session.grammars import Grammars
from voiceflow.session.keyed import KeyedEars


class TimedKey:
    """Talks in these spans of time."""

    def __init__(self, *spans: tuple[float, float]) -> None:
        self._spans = spans

    def is_talking(self, at_s: float) -> bool:
        return any(first <= at_s < last for first, last in self._spans)


def heard(*spans: tuple[float, float]) -> tuple[list[Perceived], list[str], list[str]]:
    """Give events, remarks and grammars of utterances at 1.0, 2.6 and 4.2 s, 0.6 s each."""
    pack = language("en")
    recogniser = ScriptedRecogniser(["both removed"] * 3)
    ears = Ears(
        finder=LoudFinder(),
        recogniser=recogniser,
        grammar=Grammars(preparation(), pack).grammar,
        language=pack,
    )
    told: list[str] = []
    keyed = KeyedEars(ears, TimedKey(*spans), told.append)
    keyed.listen("covers", None)
    events: list[Perceived] = []
    for frame in RecordingSource(spoken(1.0, 1.0, 1.0, tail_s=1.0)).frames():
        events += keyed.feed(frame)
    events += keyed.flush()
    return events, told, recogniser.grammars


def test_without_the_key_nothing_is_heard_but_the_grammar_is_ready() -> None:
    events, told, grammars = heard()
    assert events == []
    assert told == []
    assert grammars == ["covers"]


def test_only_what_is_said_with_the_key_is_heard() -> None:
    events, told, _ = heard((2.0, 4.0))
    assert [type(event) for event in events] == [SpeechStarted, Heard]
    assert isinstance(events[1], Heard)
    assert 2.6 <= events[1].utterance.speech_start_s < 2.7
    assert told == ["[listening]", "[not listening]"]


def test_letting_go_ends_the_utterance_at_once() -> None:
    events, _, _ = heard((2.0, 3.0))
    assert isinstance(events[-1], Heard)
    assert 3.0 <= events[-1].at_s < 3.03


def test_times_never_fall() -> None:
    events, _, _ = heard((0.5, 1.3), (1.4, 3.0), (4.0, 6.0))
    times = [event.at_s for event in events]
    assert times == sorted(times)
    assert sum(isinstance(event, Heard) for event in events) >= 3
