"""Real people's spoken digits, spliced into readings: what synthetic speech cannot tell.

``python -m voiceflow.evaluation.people FOLDER`` reads recordings of single digits
(DIGIT_SPEAKER_N.wav), joins them into strings of 3 and 4 digits with 50 to 250 ms
between them, hears each with the grammar of a plain gauge of 0 to 9999, and prints
the counts of each speaker. The recordings are not part of this project; any folder
with files of such names will do.

Recordings are parted by their number N before anything is measured, for each speaker
and digit: ``Part.CHECK`` is what a sound check may learn from, ``Part.DEVELOPMENT``
is for choosing settings, and only ``Part.SCORING`` gives figures to publish. No
recording serves two parts. Within a part a recording may recur in several strings,
so that intervals, which take strings for independent, are somewhat too narrow.
"""

import random
import re
import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from pathlib import Path
from typing import Final

import numpy as np

from voiceflow.audio.frames import RATE_HZ, Samples
from voiceflow.audio.wav import RecordingSource, read_recording
from voiceflow.checks.model import Item, Limit, ReadingSpec
from voiceflow.dialogue.events import Utterance
from voiceflow.dialogue.policy import Decision, decide
from voiceflow.errors import UsageError, VoiceflowError
from voiceflow.evaluation.metrics import Interval, Result, is_same, judge_utterance, wilson
from voiceflow.grammar.item_grammar import ItemGrammar, compile_item
from voiceflow.grammar.meaning import Reading
from voiceflow.languages.registry import language
from voiceflow.numbers.scale import Scale
from voiceflow.recognition.profile import recogniser_for
from voiceflow.recognition.recogniser import Recogniser
from voiceflow.recognition.sound_check import DIGIT_PHRASES, Phrase, learn
from voiceflow.recognition.two_front_ends import TwoFrontEnds
from voiceflow.settings import Settings
from voiceflow.understanding.interpret import interpret

_NAME: Final = re.compile(r"(?P<digit>\d)_(?P<speaker>[^_]+)_(?P<number>\d+)\.wav")
_SHORTEST_GAP_S: Final = 0.05
_LONGEST_GAP_S: Final = 0.25
_MARGIN_S: Final = 0.3
#: Of every ten recordings of a digit, how many go to the sound check and to development.
_CHECK_TENTHS: Final = 2
_DEVELOPMENT_TENTHS: Final = 5
_WORDS: Final = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")

#: A gauge of 0 to 9999 without a name or a limit: every string of digits is a reading.
GAUGE: Final = Item(
    id="gauge",
    challenge="Gauge",
    reading=ReadingSpec(
        names=(),
        unit="",
        scale=Scale(lowest=Decimal(0), highest=Decimal(9999), step=Decimal(1)),
        limit=Limit(),
    ),
)


class Part(StrEnum):
    """What a recording may be used for."""

    CHECK = "sound check"
    DEVELOPMENT = "development"
    SCORING = "scoring"


@dataclass(frozen=True, slots=True, kw_only=True)
class Spoken:
    """A string of digits in one person's voice.

    Attributes:
        speaker: Who, as the files have it.
        digits: What is said, "0" to "9" each.
        samples: int16 mono at 16 kHz, 0.3 s of quiet before and after.
    """

    speaker: str
    digits: str
    samples: Samples

    @property
    def words(self) -> tuple[str, ...]:
        """What is said, in words."""
        return tuple(_WORDS[int(digit)] for digit in self.digits)


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """What became of one string.

    Attributes:
        digits: What was said.
        words: What was heard.
        value_right: Its value is the one that was said, whatever is done with it.
        result: What the dialogue does with it while the gauge is asked.
        decision: The same, whether right or wrong.
        confidence: 0 to 1.
    """

    digits: str
    words: tuple[str, ...]
    value_right: bool
    result: Result
    decision: Decision
    confidence: float


def part_of(number: int) -> Part:
    """Tell what the recording of that number may be used for."""
    tenth = number % 10
    if tenth < _CHECK_TENTHS:
        return Part.CHECK
    return Part.DEVELOPMENT if tenth < _DEVELOPMENT_TENTHS else Part.SCORING


class Recordings:
    """The recordings in a folder, by speaker, part and digit."""

    def __init__(self, folder: Path) -> None:
        """Look through the folder; sound is read when it is asked for.

        Raises:
            UsageError: If there is no such folder, or no recording in it.
        """
        remedy = "Name a folder with recordings of single digits: DIGIT_SPEAKER_N.wav."
        if not folder.is_dir():
            what = f"there is no folder {folder}: nothing was measured"
            raise UsageError(what, remedy)
        self._paths: dict[tuple[str, Part, str], list[Path]] = {}
        self._sounds: dict[Path, Samples] = {}
        for path in sorted(folder.iterdir()):
            named = _NAME.fullmatch(path.name)
            if named is not None:
                key = (named["speaker"], part_of(int(named["number"])), named["digit"])
                self._paths.setdefault(key, []).append(path)
        if not self._paths:
            what = f"no file in {folder} is named as a recording of a digit: nothing was measured"
            raise UsageError(what, remedy)

    @property
    def speakers(self) -> tuple[str, ...]:
        """Everybody in the folder, sorted."""
        return tuple(sorted({speaker for speaker, _, _ in self._paths}))

    def paths(self, speaker: str, part: Part, digit: str) -> tuple[Path, ...]:
        """Give the recordings of a digit that serve a part, sorted by name."""
        return tuple(self._paths.get((speaker, part, digit), ()))

    def strings(self, speaker: str, part: Part, count: int, seed: int) -> Iterator[Spoken]:
        """Give strings of 3 and 4 digits in turn; the first is not zero.

        Args:
            speaker: One of ``speakers``.
            part: Which recordings to take.
            count: How many strings.
            seed: The same seed gives the same strings.

        Raises:
            UsageError: If the part has a digit that the person did not say.
            AudioFileError: If a recording cannot be read.
        """
        draw = random.Random(f"{seed} {speaker} {part}")
        for number in range(count):
            digits = str(draw.randrange(1, 10)) + "".join(
                str(draw.randrange(10)) for _ in range(2 + number % 2)
            )
            yield self._say(speaker, part, digits, draw)

    def sound_check(self, speaker: str, seed: int) -> tuple[Phrase, ...]:
        """Give the phrases of the sound check in a speaker's voice.

        Raises:
            UsageError: If the part for it has a digit that the person did not say.
            AudioFileError: If a recording cannot be read.
        """
        draw = random.Random(f"{seed} {speaker} {Part.CHECK}")
        found: list[Phrase] = []
        for text in DIGIT_PHRASES:
            words = tuple(text.split())
            digits = "".join(str(_WORDS.index(word)) for word in words)
            spoken = self._say(speaker, Part.CHECK, digits, draw)
            found.append(Phrase(words=words, samples=spoken.samples))
        return tuple(found)

    def _say(self, speaker: str, part: Part, digits: str, draw: random.Random) -> Spoken:
        pieces: list[Samples] = []
        for digit in digits:
            paths = self.paths(speaker, part, digit)
            if not paths:
                what = f"{speaker} says no {digit} among the recordings for {part}"
                raise UsageError(what, "Ten recordings of each digit are needed at least.")
            pieces.append(self._sound(draw.choice(paths)))
        gaps = [draw.uniform(_SHORTEST_GAP_S, _LONGEST_GAP_S) for _ in digits[1:]]
        return Spoken(speaker=speaker, digits=digits, samples=splice(pieces, gaps))

    def _sound(self, path: Path) -> Samples:
        if path not in self._sounds:
            self._sounds[path] = read_recording(path)
        return self._sounds[path]


def splice(pieces: Sequence[Samples], gaps_s: Sequence[float]) -> Samples:
    """Join recordings with silence between, and 0.3 s of it before and after.

    Args:
        pieces: int16 mono at 16 kHz, at least one.
        gaps_s: Seconds of silence between each and the next.
    """
    joined: list[Samples] = [_silence(_MARGIN_S), pieces[0]]
    for gap_s, piece in zip(gaps_s, pieces[1:], strict=True):
        joined += [_silence(gap_s), piece]
    joined.append(_silence(_MARGIN_S))
    return np.concatenate(joined)


def hear_strings(
    strings: Iterable[Spoken], recogniser: Recogniser, grammar: ItemGrammar
) -> tuple[Heard, ...]:
    """Hear each string as one utterance and judge what the dialogue would do with it."""
    settings = Settings()
    recogniser.listen(grammar)
    found: list[Heard] = []
    for spoken in strings:
        for frame in RecordingSource(spoken.samples).frames():
            recogniser.feed(frame)
        hypothesis = recogniser.finish()
        meaning = interpret(hypothesis, grammar, grammar.language)
        utterance = Utterance(
            text=" ".join(hypothesis.words),
            meaning=meaning,
            confidence=hypothesis.confidence,
            engine=hypothesis.engine,
            speech_start_s=hypothesis.start_s,
            speech_end_s=hypothesis.end_s,
        )
        meant = Reading(value=Decimal(spoken.digits), unit="")
        decision = decide(utterance, GAUGE, settings.policy)
        found.append(
            Heard(
                digits=spoken.digits,
                words=hypothesis.words,
                value_right=is_same(meant, meaning),
                result=judge_utterance(meant, meaning, decision),
                decision=decision,
                confidence=hypothesis.confidence,
            )
        )
    return tuple(found)


def gauge_grammar() -> ItemGrammar:
    """Compile the grammar of ``GAUGE`` in English."""
    return compile_item(GAUGE, language("en"))


def rows(heard: Mapping[str, Sequence[Heard]]) -> Iterator[str]:
    """Give a line for each speaker, with 95 % intervals, and the mean over speakers.

    Args:
        heard: Speaker -> the strings.
    """
    yield (
        f"{'speaker':<12} {'strings':>7}  {'value right':<22}{'right at first':<22}"
        f"{'... no question':<22}{'wrong, no question':<22}"
    )
    shares: list[tuple[float, ...]] = []
    for speaker, strings in heard.items():
        counts = (
            sum(string.value_right for string in strings),
            sum(string.result is Result.RIGHT for string in strings),
            sum(_is_taken(string) and string.value_right for string in strings),
            sum(string.result is Result.WRONG_ACCEPTED for string in strings),
        )
        total = len(strings)
        cells = "".join(f"{_share(count, total):<22}" for count in counts)
        yield f"{speaker:<12} {total:>7}  {cells}".rstrip()
        shares.append(tuple(count / total for count in counts))
    means = "".join(
        f"{100 * sum(column) / len(column):.1f} %".ljust(22) for column in zip(*shares, strict=True)
    )
    yield f"{'mean':<12} {'':>7}  {means}".rstrip()


def _is_taken(string: Heard) -> bool:
    return string.decision is Decision.ACCEPT


def main(arguments: Sequence[str] | None = None) -> int:
    """Measure and print; 2 if the folder cannot be used."""
    parser = ArgumentParser(prog="python -m voiceflow.evaluation.people", description=__doc__)
    parser.add_argument("folder", type=Path, help="recordings named DIGIT_SPEAKER_N.wav")
    parser.add_argument("--strings", type=int, default=100, help="strings a speaker")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument(
        "--part", type=Part, choices=list(Part), default=Part.SCORING, help="which recordings"
    )
    parser.add_argument(
        "--sound-check", action="store_true", help="adapt to each speaker before (PocketSphinx)"
    )
    given = parser.parse_args(arguments)
    try:
        recordings = Recordings(given.folder)
        grammar = gauge_grammar()
        heard: dict[str, tuple[Heard, ...]] = {}
        for speaker in recordings.speakers:
            strings = recordings.strings(speaker, given.part, given.strings, given.seed)
            # a new one for each speaker: it carries what it learns of a microphone
            with closing(_recogniser(recordings, speaker, grammar, given)) as recogniser:
                heard[speaker] = hear_strings(strings, recogniser, grammar)
    except VoiceflowError as error:
        sys.stderr.write(f"people: {error}\n")
        return 2
    after = "after" if given.sound_check else "without"
    title = f"Spliced recordings of people's digits, {given.part}, {after} a sound check, seed {given.seed}"
    sys.stdout.write("\n".join((f"{title}; 95 % intervals.", *rows(heard), "")))
    return 0


def _recogniser(
    recordings: Recordings, speaker: str, grammar: ItemGrammar, given: Namespace
) -> Recogniser:
    """Load PocketSphinx, with what a sound check learnt of the speaker if that is wished."""
    if given.sound_check:
        phrases = recordings.sound_check(speaker, given.seed)
        profile = learn(speaker, phrases, grammar.language)
        sys.stderr.write(f"{profile.verdict}\n")
        return recogniser_for(profile, grammar.language)
    return TwoFrontEnds(grammar.language)


def _silence(seconds: float) -> Samples:
    return np.zeros(round(seconds * RATE_HZ), dtype=np.int16)


def _share(count: int, total: int) -> str:
    bounds: Interval = wilson(count, total)
    share = 100 * count / total if total else 0.0
    return f"{share:.0f} % ({100 * bounds.low:.0f} to {100 * bounds.high:.0f})"


if __name__ == "__main__":
    sys.exit(main())
