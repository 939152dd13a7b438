"""What each setting of care makes of the same utterances: what it asks, what slips through.

Run it as::

    python -m voiceflow.evaluation.care audio_fixtures/manifest.csv

It hears the clean recordings that are for training, as they are and in pink noise at 15 dB,
and prints what the three presets of ``voiceflow/settings.py`` decide on them. No voice that
scores takes part, because the presets are chosen by these figures.
"""

import sys
from argparse import ArgumentParser
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from voiceflow.dialogue.policy import Decision, decide
from voiceflow.errors import VoiceflowError
from voiceflow.evaluation.manifest import CLEAN, Role, Row, load_manifest
from voiceflow.evaluation.metrics import Interval, Result, is_same, judge_recording, wilson
from voiceflow.evaluation.noise import Noise
from voiceflow.evaluation.run import EngineChoice, Outcome, evaluate, item_of, verify
from voiceflow.settings import POLICIES, Care, PolicySettings

_NOISE_DB: Final = 15.0
_HEAD: Final = (
    "",
    "of",
    "right at once",
    "95 % interval",
    "right, asked",
    "wrong at once",
    "95 % interval",
    "wrong, asked",
    "asked again",
    "ignored",
)
_GROUPS: Final[tuple[tuple[str, Callable[[Outcome], bool]], ...]] = (
    ("readings", lambda one: one.row.kind == "reading"),
    ("responses", lambda one: one.row.kind == "response"),
    ("commands", lambda one: one.row.kind == "command"),
    ("other talk", lambda one: one.row.kind == "none"),
)


def decided(outcome: Outcome, policy: PolicySettings) -> Outcome:
    """Give what would have become of a recording with other thresholds.

    Whether a wrong reading is said aloud does not depend on them and is kept.
    """
    item = item_of(outcome.row)
    decisions = tuple(decide(one, item, policy) for one in outcome.utterances)
    meanings = [one.meaning for one in outcome.utterances]
    return replace(
        outcome,
        decisions=decisions,
        result=judge_recording(outcome.row.meaning, list(zip(meanings, decisions, strict=True))),
    )


def is_at_once(outcome: Outcome) -> bool:
    """Tell whether the right meaning was taken without a question."""
    return outcome.result is Result.RIGHT and any(
        decision is Decision.ACCEPT and is_same(outcome.row.meaning, one.meaning)
        for one, decision in zip(outcome.utterances, outcome.decisions, strict=True)
    )


def care_lines(outcomes: Sequence[Outcome]) -> tuple[tuple[str, ...], ...]:
    """Give a table: each kind of utterance under each setting of care, the head first."""
    lines: list[tuple[str, ...]] = [_HEAD]
    for name, belongs in _GROUPS:
        group = [one for one in outcomes if belongs(one)]
        lines += [_line(f"{name}, {care}", group, POLICIES[care]) for care in Care if group]
    return tuple(lines)


def _line(name: str, group: Iterable[Outcome], policy: PolicySettings) -> tuple[str, ...]:
    again = [decided(one, policy) for one in group]
    total = len(again)
    results = [one.result for one in again]
    at_once = sum(is_at_once(one) for one in again)
    wrong = results.count(Result.WRONG_ACCEPTED)
    return (
        name,
        str(total),
        str(at_once),
        _range(wilson(at_once, total)),
        str(results.count(Result.RIGHT) - at_once),
        str(wrong),
        _range(wilson(wrong, total)),
        str(results.count(Result.WRONG_CONFIRMED)),
        str(results.count(Result.ASKED)),
        str(results.count(Result.IGNORED)),
    )


def _range(interval: Interval) -> str:
    return f"{interval.low:.1%} to {interval.high:.1%}"


def for_choosing(rows: Iterable[Row]) -> tuple[Row, ...]:
    """Give the clean rows that are for training, and each again in pink noise."""
    clean = [row for row in rows if row.role is Role.TRAIN and row.condition == CLEAN]
    noisy = [replace(row, noise=Noise.PINK, snr_db=_NOISE_DB, mixed=True) for row in clean]
    return (*clean, *noisy)


def main(arguments: Sequence[str] | None = None) -> int:
    """Measure and print; 2 if the manifest cannot be used."""
    parser = ArgumentParser(prog="python -m voiceflow.evaluation.care", description=__doc__)
    parser.add_argument("manifest", type=Path)
    parser.add_argument("--engine", default="auto", choices=("auto", "vosk", "pocketsphinx"))
    parser.add_argument("--model", type=Path, help="folder of a Vosk model")
    parser.add_argument("--workers", type=int, default=1)
    given = parser.parse_args(arguments)
    choice = EngineChoice(name=given.engine, model=given.model)
    try:
        rows = for_choosing(load_manifest(given.manifest))
        verify(rows, given.manifest)
        outcomes = evaluate(rows, choice, workers=given.workers)
    except VoiceflowError as error:
        sys.stderr.write(f"care: {error}\n")
        return 2
    for condition in dict.fromkeys(row.condition for row in rows):
        heard = [one for one in outcomes if one.row.condition == condition]
        voices = ", ".join(sorted({one.row.voice for one in heard}))
        sys.stdout.write(f"{condition}, voices for training: {voices}\n")
        lines = care_lines(heard)
        widths = [max(len(line[place]) for line in lines) for place in range(len(_HEAD))]
        for line in lines:
            cells = (cell.rjust(width) for cell, width in zip(line[1:], widths[1:], strict=True))
            sys.stdout.write(f"{line[0].ljust(widths[0])}  {'  '.join(cells)}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
