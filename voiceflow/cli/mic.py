"""``voiceflow mic``: which sound devices there are."""

import click

from voiceflow.audio.devices import WITHOUT_MICROPHONE, describe_fault, sound_library
from voiceflow.errors import AudioDeviceError


@click.command("mic")
def command() -> int:
    """List microphones and speakers, and say what is missing.

    \b
    Example:
      voiceflow mic

    The star marks the one that is used. Ends with status 2 if there is no
    microphone to listen with.
    """
    library = sound_library("microphone", WITHOUT_MICROPHONE)
    try:
        devices = list(library.query_devices())
        default_in, default_out = library.default.device
    except library.PortAudioError as error:
        raise AudioDeviceError("sound", describe_fault(error), WITHOUT_MICROPHONE) from error
    for title, key, default in (
        ("Microphones", "max_input_channels", default_in),
        ("Speakers", "max_output_channels", default_out),
    ):
        found = [device for device in devices if device[key] > 0]
        click.echo(f"{title}:" if found else f"{title}: none")
        for device in found:
            star = "*" if device["index"] == default else " "
            rate = device["default_samplerate"]
            click.echo(f" {star} {device['name']} ({device[key]} channels, {rate:.0f} Hz)")
    if not any(device["max_input_channels"] > 0 for device in devices):
        raise AudioDeviceError(
            "microphone",
            "no microphone is connected, or the system does not let programs use it",
            WITHOUT_MICROPHONE,
        )
    return 0
