"""Machines without PortAudio or without devices: one clear message, no traceback."""

import sys
from collections.abc import Callable

import pytest

from voiceflow.audio.devices import describe_fault
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
