import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from voiceflow.audio.frames import FRAME_SAMPLES, RATE_HZ, Frame, Samples
from voiceflow.audio.wav import RecordingSource
from voiceflow.recognition.endpointing import (
    CHUNK_S,
    CHUNK_SAMPLES,
    Endpointer,
    SpeechEnded,
    SpeechStarted,
)
from voiceflow.settings import EndpointingSettings

SETTINGS = EndpointingSettings()


def by_first_sample(chunk: Samples) -> float:
    """A detector whose answer is in the sound: the first sample in per cent."""
    return float(chunk[0]) / 100


def sound_of(percents: list[int]) -> Samples:
    return np.repeat(np.array(percents, dtype=np.int16), CHUNK_SAMPLES)


def cut(samples: Samples, lengths: list[int], first: int = 0) -> list[Frame]:
    """Cut into frames of these lengths, over and over."""
    frames = []
    position = turn = 0
    while position < len(samples):
        length = lengths[turn % len(lengths)]
        piece = samples[position : position + length]
        frames.append(Frame(samples=piece, start_s=(first + position) / RATE_HZ))
        position += length
        turn += 1
    return frames


def run(endpointer: Endpointer, frames: list[Frame]) -> list[SpeechStarted | SpeechEnded]:
    events = [event for frame in frames for event in endpointer.feed(frame)]
    return events + list(endpointer.flush())


def facts(events: list[SpeechStarted | SpeechEnded]) -> list[tuple[str, float, float, float]]:
    """What must not depend on the cutting; of the pre-roll that is where it begins."""
    return [
        ("started", event.start_s, event.decided_s, event.preroll[0].start_s)
        if isinstance(event, SpeechStarted)
        else ("ended", event.end_s, event.decided_s, 0.0)
        for event in events
    ]


def chunks(seconds: float) -> int:
    return round(seconds / CHUNK_S)


def test_one_utterance() -> None:
    percents = [0] * 20 + [90] * 10 + [0] * 30
    events = run(Endpointer(SETTINGS, by_first_sample), cut(sound_of(percents), [FRAME_SAMPLES]))
    started, ended = events
    assert isinstance(started, SpeechStarted)
    assert isinstance(ended, SpeechEnded)
    assert started.start_s == pytest.approx(20 * CHUNK_S)
    assert started.decided_s == pytest.approx(22 * CHUNK_S)  # two chunks are 64 ms
    assert started.preroll[0].start_s == pytest.approx(20 * CHUNK_S - SETTINGS.pre_roll_s)
    assert ended.end_s == pytest.approx(30 * CHUNK_S)
    assert (
        SETTINGS.end_silence_s <= ended.decided_s - ended.end_s < SETTINGS.end_silence_s + CHUNK_S
    )


@pytest.mark.parametrize(
    ("percents", "utterances"),
    [
        ([0] * 30, 0),
        ([0] * 10 + [90] + [0] * 30, 0),  # a click
        ([0] * 10 + [90, 90] + [0] * 30, 1),
        ([0] * 10 + [40] * 20 + [0] * 30, 0),  # never above the start threshold
        ([0] * 10 + [90] + [40] * 20 + [0] * 30, 1),  # once begun, less keeps it going
        ([0] * 10 + [90] * 5 + [20] * 10 + [90] * 5 + [0] * 20, 1),  # a pause of 0.32 s
        ([0] * 10 + [90] * 5 + [20] * 16 + [90] * 5 + [0] * 20, 2),  # and of 0.51 s
        ([90] * 10, 1),  # from the first sample to the last
        ([0] * 10 + [90] * 20, 1),  # the source ends in the middle of a word
        ([0] * 10 + [90], 0),
        ([], 0),
    ],
)
def test_hysteresis(percents: list[int], utterances: int) -> None:
    events = run(Endpointer(SETTINGS, by_first_sample), cut(sound_of(percents), [FRAME_SAMPLES]))
    kinds = [type(event) for event in events]
    assert kinds == [SpeechStarted, SpeechEnded] * utterances


def test_an_utterance_is_not_endless() -> None:
    longest = EndpointingSettings(longest_s=2.0)
    frames = cut(sound_of([90] * chunks(5.0)), [FRAME_SAMPLES])
    events = run(Endpointer(longest, by_first_sample), frames)
    ends = [event for event in events if isinstance(event, SpeechEnded)]
    starts = [event for event in events if isinstance(event, SpeechStarted)]
    assert len(ends) == len(starts) == 3
    assert ends[0].end_s == pytest.approx(2.0, abs=CHUNK_S)
    # what the utterance before had is not given a second time
    assert starts[1].preroll[0].start_s == pytest.approx(ends[0].end_s)


def test_one_utterance_may_be_let_last_longer() -> None:
    longest = EndpointingSettings(longest_s=2.0)
    endpointer = Endpointer(longest, by_first_sample)
    events: list[SpeechStarted | SpeechEnded] = []
    for frame in cut(sound_of([90] * chunks(8.0)), [FRAME_SAMPLES]):
        for event in endpointer.feed(frame):
            events.append(event)
            if len(events) == 1:
                endpointer.extend(4.0)
    ends = [event.end_s for event in events if isinstance(event, SpeechEnded)]
    # the next one is as long as any
    assert ends == pytest.approx([4.0, 6.0, 8.0][: len(ends)], abs=3 * CHUNK_S)
    assert len(ends) >= 2


def test_sound_that_was_not_listened_to_ends_the_utterance() -> None:
    endpointer = Endpointer(SETTINGS, by_first_sample)
    speech = sound_of([90] * 10)
    before = [event for frame in cut(speech, [FRAME_SAMPLES]) for event in endpointer.feed(frame)]
    # started, and not ended yet
    assert [type(event) for event in before] == [SpeechStarted]
    later = cut(speech, [FRAME_SAMPLES], first=10 * RATE_HZ)
    events = [event for frame in later for event in endpointer.feed(frame)]
    ended, started = events[:2]
    assert isinstance(ended, SpeechEnded)
    assert isinstance(started, SpeechStarted)
    assert ended.end_s == pytest.approx(10 * CHUNK_S)
    assert started.start_s == pytest.approx(10.0)
    assert started.preroll[0].start_s == pytest.approx(10.0)


def test_after_a_flush_it_is_as_new() -> None:
    endpointer = Endpointer(SETTINGS, by_first_sample)
    frames = cut(sound_of([0] * 10 + [90] * 20), [FRAME_SAMPLES])
    assert facts(run(endpointer, frames)) == facts(run(endpointer, frames))


levels = st.lists(st.tuples(st.sampled_from([0, 20, 40, 90]), st.integers(1, 25)), max_size=12)


@settings(max_examples=50, deadline=None)
@given(
    levels=levels,
    tail=st.integers(0, CHUNK_SAMPLES - 1),
    lengths=st.lists(st.integers(50, 2000), min_size=1, max_size=5),
)
def test_the_cutting_of_frames_does_not_matter(
    levels: list[tuple[int, int]], tail: int, lengths: list[int]
) -> None:
    percents = [percent for percent, count in levels for _ in range(count)]
    samples = np.concatenate((sound_of(percents), np.full(tail, 90, dtype=np.int16)))
    whole = facts(run(Endpointer(SETTINGS, by_first_sample), cut(samples, [FRAME_SAMPLES])))
    assert facts(run(Endpointer(SETTINGS, by_first_sample), cut(samples, lengths))) == whole


@settings(max_examples=50, deadline=None)
@given(levels=levels, lengths=st.lists(st.integers(50, 600), min_size=1, max_size=5))
def test_no_sound_of_an_utterance_is_lost(
    levels: list[tuple[int, int]], lengths: list[int]
) -> None:
    """Pre-roll and the frames after it are the recording without a gap, to the end."""
    percents = [percent for percent, count in levels for _ in range(count)]
    samples = sound_of(percents)
    endpointer = Endpointer(SETTINGS, by_first_sample)
    heard: list[Frame] | None = None
    for frame in cut(samples, lengths):
        if heard is not None:
            heard.append(frame)
        for event in endpointer.feed(frame):
            if isinstance(event, SpeechStarted):
                heard = list(event.preroll)
            elif heard is not None:
                first = round(heard[0].start_s * RATE_HZ)
                joined = np.concatenate([piece.samples for piece in heard])
                np.testing.assert_array_equal(joined, samples[first : first + len(joined)])
                assert heard[-1].end_s >= event.decided_s - 1e-9
                heard = None


@settings(max_examples=8, deadline=None)
@given(lengths=st.lists(st.integers(17, 4000), min_size=1, max_size=4))
def test_the_cutting_does_not_matter_to_the_real_detector(lengths: list[int]) -> None:
    samples = hum_between_silences()
    reference = facts(run(Endpointer(SETTINGS), list(RecordingSource(samples).frames())))
    assert facts(run(Endpointer(SETTINGS), cut(samples, lengths))) == reference


def hum_between_silences() -> Samples:
    """A voice-like sound: a glottal pulse train through three formants of a vowel."""
    random = np.random.default_rng(7)
    times = np.arange(RATE_HZ) / RATE_HZ
    source = sum(np.sin(2 * np.pi * 120 * k * times) / k for k in range(1, 30))
    spectrum = np.fft.rfft(source)
    frequencies = np.fft.rfftfreq(len(times), 1 / RATE_HZ)
    gain = sum(1 / (1 + ((frequencies - f) / 90) ** 2) for f in (700, 1200, 2600))
    vowel = np.fft.irfft(spectrum * gain)
    quiet = random.normal(0, 5, RATE_HZ)
    loud = vowel / np.abs(vowel).max() * 9000
    return np.concatenate((quiet, loud, quiet)).astype(np.int16)


def test_the_real_detector_hears_no_speech_in_silence_and_noise() -> None:
    random = np.random.default_rng(3)
    silence = np.zeros(RATE_HZ, dtype=np.int16)
    noise = random.normal(0, 300, 2 * RATE_HZ).astype(np.int16)
    for samples in (silence, noise):
        assert run(Endpointer(SETTINGS), list(RecordingSource(samples).frames())) == []


def ends(percents: list[int], allowed: dict[int, float]) -> list[float]:
    """Ends and decisions, in chunks; what is allowed is told after a chunk."""
    endpointer = Endpointer(SETTINGS, by_first_sample)
    found: list[float] = []
    for number, frame in enumerate(cut(sound_of(percents), [CHUNK_SAMPLES])):
        for event in endpointer.feed(frame):
            if isinstance(event, SpeechEnded):
                found += [event.end_s / CHUNK_S, event.decided_s / CHUNK_S]
        if number in allowed:
            endpointer.allow(allowed[number])
    return found


SPOKEN = [0] * 5 + [90] * 10 + [0] * 40


@pytest.mark.parametrize(("pause_s", "wait"), [(0.192, 6), (0.576, 18), (0.896, 28), (0.2, 7)])
def test_a_silence_lasts_as_long_as_is_allowed(pause_s: float, wait: int) -> None:
    assert ends(SPOKEN, {15: pause_s}) == pytest.approx([15, 15 + wait])


def test_what_is_allowed_may_change_within_a_silence() -> None:
    assert ends(SPOKEN, {15: 0.896, 19: 0.192}) == pytest.approx([15, 21])
    # a pause that is over already ends it with the next chunk
    assert ends(SPOKEN, {15: 0.896, 24: 0.192}) == pytest.approx([15, 26])


def test_what_was_allowed_is_forgotten_when_somebody_speaks() -> None:
    percents = [0] * 5 + [90] * 10 + [0] * 3 + [90] * 5 + [0] * 40
    wait = -(-SETTINGS.end_silence_s // CHUNK_S)
    assert ends(percents, {15: 0.192}) == pytest.approx([23, 23 + wait])


def test_quiet_is_told_within_an_utterance_only() -> None:
    endpointer = Endpointer(SETTINGS, by_first_sample)
    told = []
    for frame in cut(sound_of([0] * 3 + [90] * 4 + [0, 0] + [90] + [0] * 20), [CHUNK_SAMPLES]):
        endpointer.feed(frame)
        told.append(round(endpointer.quiet_s / CHUNK_S))
    assert told == [0] * 7 + [1, 2, 0, *range(1, 16), *[0] * 5]
