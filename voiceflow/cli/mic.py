"""``voiceflow mic``: which sound devices there are, and the sound check."""

from pathlib import Path

import click

from voiceflow.audio.devices import WITHOUT_MICROPHONE, describe_fault, sound_library
from voiceflow.errors import AudioDeviceError, UsageError


@click.command("mic")
@click.option(
    "--sound-check",
    "name",
    metavar="NAME",
    default=None,
    help="Say known phrases, so that PocketSphinx learns your voice; NAME names the profile.",
)
@click.option(
    "--audio",
    metavar="WAV",
    multiple=True,
    type=click.Path(path_type=Path),
    help="Recording of one phrase of the sound check, once for each of the eighteen in their "
    "order, instead of the microphone.",
)
def command(name: str | None, audio: tuple[Path, ...]) -> int:
    """List microphones and speakers, and say what is missing; or do a sound check.

    The sound check asks for eighteen short phrases, in English: fourteen of digits,
    four of words. It tells your level and the noise, with advice if something is
    wrong, and learns your voice for about a minute. The profile keeps the level, how
    your microphone sounds, how sure a number must be in your voice, and an adapted
    model if phrases that it did not learn from are heard no worse; of the sound
    itself nothing is kept.

    \b
    Examples:
      voiceflow mic
      voiceflow mic --sound-check anna

    The star marks the one that is used. Ends with status 2 if there is no
    microphone to listen with.
    """
    if name is not None:
        # lazy: the list of devices needs no recogniser
        from voiceflow.cli.sound_check import sound_check

        return sound_check(name, audio)
    if audio:
        raise UsageError("--audio belongs to a sound check", "Give --sound-check NAME too.")
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
