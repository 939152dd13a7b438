"""What the tool said, on the timeline of the run, for listening to afterwards.

A track remembers pieces of speech and where they begin; it decides nothing about
when to speak. Written beside the recording of the person, it makes a stereo file
with the person on the left and the tool on the right.
"""

from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from voiceflow.audio.frames import RATE_HZ, Samples
from voiceflow.audio.wav import WavWriter
from voiceflow.errors import AudioFileError

_BLOCK_SAMPLES: Final = 10 * RATE_HZ


@dataclass(slots=True)
class _Piece:
    start: int
    samples: Samples

    @property
    def end(self) -> int:
        return self.start + len(self.samples)


class SpeechTrack:
    """The tool's speech laid out in time. One mouth: pieces never sound together."""

    def __init__(self) -> None:
        self._pieces: list[_Piece] = []

    @property
    def end_s(self) -> float:
        """When the last piece ends, in seconds; 0 for an empty track."""
        return max((piece.end for piece in self._pieces), default=0) / RATE_HZ

    def place(self, start_s: float, samples: Samples) -> None:
        """Lay speech on the track; what would still sound then is cut there.

        Args:
            start_s: When it begins, in seconds on the audio clock, not negative.
            samples: int16 mono at 16 kHz.
        """
        self.cut(start_s)
        self._pieces.append(_Piece(start=round(start_s * RATE_HZ), samples=samples))

    def cut(self, at_s: float) -> None:
        """Be silent from a moment on: everything at and after it is taken off.

        Args:
            at_s: The moment, in seconds on the audio clock.
        """
        at = round(at_s * RATE_HZ)
        for piece in self._pieces:
            if piece.end > at:
                piece.samples = piece.samples[: max(0, at - piece.start)]
        self._pieces = [piece for piece in self._pieces if len(piece.samples)]

    def write(self, path: Path, other: Samples | None = None) -> None:
        """Write the track as a 16 kHz WAV file.

        The file appears whole or not at all, replacing an older one in one step, so
        this may be called again and again during a run: a program that is killed
        leaves the file as it was last written.

        Args:
            path: Where to write.
            other: The person's side from time 0 (int16 mono at 16 kHz). With it the
                file is stereo, the person left and the tool right; without it mono.

        Raises:
            AudioFileError: If the file cannot be written.
        """
        partly = path.with_name(f".{path.name}.part")
        writer = WavWriter(partly, channels=1 if other is None else 2)
        try:
            end = max((piece.end for piece in self._pieces), default=0)
            if other is not None:
                end = max(end, len(other))
            for start in range(0, end, _BLOCK_SAMPLES):
                stop = min(start + _BLOCK_SAMPLES, end)
                mine = self._between(start, stop)
                if other is None:
                    writer.write(mine)
                else:
                    theirs = np.zeros(stop - start, dtype=np.int16)
                    known = other[start:stop]
                    theirs[: len(known)] = known
                    writer.write(np.column_stack((theirs, mine)))
        finally:
            writer.close()
        try:
            partly.replace(path)
        except OSError as error:
            partly.unlink(missing_ok=True)
            what = f"cannot be written: {(error.strerror or str(error)).lower()}"
            raise AudioFileError(path, what, "Name another file") from error

    def _between(self, start: int, stop: int) -> Samples:
        block = np.zeros(stop - start, dtype=np.int16)
        for piece in self._pieces:
            first, last = max(start, piece.start), min(stop, piece.end)
            if first < last:
                block[first - start : last - start] = piece.samples[
                    first - piece.start : last - piece.start
                ]
        return block
