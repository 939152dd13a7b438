"""The live bench: what it reads off a recording, and the real program on virtual devices."""

import math
from pathlib import Path

import numpy as np
import pytest

from voiceflow.audio.frames import RATE_HZ, Samples
from voiceflow.evaluation.live import Wishes
from voiceflow.evaluation.live_bench import measure_live
from voiceflow.evaluation.live_gaps import Span, exchange, exchanges, place_line, sounding
from voiceflow.evaluation.live_lines import Line, Manner
from voiceflow.evaluation.live_room import PERSON, TOOL
from voiceflow.evaluation.live_tables import counting, gaps_of
from voiceflow.evaluation.manifest import load_manifest
from voiceflow.evaluation.metrics import Result
from voiceflow.grammar.meaning import NoMatch
from voiceflow.journal.replay import verify
from voiceflow.journal.store import Journal

FIXTURES = Path(__file__).parents[2] / "audio_fixtures"


def noise(seconds: float, seed: int) -> Samples:
    made = np.random.default_rng(seed).integers(-6000, 6000, round(seconds * RATE_HZ))
    return made.astype(np.int16)


def line(manner: Manner = Manner.PLAIN) -> Line:
    """A second of speech with half a second of silence round it."""
    silence = np.zeros(RATE_HZ // 2, dtype=np.int16)
    samples = np.concatenate((silence, noise(1.0, 1), silence))
    return Line(
        name="made up",
        text="",
        samples=samples,
        start_s=0.5,
        end_s=1.5,
        meaning=NoMatch(),
        manner=manner,
    )


def room(person: Samples, tool: Samples) -> np.ndarray:
    track = np.zeros((max(len(person), len(tool)), 3), dtype=np.int16)
    track[: len(person), PERSON] = person
    track[: len(tool), TOOL] = tool
    return track


def silence(seconds: float) -> Samples:
    return np.zeros(round(seconds * RATE_HZ), dtype=np.int16)


def test_the_gap_is_from_the_end_of_speech_to_the_first_sample_of_the_reply() -> None:
    said = line()
    person = np.concatenate((silence(2.0), said.samples, silence(4.0)))
    # speech lies from 2.5 to 3.5 s; the tool speaks before, and 0.3 s after it
    tool = np.concatenate((silence(0.5), noise(1.0, 2), silence(2.3), noise(1.0, 3)))
    (found,) = exchanges(room(person, tool), ((said, 2 * RATE_HZ),))
    assert found is not None
    assert (found.speech.first, found.speech.last) == (40_000, 56_000)
    assert found.gap_s == pytest.approx(0.3, abs=0.001)
    assert found.stopped_s is None


def test_talk_over_the_tool_tells_how_soon_it_stopped() -> None:
    spoken = (Span(first=0, last=20_000), Span(first=60_000, last=70_000))
    found = exchange(Span(first=16_000, last=40_000), spoken, 100_000, barging=True)
    assert found.stopped_s == pytest.approx(0.25)
    assert found.gap_s == pytest.approx(20_000 / RATE_HZ)


def test_a_line_that_did_not_sound_whole_is_not_measured() -> None:
    said = line()
    person = np.concatenate((silence(1.0), said.samples, silence(2.0)))
    assert place_line(person, said, RATE_HZ) is not None
    person[RATE_HZ + 20_000 : RATE_HZ + 24_000] = 0  # the sound server was starved
    assert place_line(person, said, RATE_HZ) is None


def test_pauses_within_words_do_not_part_them() -> None:
    tool = np.concatenate(
        (silence(0.2), noise(0.3, 1), silence(0.1), noise(0.3, 2), silence(0.5), noise(0.2, 3))
    )
    assert [round(span.first / RATE_HZ, 1) for span in sounding(tool)] == [0.2, 1.4]
    assert sounding(silence(1.0)) == ()


def test_gaps_by_hand() -> None:
    found = gaps_of([0.1 * number for number in range(1, 21)], 0.55)
    assert found.of == 20
    assert found.spread.median == pytest.approx(1.05)
    assert found.spread.p95 == pytest.approx(1.9)
    assert found.within == pytest.approx(5 / 20)
    assert gaps_of([], 0.5).of == 0


@pytest.mark.device
@pytest.mark.speech
@pytest.mark.slow
def test_the_real_program_is_spoken_to_and_its_journal_replays() -> None:
    """A few turns on virtual devices, in real time."""
    rows = load_manifest(FIXTURES / "manifest.csv")
    wishes = Wishes(
        waiting_s=2.0, options=("--engine", "pocketsphinx", "--rate=300", "--wording=terse")
    )
    with measure_live(rows, None, 5, wishes) as run:
        with Journal.open(run.journal, create=False) as journal:
            assert verify(journal, run.run_id) == ()
        said = counting(run)
        assert len(said) >= 5
        assert not [one for one in said if one.result is Result.WRONG_ACCEPTED]
        assert sum(one.result is Result.RIGHT for one in said) >= len(said) - 1
        gaps = [one.exchange.gap_s for one in said if one.exchange is not None]
        assert any(gap is not None and math.isfinite(gap) and gap > 0 for gap in gaps)
        # nobody spoke, and nothing was taken
        assert not [text for text, decision in run.unprompted if decision == "accept"]
