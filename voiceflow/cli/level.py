"""The level meter of ``voiceflow mic``: is the microphone loud enough, and not too loud?"""

import sys
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from typing import Final

import click
import numpy as np

from voiceflow.audio.frames import Samples
from voiceflow.audio.level import SILENCE_DB, LevelMeter, peak_db
from voiceflow.settings import MeterSettings

_LOWEST_DB: Final = -80.0  # of the bar


def show_level(device: str | None, seconds: float) -> int:
    """Listen for some seconds, show how loud it is, and say what is amiss.

    Args:
        device: Name of the microphone or part of it; None: the usual one.
        seconds: How long.

    Returns:
        0 if speech was heard at a good level, else 1.

    Raises:
        AudioDeviceError: If there is no microphone, or it stops.
    """
    # lazy: the speech detector takes a moment to load
    from voiceflow.audio.microphone import MicrophoneSource
    from voiceflow.recognition.endpointing import CHUNK_SAMPLES, Detector

    meter = LevelMeter()
    detector = Detector()
    threshold = MeterSettings().speech_probability
    with closing(MicrophoneSource(device)) as source:
        click.echo(f"{source.name}: speak as you would in a check, for {seconds:g} seconds.")
        waiting: list[Samples] = []
        with _bar() as show:
            for frame in source.frames():
                waiting.append(frame.samples)
                sound = np.concatenate(waiting)
                while len(sound) >= CHUNK_SAMPLES:
                    chunk, sound = sound[:CHUNK_SAMPLES], sound[CHUNK_SAMPLES:]
                    meter.take(chunk, is_speech=detector(chunk) > threshold)
                    show(peak_db(chunk))
                waiting = [sound]
                if frame.end_s >= seconds:
                    break
    for line in told(meter):
        click.echo(line)
    return 0 if advice(meter) is None else 1


def told(meter: LevelMeter) -> Iterator[str]:
    """Give what was measured, and what to do about it."""
    speech_db = meter.speech_db
    speech = "no speech" if speech_db is None else f"speech {speech_db:.0f} dBFS"
    yield f"Peak {meter.peak_db:.0f} dBFS, {speech}."
    yield advice(meter) or "That is a good level."


def advice(meter: LevelMeter, settings: MeterSettings | None = None) -> str | None:
    """Give what to do; None if all is well.

    Args:
        meter: What was measured.
        settings: The thresholds; the usual ones if none.
    """
    settings = settings or MeterSettings()
    if meter.peak_db <= settings.no_signal_db:
        return (
            "There is no signal: the microphone is muted or off, or another one is in use. "
            "Choose one with --microphone NAME."
        )
    if meter.clipped >= settings.clipped_samples:
        return "It is too loud: the sound is clipped. Turn the microphone down, or move away."
    speech_db = meter.speech_db
    if speech_db is None:
        return "Nobody was heard to speak. Speak, or choose another microphone: --microphone NAME."
    if speech_db < settings.quiet_db:
        return "It is too quiet: turn the microphone up, or come nearer."
    return None


@contextmanager
def _bar() -> Iterator[Callable[[float], None]]:
    """Give what shows a level: a bar in a terminal, nothing elsewhere."""
    if not sys.stdout.isatty():
        yield lambda _: None
        return
    from rich.progress import BarColumn, Progress, TextColumn

    columns = (TextColumn("level"), BarColumn(), TextColumn("{task.fields[text]}"))
    with Progress(*columns, transient=True) as progress:
        task = progress.add_task("level", total=-_LOWEST_DB, text="")

        def show(level_db: float) -> None:
            text = "silence" if level_db <= SILENCE_DB else f"{level_db:4.0f} dBFS"
            progress.update(task, completed=max(0.0, level_db - _LOWEST_DB), text=text)

        yield show
