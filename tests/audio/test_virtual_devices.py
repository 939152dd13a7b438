"""Real sound devices, as far as PortAudio and the programs can tell."""

import math
from collections.abc import Iterator
from contextlib import closing
from itertools import islice
from types import ModuleType
from typing import Any

import numpy as np
import pytest

from tests.audio.virtual import MICROPHONE, SPEAKERS, VirtualSound, virtual_sound
from voiceflow.audio import microphone as microphone_module
from voiceflow.audio import player as player_module
from voiceflow.audio.devices import Direction, find_device, list_devices, look_anew, sound_library
from voiceflow.audio.frames import FRAME_SAMPLES, RATE_HZ, Samples
from voiceflow.audio.microphone import MicrophoneSource
from voiceflow.audio.player import SpeakerPlayer
from voiceflow.errors import AudioDeviceError

pytestmark = pytest.mark.device
TONE_HZ = 1000


@pytest.fixture
def sound(monkeypatch: pytest.MonkeyPatch) -> Iterator[VirtualSound]:
    with virtual_sound() as virtual:
        with monkeypatch.context() as patch:
            for name, value in virtual.environment.items():
                patch.setenv(name, value)
            look_anew()
            yield virtual
        look_anew()


def tone(seconds: float) -> Samples:
    time_s = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    wave: Samples = (10_000 * np.sin(2 * math.pi * TONE_HZ * time_s)).astype(np.int16)
    return wave


def pitch_hz(samples: Samples) -> float:
    """Give the frequency that is strongest."""
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(len(samples))))
    return float(np.argmax(spectrum) * RATE_HZ / len(samples))


class Picky:
    """PortAudio with a device that offers one form only, as many real ones do."""

    def __init__(self, library: ModuleType, rate_hz: int, channels: int) -> None:
        self._library = library
        self._form = rate_hz, channels
        self.PortAudioError = library.PortAudioError

    def __getattr__(self, name: str) -> Any:
        return getattr(self._library, name)

    def _open(self, make: Any, form: dict[str, Any]) -> Any:
        rate_hz, channels = self._form
        if form["samplerate"] != rate_hz:
            raise self.PortAudioError("Invalid sample rate", -9997)
        if form["channels"] != channels:
            raise self.PortAudioError("Invalid number of channels", -9998)
        return make(**form)

    def RawInputStream(self, **form: Any) -> Any:  # noqa: N802 - the library's name
        return self._open(self._library.RawInputStream, form)

    def RawOutputStream(self, **form: Any) -> Any:  # noqa: N802 - the library's name
        return self._open(self._library.RawOutputStream, form)


FORMS = [None, (44_100, 2), (48_000, 2), (48_000, 1)]


def choose_form(monkeypatch: pytest.MonkeyPatch, form: tuple[int, int] | None) -> None:
    if form is not None:
        picky = Picky(sound_library("sound", ""), *form)
        for module in (microphone_module, player_module):
            monkeypatch.setattr(module, "sound_library", lambda *_: picky)


def test_devices_are_found_by_part_of_their_names(sound: VirtualSound) -> None:
    assert {MICROPHONE, SPEAKERS} <= {one.name for one in list_devices(Direction.INPUT)}
    assert find_device("pit_mic", Direction.INPUT).name == MICROPHONE
    with pytest.raises(AudioDeviceError, match="more than one name") as caught:
        find_device("cockpit", Direction.INPUT)
    assert MICROPHONE in caught.value.what
    assert "--microphone" in caught.value.remedy


@pytest.mark.parametrize("form", FORMS)
def test_the_microphone_is_heard_in_whatever_form(
    sound: VirtualSound, monkeypatch: pytest.MonkeyPatch, form: tuple[int, int] | None
) -> None:
    choose_form(monkeypatch, form)
    with closing(MicrophoneSource(MICROPHONE)) as source:
        frames = source.frames()
        next(frames)
        sound.say(tone(1.0))
        heard: list[Samples] = []
        for frame in islice(frames, 500):
            assert len(frame.samples) == FRAME_SAMPLES
            if np.abs(frame.samples).max() > 5_000:
                heard.append(frame.samples)
            if len(heard) == 30:  # of 50: a busy machine may lose some
                break
    assert len(heard) == 30
    whole = np.concatenate(heard)[640:-640]
    assert pitch_hz(whole) == pytest.approx(TONE_HZ, abs=20)
    assert np.abs(whole).max() == pytest.approx(10_000, rel=0.1)


@pytest.mark.parametrize("form", FORMS)
def test_the_speakers_speak_in_whatever_form(
    sound: VirtualSound, monkeypatch: pytest.MonkeyPatch, form: tuple[int, int] | None
) -> None:
    choose_form(monkeypatch, form)
    with closing(MicrophoneSource(MICROPHONE)) as clock, sound.recording() as recorded:
        frames = clock.frames()
        with closing(SpeakerPlayer(SPEAKERS)) as player:
            for _ in islice(frames, 50):
                pass
            player.play(tone(1.0))
            for _ in islice(frames, 500):
                if not player.is_sounding:
                    break
            assert not player.is_sounding
        for _ in islice(frames, 50):
            pass
    # a busy machine stutters, so that it may take longer: only what sounds is looked at
    loud = recorded[0][np.abs(recorded[0]) > 500]
    assert len(loud) / RATE_HZ > 0.5
    whole = recorded[0][np.flatnonzero(np.abs(recorded[0]) > 2_500)[0] :][: RATE_HZ // 2]
    assert pitch_hz(whole) == pytest.approx(TONE_HZ, abs=30)
    assert np.abs(whole).max() == pytest.approx(10_000, rel=0.1)


def test_a_microphone_that_is_unplugged_is_told_and_opens_again(sound: VirtualSound) -> None:
    with closing(MicrophoneSource(MICROPHONE)) as source:
        frames = source.frames()
        next(frames)
        sound.unplug(MICROPHONE)
        with pytest.raises(AudioDeviceError, match="stopped delivering sound") as caught:
            list(islice(frames, 1000))
        assert caught.value.device == MICROPHONE
    look_anew()
    with pytest.raises(AudioDeviceError):
        MicrophoneSource(MICROPHONE)
    sound.plug(MICROPHONE, rate_hz=44_100)
    look_anew()
    with closing(MicrophoneSource(MICROPHONE)) as source:
        assert len(list(islice(source.frames(), 10))) == 10


def test_a_microphone_that_stalls_is_told(sound: VirtualSound) -> None:
    with closing(MicrophoneSource(MICROPHONE)) as source:
        frames = source.frames()
        next(frames)
        sound.suspend(MICROPHONE, is_on=True)
        with pytest.raises(AudioDeviceError, match="stopped delivering sound"):
            list(islice(frames, 1000))


def has_stopped(player: SpeakerPlayer) -> bool:
    try:
        player.verify()
    except AudioDeviceError:
        return True
    return False


def test_speakers_that_are_unplugged_are_told_and_open_again(sound: VirtualSound) -> None:
    with (
        closing(MicrophoneSource(MICROPHONE)) as clock,
        closing(SpeakerPlayer(SPEAKERS)) as player,
    ):
        frames = clock.frames()
        player.play(tone(0.2))
        for _ in islice(frames, 20):
            pass
        sound.unplug(SPEAKERS)
        assert any(has_stopped(player) for _ in islice(frames, 300))
        # no other speakers are there to take their place
        assert not player.reopen()
        sound.plug(SPEAKERS)
        assert player.reopen()
        player.play(tone(0.2))
        for _ in islice(frames, 100):
            player.verify()
