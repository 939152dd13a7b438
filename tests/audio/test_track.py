from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st

from voiceflow.audio.frames import RATE_HZ, Samples
from voiceflow.audio.track import SpeechTrack
from voiceflow.audio.wav import read_recording
from voiceflow.errors import AudioFileError


def sound(value: int, seconds: float) -> Samples:
    return np.full(int(seconds * RATE_HZ), value, dtype=np.int16)


def test_speech_is_where_it_was_placed(tmp_path: Path) -> None:
    track = SpeechTrack()
    track.place(0.5, sound(1, 0.25))
    track.place(11.0, sound(2, 0.5))
    track.write(tmp_path / "t.wav")
    samples = read_recording(tmp_path / "t.wav")
    expected = np.zeros(int(11.5 * RATE_HZ), np.int16)
    expected[8000:12000] = 1
    expected[11 * RATE_HZ :] = 2
    np.testing.assert_array_equal(samples, expected)


def test_barge_in_cuts(tmp_path: Path) -> None:
    track = SpeechTrack()
    track.place(0.0, sound(1, 2.0))
    track.cut(0.5)
    assert track.end_s == 0.5
    track.place(3.0, sound(2, 1.0))
    track.cut(2.0)
    assert track.end_s == 0.5


def test_the_person_is_left_and_the_tool_right(tmp_path: Path) -> None:
    track = SpeechTrack()
    track.place(1.0, sound(2, 1.0))
    track.write(tmp_path / "t.wav", other=sound(1, 0.5))
    both, rate_hz = soundfile.read(tmp_path / "t.wav", dtype="int16")
    assert rate_hz == RATE_HZ
    assert both.shape == (2 * RATE_HZ, 2)
    assert set(both[: RATE_HZ // 2, 0]) == {1}
    assert set(both[RATE_HZ // 2 :, 0]) == {0}
    assert set(both[RATE_HZ:, 1]) == {2}


def test_the_person_may_go_on_after_the_tool(tmp_path: Path) -> None:
    track = SpeechTrack()
    track.write(tmp_path / "t.wav", other=sound(1, 25.0))
    both, _ = soundfile.read(tmp_path / "t.wav", dtype="int16")
    assert both.shape == (25 * RATE_HZ, 2)
    assert both[:, 0].min() == 1


def test_writing_again_replaces_the_file_and_leaves_nothing_else(tmp_path: Path) -> None:
    track = SpeechTrack()
    for second in range(3):
        track.place(float(second), sound(1, 1.0))
        track.write(tmp_path / "t.wav")
    assert [path.name for path in tmp_path.iterdir()] == ["t.wav"]
    assert len(read_recording(tmp_path / "t.wav")) == 3 * RATE_HZ


def test_a_place_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    with pytest.raises(AudioFileError, match="cannot be written"):
        SpeechTrack().write(tmp_path / "nowhere" / "t.wav")
    (tmp_path / "folder.wav").mkdir()
    with pytest.raises(AudioFileError, match="cannot be written"):
        SpeechTrack().write(tmp_path / "folder.wav")
    assert [path.name for path in tmp_path.iterdir()] == ["folder.wav"]


@given(
    starts=st.lists(st.integers(0, 2000), min_size=1, max_size=6).map(sorted),
    lengths=st.lists(st.integers(1, 900), min_size=6, max_size=6),
)
def test_a_later_piece_is_never_covered(starts: list[int], lengths: list[int]) -> None:
    """The last word on every sample has the piece placed last, against a plain array."""
    track = SpeechTrack()
    expected = np.zeros(4000, np.int16)
    for value, (start, length) in enumerate(zip(starts, lengths, strict=False), start=1):
        track.place(start / RATE_HZ, np.full(length, value, np.int16))
        expected[start:] = 0
        expected[start : start + length] = value
    np.testing.assert_array_equal(track._between(0, 4000), expected)
