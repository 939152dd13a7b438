"""The sound check on the command line."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from tests.audio.listed import ListedAudio
from tests.cli.conftest import Voiceflow
from voiceflow.audio import devices
from voiceflow.audio.frames import Frame
from voiceflow.audio.wav import write_wav
from voiceflow.cli.sound_check import next_utterance
from voiceflow.errors import AudioDeviceError
from voiceflow.languages.registry import language
from voiceflow.recognition.endpointing import SpeechEnded, SpeechStarted
from voiceflow.recognition.sound_check import PHRASES
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
    heard = voiceflow("hear", "small.yaml", "oxygen", recordings[1], "--profile", "robot")
    assert heard.exit_code == 0, heard.output
    assert "the profile robot" in heard.output


def test_a_recording_for_each_phrase_is_wanted(voiceflow: Voiceflow) -> None:
    result = voiceflow("mic", "--sound-check", "robot", "--audio", "one.wav")
    assert result.exit_code == 2
    assert "1 recordings were given for 14 phrases" in result.output


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
    samples = next_utterance(_frames(9), _ScriptedFinder())
    assert samples.reshape(-1, 320)[:, 0].tolist() == [1, 2, 3, 4]


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
