"""``voiceflow mic``: which sound devices there are, how loud it is, the sound check."""

from pathlib import Path

import click

from voiceflow.audio.devices import WITHOUT_MICROPHONE, Direction, find_device, list_devices
from voiceflow.cli import options
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
@click.option(
    "--level",
    "seconds",
    metavar="[SECONDS]",
    type=click.FloatRange(min=0.1),
    is_flag=False,
    flag_value=10.0,
    default=None,
    help="Show how loud the microphone is, for 10 seconds or as many as you say.",
)
@options.microphone
def command(
    name: str | None, audio: tuple[Path, ...], seconds: float | None, microphone: str | None
) -> int:
    """List microphones and speakers, and say what is missing; a level meter; a sound check.

    The sound check asks for eighteen short phrases, in English: fourteen of digits,
    four of words. It tells your level and the noise, with advice if something is
    wrong, and learns your voice for about a minute. The profile keeps the level, how
    your microphone sounds, how sure a number must be in your voice, and an adapted
    model if phrases that it did not learn from are heard no worse; of the sound
    itself nothing is kept.

    \b
    Examples:
      voiceflow mic
      voiceflow mic --level
      voiceflow mic --level 5 --microphone headset
      voiceflow mic --sound-check anna

    The star marks the one that is used. Ends with status 2 if there is no
    microphone to listen with, and with 1 if the level will not do.
    """
    if seconds is not None:
        if name is not None or audio:
            raise UsageError("--level and --sound-check exclude each other", "Give one of them.")
        # lazy: the list of devices needs no arithmetic
        from voiceflow.cli.level import show_level

        return show_level(microphone, seconds)
    if name is not None:
        if microphone is not None and audio:
            raise UsageError("--audio and --microphone exclude each other", "Give one of them.")
        # lazy: the list of devices needs no recogniser
        from voiceflow.cli.sound_check import sound_check

        return sound_check(name, audio, microphone)
    if audio:
        raise UsageError("--audio belongs to a sound check", "Give --sound-check NAME too.")
    used = None if microphone is None else find_device(microphone, Direction.INPUT).index
    found = {direction: list_devices(direction) for direction in Direction}
    for direction, title in ((Direction.INPUT, "Microphones"), (Direction.OUTPUT, "Speakers")):
        click.echo(f"{title}:" if found[direction] else f"{title}: none")
        for device in found[direction]:
            is_used = device.is_default
            if used is not None and direction is Direction.INPUT:
                is_used = device.index == used
            star = "*" if is_used else " "
            click.echo(f" {star} {device.name} ({device.channels} channels, {device.rate_hz} Hz)")
    if not found[Direction.INPUT]:
        raise AudioDeviceError(
            "microphone",
            "no microphone is connected, or the system does not let programs use it",
            WITHOUT_MICROPHONE,
        )
    return 0
