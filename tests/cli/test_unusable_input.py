"""Whatever is wrong with what was given: one clear message, status 2, nothing lost."""

from pathlib import Path

import numpy as np
import pytest
import soundfile
from click.testing import Result

from tests.cli.conftest import CHECK, GOOD, Voiceflow
from voiceflow.journal.store import Journal

FIVE_MISTAKES = """\
check: five
title: Five mistakes
kind: list
language: en
aircraft: Skerry 42
source: {document: Northmark Air Ferries OM-B (invented), revision: 4}
items:
  - id: covers
    challenge: Pitot covers
    expect: []
  - id: covers
    challenge: Pitot covers
    expect: [removed]
  - id: oxygen
    challenge: Crew oxygen
    reading:
      unit: psi
      scale: {from: 2000, to: 0, step: 10}
      minimum: 1200
  - id: light
    challenge: Gyro warning light
    wait: {until: out, within: 10 fortnights}
"""


def test_five_mistakes_are_five_lines(voiceflow: Voiceflow, home: Path) -> None:
    (home / "five.yaml").write_text(FIVE_MISTAKES, encoding="utf-8")
    result = voiceflow("run", "five.yaml", "--typed", typed=GOOD)
    assert result.exit_code == 2
    lines = result.stderr.splitlines()
    located = [line for line in lines if line.startswith("five.yaml:")]
    assert len(located) >= 5
    assert lines[-1] == f"voiceflow: {len(located)} problems; nothing was run"
    assert "Traceback" not in result.output
    assert not (home / "journal.sqlite").exists()


def recordings(home: Path) -> dict[str, Path]:
    silence = np.zeros(44_100, dtype=np.int16)
    paths = {name: home / f"{name}.wav" for name in ("text", "eight", "empty", "no-sound")}
    paths["text"].write_text("this is no sound at all\n", encoding="utf-8")
    soundfile.write(paths["eight"], silence, 16_000, subtype="PCM_U8")
    paths["empty"].touch()
    soundfile.write(paths["no-sound"], silence[:0], 16_000, subtype="PCM_16")
    paths["missing"] = home / "missing.wav"
    return paths


@pytest.mark.parametrize("name", ["text", "eight", "empty", "no-sound", "missing"])
@pytest.mark.parametrize("command", ["run", "hear"])
def test_a_recording_that_cannot_be_used(
    voiceflow: Voiceflow, home: Path, command: str, name: str
) -> None:
    path = str(recordings(home)[name])
    given = ["run", "small.yaml", "--audio", path]
    if command == "hear":
        given = ["hear", "small.yaml", "oxygen", path]
    result = voiceflow(*given)
    assert result.exit_code == 2
    message = [line for line in result.stderr.splitlines() if line.startswith("voiceflow: ")]
    assert len(message) == 1
    assert path in message[0]
    assert "Traceback" not in result.output
    assert not _runs(home)


@pytest.mark.parametrize(("rate", "channels"), [(16_000, 2), (44_100, 1), (8_000, 2)])
def test_stereo_and_other_rates_are_converted(
    voiceflow: Voiceflow, home: Path, rate: int, channels: int
) -> None:
    path = home / "other.wav"
    soundfile.write(path, np.zeros((rate, channels), dtype=np.int16), rate, subtype="PCM_16")
    result = voiceflow("run", "small.yaml", "--audio", str(path), "--voice", "none")
    # it was heard to its end; nobody spoke, so the check is open
    assert result.exit_code == 1
    assert result.exception is None or isinstance(result.exception, SystemExit)
    assert len(_runs(home)) == 1


def test_a_journal_that_is_none_stays_as_it_was(voiceflow: Voiceflow, home: Path) -> None:
    path = home / "letter.txt"
    path.write_text("Dear sirs,\n", encoding="utf-8")
    result = voiceflow("run", "small.yaml", "--typed", "--journal", str(path), typed=GOOD)
    assert result.exit_code == 2
    assert result.stderr.splitlines()[-1].startswith(f"voiceflow: {path}: is not a journal")
    assert path.read_text(encoding="utf-8") == "Dear sirs,\n"


@pytest.mark.parametrize("command", [["resume"], ["report"], ["journal"]])
def test_no_journal_yet(voiceflow: Voiceflow, command: list[str]) -> None:
    result = voiceflow(*command)
    assert result.exit_code == 2
    assert "there is no journal here" in result.stderr


def test_a_missing_model(voiceflow: Voiceflow, home: Path) -> None:
    soundfile.write(home / "a.wav", np.ones(16_000, dtype=np.int16), 16_000)
    result = voiceflow("run", "small.yaml", "--audio", "a.wav", "--engine", "vosk")
    assert result.exit_code == 2
    assert "vosk: no model found in" in result.stderr
    assert not _runs(home)


def test_a_damaged_model_enters_no_run(voiceflow: Voiceflow, home: Path) -> None:
    (home / "model" / "am").mkdir(parents=True)
    (home / "model" / "am" / "final.mdl").write_bytes(b"not really")
    result = _run_on_silence(voiceflow, home, "small.yaml", "--model", "model")
    assert result.exit_code == 2
    assert "damaged" in result.stderr.splitlines()[-1]
    assert not _runs(home)


def test_an_engine_that_does_not_know_the_language_enters_no_run(
    voiceflow: Voiceflow, home: Path
) -> None:
    text = CHECK.replace("language: en", "language: ko").replace("[removed]", "[제거]")
    text = text.replace("[fitted]", "[장착]").replace("Pitot covers", "피토 커버")
    (home / "ko.yaml").write_text(text, encoding="utf-8")
    result = _run_on_silence(voiceflow, home, "ko.yaml", "--engine", "pocketsphinx")
    assert result.exit_code == 2
    assert "does not know the language 'ko'" in result.stderr.splitlines()[-1]
    assert not _runs(home)


def test_a_response_that_cannot_be_heard_enters_no_run(voiceflow: Voiceflow, home: Path) -> None:
    (home / "odd.yaml").write_text(CHECK.replace("[removed]", "[removed, qzxvfroob off]"))
    result = _run_on_silence(voiceflow, home, "odd.yaml", "--engine", "pocketsphinx")
    assert result.exit_code == 2
    assert "item covers" in result.stderr.splitlines()[-1]
    assert "'qzxvfroob off'" in result.stderr.splitlines()[-1]
    assert not _runs(home)


def test_a_challenge_that_cannot_be_heard_is_told_and_run(voiceflow: Voiceflow, home: Path) -> None:
    (home / "odd.yaml").write_text(CHECK.replace("Pitot covers", "Qzxvfroob covers"))
    result = _run_on_silence(voiceflow, home, "odd.yaml", "--engine", "pocketsphinx")
    assert result.exit_code == 1
    assert "cannot hear qzxvfroob (at covers)" in result.stderr
    assert len(_runs(home)) == 1


@pytest.mark.parametrize(
    ("voice", "message"),
    [
        ("blah", "'blah': that is no name of a WAV file"),
        ("speaker", "'speaker': that is no name of a WAV file"),
        ("/nonexistent/x.wav", "there is no folder /nonexistent"),
        ("folder.wav", "folder.wav is a folder"),
    ],
)
def test_a_voice_that_can_go_nowhere_enters_no_run(
    voiceflow: Voiceflow, home: Path, voice: str, message: str
) -> None:
    (home / "folder.wav").mkdir()
    result = voiceflow("run", "small.yaml", "--typed", "--voice", voice, typed=GOOD)
    assert result.exit_code == 2
    assert message in result.stderr.splitlines()[-1]
    assert not _runs(home)
    assert not (home / voice).is_file()


def test_no_microphone_enters_no_run(voiceflow: Voiceflow, home: Path) -> None:
    if voiceflow("mic").exit_code == 0:
        pytest.skip("this machine has a microphone")
    result = voiceflow("run", "small.yaml", "--voice", "none")
    assert result.exit_code == 2
    assert result.stderr.splitlines()[-1].startswith("voiceflow: microphone")
    assert not _runs(home)


def test_an_unknown_item_names_the_near_ones(voiceflow: Voiceflow) -> None:
    result = voiceflow("phrases", "small.yaml", "oxigen")
    assert result.exit_code == 2
    assert "Did you mean oxygen?" in result.stderr


def test_an_unknown_check(voiceflow: Voiceflow) -> None:
    result = voiceflow("run", "cockpit-preperation", "--typed")
    assert result.exit_code == 2
    assert "Did you mean cockpit-preparation?" in result.stderr


def test_an_unknown_run(voiceflow: Voiceflow) -> None:
    voiceflow("run", "small.yaml", "--typed", typed=GOOD)
    result = voiceflow("report", "yesterday")
    assert result.exit_code == 2
    assert "no run 'yesterday'" in result.stderr


def test_an_unknown_command_and_option(voiceflow: Voiceflow) -> None:
    assert voiceflow("fly").exit_code == 2
    assert voiceflow("run", "small.yaml", "--fly").exit_code == 2


@pytest.mark.parametrize(
    "given",
    [
        ["run", "small.yaml", "--typed", "--audio", "a.wav"],
        ["resume", "--typed", "--microphone", "x"],
        ["run", "small.yaml", "--audio", "a.wav", "--engine", "pocketsphinx", "--model", "."],
    ],
)
def test_wishes_that_contradict_each_other(
    voiceflow: Voiceflow, home: Path, given: list[str]
) -> None:
    soundfile.write(home / "a.wav", np.ones(16_000, dtype=np.int16), 16_000)
    result = voiceflow(*given)
    assert result.exit_code == 2
    assert result.stderr.splitlines()[-1].startswith("voiceflow: ")


def test_a_report_that_cannot_be_written(voiceflow: Voiceflow, home: Path) -> None:
    voiceflow("run", "small.yaml", "--typed", typed=GOOD)
    result = voiceflow("report", "--html", str(home / "small.yaml" / "x.html"))
    assert result.exit_code == 2
    assert "cannot be written" in result.stderr
    assert (home / "small.yaml").read_text(encoding="utf-8") == CHECK


def test_a_traceback_only_where_it_is_asked_for(voiceflow: Voiceflow) -> None:
    assert "Traceback" in voiceflow("run", "nowhere.yaml", "--typed", "--debug").stderr


def _run_on_silence(voiceflow: Voiceflow, home: Path, *given: str) -> Result:
    soundfile.write(home / "a.wav", np.zeros(16_000, dtype=np.int16), 16_000)
    return voiceflow("run", *given, "--audio", "a.wav")


def _runs(home: Path) -> tuple[object, ...]:
    path = home / "journal.sqlite"
    if not path.exists():
        return ()
    with Journal.open(path, create=False) as journal:
        return journal.runs()
