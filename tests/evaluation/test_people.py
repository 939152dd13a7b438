"""Splicing people's digits: with tones for voices, so that nothing is recognised here."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from voiceflow.audio.frames import RATE_HZ
from voiceflow.audio.wav import write_wav
from voiceflow.dialogue.policy import Decision
from voiceflow.errors import UsageError
from voiceflow.evaluation import people
from voiceflow.evaluation.metrics import Result
from voiceflow.evaluation.people import Heard, Part, Recordings


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Ten recordings of each digit: a constant that tells digit and number."""
    for digit in range(10):
        for number in range(10):
            samples = np.full(800, 1000 * digit + 10 * number + 1, dtype=np.int16)
            write_wav(tmp_path / f"{digit}_ann_{number}.wav", samples)
    (tmp_path / "README.md").write_text("no recording")
    return tmp_path


def _parts(samples: np.ndarray) -> list[int]:
    changes = np.flatnonzero(np.diff(samples)) + 1
    return [int(piece[0]) for piece in np.split(samples, changes)]


def test_no_recording_serves_two_parts(folder: Path) -> None:
    found = Recordings(folder)
    assert found.speakers == ("ann",)
    parts = [found.paths("ann", part, "7") for part in Part]
    assert [len(paths) for paths in parts] == [2, 3, 5]
    assert len({path for paths in parts for path in paths}) == 10


def test_strings_hold_the_digits_that_they_tell_from_their_part_only(folder: Path) -> None:
    for spoken in Recordings(folder).strings("ann", Part.SCORING, 40, seed=3):
        sounds = [value for value in _parts(spoken.samples) if value]
        assert "".join(str(value // 1000) for value in sounds) == spoken.digits
        assert all(value % 1000 // 10 >= 5 for value in sounds)
        assert spoken.digits[0] != "0"


def test_gaps_and_margins_are_as_told(folder: Path) -> None:
    for spoken in Recordings(folder).strings("ann", Part.CHECK, 20, seed=5):
        samples = spoken.samples
        changes = np.flatnonzero(np.diff(samples)) + 1
        quiet = [piece for piece in np.split(samples, changes) if piece[0] == 0]
        assert [len(quiet[0]), len(quiet[-1])] == [0.3 * RATE_HZ] * 2
        assert all(0.05 <= len(piece) / RATE_HZ <= 0.25 for piece in quiet[1:-1])
        assert len(quiet) == len(spoken.digits) + 1


def test_three_and_four_digits_in_turn_and_the_same_for_the_same_seed(folder: Path) -> None:
    found = Recordings(folder)
    once = [spoken.digits for spoken in found.strings("ann", Part.SCORING, 10, seed=1)]
    assert [len(digits) for digits in once] == [3, 4] * 5
    assert once == [spoken.digits for spoken in found.strings("ann", Part.SCORING, 10, seed=1)]
    assert once != [spoken.digits for spoken in found.strings("ann", Part.SCORING, 10, seed=2)]


def test_an_absent_folder_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert people.main([str(tmp_path / "none")]) == 2
    assert "nothing was measured" in capsys.readouterr().err


def test_a_folder_without_recordings_is_told(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="nothing was measured"):
        Recordings(tmp_path)


def test_a_missing_digit_is_told(folder: Path) -> None:
    for path in folder.glob("4_*"):
        path.unlink()
    with pytest.raises(UsageError, match="no 4"):
        list(Recordings(folder).strings("ann", Part.SCORING, 40, seed=1))


def test_each_speaker_has_a_line_and_the_mean_weighs_speakers_alike() -> None:
    right = Heard(
        digits="123",
        words=(),
        value_right=True,
        result=Result.RIGHT,
        decision=Decision.ACCEPT,
        confidence=1.0,
    )
    asked = replace(right, decision=Decision.CONFIRM)
    wrong = replace(right, value_right=False, result=Result.WRONG_ACCEPTED)
    lines = list(people.rows({"ann": [right] * 5 + [asked] * 5, "bob": [wrong] * 2}))
    assert "100 % (72 to 100)" in lines[1]
    assert "0 % (0 to 66)" in lines[2]
    assert lines[3].split() == ["mean", "50.0", "%", "50.0", "%", "25.0", "%", "50.0", "%"]


@pytest.mark.speech
def test_the_command_hears_a_folder(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert people.main([str(folder), "--strings", "2"]) == 0
    assert "ann" in capsys.readouterr().out
