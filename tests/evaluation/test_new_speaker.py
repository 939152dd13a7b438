"""A new synthetic voice: which texts it says, and the command."""

import shutil
from pathlib import Path

import pytest

from voiceflow.evaluation import new_speaker
from voiceflow.evaluation.manifest import load_manifest
from voiceflow.evaluation.metrics import Result
from voiceflow.evaluation.training import TALKERS
from voiceflow.recognition.sound_check import PHRASES

MANIFEST = Path(__file__).parents[2] / "audio_fixtures" / "manifest.csv"
ROWS = load_manifest(MANIFEST)


def test_no_text_is_one_of_the_sound_check_and_each_comes_once() -> None:
    rows = new_speaker.texts(ROWS, 40, 20)
    kinds = [row.kind == "reading" for row in rows]
    assert kinds == [True] * 40 + [False] * 20
    assert not {row.text for row in rows} & {*PHRASES}
    assert len({row.key for row in rows}) == 60


def test_the_usual_voices_are_in_no_fixture_and_no_training() -> None:
    heard = {row.voice for row in ROWS} | {f"espeak-ng {name}" for name, _ in TALKERS}
    assert not {f"espeak-ng {name}" for name in new_speaker.VOICES} & heard


def test_a_line_has_counts_and_intervals() -> None:
    found = [Result.RIGHT] * 9 + [Result.WRONG_ACCEPTED]
    line = new_speaker.line("a voice", "readings", "after", found)
    # Wilson's interval, by the formula with z = 1.96
    assert "9 of 10, 90 % (60 to 98)" in line
    assert "1 of 10, 10 % (2 to 40)" in line


def test_a_voice_of_the_training_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert new_speaker.main([str(MANIFEST), "--voice", TALKERS[0][0]]) == 2
    assert "is fitted to" in capsys.readouterr().err


@pytest.mark.skipif(shutil.which("espeak-ng") is None, reason="espeak-ng is not there")
def test_a_voice_that_espeak_does_not_have_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert new_speaker.main([str(MANIFEST), "--voice", "xx-none"]) == 2
    assert "does not speak with the voice" in capsys.readouterr().err


@pytest.mark.skipif(shutil.which("espeak-ng") is None, reason="espeak-ng is not there")
def test_the_sound_check_of_a_voice_has_quiet_before_each_phrase(tmp_path: Path) -> None:
    (phrase,) = new_speaker.sound_check_of(new_speaker.VOICES[0], PHRASES[:1], tmp_path)
    assert phrase.words == ("one", "four", "seven", "zero")
    assert len(phrase.quiet) == pytest.approx(0.3 * 16_000, abs=160)
    assert abs(phrase.quiet.astype(float)).max() < abs(phrase.samples.astype(float)).max() / 100
