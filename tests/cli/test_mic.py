"""The sound check on the command line."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.audio.listed import ListedAudio
from tests.cli.conftest import GOOD, Voiceflow
from tests.recognition.test_profile import PROFILE
from voiceflow.audio import devices
from voiceflow.audio.frames import Frame
from voiceflow.audio.wav import write_wav
from voiceflow.checks.loader import load_check
from voiceflow.cli.sound_check import next_utterance
from voiceflow.dialogue.events import ProfileUsed, Resumed
from voiceflow.errors import AudioDeviceError
from voiceflow.journal.header import RunHeader
from voiceflow.journal.store import Journal
from voiceflow.languages.registry import language
from voiceflow.recognition.endpointing import SpeechEnded, SpeechStarted
from voiceflow.recognition.engines.pocketsphinx import bundled_digest
from voiceflow.recognition.profile import save_profile
from voiceflow.recognition.sound_check import PHRASES
from voiceflow.settings import Settings
from voiceflow.synthesis.pyttsx3_wav import Pyttsx3Synthesiser


@pytest.fixture
def recordings(home: Path) -> list[str]:
    """Every phrase, in a synthetic voice."""
    voice = Pyttsx3Synthesiser(language("en"))
    margin = np.zeros(4800, dtype=np.int16)
    arguments: list[str] = []
    for number, text in enumerate(PHRASES):
        path = home / f"{number}.wav"
        write_wav(path, np.concatenate([margin, voice.synthesise(text, 150), margin]))
        arguments += ["--audio", str(path)]
    return arguments


@pytest.mark.speech
@pytest.mark.slow
def test_a_profile_is_learnt_kept_and_used(
    voiceflow: Voiceflow, home: Path, recordings: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("VOICEFLOW_PROFILES", str(home / "profiles"))
    learnt = voiceflow("mic", "--sound-check", "robot", *recordings)
    assert learnt.exit_code == 0, learnt.output
    assert "words held out" in learnt.output
    assert (home / "profiles" / "robot" / "profile.json").is_file()
    assert "dBFS" in learnt.output
    assert "without a question" in learnt.output
    heard = voiceflow("hear", "small.yaml", "oxygen", recordings[1], "--profile", "robot")
    assert heard.exit_code == 0, heard.output
    assert "the profile robot" in heard.output


def test_a_recording_for_each_phrase_is_wanted(voiceflow: Voiceflow) -> None:
    result = voiceflow("mic", "--sound-check", "robot", "--audio", "one.wav")
    assert result.exit_code == 2
    assert "1 recordings were given for 18 phrases" in result.output


def test_recordings_without_a_sound_check_are_refused(voiceflow: Voiceflow) -> None:
    result = voiceflow("mic", "--audio", "one.wav")
    assert result.exit_code == 2
    assert "belongs to a sound check" in result.output


def test_a_profile_that_is_not_there_is_told(
    voiceflow: Voiceflow, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("VOICEFLOW_PROFILES", str(home))
    result = voiceflow("hear", "small.yaml", "oxygen", "a.wav", "--profile", "nobody")
    assert result.exit_code == 2
    assert "there is no profile" in result.output


def test_vosk_takes_no_profile(voiceflow: Voiceflow) -> None:
    result = voiceflow(
        "hear", "small.yaml", "oxygen", "a.wav", "--profile", "x", "--engine", "vosk"
    )
    assert result.exit_code == 2
    assert "takes no profile" in result.output


def _journal_with_a_profile(home: Path) -> RunHeader:
    """A run that was begun with a profile and only entered."""
    header = RunHeader(
        run_id="20261125-093012-7f3a",
        program_version="0.1.0",
        started_at="2026-11-25T09:30:12+00:00",
        check=load_check(home / "small.yaml"),
        settings=Settings(),
        engine="pocketsphinx",
        profile=ProfileUsed(name="ann", digest="0123abcd" * 8),
    )
    with Journal.open(home / "journal.sqlite", create=True) as journal:
        journal.begin(header)
    return header


def test_a_profile_that_is_gone_is_told_when_the_run_goes_on(
    voiceflow: Voiceflow, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("VOICEFLOW_PROFILES", str(home))
    header = _journal_with_a_profile(home)
    result = voiceflow("resume", header.run_id, "--microphone", "default")
    assert result.exit_code == 2
    assert "was heard with the profile ann" in result.output
    assert "there is no profile" in result.output
    assert "--profile none" in result.output


def test_a_profile_that_has_changed_is_told_when_the_run_goes_on(
    voiceflow: Voiceflow, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("VOICEFLOW_PROFILES", str(home))
    save_profile(replace(PROFILE, model_digest=bundled_digest()), home / "ann")
    header = _journal_with_a_profile(home)
    result = voiceflow("resume", header.run_id, "--microphone", "default")
    assert result.exit_code == 2
    assert "which has changed since" in result.output
    assert "--profile ann" in result.output


def test_a_run_with_a_profile_goes_on_typed_without_it(voiceflow: Voiceflow, home: Path) -> None:
    header = _journal_with_a_profile(home)
    result = voiceflow("resume", header.run_id, "--typed", typed=GOOD)
    assert result.exit_code == 0, result.output
    shown = voiceflow("journal", "show", header.run_id)
    assert "with the profile ann (SHA-256 0123abcd" in shown.output


@pytest.mark.speech
@pytest.mark.slow
def test_the_profile_of_the_run_is_used_and_none_goes_on_without(
    voiceflow: Voiceflow, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("VOICEFLOW_PROFILES", str(home))
    front = replace(PROFILE.suppressed, adapted=None)
    saved = save_profile(
        replace(PROFILE, model_digest=bundled_digest(), suppressed=front, plain=front),
        home / "ann",
    )
    write_wav(home / "quiet.wav", np.zeros(16_000, dtype=np.int16))
    run = voiceflow("run", "small.yaml", "--audio", "quiet.wav", "--profile", "ann")
    assert "the profile ann" in run.output
    again = ("resume", "--audio", "quiet.wav")
    with Journal.open(home / "journal.sqlite", create=False) as journal:
        header = journal.header(journal.runs()[0].run_id)
        assert header.profile == ProfileUsed(name="ann", digest=saved.digest)
    write_wav(home / "more.wav", np.zeros(16_000, dtype=np.int16))
    assert "the profile ann" in voiceflow("resume", "--audio", "more.wav").output
    assert "the profile ann" not in voiceflow(*again, "--profile", "none").output
    with Journal.open(home / "journal.sqlite", create=False) as journal:
        events = journal.events(header.run_id)
    used = [event.profile for event in events if isinstance(event, Resumed)]
    assert used == [header.profile, None]


class _ScriptedFinder:
    """A fake: finds speech in frames 2 to 4."""

    def __init__(self) -> None:
        self._seen: list[Frame] = []

    def feed(self, frame: Frame) -> tuple[SpeechStarted | SpeechEnded, ...]:
        self._seen.append(frame)
        match len(self._seen):
            case 3:
                return (SpeechStarted(start_s=0.04, decided_s=0.06, preroll=(*self._seen[1:],)),)
            case 5:
                return (SpeechEnded(end_s=0.1, decided_s=0.1),)
            case _:
                return ()

    def flush(self) -> tuple[SpeechStarted | SpeechEnded, ...]:
        return ()


def _frames(count: int) -> Iterator[Frame]:
    for number in range(count):
        samples = np.full(320, number, dtype=np.int16)
        yield Frame(samples=samples, start_s=number * 0.02)


def test_an_utterance_has_its_preroll_and_each_frame_once() -> None:
    sound = next_utterance(_frames(9), _ScriptedFinder())
    assert sound.samples.reshape(-1, 320)[:, 0].tolist() == [1, 2, 3, 4]
    assert sound.quiet.reshape(-1, 320)[:, 0].tolist() == [0]


def test_sound_that_ends_in_the_sound_check_is_told() -> None:
    with pytest.raises(AudioDeviceError, match="before the sound check did"):
        next_utterance(_frames(4), _ScriptedFinder())


def test_a_level_and_a_sound_check_exclude_each_other(voiceflow: Voiceflow) -> None:
    result = voiceflow("mic", "--level", "--sound-check", "robot")
    assert result.exit_code == 2
    assert "exclude each other" in result.output


def no_devices(monkeypatch: pytest.MonkeyPatch) -> None:
    """Have PortAudio find no device at all."""
    monkeypatch.setattr(devices, "sound_library", lambda *_: ListedAudio(default=-1))


def test_without_any_sound_hardware_the_keyboard_is_offered(
    voiceflow: Voiceflow, monkeypatch: pytest.MonkeyPatch
) -> None:
    no_devices(monkeypatch)
    result = voiceflow("run", "small.yaml")
    assert result.exit_code == 2
    assert "no microphone is connected" in result.output
    assert "--typed" in result.output
    listed = voiceflow("journal", "list")
    assert "small" not in listed.output
    told = voiceflow("mic")
    assert told.exit_code == 2
    assert "Microphones: none" in told.output
    typed = voiceflow("run", "small.yaml", "--typed", typed="removed\none six zero zero\n")
    assert typed.exit_code == 0
