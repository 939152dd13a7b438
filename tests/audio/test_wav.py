import hashlib
import wave
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st

from voiceflow.audio.frames import FRAME_SAMPLES, RATE_HZ, Samples
from voiceflow.audio.wav import RecordingSource, WavWriter, read_recording, resample, write_wav
from voiceflow.errors import AudioFileError


def tone(rate_hz: int, seconds: float = 0.5, frequency_hz: float = 440.0) -> Samples:
    times = np.arange(int(rate_hz * seconds)) / rate_hz
    return (8000 * np.sin(2 * np.pi * frequency_hz * times)).astype(np.int16)


def loudest_frequency(samples: Samples) -> float:
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(len(samples))))
    return float(np.argmax(spectrum) * RATE_HZ / len(samples))


def test_its_own_format_is_read_bit_by_bit(tmp_path: Path) -> None:
    samples = tone(RATE_HZ)
    write_wav(tmp_path / "a.wav", samples)
    np.testing.assert_array_equal(read_recording(tmp_path / "a.wav"), samples)


@pytest.mark.parametrize("rate_hz", [8000, 11025, 22050, 44100, 48000, 96000])
@pytest.mark.parametrize("channels", [1, 2, 5])
@pytest.mark.parametrize("subtype", ["PCM_16", "PCM_24", "FLOAT"])
def test_other_rates_channels_and_widths_are_converted(
    tmp_path: Path, rate_hz: int, channels: int, subtype: str
) -> None:
    sound = np.repeat(tone(rate_hz)[:, np.newaxis], channels, axis=1)
    soundfile.write(tmp_path / "a.wav", sound / 32768, rate_hz, subtype=subtype)
    samples = read_recording(tmp_path / "a.wav")
    assert samples.dtype == np.int16
    assert samples.shape == (pytest.approx(RATE_HZ / 2, abs=2),)
    assert loudest_frequency(samples) == pytest.approx(440, abs=3)
    assert np.abs(samples).max() == pytest.approx(8000, rel=0.05)


def test_channels_are_averaged(tmp_path: Path) -> None:
    left, right = np.full(1600, 4000, np.int16), np.full(1600, -1000, np.int16)
    soundfile.write(tmp_path / "a.wav", np.column_stack((left, right)), RATE_HZ)
    np.testing.assert_array_equal(read_recording(tmp_path / "a.wav"), np.full(1600, 1500))


def test_a_recording_longer_than_a_block_is_whole(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "a.flac", tone(44100, 5.0), 44100)
    samples = read_recording(tmp_path / "a.flac")
    assert abs(len(samples) - 5 * RATE_HZ) <= 2
    # one resampling in one piece is the reference for the one in blocks
    np.testing.assert_allclose(samples, resample(tone(44100, 5.0), 44100), atol=2)


def test_too_loud_floats_are_clipped_not_wrapped(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "a.wav", np.full(1600, 3.0, np.float32), RATE_HZ, subtype="FLOAT")
    assert set(read_recording(tmp_path / "a.wav")) == {32767}


def make_text(path: Path) -> None:
    path.write_text("Pitot covers: removed.\n" * 20)


def make_empty_file(path: Path) -> None:
    path.touch()


def make_without_samples(path: Path) -> None:
    soundfile.write(path, np.zeros(0, np.int16), 44100)


def make_without_samples_in_own_format(path: Path) -> None:
    write_wav(path, np.zeros(0, np.int16))


def make_eight_bit(path: Path) -> None:
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(1)
        file.setframerate(RATE_HZ)
        file.writeframes(bytes(RATE_HZ))


def make_damaged_header(path: Path) -> None:
    write_wav(path, tone(RATE_HZ))
    path.write_bytes(path.read_bytes()[:20])


def make_folder(path: Path) -> None:
    path.mkdir()


def make_not_numbers(path: Path) -> None:
    soundfile.write(path, np.full(100, np.nan, np.float32), RATE_HZ, subtype="FLOAT")


def make_nothing(path: Path) -> None:
    pass


@pytest.mark.parametrize(
    ("make", "what"),
    [
        (make_text, "not a sound file"),
        (make_empty_file, "empty"),
        (make_without_samples, "no sound"),
        (make_without_samples_in_own_format, "no sound"),
        (make_eight_bit, "8 bits"),
        (make_damaged_header, "not a sound file"),
        (make_folder, "folder"),
        (make_not_numbers, "not numbers"),
        (make_nothing, "no such file"),
    ],
)
@pytest.mark.parametrize("name", ["a.wav", "a.raw"])
def test_unusable_recordings_are_refused_in_one_sentence(
    tmp_path: Path, make: object, what: str, name: str
) -> None:
    assert callable(make)
    if name == "a.raw":  # the content decides, not the name
        make(tmp_path / "a.wav")
        if (tmp_path / "a.wav").exists():
            (tmp_path / "a.wav").rename(tmp_path / name)
    else:
        make(tmp_path / name)
    with pytest.raises(AudioFileError) as caught:
        read_recording(tmp_path / name)
    assert what in caught.value.what
    assert caught.value.path == tmp_path / name
    assert caught.value.remedy
    assert "\n" not in str(caught.value)


def test_reading_leaves_the_recording_as_it_was(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "a.wav", tone(44100), 44100)
    before = hashlib.sha256((tmp_path / "a.wav").read_bytes()).digest()
    read_recording(tmp_path / "a.wav")
    assert hashlib.sha256((tmp_path / "a.wav").read_bytes()).digest() == before


def test_what_arrived_of_a_cut_off_recording_is_read(tmp_path: Path) -> None:
    write_wav(tmp_path / "a.wav", tone(RATE_HZ))
    whole = (tmp_path / "a.wav").read_bytes()
    (tmp_path / "a.wav").write_bytes(whole[: len(whole) // 2])
    assert 0 < len(read_recording(tmp_path / "a.wav")) < RATE_HZ / 2


@given(length=st.integers(0, 5 * FRAME_SAMPLES))
def test_frames_of_a_recording_are_the_recording(length: int) -> None:
    samples = np.arange(length, dtype=np.int16)
    frames = list(RecordingSource(samples).frames())
    joined = np.concatenate([frame.samples for frame in frames] or [np.zeros(0, np.int16)])
    np.testing.assert_array_equal(joined, samples)
    assert all(len(frame.samples) == FRAME_SAMPLES for frame in frames[:-1])


def test_a_growing_file_is_readable_after_every_write(tmp_path: Path) -> None:
    writer = WavWriter(tmp_path / "a.wav", channels=2)
    written = 0
    for length in (100, 1, 3000):
        writer.write(np.full((length, 2), 7, np.int16))
        written += length
        assert soundfile.info(tmp_path / "a.wav").frames == written
    writer.close()
    writer.close()
    assert soundfile.info(tmp_path / "a.wav").frames == written


def test_a_file_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    with pytest.raises(AudioFileError, match="cannot be written"):
        write_wav(tmp_path / "no such folder" / "a.wav", tone(RATE_HZ))
