"""A note in a recorded check, heard by PocketSphinx: recordings of this repository put in a row.

The note holds the very response of the item, after a pause in which its speaker thinks: that
must not be an answer.
"""

import io
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tests.end_to_end.demo_run import ROOT
from tests.fakes import NotingWatcher
from voiceflow.audio.frames import RATE_HZ, Samples
from voiceflow.checks.loader import load_check
from voiceflow.checks.model import Check
from voiceflow.checks.shipped import find_check
from voiceflow.dialogue.events import Event, Heard, NoteTaken, SpeechStarted
from voiceflow.dialogue.state import State
from voiceflow.grammar.meaning import Command
from voiceflow.journal.replay import verify
from voiceflow.journal.store import Journal
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.prompts import EndingKind, NoteEnd
from voiceflow.session.assembly import Session, Ways

pytestmark = pytest.mark.speech

#: Seconds of silence before each recording. The voice is off, so nothing is waited for; a
#: pause of 1.8 s ends a note.
COURSE: tuple[tuple[float, str], ...] = (
    (1.0, "commands/060-altimeter-slt.flac"),  # take a note
    (1.5, "nothing/007-fire-test-slt.flac"),  # there is coffee in the galley if you want some
    (0.1, "responses/015-first-aid-kit-slt.flac"),  # sealed
    (2.5, "responses/041-first-aid-kit-slt.flac"),  # sealed and in date
    (1.5, "responses/009-left-propeller-slt.flac"),  # four blades undamaged
    (4.0, ""),
)
ITEMS = ("first-aid-kit", "left-propeller")


def recording() -> Samples:
    pieces = []
    room = np.random.default_rng(7)
    for pause_s, name in COURSE:
        # a quiet room, as in the recordings
        pieces.append(np.rint(room.normal(0.0, 2.0, round(pause_s * RATE_HZ))).astype(np.int16))
        if name:
            samples, rate = soundfile.read(ROOT / "audio_fixtures" / name, dtype="int16")
            assert rate == RATE_HZ
            pieces.append(samples)
    return np.concatenate(pieces)


def small_check() -> Check:
    check = load_check(find_check("cockpit-preparation"))
    return replace(check, items=tuple(check.item(item_id) for item_id in ITEMS))


@pytest.fixture(scope="module")
def heard(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Samples, State]:
    folder = tmp_path_factory.mktemp("notes")
    samples = recording()
    soundfile.write(folder / "check.wav", samples, RATE_HZ)
    with Journal.open(folder / "journal.sqlite") as journal:
        state = session(journal, folder).run().state
    return folder, samples, state


def session(journal: Journal, folder: Path) -> Session:
    ways = Ways(recording=folder / "check.wav", engine="pocketsphinx", profile="none")
    return Session(journal, small_check(), ways, NotingWatcher())


def events_of(folder: Path) -> tuple[Event, ...]:
    with Journal.open_to_read(folder / "journal.sqlite") as journal:
        return journal.events(journal.runs()[0].run_id)


def test_the_note_is_kept_and_the_check_is_done_beside_it(
    heard: tuple[Path, Samples, State],
) -> None:
    folder, samples, state = heard
    (note,) = state.notes
    assert note.item_id == "first-aid-kit"
    # PocketSphinx hears phrases only: nobody wrote the words down
    assert (note.text, note.engine, note.ended) == ("", "", NoteEnd.PAUSE)
    assert state.ending is not None
    assert state.ending.kind is EndingKind.COMPLETE
    assert [(each.item_id, each.phrase) for each in state.outcomes] == [
        ("first-aid-kit", "sealed and in date"),
        ("left-propeller", "four blades undamaged"),
    ]
    with Journal.open_to_read(folder / "journal.sqlite") as journal:
        run_id = journal.runs()[0].run_id
        flac = journal.sound(note.digest)
        assert verify(journal, run_id) == ()
        assert journal.verify_chain().misfit is None
    sound, rate = soundfile.read(io.BytesIO(flac), dtype="int16")
    assert rate == RATE_HZ
    assert len(sound) / rate == pytest.approx(note.length_s, abs=1e-3)
    # it is the recording's own sound, from before its first word to after its last: both of
    # what was said into it, and the pause between
    windows = np.lib.stride_tricks.sliding_window_view(samples, 160)
    (start,) = np.flatnonzero((windows == sound[:160]).all(axis=1))
    assert np.array_equal(samples[start : start + len(sound)], sound)
    assert 4.5 < note.length_s < 6.5


def test_nothing_of_the_note_was_understood(heard: tuple[Path, Samples, State]) -> None:
    folder, _, _ = heard
    events = events_of(folder)
    utterances = [event.utterance for event in events if isinstance(event, Heard)]
    assert utterances[0].meaning == Command(name=CommandName.NOTE)
    assert [each.text for each in utterances[1:]] == ["sealed and in date", "four blades undamaged"]


def first(kind: type[Event]) -> Callable[[tuple[Event, ...]], int]:
    def place(events: tuple[Event, ...]) -> int:
        return next(n for n, event in enumerate(events) if isinstance(event, kind))

    return place


@pytest.mark.parametrize(
    "stop",
    [
        pytest.param(lambda events: first(Heard)(events) + 1, id="before-it-begins"),
        pytest.param(lambda events: first(NoteTaken)(events), id="in-its-midst"),
        pytest.param(lambda events: first(NoteTaken)(events) + 1, id="once-it-is-kept"),
    ],
)
def test_stopped_round_the_note_and_resumed_it_is_kept_once(
    heard: tuple[Path, Samples, State],
    stop: Callable[[tuple[Event, ...]], int],
    tmp_path: Path,
) -> None:
    folder, _, whole = heard
    soundfile.write(tmp_path / "check.wav", recording(), RATE_HZ)
    with (
        Journal.open_to_read(folder / "journal.sqlite") as full,
        Journal.open(tmp_path / "journal.sqlite") as journal,
    ):
        run_id = full.runs()[0].run_id
        entries = full.entries(run_id)
        count = stop(tuple(entry.event for entry in entries))
        header = replace(full.header(run_id), recording=str(tmp_path / "check.wav"))
        journal.begin(header)
        for entry in entries[:count]:
            if isinstance(entry.event, NoteTaken):
                journal.keep_sound(full.sound(entry.event.digest))
            journal.append(run_id, entry.event, entry.records)
        before = [entry.event for entry in entries[:count]]
        state = session(journal, tmp_path).resume(header, before).state
        assert [(each.digest, each.item_id) for each in state.notes] == [
            (each.digest, each.item_id) for each in whole.notes
        ]
        assert [each.phrase for each in state.outcomes] == [each.phrase for each in whole.outcomes]
        assert verify(journal, run_id) == ()
        assert journal.sound(state.notes[0].digest)


def test_a_start_of_speech_was_committed_before_the_note(
    heard: tuple[Path, Samples, State],
) -> None:
    """The case "in its midst" above is one."""
    folder, _, _ = heard
    events = events_of(folder)
    assert isinstance(events[first(NoteTaken)(events) - 1], SpeechStarted)
