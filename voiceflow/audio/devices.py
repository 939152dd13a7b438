"""The one door to PortAudio, for microphones and speakers alike.

The library is looked for only when a device is wanted, because a machine without
it can still run checks from recordings and the keyboard.
"""

import ctypes
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from enum import Enum
from functools import cache
from importlib import import_module
from types import ModuleType
from typing import Any, Final

from voiceflow.audio.frames import RATE_HZ
from voiceflow.errors import AudioDeviceError

WITHOUT_MICROPHONE: Final = "Use --typed for the keyboard, or --audio FILE for a recording"
WITHOUT_SPEAKERS: Final = (
    "Use --voice none to go without, or --voice FILE.wav to write the speech; "
    "with --typed the words are on the screen"
)
#: The name of the device that the system uses unless told otherwise.
DEFAULT: Final = "default"
#: No sound for so long, and a device counts as lost, seconds. Chosen: PortAudio
#: hands over sound every 20 ms, and a person waits about as long for an answer.
STALLED_S: Final = 1.0

# PortAudio's codes for a form of sound that a device does not offer (portaudio.h:
# paBadIODeviceCombination, paSampleFormatNotSupported, paInvalidSampleRate,
# paInvalidChannelCount)
_FORM_REFUSED: Final = frozenset({-9993, -9994, -9997, -9998})
_USUAL_RATES_HZ: Final = (48_000, 44_100)


class Direction(Enum):
    """Which way sound goes; the value is how a device of this kind is called."""

    INPUT = "microphone"
    OUTPUT = "speakers"

    @property
    def remedy(self) -> str:
        """What to do without one."""
        return WITHOUT_MICROPHONE if self is Direction.INPUT else WITHOUT_SPEAKERS

    @property
    def option(self) -> str:
        """The option that chooses one."""
        return f"--{self.value}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Device:
    """A sound device, as PortAudio lists it.

    Attributes:
        index: Its place in PortAudio's list.
        name: Its name.
        host: Index of the sound system that offers it (Windows has several).
        channels: How many it has in the direction that was asked for.
        rate_hz: Its own rate.
        is_default: It is used unless another is named.
    """

    index: int
    name: str
    host: int
    channels: int
    rate_hz: int
    is_default: bool


def sound_library(device: str, remedy: str) -> ModuleType:
    """Give the ``sounddevice`` module.

    Args:
        device: What is wanted, for the message.
        remedy: What to do without it.

    Raises:
        AudioDeviceError: If PortAudio is not on this machine.
    """
    try:
        # lazy on purpose: the import itself loads PortAudio and fails without it
        library = import_module("sounddevice")
    except (ImportError, OSError) as error:
        what = "the PortAudio library is missing on this machine"
        advice = f"Install it (on Debian and Ubuntu: libportaudio2). {remedy}"
        raise AudioDeviceError(device, what, advice) from error
    _silence_alsa()
    return library


# int, char * and more that is not looked at: alsa/error.h, snd_lib_error_handler_t
_AlsaHandler = ctypes.CFUNCTYPE(
    None, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p
)


def _say_nothing(file: bytes, line: int, function: bytes, code: int, form: bytes) -> None:
    del file, line, function, code, form


_SILENT_HANDLER: Final = _AlsaHandler(_say_nothing)  # kept: ALSA holds on to it


@cache
def _silence_alsa() -> None:
    """Keep ALSA from writing into the transcript; PortAudio reports what matters of it."""
    if sys.platform == "linux":
        with suppress(OSError, AttributeError):
            ctypes.CDLL("libasound.so.2").snd_lib_error_set_handler(_SILENT_HANDLER)


def describe_fault(error: Exception) -> str:
    """Put PortAudio's complaint into a short phrase."""
    text = str(error.args[0]) if error.args else str(error)
    return text.strip().rstrip(".") or type(error).__name__


def list_devices(direction: Direction) -> tuple[Device, ...]:
    """Give the devices of one direction, in PortAudio's order; maybe none.

    Raises:
        AudioDeviceError: If PortAudio is missing or cannot look.
    """
    library = sound_library(direction.value, direction.remedy)
    key = "max_input_channels" if direction is Direction.INPUT else "max_output_channels"
    try:
        found = list(library.query_devices())
        defaults = library.default.device
    except library.PortAudioError as error:
        raise AudioDeviceError(direction.value, describe_fault(error), direction.remedy) from error
    default = defaults[0 if direction is Direction.INPUT else 1]
    return tuple(
        Device(
            index=one["index"],
            name=one["name"],
            host=one["hostapi"],
            channels=one[key],
            rate_hz=round(one["default_samplerate"]),
            is_default=one["index"] == default,
        )
        for one in found
        if one[key] > 0
    )


def find_device(name: str | None, direction: Direction) -> Device:
    """Find a device by its name or a part of it, capitals or not.

    A whole name goes before a part. Where several sound systems offer the same
    device, that of the default device is taken.

    Args:
        name: None or "default": the one that the system uses.
        direction: Which way.

    Raises:
        AudioDeviceError: If there is none, or more than one of different names.
    """
    devices = list_devices(direction)
    kind = direction.value
    if not devices:
        verb = "is" if direction is Direction.INPUT else "are"
        what = f"no {kind} {verb} connected, or the system does not let programs use one"
        raise AudioDeviceError(name or kind, what, direction.remedy)
    usual = next((one for one in devices if one.is_default), devices[0])
    if name is None or name.strip().lower() == DEFAULT:
        return usual
    wanted = name.strip().lower()
    matching = [one for one in devices if wanted in one.name.lower()]
    matching = [one for one in matching if one.name.lower() == wanted] or matching
    names = tuple(dict.fromkeys(one.name for one in matching))
    if wanted and len(names) == 1:
        return next((one for one in matching if one.host == usual.host), matching[0])
    there = "; ".join(dict.fromkeys(one.name for one in devices))
    if not wanted or not names:
        what = f"no {kind} has this in its name. There are: {there}"
    else:
        what = f"more than one name has this in it: {'; '.join(names)}"
    remedy = f"Give {direction.option} a name of these, or part of one that no other has"
    raise AudioDeviceError(name, what, remedy)


def forms(device: Device) -> Iterator[tuple[int, int]]:
    """Give rates (Hz) and numbers of channels to try, what needs least work first."""
    channels = dict.fromkeys((1, min(2, device.channels), device.channels))
    rates = dict.fromkeys((RATE_HZ, device.rate_hz, *_USUAL_RATES_HZ))
    for count in channels:
        for rate_hz in rates:
            yield rate_hz, count


def open_in_any_form(
    library: ModuleType, device: Device, make: Callable[[int, int], Any]
) -> tuple[Any, int, int]:
    """Open a stream at 16 kHz mono, or as the device offers.

    Args:
        library: The ``sounddevice`` module.
        device: What is opened.
        make: Makes the stream, given rate in Hz and number of channels.

    Returns:
        The stream, its rate in Hz, its number of channels.

    Raises:
        PortAudioError: If it opens in no form.
    """
    refused: Exception | None = None
    for rate_hz, channels in forms(device):
        try:
            with quiet_system():
                return make(rate_hz, channels), rate_hz, channels
        except library.PortAudioError as error:
            code = error.args[1] if len(error.args) > 1 else None
            if code not in _FORM_REFUSED:
                raise
            refused = error
    raise refused or RuntimeError("no form of sound to try")


@contextmanager
def quiet_system() -> Iterator[None]:
    """Keep PortAudio and ALSA, which write their troubles to file descriptor 2, off the screen.

    What went wrong is in the exception too.
    """
    sys.stderr.flush()
    before = os.dup(2)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 2)
    os.close(nowhere)
    try:
        yield
    finally:
        os.dup2(before, 2)
        os.close(before)


def look_anew() -> None:
    """Have PortAudio make its list of devices anew: it knows those of when it started.

    Every open stream must be closed before; PortAudio would pull it away.

    Raises:
        AudioDeviceError: If PortAudio is missing or does not start again.
    """
    library = sound_library("sound", WITHOUT_MICROPHONE)
    try:
        # there is no public way; the library's own documentation names this one
        with quiet_system():
            library._terminate()
            library._initialize()
    except library.PortAudioError as error:
        raise AudioDeviceError("sound", describe_fault(error), WITHOUT_MICROPHONE) from error
