"""What happened when, from the recording of the room alone.

The person's line is found in the recorded track by its own samples, and where speech
ends in it is known; the tool's reply begins with the first sample that sounds on its
track. Both tracks are channels of one recording, so the gap between them depends on no
clock of the program under test, and on none of the bench either.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from voiceflow.audio.frames import RATE_HZ, Samples
from voiceflow.evaluation.live_lines import Line, Manner
from voiceflow.evaluation.live_room import PERSON, TOOL, Recording

#: What sounds, in steps of int16: the track is all zeros where nothing is played, and the
#: ends of words are some hundred steps high.
_SOUNDS: Final = 30
#: Silence so long ends a stretch of the tool's speech; its pauses within words are shorter.
_PAUSE: Final = RATE_HZ // 5
_BEFORE: Final = RATE_HZ // 2
_AFTER: Final = 2 * RATE_HZ
#: The end of a line must be in the recording as it was played, but for rounding.
_SAME: Final = 2
_LOOKED_AT: Final = RATE_HZ // 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """First sample, and the one after the last."""

    first: int
    last: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Exchange:
    """One line and what the tool did, as it could be heard.

    Attributes:
        speech: Where the person spoke, in samples of the recording.
        gap_s: From the end of the person's speech to the first sample of the reply;
            negative: it began earlier. None: there was no reply.
        stopped_s: Where the tool was talked over: from the person's first sample to the
            tool's last. None: the tool was silent.
    """

    speech: Span
    gap_s: float | None
    stopped_s: float | None


def place_line(track: Samples, line: Line, near: int) -> Span | None:
    """Find where a line was spoken.

    Args:
        track: The person's track.
        line: The line.
        near: About where it was begun, sample of the track.

    Returns:
        Where its speech is. None if it is not there whole: the sound server was
        starved, and the program under test heard the gap, too.
    """
    begin = max(0, near - _BEFORE)
    window = track[begin : near + len(line.samples) + _AFTER].astype(np.float64)
    first, last = round(line.start_s * RATE_HZ), round(line.end_s * RATE_HZ)
    speech = line.samples[first:last]
    if len(window) < len(speech) or not len(speech):
        return None
    size = 1 << (len(window) + len(speech)).bit_length()
    spectrum = np.fft.rfft(window, size) * np.conj(np.fft.rfft(speech.astype(np.float64), size))
    match = np.fft.irfft(spectrum, size)[: len(window) - len(speech) + 1]
    start = begin + int(np.argmax(match))
    found = track[start : start + len(speech)].astype(np.int64)
    if np.abs(found - speech)[-_LOOKED_AT:].max() > _SAME:
        return None
    return Span(first=start, last=start + len(speech))


def sounding(track: Samples) -> tuple[Span, ...]:
    """Find the stretches in which the tool speaks."""
    loud = np.nonzero(np.abs(track.astype(np.int32)) > _SOUNDS)[0]
    if not len(loud):
        return ()
    breaks = np.nonzero(np.diff(loud) > _PAUSE)[0]
    firsts = [loud[0], *loud[breaks + 1].tolist()]
    lasts = [*loud[breaks].tolist(), loud[-1]]
    return tuple(Span(first=int(a), last=int(b) + 1) for a, b in zip(firsts, lasts, strict=True))


def exchange(speech: Span, spoken: tuple[Span, ...], until: int, *, barging: bool) -> Exchange:
    """Tell how the tool replied to one line.

    Args:
        speech: Where the line is.
        spoken: Where the tool speaks.
        until: Where the next line begins: what sounds from there on is no reply.
        barging: The tool was talked over: what it begins before the person has finished
            is the rest of that, and no reply.
    """
    over = next((one for one in spoken if one.first < speech.first < one.last), None)
    if barging:
        rest = [one for one in spoken if one.first < speech.last and one.last > speech.first]
        over = rest[-1] if rest else None
    from_there = speech.last if barging else speech.first
    reply = next((one for one in spoken if from_there <= one.first < until), None)
    return Exchange(
        speech=speech,
        gap_s=None if reply is None else (reply.first - speech.last) / RATE_HZ,
        stopped_s=None if over is None else (over.last - speech.first) / RATE_HZ,
    )


def exchanges(
    recording: Recording, lines: tuple[tuple[Line, int], ...]
) -> tuple[Exchange | None, ...]:
    """Tell how the tool replied to each line.

    Args:
        recording: The room, shape (samples, 3).
        lines: The lines in order, each with about where it was begun.

    Returns:
        One for each line; None where it cannot be told.
    """
    person: NDArray[np.int16] = np.ascontiguousarray(recording[:, PERSON])
    spoken = sounding(np.ascontiguousarray(recording[:, TOOL]))
    places = [place_line(person, line, near) for line, near in lines]
    begun = [
        near if place is None else place.first
        for place, (_, near) in zip(places, lines, strict=True)
    ]
    ends = [*begun[1:], len(recording)]
    return tuple(
        None
        if place is None
        else exchange(place, spoken, end, barging=line.manner is Manner.BARGING)
        for place, end, (line, _) in zip(places, ends, lines, strict=True)
    )


def speech_rms(track: Samples, spans: tuple[Span, ...]) -> float:
    """Give how loud a track is where somebody speaks, in steps of int16; 0 if nobody does."""
    pieces = [track[span.first : span.last].astype(np.float64) for span in spans]
    sound = np.concatenate(pieces) if pieces else np.zeros(0)
    return float(np.sqrt(np.mean(sound**2))) if len(sound) else 0.0
