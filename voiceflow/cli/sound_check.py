"""The sound check of ``voiceflow mic``: known phrases, from the microphone or from files."""

from collections import deque
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

import click
import numpy as np

from voiceflow.audio.frames import Frame, Samples
from voiceflow.audio.wav import read_recording
from voiceflow.errors import AudioDeviceError, UsageError
from voiceflow.languages.registry import language
from voiceflow.recognition.endpointing import SpeechStarted
from voiceflow.recognition.levels import advice, measure
from voiceflow.recognition.profile import profile_folder, save_profile
from voiceflow.recognition.sound_check import PHRASES, Phrase, learn
from voiceflow.session.ears import SpeechFinder

LANGUAGE = "en"
# 2 s: what the running noise spectrum remembers
_QUIET_FRAMES = 100


def sound_check(name: str, audio: tuple[Path, ...], microphone: str | None = None) -> int:
    """Learn a speaker and keep the profile; the adaptation if held-out phrases speak for it.

    Args:
        name: Of the profile.
        audio: A recording of each of ``PHRASES``, in their order; none: the microphone.
        microphone: Its name or part of it; none: the usual one.

    Raises:
        UsageError: If the name or the number of recordings will not do, or the phrases
            cannot be found in the sound.
        AudioFileError, AudioDeviceError: If nothing can be heard.
    """
    folder = profile_folder(name)
    sounds = _from_files(audio) if audio else _from_microphone(microphone)
    phrases = [
        Phrase(words=tuple(text.split()), samples=sound.samples, quiet=sound.quiet)
        for text, sound in zip(PHRASES, sounds, strict=True)
    ]
    # before learning, which may find no words: a bad level is the likely reason
    levels = measure([(phrase.samples, phrase.quiet) for phrase in phrases])
    click.echo(levels.sentence)
    for sentence in advice(levels):
        click.echo(sentence)
    click.echo("Learning, for about a minute ...", err=True)
    profile = save_profile(learn(name, phrases, language(LANGUAGE)), folder)
    click.echo(profile.verdict)
    if profile.sureness is not None:
        click.echo(profile.sureness.sentence)
    click.echo(f"Use it with --profile {name}. It is kept in {folder}.")
    return 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Sound:
    """One phrase.

    Attributes:
        samples: int16 mono at 16 kHz, with some quiet around it.
        quiet: What was heard before, while nobody spoke; may be empty.
    """

    samples: Samples
    quiet: Samples


def _from_files(audio: tuple[Path, ...]) -> Iterator[Sound]:
    if len(audio) != len(PHRASES):
        said = "; ".join(PHRASES)
        what = f"{len(audio)} recordings were given for {len(PHRASES)} phrases"
        raise UsageError(what, f"Give one --audio for each, in this order: {said}.")
    nothing = np.zeros(0, dtype=np.int16)
    for path in audio:
        yield Sound(samples=read_recording(path), quiet=nothing)


def _from_microphone(device: str | None) -> Iterator[Sound]:
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


def next_utterance(frames: Iterator[Frame], finder: SpeechFinder) -> Sound:
    """Give the sound of the next utterance, and what was heard before it.

    Raises:
        AudioDeviceError: If the sound ends before.
    """
    kept: list[Frame] = []
    quiet: deque[Frame] = deque(maxlen=_QUIET_FRAMES)
    for frame in frames:
        found = finder.feed(frame)
        if kept:
            kept.append(frame)
        else:
            quiet.append(frame)
        for event in found:
            if isinstance(event, SpeechStarted):
                kept = list(event.preroll)
            elif kept:
                # the preroll is in the utterance, and its end may be speech
                before = [piece for piece in quiet if piece.end_s <= kept[0].start_s]
                return Sound(samples=_joined(kept), quiet=_joined(before))
    what = "the sound ended before the sound check did"
    raise AudioDeviceError("microphone", what, "Do the sound check again")


def _joined(frames: Sequence[Frame]) -> Samples:
    empty = np.zeros(0, dtype=np.int16)
    return np.concatenate([empty, *(frame.samples for frame in frames)])
