"""The sound check of ``voiceflow mic``: known phrases, from the microphone or from files."""

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import click
import numpy as np

from voiceflow.audio.frames import Frame, Samples
from voiceflow.audio.wav import read_recording
from voiceflow.errors import AudioDeviceError, UsageError
from voiceflow.languages.registry import language
from voiceflow.recognition.endpointing import SpeechStarted
from voiceflow.recognition.profile import profile_folder, save_profile
from voiceflow.recognition.sound_check import PHRASES, Phrase, learn
from voiceflow.session.ears import SpeechFinder

LANGUAGE = "en"


def sound_check(name: str, audio: tuple[Path, ...], microphone: str | None = None) -> int:
    """Learn a speaker and keep the profile, if held-out phrases speak for it.

    Args:
        name: Of the profile.
        audio: A recording of each phrase, in their order; none: the microphone.
        microphone: Its name or part of it; none: the usual one.

    Raises:
        UsageError: If the name or the number of recordings will not do, or the phrases
            cannot be found in the sound.
        AudioFileError, AudioDeviceError: If nothing can be heard.
    """
    folder = profile_folder(name)
    sounds = _from_files(audio) if audio else _from_microphone(microphone)
    phrases = [
        Phrase(words=tuple(text.split()), samples=samples)
        for text, samples in zip(PHRASES, sounds, strict=True)
    ]
    click.echo("Learning ...", err=True)
    profile = learn(name, phrases, language(LANGUAGE))
    click.echo(profile.verdict)
    if profile.helps:
        save_profile(profile, folder)
        click.echo(f"Use it with --profile {name}. It is kept in {folder}.")
    else:
        click.echo("Go on without a profile, or try again in a quieter place.")
    return 0


def _from_files(audio: tuple[Path, ...]) -> Iterator[Samples]:
    if len(audio) != len(PHRASES):
        said = "; ".join(PHRASES)
        what = f"{len(audio)} recordings were given for {len(PHRASES)} phrases"
        raise UsageError(what, f"Give one --audio for each, in this order: {said}.")
    yield from (read_recording(path) for path in audio)


def _from_microphone(device: str | None) -> Iterator[Samples]:
    # lazy: the speech detector takes a moment to load, and files do without
    from voiceflow.audio.microphone import MicrophoneSource
    from voiceflow.recognition.endpointing import Endpointer
    from voiceflow.settings import Settings

    finder = Endpointer(Settings().endpointing)
    with closing(MicrophoneSource(device)) as source:
        frames = source.frames()
        for number, text in enumerate(PHRASES, start=1):
            click.echo(f"{number} of {len(PHRASES)}, say: {text}")
            yield next_utterance(frames, finder)


def next_utterance(frames: Iterator[Frame], finder: SpeechFinder) -> Samples:
    """Give the sound of the next utterance, with the quiet around it.

    Raises:
        AudioDeviceError: If the sound ends before.
    """
    kept: list[Frame] = []
    for frame in frames:
        found = finder.feed(frame)
        if kept:
            kept.append(frame)
        for event in found:
            if isinstance(event, SpeechStarted):
                kept = list(event.preroll)
            elif kept:
                return np.concatenate([piece.samples for piece in kept])
    what = "the sound ended before the sound check did"
    raise AudioDeviceError("microphone", what, "Do the sound check again")
