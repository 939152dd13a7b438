from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.builders import make_check, make_item
from tests.fakes import BeepingSynthesiser, PolledLines
from tests.session.rig import RUN, Rig, rig
from voiceflow.audio.frames import RATE_HZ, Frame, Samples
from voiceflow.audio.wav import RecordingSource
from voiceflow.dialogue.events import (
    MICROPHONE,
    DeviceLost,
    Heard,
    InputEnded,
    Resumed,
    SpeechStarted,
    Spoken,
    Started,
    TimePassed,
)
from voiceflow.dialogue.state import ItemState
from voiceflow.errors import AudioDeviceError
from voiceflow.grammar.meaning import NoMatch
from voiceflow.journal.replay import replay, verify
from voiceflow.journal.store import Journal
from voiceflow.phraseology.prompts import EndingKind

GOOD = ["both removed", "one six zero zero", "out", "closed"]


def test_a_recording_goes_from_challenge_to_closing_words() -> None:
    one = rig(None, GOOD)
    state = one.run()
    assert state.ending is not None
    assert state.ending.kind is EndingKind.COMPLETE
    assert [outcome.state for outcome in state.outcomes] == [
        ItemState.AS_EXPECTED,
        ItemState.WITHIN_LIMITS,
        ItemState.AS_EXPECTED,
        ItemState.AS_EXPECTED,
    ]
    assert state.outcomes[1].value == 1600


def test_the_journal_replays_to_the_last_state(tmp_path: Path) -> None:
    one = rig(tmp_path / "journal.sqlite", GOOD)
    state = one.run()
    assert isinstance(one.journal, Journal)
    assert replay(one.journal.header(RUN), one.journal.events(RUN)) == state
    assert verify(one.journal, RUN) == ()


def test_times_never_fall() -> None:
    one = rig(None, GOOD)
    one.run()
    times = [event.at_s for event in one.journal.events(RUN)]
    assert times == sorted(times)


def test_every_utterance_hears_the_item_that_was_asked_when_it_began() -> None:
    one = rig(None, GOOD)
    one.run()
    heard = [event.item_id for event in one.journal.events(RUN) if isinstance(event, Heard)]
    assert heard == ["covers", "oxygen", "warning", "door"]
    assert one.recogniser.grammars == ["covers", "oxygen", "warning", "door"]


def test_speech_takes_the_time_it_takes() -> None:
    one = rig(None, GOOD)
    one.synthesiser = BeepingSynthesiser(seconds_a_word=0.3)
    one.run()
    at_s, words = one.watcher.words[0]
    # one piece a prompt: the opening, the first challenge
    first, second, *_ = [one for one in one.journal.events(RUN) if isinstance(one, Spoken)]
    assert f"{first.words} {second.words}" == words
    # spoken to its end at the first frame that is not before it
    assert second.at_s - at_s == pytest.approx(len(words.split()) * 0.3, abs=0.021)


def test_without_a_voice_words_take_no_time() -> None:
    one = rig(None, GOOD)
    one.synthesiser = None
    state = one.run()
    assert state.ending is not None
    first = next(event for event in one.journal.events(RUN) if isinstance(event, Spoken))
    assert first.at_s == pytest.approx(0.02)


def test_speech_of_the_person_cuts_the_tool_short() -> None:
    script = [GOOD[0], "affirm", *GOOD[1:]]
    one = rig(None, script, 1.0, 9.0, 9.0, 9.0, 9.0)
    one.synthesiser = BeepingSynthesiser(seconds_a_word=0.3)
    one.run()
    events = one.journal.events(RUN)
    cut = [event for event in events if isinstance(event, Spoken) and not event.completed]
    started = next(event for event in events if isinstance(event, SpeechStarted))
    assert [event.at_s for event in cut] == [started.at_s, started.at_s]
    assert [event.begun for event in cut] == [True, False]
    # and its sound ends there, to begin again with the next words
    spoken = one.track.track
    assert spoken.end_s == pytest.approx(
        next(event.at_s for event in reversed(events) if isinstance(event, Spoken)), abs=0.021
    )


def test_the_tool_speaks_up_when_a_wait_is_over() -> None:
    one = rig(None, GOOD, 6.0, 6.0, 20.0, 6.0)
    state = one.run()
    passed = [event for event in one.journal.events(RUN) if isinstance(event, TimePassed)]
    assert len(passed) == 1
    assert any("Gyro warning light?" in words for _, words in one.watcher.words)
    late = state.outcome("warning")
    assert late is not None
    assert late.state is ItemState.LATE


def test_a_recording_that_ends_first_leaves_the_run_open() -> None:
    one = rig(None, GOOD[:2], tail_s=1.0)
    state = one.run()
    assert state.ending is None
    assert state.open_items == ("warning", "door")
    assert isinstance(one.journal.events(RUN)[-1], InputEnded)


def test_what_is_being_said_at_the_end_of_the_recording_is_said_to_its_end() -> None:
    one = rig(None, GOOD[:1], tail_s=0.2)
    one.synthesiser = BeepingSynthesiser(seconds_a_word=0.5)
    one.run()
    spoken, ended = one.journal.events(RUN)[-2:]
    assert isinstance(spoken, Spoken)
    assert spoken.completed
    assert isinstance(ended, InputEnded)
    assert spoken.at_s > len(one.samples) / RATE_HZ


def test_an_utterance_cut_off_by_the_end_is_heard() -> None:
    one = rig(None, GOOD[:1], tail_s=0.0)
    state = one.run()
    assert [outcome.item_id for outcome in state.outcomes] == ["covers"]


def test_the_closing_words_are_said_to_their_end() -> None:
    one = rig(None, GOOD, tail_s=0.2)
    one.run()
    last = one.journal.events(RUN)[-1]
    assert isinstance(last, Spoken)
    assert last.completed
    assert last.words == one.watcher.words[-1][1]


def test_nothing_is_heard_after_the_end() -> None:
    one = rig(None, [*GOOD, "affirm", "stand by"])
    one.run()
    assert sum(isinstance(event, Heard) for event in one.journal.events(RUN)) == len(GOOD)


def test_sound_without_words_is_recorded_and_changes_nothing() -> None:
    one = rig(None, ["", *GOOD])
    state = one.run()
    heard = [event for event in one.journal.events(RUN) if isinstance(event, Heard)]
    assert heard[0].utterance.meaning == NoMatch()
    assert len(state.outcomes) == 4


class _Breaking:
    """A recording that breaks off like a microphone that is pulled out."""

    def __init__(self, samples: Samples, after_s: float) -> None:
        self._inner = RecordingSource(samples)
        self._after_s = after_s

    def frames(self) -> Iterator[Frame]:
        for frame in self._inner.frames():
            if frame.start_s >= self._after_s:
                raise AudioDeviceError("headset", "it is gone", "Plug it in again")
            yield frame

    def close(self) -> None:
        self._inner.close()


def test_a_lost_microphone_is_recorded_before_the_run_stops() -> None:
    one = rig(None, GOOD)
    one.source = _Breaking(one.samples, after_s=9.0)
    with pytest.raises(AudioDeviceError):
        one.run()
    last = one.journal.events(RUN)[-1]
    assert isinstance(last, DeviceLost)
    assert last.device == MICROPHONE
    assert [outcome.item_id for outcome in one.past().state.outcomes] == ["covers"]


class _BrokenSpeakers:
    def __init__(self) -> None:
        self.tries = 0

    def play(self, start_s: float, samples: Samples) -> None:
        self.tries += 1
        raise AudioDeviceError("speakers", "they are gone", "Plug them in")

    def cut(self, at_s: float) -> None:
        pass

    def verify(self) -> None:
        pass

    def reopen(self) -> bool:
        return False


def test_lost_speakers_become_an_event_and_are_not_played_on_meanwhile() -> None:
    broken = _BrokenSpeakers()
    one = rig(None, ["continue", *GOOD])
    one.sinks = (broken,)
    state = one.run()
    lost = [event for event in one.journal.events(RUN) if isinstance(event, DeviceLost)]
    assert [event.device for event in lost] == ["speakers"]
    assert broken.tries == 1
    # the check held; "continue" took it up again, and it came to its end
    assert state.ending is not None


def test_a_late_answer_does_not_answer_the_next_item() -> None:
    # the utterance begins while "covers" listens; the item's grammar stays with it
    check = make_check(
        make_item("first", "First", expect=("on",), not_as_expected=("off",)),
        make_item("second", "Second", expect=("on",), not_as_expected=("off",)),
    )
    one = rig(None, ["on", "on"])
    one.check = check
    state = one.run()
    assert [outcome.item_id for outcome in state.outcomes] == ["first", "second"]


def test_the_same_recording_gives_the_same_journal() -> None:
    first, second = (rig(None, GOOD) for _ in range(2))
    first.run()
    second.run()
    assert first.journal.entries(RUN) == second.journal.entries(RUN)


def test_only_committed_events_are_shown() -> None:
    one: Rig = rig(None, GOOD)
    one.run()
    stored = one.journal.entries(RUN)
    assert [(noted.seq, noted.event) for noted in one.watcher.noted] == [
        (entry.seq, entry.event) for entry in stored
    ]


# typed beside the voice --------------------------------------------------------------


def test_a_line_typed_beside_the_voice_answers_as_if_it_had_been_said(tmp_path: Path) -> None:
    one = rig(tmp_path / "journal.sqlite", ["both removed", "out", "closed"], 6.0, 12.0, 6.0)
    # a look a frame of 20 ms: some seconds after the first answer, the voice has asked
    one.typed = PolledLines((10, ""), (600, "1600"))
    state = one.run()
    assert state.ending is not None
    assert state.ending.kind is EndingKind.COMPLETE
    assert state.outcomes[1].value == 1600
    assert isinstance(one.journal, Journal)
    events = one.journal.events(RUN)
    assert events[0] == Started(at_s=0.0, keyboard=True)
    typed = [
        event for event in events if isinstance(event, Heard) and event.utterance.engine == "typed"
    ]
    assert [event.utterance.text for event in typed] == ["1600"]
    assert typed[0].utterance.confidence == 1.0
    assert replay(one.journal.header(RUN), events) == state
    assert verify(one.journal, RUN) == ()


def test_a_line_typed_over_the_tools_words_stops_them() -> None:
    one = rig(None, ["both removed"])
    one.typed = PolledLines((5, "where are we"))
    one.run()
    events = one.journal.events(RUN)
    first = next(n for n, event in enumerate(events) if isinstance(event, Heard))
    kinds = [event.kind for event in events[1 : first + 1]]
    # what was being said and what waited behind it: cut, and then the line
    assert kinds == ["speech-started", "spoken", "spoken", "heard"]
    assert not any(event.completed for event in events[1:first] if isinstance(event, Spoken))


def test_a_typed_line_is_no_utterance_of_the_recording() -> None:
    one = rig(None, GOOD)
    one.typed = PolledLines((5, "where are we"))
    one.run()
    past = one.past()
    assert past.heard == len(GOOD)


def test_typing_goes_on_beside_a_new_source() -> None:
    one = rig(None, ["both removed"])
    one.run()
    one.typed = PolledLines((700, "1600"))
    past = one.past()
    state = one.loop(past).resume_live(past, 60.0, source="microphone")
    resumed = [event for event in one.journal.events(RUN) if isinstance(event, Resumed)]
    assert [event.keyboard for event in resumed] == [True]
    assert state.keyboard
