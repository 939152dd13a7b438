"""Notes on the command line: typed, shown, exported; their sound written to a file."""

import csv
import io
import json
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tests.builders import command, heard, make_check
from tests.cli.conftest import GOOD, Voiceflow
from tests.session.rig import header
from voiceflow.audio.flac import to_flac
from voiceflow.audio.frames import RATE_HZ
from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.events import NoteTaken, Started
from voiceflow.dialogue.machine import handle
from voiceflow.journal.store import Journal
from voiceflow.phraseology.commands import CommandName

NOTED = "take a note\ncap was loose\n" + GOOD


@pytest.fixture
def sound(home: Path) -> bytes:
    """A run with a spoken note, a typed one, and the sound of the first."""
    tone = np.rint(8000 * np.sin(np.arange(RATE_HZ) * 0.3)).astype(np.int16)
    flac = to_flac(tone)
    with Journal.open(home / "journal.sqlite") as journal:
        one = header(make_check())
        journal.begin(one)
        digest = journal.keep_sound(flac)
        state = one.begin()
        for event in (
            Started(at_s=0.0),
            heard("covers", command(CommandName.NOTE), 2.0),
            NoteTaken(at_s=65.0, item_id="covers", digest=digest, length_s=1.0, text="", engine=""),
            heard("covers", command(CommandName.NOTE), 70.0),
            NoteTaken(
                at_s=75.0, item_id="covers", digest="", length_s=0.0, text="x", engine="typed"
            ),
        ):
            step = handle(state, event)
            state = step.state
            records = [action for action in step.actions if isinstance(action, Record)]
            journal.append(one.run_id, event, records)
    return flac


def test_the_next_line_is_the_note_and_the_run_tells_it(voiceflow: Voiceflow, home: Path) -> None:
    result = voiceflow("run", "small.yaml", "--typed", typed=NOTED)
    assert result.exit_code == 0
    assert "Note on pitot covers. Speak now." in result.stdout
    assert "Note kept. Pitot covers." in result.stdout
    assert "  note: Pitot covers: cap was loose" in result.stdout
    # once as the line that was typed, once as what came of the run
    assert result.stdout.count("cap was loose") == 2
    with Journal.open(home / "journal.sqlite", create=False) as journal:
        (run,) = journal.runs()
        notes = [record.note for record in journal.records(run.run_id) if record.note]
    assert [(note.item_id, note.text, note.engine) for note in notes] == [
        ("covers", "cap was loose", "typed")
    ]
    shown = voiceflow("journal", "show", run.run_id).stdout
    assert "cap was loose  (note)" in shown
    assert voiceflow("journal", "verify", run.run_id).exit_code == 0
    rows = voiceflow("journal", "export", run.run_id, "--csv").stdout
    (row,) = [each for each in csv.DictReader(io.StringIO(rows)) if each["kind"] == "note-taken"]
    assert (row["item_id"], row["text"], row["records"]) == ("covers", "cap was loose", "note")


def test_json_lines_have_the_note(voiceflow: Voiceflow) -> None:
    result = voiceflow("run", "small.yaml", "--typed", "--json", typed=NOTED)
    lines = [json.loads(line) for line in result.stdout.splitlines() if line.startswith("{")]
    (line,) = [line for line in lines if line["kind"] == "note-taken"]
    assert line["text"] == "cap was loose"
    assert line["records"][0]["note"]["item_id"] == "covers"


def test_the_sound_is_written_as_it_was_kept(
    voiceflow: Voiceflow, home: Path, sound: bytes
) -> None:
    result = voiceflow("journal", "sound", "run-1", "1", "--to", "sounds/note.flac")
    assert result.exit_code == 0
    place = home / "sounds" / "note.flac"
    assert result.stdout.strip() == str(place)
    assert place.read_bytes() == sound
    samples, rate = soundfile.read(place)
    assert len(samples) == rate == RATE_HZ
    # without a name it goes beside the journal
    result = voiceflow("journal", "sound", "run-1", "1")
    assert (home / "voiceflow-run-1-note-1.flac").read_bytes() == sound


@pytest.mark.usefixtures("sound")
def test_which_note_is_asked_for(voiceflow: Voiceflow) -> None:
    result = voiceflow("journal", "sound", "run-1")
    assert result.exit_code == 2
    assert "has 2 notes" in result.stderr
    assert "1 at 1:05 on covers; 2 at 1:15 on covers" in result.stderr
    assert "has no note 3" in voiceflow("journal", "sound", "run-1", "3").stderr
    assert "was typed" in voiceflow("journal", "sound", "run-1", "2").stderr
    assert voiceflow("journal", "sound", "run-1", "0").exit_code == 2


@pytest.mark.usefixtures("sound")
def test_a_file_that_cannot_be_written_is_told(voiceflow: Voiceflow, home: Path) -> None:
    (home / "taken").write_text("a file, no folder")
    result = voiceflow("journal", "sound", "run-1", "1", "--to", "taken/note.flac")
    assert result.exit_code == 2
    assert "cannot be written" in result.stderr
    assert "--to" in result.stderr


def test_a_run_without_notes_says_so(voiceflow: Voiceflow, home: Path) -> None:
    voiceflow("run", "small.yaml", "--typed", typed=GOOD)
    with Journal.open(home / "journal.sqlite", create=False) as journal:
        (run,) = journal.runs()
    result = voiceflow("journal", "sound", run.run_id)
    assert result.exit_code == 2
    assert "has no notes" in result.stderr
