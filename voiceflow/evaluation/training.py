"""Fitting the model that turns what two front ends heard into a confidence.

Run it as::

    python -m voiceflow.evaluation.training audio_fixtures/manifest.csv

It hears the recordings that are for training, in noise and in quiet, at their own pitch
and as other people's (played faster and slower), and talk that answers nothing at items
of both checks. Then it fits a logistic model to what was measured of each utterance that
came out as a phrase, prints how it does on the voices it was fitted to, and writes the
weights with these figures where the program reads them. No voice that scores takes part.

The recorded voices are easy to hear, and a model fitted to them alone would believe nobody
else. So the same texts are also said by further talkers of espeak-ng's British English,
made while training: that program has to be there.
"""

import argparse
import csv
import json
import re
import shutil
import subprocess
import sys
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import soxr
from numpy.typing import NDArray
from typing_extensions import override

from voiceflow.audio.frames import RATE_HZ, Samples
from voiceflow.audio.wav import read_recording, write_wav
from voiceflow.checks.loader import load_check
from voiceflow.checks.model import Item
from voiceflow.checks.shipped import find_check
from voiceflow.errors import UsageError
from voiceflow.evaluation.logistic import fit_weights
from voiceflow.evaluation.manifest import CLEAN, Role, Row, load_manifest
from voiceflow.evaluation.metrics import is_same
from voiceflow.evaluation.noise import Noise, seed_of
from voiceflow.evaluation.run import SOUND, sound_of
from voiceflow.grammar.item_grammar import ItemGrammar, compile_item
from voiceflow.grammar.meaning import NoMatch
from voiceflow.languages.registry import language
from voiceflow.recognition.evidence import MEASURES, Evidence, Model
from voiceflow.recognition.two_front_ends import TwoFrontEnds
from voiceflow.session.hearing import hear
from voiceflow.understanding.hypothesis import Hypothesis

#: Noise and ratio in decibels, and how fast: each answer is heard in some of these, in turn.
CONDITIONS: tuple[tuple[Noise | None, float, float], ...] = (
    (None, 0.0, 1.0),
    (Noise.PINK, 15.0, 1.0),
    (None, 0.0, 1.14),
    (Noise.PINK, 20.0, 1.0),
    (None, 0.0, 0.88),
    (Noise.PINK, 10.0, 1.0),
    (Noise.BROWN, 10.0, 1.0),
    (Noise.PINK, 8.0, 1.0),
)
FEW_CONDITIONS = (CONDITIONS[0], CONDITIONS[1], CONDITIONS[5], CONDITIONS[0], CONDITIONS[3])
#: In how many of them, and at how many items talk is heard.
ANSWER_TURNS = 2
TALK_TURNS = 2
#: Further talkers: espeak-ng's variants of British English, and how fast, words a minute;
#: how many answers each gives, and how much other talk.
TALKERS = (
    ("en-gb+m1", 150),
    ("en-gb+m3", 130),
    ("en-gb+m7", 165),
    ("en-gb+f1", 140),
    ("en-gb+f2", 155),
    ("en-gb+f4", 130),
    ("en-gb+croak", 150),
    ("en-gb+klatt2", 145),
)
TALKER_ANSWERS = 16
TALKER_TALK = 6
_LEAD_S = 0.6
_TRAIL_S = 0.8
#: Level of speech and of the quiet room round it, decibels below full scale.
_SPEECH_DB = -26.0
_ROOM_DB = -84.0
#: A worse fit, a disagreement, more noise never count for an answer.
NEVER_POSITIVE = frozenset(MEASURES) - {"shortness", "reading", "loud"}
NEVER_NEGATIVE = frozenset({"shortness"})

_UNITS = {
    "mean_loss": "log odds for a thousandth of the decoder's log likelihood a frame",
    "worst_loss": "log odds for a thousandth of the decoder's log likelihood a frame",
    "second_loss": "log odds for a thousandth of the decoder's log likelihood a frame",
    "second_worst": "log odds for a thousandth of the decoder's log likelihood a frame",
    "disagreement": "log odds where the words differ",
    "brevity": "log odds for a single word; half of it for two",
    "shortness": "log odds for words e times shorter than 0.3 s",
    "hesitation": "log odds if all of the time went to hesitations",
    "uncovered": "log odds if no speech lay in a word",
    "noise": "log odds for each 10 dB below 30 dB of speech over noise",
    "reading": "log odds of a number against a phrase",
    "noisy_reading": "as noise, and on top of it, where the words are a number",
    "loud": "log odds where decoders listened whose model knows noise",
    "loud_loss": "as mean_loss, and on top of it, where they did",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Example:
    """One utterance that came out as a phrase.

    Attributes:
        evidence: What was measured of it.
        right: Whether the phrase means what was said.
        voice: Who said it.
        kind: What was said: "reading", "response", "command", "none".
        condition: In what noise, and how fast.
    """

    evidence: Evidence
    right: bool
    voice: str
    kind: str
    condition: str


class _Listener(TwoFrontEnds):
    """Keeps the evidence of each utterance."""

    def __init__(self) -> None:
        super().__init__(language("en"), Model(offset=0.0, weights={}))
        self.kept: list[Evidence | None] = []

    @override
    def finish(self) -> Hypothesis:
        hypothesis = super().finish()
        self.kept.append(self.last_evidence)
        return hypothesis


def talkers(rows: Sequence[Row], folder: Path) -> list[Row]:
    """Let further talkers say some of the texts, one after the other.

    Args:
        rows: Recordings for training, whose texts are taken.
        folder: Where the sound is written.

    Raises:
        UsageError: If espeak-ng is not there.
    """
    clean = [row for row in rows if row.condition == CLEAN and row.form != SOUND]
    answers = [row for row in clean if row.kind != "none"]
    talk = [row for row in clean if row.kind == "none"]
    made: list[Row] = []
    for name, rate_wpm in TALKERS:
        voice = f"espeak-ng {name}"
        dice = np.random.default_rng(seed_of(voice))
        chosen = [
            *(
                answers[int(one)]
                for one in dice.choice(len(answers), TALKER_ANSWERS, replace=False)
            ),
            *(talk[int(one)] for one in dice.choice(len(talk), TALKER_TALK, replace=False)),
        ]
        for row in chosen:
            path = folder / f"{len(made)}.wav"
            start_s, end_s = say(row.text, name, rate_wpm, path, dice)
            made.append(
                replace(
                    row,
                    path=path,
                    file=f"{voice}: {row.file}",
                    voice=voice,
                    speech_start_s=start_s,
                    speech_end_s=end_s,
                )
            )
    return made


def say(
    text: str, voice: str, rate_wpm: int, path: Path, dice: np.random.Generator
) -> tuple[float, float]:
    """Let a voice of espeak-ng say a text in a quiet room, 0.6 s of it before and 0.8 s after.

    Args:
        text: In English.
        voice: As espeak-ng has it: "en-gb+m1".
        rate_wpm: Words a minute.
        path: Where the sound is written.
        dice: For the noise of the room.

    Returns:
        Where the speech begins and ends, seconds.

    Raises:
        UsageError: If espeak-ng is not there, or has no such voice.
    """
    program = shutil.which("espeak-ng")
    if program is None:
        what = "espeak-ng was not found, whose talkers are to be heard"
        raise UsageError(what, "Install it (Debian: the package espeak-ng).")
    # espeak-ng reads "psi" as the Greek letter
    spelt = re.sub(r"\bpsi\b", "P S I", text)
    command = [program, "-v", voice, "-s", str(rate_wpm), "-w", str(path), spelt]
    try:
        subprocess.run(command, check=True, capture_output=True)
    except subprocess.CalledProcessError as error:
        what = f"espeak-ng does not speak with the voice {voice!r}"
        raise UsageError(what, "See its list: espeak-ng --voices=en.") from error
    return _recorded(path, dice)


def _recorded(path: Path, dice: np.random.Generator) -> tuple[float, float]:
    """Put a quiet room round a talker; give where the speech is, in seconds."""
    speech = read_recording(path).astype(np.float64)
    loud = np.flatnonzero(np.abs(speech) > 0.02 * np.max(np.abs(speech)))
    speech = speech[loud[0] : loud[-1] + 1]
    speech *= 32_768 * 10 ** (_SPEECH_DB / 20) / np.sqrt(np.mean(speech**2))
    lead, trail = (np.zeros(round(seconds * RATE_HZ)) for seconds in (_LEAD_S, _TRAIL_S))
    track = np.concatenate((lead, speech, trail))
    track += dice.standard_normal(len(track)) * 32_768 * 10 ** (_ROOM_DB / 20)
    limited: Samples = np.clip(np.rint(track), -32_768, 32_767).astype(np.int16)
    write_wav(path, limited)
    return _LEAD_S, _LEAD_S + len(speech) / RATE_HZ


def examples(rows: Sequence[Row]) -> list[Example]:
    """Hear the recordings for training."""
    made: list[Example] = []
    work: dict[tuple[str, str], list[tuple[Row, float, str, Item, ItemGrammar]]] = {}
    items = items_of()
    for number, row in enumerate(row for row in rows if row.condition == CLEAN):
        is_talk = row.kind == "none"
        is_further = "+" in row.voice
        conditions = FEW_CONDITIONS if is_talk or is_further else CONDITIONS
        count = 1 if is_further else TALK_TURNS if is_talk else ANSWER_TURNS
        for turn in range(count):
            noise, snr_db, speed = conditions[(number + 3 * turn) % len(conditions)]
            check, item_id = row.check, row.item
            if turn and is_talk:
                dice = np.random.default_rng(seed_of(row.key, turn))
                check, item_id = list(items)[int(dice.integers(len(items)))]
            said = row if noise is None else replace(row, noise=noise, snr_db=snr_db, mixed=True)
            name = f"{said.condition}, speed {speed}"
            work.setdefault((row.voice, name), []).append(
                (said, speed, name, *items[check, item_id])
            )
    for number, ((voice, name), turns) in enumerate(work.items(), start=1):
        sys.stderr.write(f"{number} of {len(work)}: {voice}, {name}, {len(turns)}\n")
        listener = _Listener()
        for said, speed, condition, item, grammar in turns:
            made.extend(_hear(listener, said, speed, condition, item, grammar))
        listener.close()
    return made


def _hear(
    listener: _Listener,
    row: Row,
    speed: float,
    condition: str,
    item: Item,
    grammar: ItemGrammar,
) -> Iterable[Example]:
    listener.kept.clear()
    found = hear(
        played(sound_of(row), speed),
        item=item,
        grammar=grammar,
        language=grammar.language,
        recogniser=listener,
    )
    for hearing, evidence in zip(found, listener.kept, strict=True):
        meaning = hearing.utterance.meaning
        if evidence is not None and not isinstance(meaning, NoMatch):
            yield Example(
                evidence=evidence,
                right=row.kind != "none" and is_same(row.meaning, meaning),
                voice=row.voice,
                kind=row.kind,
                condition=condition,
            )


def items_of() -> dict[tuple[str, str], tuple[Item, ItemGrammar]]:
    """Compile every item of both shipped checks: by check and item."""
    found = {}
    for name in ("cockpit-preparation", "before-start"):
        check = load_check(find_check(name))
        for item in check.items:
            found[name, item.id] = (item, compile_item(item, language(check.language)))
    return found


def played(samples: Samples, speed: float) -> Samples:
    """Play a recording faster or slower, as another person might speak."""
    if speed == 1.0:
        return samples
    played = np.asarray(soxr.resample(samples.astype(np.float32), RATE_HZ * speed, RATE_HZ))
    limited: Samples = np.clip(np.rint(played), -32_768, 32_767).astype(np.int16)
    return limited


def fit(made: Sequence[Example]) -> Model:
    """Fit the weights, each with a sign that makes sense."""
    offset, weights = fit_weights(
        _table(made),
        np.array([one.right for one in made], dtype=np.float64),
        MEASURES,
        never_positive=NEVER_POSITIVE,
        never_negative=NEVER_NEGATIVE,
    )
    return Model(offset=offset, weights=weights)


def _table(made: Sequence[Example]) -> NDArray[np.float64]:
    return np.array([[getattr(one.evidence, measure) for measure in MEASURES] for one in made])


def document(model: Model, made: Sequence[Example]) -> dict[str, object]:
    """Give what is written: weights, units, and figures of the examples."""
    groups = {
        "right answers": [one for one in made if one.right],
        "answers misheard": [one for one in made if not one.right and one.kind != "none"],
        "other talk taken for a phrase": [one for one in made if one.kind == "none"],
    }
    sure = {name: [model.confidence(one.evidence) for one in them] for name, them in groups.items()}
    return {
        "what": "Confidence that the words heard were said: a logistic model over measures "
        "of both front ends (voiceflow/recognition/evidence.py explains each).",
        "made by": "python -m voiceflow.evaluation.training audio_fixtures/manifest.csv",
        "voices": sorted({one.voice for one in made}),
        "offset": {"value": model.offset, "unit": "log odds"},
        "weights": {
            measure: {"value": model.weights[measure], "unit": _UNITS[measure]}
            for measure in MEASURES
        },
        "training figures": {
            name: {
                "count": len(values),
                **{
                    f"at or above {level}": round(float(np.mean(np.array(values) >= level)), 3)
                    for level in (0.2, 0.4, 0.6, 0.8, 0.9, 0.95)
                    if values
                },
            }
            for name, values in sure.items()
        },
        "measures, median": {
            name: {
                measure: round(float(value), 3)
                for measure, value in zip(MEASURES, np.median(_table(them), axis=0), strict=True)
            }
            for name, them in groups.items()
            if them
        },
    }


def write_measures(made: Iterable[Example], path: Path) -> None:
    """Write a table of what was measured, one utterance a line."""
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(("voice", "kind", "condition", "right", *MEASURES))
        for one in made:
            values = asdict(one.evidence)
            writer.writerow(
                (
                    *(one.voice, one.kind, one.condition, int(one.right)),
                    *(f"{values[measure]:.4f}" for measure in MEASURES),
                )
            )


def read_measures(path: Path) -> list[Example]:
    """Read a table that ``write_measures`` wrote."""
    with path.open(encoding="utf-8", newline="") as stream:
        return [
            Example(
                evidence=Evidence(**{measure: float(line[measure]) for measure in MEASURES}),
                right=line["right"] == "1",
                voice=line["voice"],
                kind=line["kind"],
                condition=line["condition"],
            )
            for line in csv.DictReader(stream)
        ]


def main(arguments: Sequence[str] | None = None) -> None:
    """Hear, fit, write."""
    parser = argparse.ArgumentParser(prog="voiceflow.evaluation.training", description=__doc__)
    parser.add_argument("manifest", type=Path)
    parser.add_argument(
        "--out",
        type=Path,
        default=Path(__file__).parents[1] / "recognition" / "confidence.json",
        help="where the weights go; where the program reads them if not given",
    )
    parser.add_argument("--measures", type=Path, help="keep what was measured, as CSV")
    parser.add_argument("--from-measures", type=Path, help="fit to a kept CSV, hear nothing")
    given = parser.parse_args(arguments)
    if given.from_measures:
        made = read_measures(given.from_measures)
    else:
        rows = [row for row in load_manifest(given.manifest) if row.role is Role.TRAIN]
        with TemporaryDirectory(prefix="voiceflow-") as folder:
            made = examples([*rows, *talkers(rows, Path(folder))])
    if given.measures:
        write_measures(made, given.measures)
    model = fit(made)
    text = json.dumps(document(model, made), indent=2) + "\n"
    given.out.write_text(text, encoding="utf-8")
    sys.stdout.write(text)


if __name__ == "__main__":
    main()
