"""What a sound check does for a synthetic voice that nothing here was fitted to.

Run it as::

    python -m voiceflow.evaluation.new_speaker audio_fixtures/manifest.csv

For each voice of espeak-ng that is named, the phrases of the sound check are spoken in a
temporary folder and learnt; then the voice says texts of the manifest, none of which is a
phrase of the sound check, and each is heard at its item by the way of a run, without the
profile and with it. It prints counts and 95 % intervals. Synthetic speech: it tells whether
adaptation works and does no harm, not how well people are heard (``people.py``).
"""

import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

import numpy as np

from voiceflow.audio.frames import RATE_HZ, Samples
from voiceflow.audio.wav import read_recording
from voiceflow.errors import UsageError, VoiceflowError
from voiceflow.evaluation.manifest import CLEAN, Row, load_manifest
from voiceflow.evaluation.metrics import Result, judge_recording, wilson
from voiceflow.evaluation.noise import seed_of
from voiceflow.evaluation.training import TALKERS, items_of, say
from voiceflow.languages.registry import language
from voiceflow.recognition.profile import recogniser_for
from voiceflow.recognition.recogniser import Recogniser
from voiceflow.recognition.sound_check import DIGIT_PHRASES, PHRASES, Phrase, learn
from voiceflow.recognition.two_front_ends import TwoFrontEnds
from voiceflow.session.hearing import hear

#: In no recording of the fixtures and in no training.
VOICES: Final = ("en-gb-x-rp+f5", "en-gb-scotland+m5")
_RATE_WPM: Final = 145
#: Whose texts are said again: those of one voice, so that each comes once.
_TEXTS_OF: Final = "flite slt"


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """A text of the manifest in a new voice.

    Attributes:
        row: Text, item, and what it means.
        samples: int16 mono at 16 kHz.
    """

    row: Row
    samples: Samples


def texts(rows: Sequence[Row], readings: int, words: int) -> list[Row]:
    """Choose what is said: so many readings, and so many responses and commands.

    Args:
        rows: The manifest.
        readings: At most so many, evenly over the manifest.
        words: At most so many responses and commands, likewise.
    """
    clean = [row for row in rows if row.condition == CLEAN and row.voice == _TEXTS_OF]
    apart = [row for row in clean if row.text not in PHRASES]
    return [
        *_evenly([row for row in apart if row.kind == "reading"], readings),
        *_evenly([row for row in apart if row.kind in ("response", "command")], words),
    ]


def sound_check_of(voice: str, phrases: Sequence[str], folder: Path) -> Iterator[Phrase]:
    """Let a voice say phrases of the sound check, each with the quiet before it."""
    dice = np.random.default_rng(seed_of(voice, 1))
    path = folder / "phrase.wav"
    for text in phrases:
        start_s, _ = say(text, voice, _RATE_WPM, path, dice)
        samples = read_recording(path)
        # half of the lead goes before the phrase, as the microphone's preroll does
        cut = round(start_s / 2 * RATE_HZ)
        yield Phrase(words=tuple(text.split()), samples=samples[cut:], quiet=samples[:cut])


def spoken(voice: str, rows: Sequence[Row], folder: Path) -> list[Said]:
    """Let a voice say texts."""
    dice = np.random.default_rng(seed_of(voice, 2))
    path = folder / "text.wav"
    found: list[Said] = []
    for row in rows:
        say(row.text, voice, _RATE_WPM, path, dice)
        found.append(Said(row=row, samples=read_recording(path)))
    return found


def results(said: Sequence[Said], recogniser: Recogniser) -> list[Result]:
    """Hear each text at its item; what the dialogue would make of it."""
    items = items_of()
    found: list[Result] = []
    for one in said:
        item, grammar = items[one.row.check, one.row.item]
        hearings = hear(
            one.samples,
            item=item,
            grammar=grammar,
            language=grammar.language,
            recogniser=recogniser,
        )
        heard = [(hearing.utterance.meaning, hearing.decision) for hearing in hearings]
        found.append(judge_recording(one.row.meaning, heard))
    return found


def line(voice: str, what: str, when: str, found: Sequence[Result]) -> str:
    """Give a row of the table."""
    cells = "".join(
        f"{_share(found.count(result), len(found)):<30}"
        for result in (Result.RIGHT, Result.WRONG_ACCEPTED)
    )
    return f"{voice:<20}{what:<24}{when:<9}{cells}".rstrip()


def main(arguments: Sequence[str] | None = None) -> int:
    """Measure and print; 2 if something that is needed is missing."""
    parser = ArgumentParser(prog="python -m voiceflow.evaluation.new_speaker", description=__doc__)
    parser.add_argument("manifest", type=Path)
    parser.add_argument("--voice", action="append", help="a voice of espeak-ng; may be repeated")
    parser.add_argument("--readings", type=int, default=60)
    parser.add_argument("--words", type=int, default=40, help="responses and commands")
    parser.add_argument(
        "--digits-only", action="store_true", help="a sound check without the phrases of words"
    )
    given = parser.parse_args(arguments)
    try:
        _measure(given)
    except VoiceflowError as error:
        sys.stderr.write(f"new_speaker: {error}\n")
        return 2
    return 0


def _measure(given: Namespace) -> None:
    pack = language("en")
    voices = given.voice or VOICES
    known = sorted(set(voices) & {name for name, _ in TALKERS})
    if known:
        what = f"the confidence is fitted to {', '.join(known)}"
        raise UsageError(what, "Name voices that are new.")
    rows = texts(load_manifest(given.manifest), given.readings, given.words)
    check = DIGIT_PHRASES if given.digits_only else PHRASES
    title = f"Synthetic voices, before and after a sound check of {len(check)} phrases"
    head = f"{'voice':<20}{'said':<24}{'':<9}{'right at first':<30}wrong, no question"
    sys.stdout.write(f"{title}; 95 % intervals.\n{head}\n")
    for voice in voices:
        with TemporaryDirectory(prefix="voiceflow-") as name:
            profile = learn(voice, list(sound_check_of(voice, check, Path(name))), pack)
            said = spoken(voice, rows, Path(name))
        sys.stderr.write(f"{profile.verdict}\n{profile.levels.sentence}\n")
        for when in ("before", "after"):
            loaded = TwoFrontEnds(pack) if when == "before" else recogniser_for(profile, pack)
            with closing(loaded) as recogniser:
                found = results(said, recogniser)
            is_reading = [one.row.kind == "reading" for one in said]
            for what, wanted in (("readings", True), ("responses and commands", False)):
                part = [
                    result for result, one in zip(found, is_reading, strict=True) if one is wanted
                ]
                sys.stdout.write(line(voice, what, when, part) + "\n")
            sys.stdout.flush()


def _evenly(rows: Sequence[Row], count: int) -> list[Row]:
    if len(rows) <= count:
        return list(rows)
    return [rows[place * len(rows) // count] for place in range(count)]


def _share(count: int, total: int) -> str:
    bounds = wilson(count, total)
    share = 100 * count / total if total else 0.0
    return f"{count} of {total}, {share:.0f} % ({100 * bounds.low:.0f} to {100 * bounds.high:.0f})"


if __name__ == "__main__":
    sys.exit(main())
