"""What every source of frames must do. Microphones need a device, and are not here."""

import itertools

import numpy as np
import pytest

from voiceflow.audio.frames import FRAME_SAMPLES, RATE_HZ, Frame, Samples
from voiceflow.audio.source import AudioSource
from voiceflow.audio.wav import RecordingSource

LENGTHS = [1, FRAME_SAMPLES, FRAME_SAMPLES * 3 + 7, RATE_HZ]


def make_recording(length: int) -> AudioSource:
    samples: Samples = np.arange(length).astype(np.int16)
    return RecordingSource(samples)


@pytest.fixture(params=LENGTHS)
def source(request: pytest.FixtureRequest) -> AudioSource:
    return make_recording(request.param)


def test_frames_follow_each_other_from_zero(source: AudioSource) -> None:
    expected_s = 0.0
    for frame in source.frames():
        assert isinstance(frame, Frame)
        assert frame.start_s == pytest.approx(expected_s, abs=1e-9)
        assert frame.samples.dtype == np.int16
        assert frame.samples.ndim == 1
        assert 0 < len(frame.samples) <= FRAME_SAMPLES
        expected_s = frame.end_s
    assert expected_s > 0


def test_closing_twice_ends_it(source: AudioSource) -> None:
    frames = source.frames()
    assert next(frames, None) is not None
    source.close()
    source.close()
    assert len(list(itertools.islice(frames, 100))) == 0
