"""The one door to PortAudio, for microphones and speakers alike.

The library is looked for only when a device is wanted, because a machine without
it can still run checks from recordings and the keyboard.
"""

from importlib import import_module
from types import ModuleType

from voiceflow.errors import AudioDeviceError

WITHOUT_MICROPHONE = "Use --audio FILE for a recording or --typed for the keyboard"
WITHOUT_SPEAKERS = "Use --voice none to go without, or --voice FILE.wav to write the speech"


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
        return import_module("sounddevice")
    except (ImportError, OSError) as error:
        what = "the PortAudio library is missing on this machine"
        advice = f"Install it (on Debian and Ubuntu: libportaudio2). {remedy}"
        raise AudioDeviceError(device, what, advice) from error


def describe_fault(error: Exception) -> str:
    """Put PortAudio's complaint into a short phrase."""
    text = str(error.args[0]) if error.args else str(error)
    return text.strip().rstrip(".") or type(error).__name__
