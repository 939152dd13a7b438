"""Voice notes: the sound is kept before it is told, and nothing of it is an answer."""

import io
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
import soundfile
from typing_extensions import override

from tests.builders import make_check, make_item
from tests.fakes import (
    UTTERANCE_S,
    LoudFinder,
    MemoryJournal,
    NotingWatcher,
    PolledLines,
    ScriptedRecogniser,
    ScriptedTranscriber,
)
from tests.session.rig import RUN, rig
from tests.session.test_keyed import TimedKey
from tests.session.test_lost_microphone import interrupted
from tests.session.test_resumption import came, copy_of
from tests.session.test_typed import Desk
from voiceflow.audio.frames import FRAME_S, FRAME_SAMPLES, RATE_HZ, Frame
from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.events import DeviceLost, Event, Heard, NoteTaken, TimePassed
from voiceflow.dialogue.state import HoldCause, Note, State
from voiceflow.grammar.item_grammar import compile_item
from voiceflow.grammar.meaning import NoMatch
from voiceflow.journal.replay import replay, verify
from voiceflow.journal.store import Journal
from voiceflow.languages.registry import language
from voiceflow.phraseology.prompts import NoteEnd
from voiceflow.session.ears import Ears, Perceived
from voiceflow.session.keyed import KeyedEars
from voiceflow.session.notes import NoteTaker
from voiceflow.settings import NoteSettings

GOOD = ["both removed", "one six zero zero", "out", "closed"]
#: The words for the note itself are not asked for: the recogniser never hears them.
NOTED = ["take a note", *GOOD]
NOTED_PAUSES_S = (6.0,) * (len(NOTED) + 1)


def notes_of(events: Sequence[Event]) -> list[NoteTaken]:
    return [event for event in events if isinstance(event, NoteTaken)]


def kept(notes: tuple[Note, ...]) -> list[tuple[str, str, float]]:
    return [(note.item_id, note.digest, note.length_s) for note in notes]


def test_what_is_said_next_is_kept_as_it_was_said(tmp_path: Path) -> None:
    one = rig(tmp_path / "journal.sqlite", NOTED, *NOTED_PAUSES_S)
    state = one.run()
    (note,) = state.notes
    assert note.item_id == "covers"
    assert note.text == note.engine == ""
    assert isinstance(one.journal, Journal)
    sound, rate = soundfile.read(io.BytesIO(one.journal.sound(note.digest)), dtype="int16")
    assert rate == RATE_HZ
    assert len(sound) / rate == pytest.approx(note.length_s)
    # the second tone, and the 0.1 s of silence that ended it
    said = one.samples[round((6.0 + UTTERANCE_S + 6.0) * RATE_HZ) :]
    assert np.array_equal(sound, said[: len(sound)])
    assert UTTERANCE_S <= note.length_s <= UTTERANCE_S + 0.2
    # every answer came after it, none out of it
    assert [outcome.item_id for outcome in state.outcomes] == [
        "covers",
        "oxygen",
        "warning",
        "door",
    ]
    assert any("Note kept, one second." in words for _, words in one.watcher.words)
    assert replay(one.journal.header(RUN), one.journal.events(RUN)) == state
    assert verify(one.journal, RUN) == ()
    assert one.journal.verify_chain().misfit is None


class OrderJournal(MemoryJournal):
    """Notes in which order it is written to."""

    def __init__(self, order: list[str]) -> None:
        super().__init__()
        self._order = order

    @override
    def keep_sound(self, flac: bytes) -> str:
        self._order.append("sound")
        return super().keep_sound(flac)

    @override
    def append(self, run_id: str, event: Event, records: Sequence[Record] = ()) -> int:
        if isinstance(event, NoteTaken):
            self._order.append("event")
        return super().append(run_id, event, records)


class OrderWatcher(NotingWatcher):
    """Notes when the note is told."""

    def __init__(self, order: list[str]) -> None:
        super().__init__()
        self._order = order

    @override
    def said(self, at_s: float, words: str) -> None:
        super().said(at_s, words)
        if "Note kept" in words:
            self._order.append("words")


def test_the_sound_comes_before_the_event_and_that_before_the_words() -> None:
    order: list[str] = []
    one = rig(None, NOTED, *NOTED_PAUSES_S)
    one.journal = OrderJournal(order)
    one.watcher = OrderWatcher(order)
    one.run()
    assert order == ["sound", "event", "words"]


def test_silence_ends_it_without_a_note() -> None:
    one = rig(None, NOTED, 6.0, 20.0, 6.0, 6.0, 6.0)
    state = one.run()
    assert state.notes == ()
    assert isinstance(one.journal, MemoryJournal)
    assert one.journal.sounds == {}
    assert any("No note. Pitot covers." in words for _, words in one.watcher.words)
    assert sum(isinstance(event, TimePassed) for event in one.journal.events(RUN)) >= 1
    assert state.ending is not None


def test_a_note_goes_with_what_was_found_just_before() -> None:
    script = ["fitted", "affirm", "take a note", *GOOD[1:]]
    one = rig(None, script, *((6.0,) * (len(script) + 1)))
    state = one.run()
    assert [note.item_id for note in state.notes] == ["covers"]
    assert [found.item_id for found in state.discrepancies] == ["covers"]


@pytest.mark.parametrize("pause_s", [3.0, 6.0], ids=["in-a-hurry", "calm"])
def test_cut_anywhere_and_heard_again_no_note_is_taken_twice_or_lost(pause_s: float) -> None:
    script = ["take a note", "both removed", "one one zero zero", "affirm", "take a note"]
    script += ["out", "closed"]
    whole = rig(None, script, *([pause_s] * (len(script) + 2)))
    state = whole.run()
    expected, notes = came(state), kept(state.notes)
    assert len(notes) == 2
    for count in range(len(whole.journal.events(RUN)) + 1):
        cut = copy_of(whole, count)
        if cut.past().state.ending is not None:
            break
        state = cut.resume()
        assert came(state) == expected, f"cut after event {count}"
        assert kept(state.notes) == notes, f"cut after event {count}"
        assert replay(whole.journal.header(RUN), cut.journal.events(RUN)) == state


def test_another_source_goes_back_to_the_item() -> None:
    one = rig(None, ["take a note"], tail_s=0.2)
    one.run()
    cut = copy_of(one, len(one.journal.events(RUN)) - 1)
    assert cut.past().state.noting is not None
    cut.script = GOOD
    past = cut.past()
    state = cut.loop(past).resume_live(past, 60.0, source="microphone")
    assert state.noting is None
    assert state.notes == ()
    assert [outcome.item_id for outcome in state.outcomes] == ["covers"]


# in the ears ---------------------------------------------------------------------------


def noted(
    course: str,
    *said: str,
    settings: NoteSettings | None = None,
    transcriber: ScriptedTranscriber | None = None,
) -> tuple[list[Perceived], dict[str, bytes], ScriptedRecogniser]:
    """Take a note of a course: "#" sound, "." silence, "o" sound over the tool's own voice."""
    journal = MemoryJournal()
    recogniser = ScriptedRecogniser(said)
    ears = Ears(
        finder=LoudFinder(),
        recogniser=recogniser,
        grammar=lambda item_id, previous_id: compile_item(make_item(), language("en")),
        language=language("en"),
        notes=NoteTaker(
            keep=journal.keep_sound,
            settings=settings or NoteSettings(shortest_s=0.1),
            transcriber=transcriber,
        ),
    )
    ears.listen("covers", None, "door")
    events: list[Perceived] = []
    for number, what in enumerate(course):
        for event in ears.feed(frame(number, what)):
            events.append(event)
            if isinstance(event, NoteTaken):
                # as the dialogue does
                ears.listen("covers", None)
    events += ears.flush()
    return events, journal.sounds, recogniser


def frame(number: int, what: str) -> Frame:
    samples = np.full(FRAME_SAMPLES, 1000 if what in "#o" else 0, dtype=np.int16)
    return Frame(samples=samples, start_s=number * FRAME_S, over_own_voice=what == "o")


def test_only_the_next_utterance_is_the_note_and_the_recogniser_never_hears_it() -> None:
    events, sounds, recogniser = noted("..##########......####......", "removed")
    assert [event.kind for event in events] == [
        "speech-started",
        "note-taken",
        "speech-started",
        "heard",
    ]
    (note,) = notes_of(events)
    assert note.item_id == "door"
    assert set(sounds) == {note.digest}
    assert note.ended is NoteEnd.PAUSE
    # of the note no frame, of the answer all
    assert recogniser.fed == [9]


def test_words_of_an_engine_that_hears_any_stand_beside_the_sound() -> None:
    writer = ScriptedTranscriber(["the cap is loose", ""])
    events, sounds, _ = noted("..##########......", transcriber=writer)
    (note,) = notes_of(events)
    assert (note.text, note.engine) == ("the cap is loose", "scripted")
    assert writer.fed
    # nothing written down: nobody is named for it, and the sound is kept all the same
    events, sounds, _ = noted("..##########......", transcriber=ScriptedTranscriber([""]))
    (note,) = notes_of(events)
    assert (note.text, note.engine) == ("", "")
    assert note.digest in sounds


def test_a_cough_is_no_note_and_the_note_is_waited_for_still() -> None:
    writer = ScriptedTranscriber(["cough", "the cap is loose"])
    events, sounds, _ = noted("..##........##########......", transcriber=writer)
    assert [event.kind for event in events] == [
        "speech-started",
        "heard",
        "speech-started",
        "note-taken",
    ]
    cough = events[1]
    assert isinstance(cough, Heard)
    assert cough.utterance.meaning == NoMatch()
    assert len(sounds) == 1
    assert notes_of(events)[0].text == "the cap is loose"


def test_the_tools_own_voice_is_no_note() -> None:
    writer = ScriptedTranscriber(["note on", "the cap is loose"])
    events, sounds, _ = noted("..oooooooo......##########......", transcriber=writer)
    assert [event.kind for event in events] == [
        "speech-started",
        "heard",
        "speech-started",
        "note-taken",
    ]
    own = events[1]
    assert isinstance(own, Heard)
    assert own.utterance.over_own_voice
    assert len(sounds) == 1
    assert notes_of(events)[0].text == "the cap is loose"
    # who goes on when the tool has ended is a person
    events, _, _ = noted("..oooooooo##########......")
    assert len(notes_of(events)) == 1


def test_a_note_is_kept_up_to_its_bound_and_the_rest_answers_nothing() -> None:
    settings = NoteSettings(longest_s=0.4, shortest_s=0.1)
    events, sounds, _ = noted("..##############################......", settings=settings)
    assert [event.kind for event in events] == ["speech-started", "note-taken"]
    (note,) = notes_of(events)
    assert note.ended is NoteEnd.BOUND
    assert note.length_s == pytest.approx(0.4)
    # it is told when it is full, not when the person has done
    assert note.at_s == pytest.approx(0.04 + 0.4)
    sound, rate = soundfile.read(io.BytesIO(sounds[note.digest]))
    assert len(sound) / rate == pytest.approx(0.4)
    # what is said after a pause is an answer again
    events, _, recogniser = noted("..######################......####......", "removed",
                                  settings=settings)  # fmt: skip
    assert [event.kind for event in events][-2:] == ["speech-started", "heard"]
    assert recogniser.fed == [9]


def test_a_note_is_given_time_to_think_and_to_be_long() -> None:
    finder = LoudFinder()
    settings = NoteSettings()
    ears = Ears(
        finder=finder,
        recogniser=ScriptedRecogniser(()),
        grammar=lambda item_id, previous_id: compile_item(make_item(), language("en")),
        language=language("en"),
        notes=NoteTaker(keep=MemoryJournal().keep_sound, settings=settings),
    )
    ears.listen("covers", None, "covers")
    for number, what in enumerate("..##.."):
        ears.feed(frame(number, what))
    assert {allowed_s for _, allowed_s in finder.allowed} == {settings.pause_s}
    assert finder.longest_s is not None
    assert finder.longest_s > settings.longest_s


def test_with_a_key_the_note_is_over_when_the_key_says_so() -> None:
    journal = MemoryJournal()
    ears = Ears(
        finder=LoudFinder(),
        recogniser=ScriptedRecogniser(()),
        grammar=lambda item_id, previous_id: compile_item(make_item(), language("en")),
        language=language("en"),
        notes=NoteTaker(keep=journal.keep_sound, settings=NoteSettings(shortest_s=0.1)),
    )
    keyed = KeyedEars(ears, TimedKey((0.2, 0.6)), NotingWatcher().told)
    keyed.listen("covers", None, "covers")
    events: list[Perceived] = []
    for number in range(50):
        events += keyed.feed(frame(number, "#"))
    (note,) = notes_of(events)
    assert note.at_s == pytest.approx(0.6, abs=0.03)
    assert note.length_s == pytest.approx(0.4, abs=0.03)
    assert keyed.drop() == ()


# devices and keyboards -----------------------------------------------------------------


def test_half_a_note_is_kept_when_the_microphone_goes() -> None:
    # the note is said from 12.6 s on, and the microphone goes in the midst of it
    one = interrupted(None, ["take a note", *GOOD], *NOTED_PAUSES_S, after_s=13.12, gone_s=5.0)
    state = one.run()
    (note,) = state.notes
    assert note.ended is NoteEnd.BROKEN_OFF
    assert note.length_s == pytest.approx(0.52, abs=0.03)
    events = one.journal.events(RUN)
    taken = next(n for n, event in enumerate(events) if isinstance(event, NoteTaken))
    lost = next(n for n, event in enumerate(events) if isinstance(event, DeviceLost))
    assert taken < lost
    assert any("as far as it was heard" in words for _, words in one.watcher.words)
    assert state.holds[0].cause is HoldCause.DEVICE


def test_the_next_line_that_is_typed_is_the_note() -> None:
    desk = Desk()
    state = desk.type(
        (2, "take a note"), (20, "both removed"), (2, "both removed"), (2, "1600"), (2, "out")
    )
    (note,) = state.notes
    assert (note.item_id, note.text, note.engine) == ("covers", "both removed", "typed")
    assert note.digest == ""
    assert isinstance(desk.journal, MemoryJournal)
    assert desk.journal.sounds == {}
    assert [outcome.item_id for outcome in state.outcomes] == ["covers", "oxygen", "warning"]
    assert any(words.startswith("Note kept. ") for _, words in desk.watcher.words)


def test_a_line_beside_the_voice_may_be_the_note() -> None:
    one = rig(None, ["take a note", "both removed"], 6.0, 12.0)
    one.typed = PolledLines((500, "the cap is loose"))
    state = one.run()
    (note,) = state.notes
    assert (note.text, note.engine, note.digest) == ("the cap is loose", "typed", "")
    assert [outcome.item_id for outcome in state.outcomes] == ["covers"]
    # it is no utterance of the recording
    assert one.past().heard == 2


def test_a_note_that_was_begun_when_one_is_typed_is_kept_too() -> None:
    one = rig(None, ["take a note", "both removed"], 6.0, 6.0, 6.0)
    # typed while the note is being said, at 12.6 to 13.2 s
    one.typed = PolledLines((645, "the cap is loose"))
    state = one.run()
    assert [(note.item_id, note.engine) for note in state.notes] == [
        ("covers", "typed"),
        ("covers", ""),
    ]
    assert [outcome.item_id for outcome in state.outcomes] == ["covers"]


def test_a_check_of_one_item_ends_with_its_note() -> None:
    one = rig(None, ["take a note", "both removed"], 6.0, 6.0, 6.0)
    one.check = make_check(make_item())
    state: State = one.run()
    assert state.ending is not None
    assert len(state.notes) == 1
