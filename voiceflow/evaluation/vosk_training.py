"""Fitting the model that turns what Vosk heard with a grammar and without into a confidence.

Run it as::

    python audio_fixtures/make_korean.py FOLDER
    python -m voiceflow.evaluation.vosk_training FOLDER/manifest.csv

It hears the recordings that are for training, in quiet and in noise, fits a logistic model
to what was measured of each utterance that came out as a phrase, prints how it does on the
voices it was fitted to, and writes the weights with these figures where the program reads
them. No voice that scores takes part. Any manifest whose language has a Vosk model will do;
what the weights were fitted to is written with them.
"""

import argparse
import csv
import json
import sys
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray
from typing_extensions import override

from voiceflow.checks.loader import load_check
from voiceflow.checks.shipped import find_check
from voiceflow.errors import UsageError
from voiceflow.evaluation.logistic import fit_weights
from voiceflow.evaluation.manifest import CLEAN, Role, Row, load_manifest
from voiceflow.evaluation.metrics import is_same
from voiceflow.evaluation.noise import Noise
from voiceflow.evaluation.run import sound_of
from voiceflow.grammar.item_grammar import compile_item
from voiceflow.grammar.meaning import Ambiguous, NoMatch
from voiceflow.languages.registry import language
from voiceflow.recognition.engines.vosk import VoskRecogniser
from voiceflow.recognition.open_vocabulary import MEASURES, Comparison, ComparisonModel
from voiceflow.session.hearing import hear
from voiceflow.understanding.hypothesis import Hypothesis

#: Noise and ratio in decibels: every third recording is heard in one of these too, in turn.
NOISES: Final = ((Noise.PINK, 20.0), (Noise.PINK, 15.0), (Noise.BROWN, 10.0))
_EVERY: Final = 3
#: Everything measured speaks against an answer, or not at all.
NEVER_POSITIVE: Final = frozenset(MEASURES)

UNITS: Final = {
    "mismatch": "log odds for as many differing phones as the words have",
    "number_mismatch": "as mismatch, and on top of it, where the words are a number",
    "doubt": "log odds for a word that the engine does not believe at all",
    "unknown": "log odds if all of the time went to unknown words",
    "brevity": "log odds for a phrase of 10 phones; twice it for one of 5",
    "drawl": "log odds for phones of the slowest word e times longer than 0.08 s",
    "haste": "log odds for phones of the fastest word e times shorter than 0.08 s",
    "uncovered": "log odds if no speech lay in a word",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Example:
    """One utterance that came out as a phrase.

    Attributes:
        measured: What was measured of it.
        right: Whether the phrase means what was said.
        voice: Who said it.
        kind: What was said: "reading", "response", "command", "none".
        heard: What was heard, in the same words.
        condition: In what noise.
    """

    measured: Comparison
    right: bool
    voice: str
    kind: str
    heard: str
    condition: str


class _Listener(VoskRecogniser):
    """Keeps the measures of each utterance."""

    def __init__(self, code: str, model: Path | None) -> None:
        super().__init__(language(code), model, ComparisonModel(offset=0.0, weights={}))
        self.kept: list[Comparison | None] = []

    @override
    def finish(self) -> Hypothesis:
        hypothesis = super().finish()
        self.kept.append(self.last_comparison)
        return hypothesis


def spread(rows: Sequence[Row]) -> list[Row]:
    """Give the clean rows, and every third of them in noise too."""
    heard: list[Row] = []
    for number, row in enumerate(row for row in rows if row.condition == CLEAN):
        heard.append(row)
        turn, rest = divmod(number, _EVERY)
        if rest == 0:
            noise, snr_db = NOISES[turn % len(NOISES)]
            heard.append(replace(row, noise=noise, snr_db=snr_db, mixed=True))
    return heard


def origin(rows: Sequence[Row]) -> str:
    """Say in what language the recordings are, and how they were made."""
    codes = sorted({load_check(find_check(row.check)).language for row in rows})
    programs = sorted({row.how_made.partition(",")[0] for row in rows})
    return f"language {', '.join(codes)}; {'; '.join(programs)}"


def examples(rows: Sequence[Row], model: Path | None) -> list[Example]:
    """Hear the recordings for training.

    Args:
        rows: Of one language.
        model: Folder of a Vosk model; searched for if none.

    Returns:
        An example for each utterance that came out as a phrase.

    Raises:
        UsageError: If there is no row for training, or they are of several languages.
        ModelNotFoundError: If there is no model.
    """
    checks = {row.check: load_check(find_check(row.check)) for row in rows}
    codes = {check.language for check in checks.values()}
    if len(codes) != 1:
        what = f"the recordings for training are of {len(codes)} languages"
        raise UsageError(what, "Give a manifest with recordings for training in one language.")
    pack = language(codes.pop())
    listener = _Listener(pack.code, model)
    grammars = {
        (row.check, row.item): compile_item(checks[row.check].item(row.item), pack) for row in rows
    }
    work: dict[tuple[str, str], list[Row]] = {}
    for row in rows:
        work.setdefault((row.voice, row.condition), []).append(row)
    made: list[Example] = []
    for number, ((voice, condition), group) in enumerate(work.items(), start=1):
        sys.stderr.write(f"{number} of {len(work)}: {voice}, {condition}, {len(group)}\n")
        for row in group:
            listener.kept.clear()
            found = hear(
                sound_of(row),
                item=checks[row.check].item(row.item),
                grammar=grammars[row.check, row.item],
                language=pack,
                recogniser=listener,
            )
            for hearing, measured in zip(found, listener.kept, strict=True):
                meaning = hearing.utterance.meaning
                # what is asked about by name is no matter of confidence
                if measured is None or isinstance(meaning, NoMatch | Ambiguous):
                    continue
                made.append(
                    Example(
                        measured=measured,
                        right=row.kind != "none" and is_same(row.meaning, meaning),
                        voice=voice,
                        kind=row.kind,
                        heard=meaning.kind,
                        condition=condition,
                    )
                )
    listener.close()
    return made


def fit(made: Sequence[Example]) -> ComparisonModel:
    """Fit the weights, none of them positive.

    Raises:
        UsageError: If all of the examples are right, or all are wrong, or there are none.
    """
    right = sum(one.right for one in made)
    if not 0 < right < len(made):
        what = f"{right} of {len(made)} phrases heard were right: nothing can be fitted to that"
        raise UsageError(what, "Hear more recordings, with answers and with other talk.")
    offset, weights = fit_weights(
        table(made),
        np.array([one.right for one in made], dtype=np.float64),
        MEASURES,
        never_positive=NEVER_POSITIVE,
        never_negative=frozenset(),
    )
    return ComparisonModel(offset=offset, weights=weights)


def table(made: Sequence[Example]) -> NDArray[np.float64]:
    """Give the measures, one row an example."""
    return np.array([[getattr(one.measured, measure) for measure in MEASURES] for one in made])


def write_measures(made: Iterable[Example], path: Path) -> None:
    """Write a table of what was measured, one utterance a line."""
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(("voice", "kind", "heard", "condition", "right", *MEASURES))
        for one in made:
            values = asdict(one.measured)
            writer.writerow(
                (
                    *(one.voice, one.kind, one.heard, one.condition, int(one.right)),
                    *(f"{values[measure]:.4f}" for measure in MEASURES),
                )
            )


def read_measures(path: Path) -> list[Example]:
    """Read a table that ``write_measures`` wrote."""
    with path.open(encoding="utf-8", newline="") as stream:
        return [
            Example(
                measured=Comparison(**{measure: float(line[measure]) for measure in MEASURES}),
                right=line["right"] == "1",
                voice=line["voice"],
                kind=line["kind"],
                heard=line["heard"],
                condition=line["condition"],
            )
            for line in csv.DictReader(stream)
        ]


_LEVELS: Final = (0.1, 0.3, 0.5, 0.75, 0.9)


def document(
    model: ComparisonModel, made: Sequence[Example], answers: int, heard: str
) -> dict[str, object]:
    """Give what is written: weights, units, and figures of the examples.

    Args:
        model: The fitted weights.
        made: What they were fitted to.
        answers: How many recordings of answers were heard for it.
        heard: The language and how the recordings were made.
    """
    groups = {
        "right answers": [one for one in made if one.right],
        "answers misheard": [one for one in made if not one.right and one.kind != "none"],
        "other talk taken for a phrase": [one for one in made if one.kind == "none"],
    }
    return {
        "what": "Confidence that the words heard were said: a logistic model over measures of "
        "what Vosk heard with the grammar and without (voiceflow/recognition/open_vocabulary.py "
        "explains each).",
        "made by": "python -m voiceflow.evaluation.vosk_training MANIFEST",
        "fitted to": heard,
        "caution": _caution(heard, len(groups["right answers"]), answers),
        "voices": sorted({one.voice for one in made}),
        "offset": {"value": model.offset, "unit": "log odds"},
        "weights": {
            measure: {"value": model.weights[measure], "unit": UNITS[measure]}
            for measure in MEASURES
        },
        "training figures": {
            name: figures([model.confidence(one.measured) for one in them])
            for name, them in groups.items()
        },
        "training figures of voices left out of the fit in turn": {
            name: figures(sure) for name, sure in left_out(made).items()
        },
        "measures, median": {
            name: {
                measure: round(float(value), 3)
                for measure, value in zip(MEASURES, np.median(table(them), axis=0), strict=True)
            }
            for name, them in groups.items()
            if them
        },
    }


def _caution(heard: str, right: int, answers: int) -> str:
    found = f"{right} of {answers} recordings of answers came out right"
    if "synthetic" not in heard:
        return f"{found}."
    return (
        f"{found}. The voices are synthetic: how well these weights suit people, other "
        "languages and other models is not known."
    )


def figures(sure: Sequence[float]) -> dict[str, float]:
    """Count, and what part of it is at or above some confidences."""
    shares = {
        f"at or above {level}": round(float(np.mean(np.array(sure) >= level)), 3)
        for level in _LEVELS
        if sure
    }
    return {"count": len(sure), **shares}


def left_out(made: Sequence[Example]) -> dict[str, list[float]]:
    """Give the confidence in each example by weights fitted to all voices but its own."""
    found: dict[str, list[float]] = {"right": [], "wrong": []}
    voices = sorted({one.voice for one in made})
    if len(voices) < 2:
        return found
    for voice in voices:
        model = fit([one for one in made if one.voice != voice])
        for one in made:
            if one.voice == voice:
                found["right" if one.right else "wrong"].append(model.confidence(one.measured))
    return found


def main(arguments: Sequence[str] | None = None) -> None:
    """Hear, fit, write."""
    parser = argparse.ArgumentParser(prog="voiceflow.evaluation.vosk_training", description=__doc__)
    parser.add_argument("manifest", type=Path)
    parser.add_argument("--model", type=Path, help="folder of a Vosk model")
    parser.add_argument(
        "--out",
        type=Path,
        default=Path(__file__).parents[1] / "recognition" / "open_vocabulary.json",
        help="where the weights go; where the program reads them if not given",
    )
    parser.add_argument("--measures", type=Path, help="keep what was measured, as CSV")
    parser.add_argument("--from-measures", type=Path, help="fit to a kept CSV, hear nothing")
    given = parser.parse_args(arguments)
    rows = [row for row in load_manifest(given.manifest) if row.role is Role.TRAIN]
    kept = spread(rows)
    if given.from_measures:
        made = read_measures(given.from_measures)
    else:
        made = examples(kept, given.model)
    if given.measures:
        write_measures(made, given.measures)
    text = json.dumps(
        document(fit(made), made, sum(row.kind != "none" for row in kept), origin(rows)),
        indent=2,
        ensure_ascii=False,
    )
    given.out.write_text(text + "\n", encoding="utf-8")
    sys.stdout.write(text + "\n")


if __name__ == "__main__":
    main()
