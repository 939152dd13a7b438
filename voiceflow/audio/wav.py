"""Recordings: sound files in, sound files out.

What lives here: reading any ordinary recording as 16 kHz mono int16, the source
that plays it to the program, and writing. Nothing here decides where speech is.
"""

import wave
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import numpy as np
import soundfile
import soxr
from numpy.typing import NDArray

from voiceflow.audio.frames import FRAME_SAMPLES, RATE_HZ, Frame, Samples
from voiceflow.errors import AudioFileError

# Eight linear bits leave about 48 dB between the loudest sound and the steps
# themselves: quiet consonants vanish in them, and no conversion brings them back.
_EIGHT_BIT: Final = frozenset({"PCM_U8", "PCM_S8"})
_BLOCK_FRAMES: Final = 65_536
_FULL_SCALE: Final = 32_768
_RECORD_ANEW: Final = "Record it again as 16-bit WAV, or choose another file"


def read_recording(path: Path) -> Samples:
    """Read a whole recording.

    Any rate is resampled to 16 kHz, several channels are averaged to one, and any
    sample format but linear 8-bit becomes int16. Work is done block by block, so
    memory stays near the size of the result (115 MB an hour).

    Args:
        path: A WAV file, or another format that libsndfile reads (FLAC, OGG ...).

    Returns:
        int16 mono samples at 16 kHz, shape (n,), n > 0.

    Raises:
        AudioFileError: If there is no such file, it is no sound file, has 8 bits
            a sample, or holds no sound.
    """
    try:
        if path.is_dir():
            raise AudioFileError(path, "this is a folder, not a recording", "Name a WAV file in it")
        with path.open("rb") as stream:
            if not stream.read(1):
                raise AudioFileError(path, "the file is empty", _RECORD_ANEW)
    except OSError as error:
        what = "there is no such file" if isinstance(error, FileNotFoundError) else _reason(error)
        raise AudioFileError(path, what, "Check the name of the recording") from error
    try:
        # Given as a descriptor, so that the content decides what the file is, not its name.
        with (
            path.open("rb") as stream,
            soundfile.SoundFile(stream.fileno(), closefd=False) as sound,
        ):
            return _read(path, sound)
    except (soundfile.LibsndfileError, RuntimeError, TypeError, ValueError) as error:
        what = "this is not a sound file that can be read, or its beginning is damaged"
        raise AudioFileError(path, what, _RECORD_ANEW) from error


def _read(path: Path, sound: soundfile.SoundFile) -> Samples:
    if sound.subtype in _EIGHT_BIT:
        what = "8 bits a sample are too coarse for speech recognition"
        raise AudioFileError(path, what, "Record it again with 16 bits a sample")
    if sound.samplerate == RATE_HZ and sound.channels == 1 and sound.subtype == "PCM_16":
        samples: Samples = sound.read(dtype="int16")
    else:
        samples = _converted(path, sound)
    if not len(samples):
        raise AudioFileError(path, "there is no sound in it (0 samples)", _RECORD_ANEW)
    return samples


def _converted(path: Path, sound: soundfile.SoundFile) -> Samples:
    resampler = soxr.ResampleStream(sound.samplerate, RATE_HZ, 1, dtype="float32")
    pieces: list[Samples] = []
    while True:
        block: NDArray[np.float32] = sound.read(_BLOCK_FRAMES, dtype="float32", always_2d=True)
        if not np.isfinite(block).all():
            raise AudioFileError(path, "it holds samples that are not numbers", _RECORD_ANEW)
        # at the end an empty block is pushed through, to get what the filter still holds
        last = len(block) == 0
        pieces.append(to_int16(resampler.resample_chunk(block.mean(axis=1), last=last)))
        if last:
            return np.concatenate(pieces)


def to_int16(samples: NDArray[np.float32]) -> Samples:
    """Bring samples from -1 to 1 to 16 bits; what is louder is clipped."""
    scaled = np.rint(samples * _FULL_SCALE)
    return np.clip(scaled, -_FULL_SCALE, _FULL_SCALE - 1).astype(np.int16)


def resample(samples: Samples, rate_hz: int) -> Samples:
    """Bring mono samples of another rate to 16 kHz.

    Args:
        samples: int16 mono, shape (n,).
        rate_hz: Their rate.
    """
    if rate_hz == RATE_HZ:
        return samples
    as_float = samples.astype(np.float32) / _FULL_SCALE
    return to_int16(soxr.resample(as_float, rate_hz, RATE_HZ))


def _reason(error: OSError) -> str:
    return (error.strerror or str(error)).lower()


class RecordingSource:
    """A recording as a source of frames, as fast as they are taken."""

    def __init__(self, samples: Samples) -> None:
        """Play these samples.

        Args:
            samples: int16 mono at 16 kHz, as ``read_recording`` gives them.
        """
        self._samples = samples
        self._closed = False

    def frames(self) -> Iterator[Frame]:
        """Give frames of 20 ms until the recording ends; the last may be shorter."""
        for start in range(0, len(self._samples), FRAME_SAMPLES):
            if self._closed:
                return
            piece = self._samples[start : start + FRAME_SAMPLES]
            yield Frame(samples=piece, start_s=start / RATE_HZ)

    def close(self) -> None:
        """End the source."""
        self._closed = True


class WavWriter:
    """A WAV file that grows; after every ``write`` it is a complete, readable file.

    So a program that is killed leaves all the sound that it had written. 16 kHz,
    16 bits a sample, one or two channels.
    """

    def __init__(self, path: Path, channels: int = 1) -> None:
        """Create the file, replacing one of that name.

        Args:
            path: Where to write.
            channels: 1, or 2 for left and right.

        Raises:
            AudioFileError: If the file cannot be created.
        """
        self._path = path
        try:
            self._stream = path.open("wb")
            self._wave = wave.open(self._stream, "wb")  # noqa: SIM115 - open as long as the writer
            self._wave.setnchannels(channels)
            self._wave.setsampwidth(2)
            self._wave.setframerate(RATE_HZ)
            self.write(np.zeros((0, channels), dtype=np.int16))
        except OSError as error:
            raise _unwritable(path, error) from error

    def write(self, samples: Samples) -> None:
        """Append samples, shape (n,) for one channel or (n, 2) for two.

        Raises:
            AudioFileError: If the disk does not take them.
        """
        try:
            # writeframes, unlike writeframesraw, also brings the header up to date
            self._wave.writeframes(np.ascontiguousarray(samples, dtype="<i2").tobytes())
            self._stream.flush()
        except OSError as error:
            raise _unwritable(self._path, error) from error

    def close(self) -> None:
        """Finish the file; may be called twice."""
        if self._stream.closed:
            return
        try:
            self._wave.close()
            self._stream.close()
        except OSError as error:
            raise _unwritable(self._path, error) from error


def write_wav(path: Path, samples: Samples) -> None:
    """Write mono samples at 16 kHz as 16-bit WAV.

    Args:
        path: Where to write; a file of that name is replaced.
        samples: int16, shape (n,).

    Raises:
        AudioFileError: If the file cannot be written.
    """
    writer = WavWriter(path)
    try:
        writer.write(samples)
    finally:
        writer.close()


def _unwritable(path: Path, error: OSError) -> AudioFileError:
    what = f"cannot be written: {_reason(error)}"
    return AudioFileError(path, what, "Name another file, or make room for it")
