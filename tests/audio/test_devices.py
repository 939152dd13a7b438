"""Machines without PortAudio or without devices: one clear message, no traceback."""

import sys
from collections.abc import Callable
from typing import Any

import pytest

from tests.audio.listed import ListedAudio
from voiceflow.audio import devices
from voiceflow.audio.devices import (
    Device,
    Direction,
    describe_fault,
    find_device,
    forms,
    open_in_any_form,
)
from voiceflow.audio.microphone import MicrophoneSource
from voiceflow.audio.player import SpeakerPlayer
from voiceflow.errors import AudioDeviceError


@pytest.mark.parametrize("make", [MicrophoneSource, SpeakerPlayer])
def test_without_the_library_there_is_another_way(
    make: Callable[[], object], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "sounddevice", None)  # as if it could not be imported
    with pytest.raises(AudioDeviceError) as caught:
        make()
    assert "PortAudio" in caught.value.what
    assert "--" in caught.value.remedy


@pytest.mark.parametrize("make", [MicrophoneSource, SpeakerPlayer])
def test_a_device_that_is_not_there_is_named(make: Callable[[str], object]) -> None:
    with pytest.raises(AudioDeviceError) as caught:
        make("no device of this name 4711")
    assert caught.value.device == "no device of this name 4711"
    assert "--" in caught.value.remedy


def test_a_fault_is_described_without_python() -> None:
    assert describe_fault(ValueError("No input device matching 'x'.")) == (
        "No input device matching 'x'"
    )
    assert describe_fault(ValueError()) == "ValueError"


@pytest.fixture
def listed(monkeypatch: pytest.MonkeyPatch) -> Callable[..., ListedAudio]:
    def make(*names: str, **extra: Any) -> ListedAudio:
        audio = ListedAudio(*names, **extra)
        monkeypatch.setattr(devices, "sound_library", lambda *_: audio)
        return audio

    return make


@pytest.mark.parametrize(
    ("wanted", "index"),
    [
        (None, 1),
        ("default", 1),
        ("Headset Two", 2),
        ("BUILT", 1),
        ("headset", 3),  # a whole name goes before parts of others
    ],
)
def test_a_device_is_found_by_name(
    listed: Callable[..., ListedAudio], wanted: str | None, index: int
) -> None:
    listed("Headset One", "Built-in microphone", "Headset Two", "headset", default=1)
    assert find_device(wanted, Direction.INPUT).index == index


def test_one_device_on_two_sound_systems_is_one(listed: Callable[..., ListedAudio]) -> None:
    listed("Headset", "Built-in", "Headset", "Built-in", default=3, hosts=(0, 0, 1, 1))
    assert find_device("headset", Direction.INPUT).index == 2


def test_what_is_not_clear_is_told_with_what_there_is(
    listed: Callable[..., ListedAudio],
) -> None:
    listed("Headset One", "Built-in microphone", "Headset Two")
    with pytest.raises(AudioDeviceError) as caught:
        find_device("head", Direction.INPUT)
    assert caught.value.what.endswith("Headset One; Headset Two")
    with pytest.raises(AudioDeviceError) as caught:
        find_device("boom", Direction.INPUT)
    assert "Built-in microphone" in caught.value.what
    assert caught.value.device == "boom"
    with pytest.raises(AudioDeviceError, match="no speakers are connected"):
        find_device(None, Direction.OUTPUT)


def test_a_machine_without_devices_offers_the_keyboard(
    listed: Callable[..., ListedAudio],
) -> None:
    listed()
    with pytest.raises(AudioDeviceError, match=r"no microphone is connected.*--typed"):
        find_device(None, Direction.INPUT)


def device(channels: int, rate_hz: int) -> Device:
    return Device(index=0, name="x", host=0, channels=channels, rate_hz=rate_hz, is_default=True)


@pytest.mark.parametrize(
    ("offers", "opened"),
    [
        ({(16_000, 1), (44_100, 2)}, (16_000, 1)),
        ({(44_100, 2)}, (44_100, 2)),
        ({(48_000, 1), (48_000, 6)}, (48_000, 1)),
        ({(96_000, 6)}, (96_000, 6)),
    ],
)
def test_a_device_is_opened_as_it_offers(
    offers: set[tuple[int, int]], opened: tuple[int, int]
) -> None:
    audio = ListedAudio("x")

    def make(rate_hz: int, channels: int) -> tuple[int, int]:
        if (rate_hz, channels) not in offers:
            raise audio.PortAudioError("Invalid sample rate", -9997)
        return rate_hz, channels

    form, *_ = open_in_any_form(audio, device(6, 96_000), make)  # type: ignore[arg-type]
    assert form == opened


def test_a_device_that_is_gone_is_not_tried_in_every_form() -> None:
    audio = ListedAudio("x")
    tried: list[tuple[int, int]] = []

    def make(rate_hz: int, channels: int) -> None:
        tried.append((rate_hz, channels))
        raise audio.PortAudioError("Device unavailable", -9985)

    with pytest.raises(ListedAudio.PortAudioError):
        open_in_any_form(audio, device(2, 48_000), make)  # type: ignore[arg-type]
    assert tried == [(16_000, 1)]


def test_no_form_is_tried_twice() -> None:
    tried = list(forms(device(2, 48_000)))
    assert len(tried) == len(set(tried))
    assert tried[0] == (16_000, 1)
