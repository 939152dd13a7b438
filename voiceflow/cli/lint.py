"""``voiceflow lint``: mistakes in check files."""

import os
from collections import Counter
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path
from time import perf_counter
from typing import TYPE_CHECKING, Self

import click

from voiceflow.checks.loader import read_check
from voiceflow.checks.own_words import OwnWords
from voiceflow.checks.plan import load_plan
from voiceflow.checks.problem import Problem, Severity
from voiceflow.checks.shipped import find_aircraft, find_check_or_plan, is_plan
from voiceflow.cli import options
from voiceflow.cli.checks import beside
from voiceflow.cli.exit_status import DONE, UNUSABLE
from voiceflow.errors import CheckFileError, UsageError
from voiceflow.languages.registry import known_languages, language
from voiceflow.limits.computed import SOME_DAY
from voiceflow.lint.registry import lint_check
from voiceflow.lint.subject import Phones, Subject
from voiceflow.phraseology.language import Pronunciation
from voiceflow.session.vocabulary import find_own_words, load_own_check, read_own_check

if TYPE_CHECKING:
    from voiceflow.lint.listening.confusions import Confusion
    from voiceflow.lint.listening.trial import Conditions, Trial


@click.command("lint")
@click.argument("check", nargs=-1, required=True)
@options.together(options.aircraft, options.own_words)
@click.option(
    "--listen",
    "listens",
    is_flag=True,
    help="Also try it: synthesise every phrase in several voices and noises, and tell "
    "what is taken for something else. Takes minutes.",
)
@click.option("--item", "items", multiple=True, metavar="ITEM", help="Listen to this item only.")
@click.option("--voice", "voices", multiple=True, help="A voice to listen to; may be repeated.")
@click.option(
    "--rate",
    "rates",
    multiple=True,
    type=click.IntRange(60, 400),
    default=(150,),
    show_default=True,
    help="Words a minute; may be repeated.",
)
@click.option(
    "--snr",
    "snrs",
    multiple=True,
    type=click.FloatRange(-10, 60),
    default=(30.0, 15.0),
    show_default=True,
    help="Pink noise so many decibels below the speech; may be repeated.",
)
@click.option(
    "--readings",
    type=click.IntRange(1, 1000),
    default=12,
    show_default=True,
    help="Values of each gauge, each in two of its forms.",
)
@click.option(
    "--share",
    type=click.FloatRange(0, 100),
    default=20.0,
    show_default=True,
    help="What is mixed up in at least this percentage of its sayings is a finding.",
)
@click.option(
    "--picture",
    metavar="FILE",
    type=click.Path(path_type=Path),
    default=None,
    help="Draw what was said against what was heard: SVG, PNG or PDF.",
)
@options.together(options.engine, options.model)
@click.option(
    "--workers",
    type=click.IntRange(min=1),
    default=lambda: os.cpu_count() or 1,
    show_default="one a processor",
    help="Processes that share the listening.",
)
def command(
    check: tuple[str, ...],
    aircraft: str | None,
    own_words: Path | None,
    items: tuple[str, ...],
    voices: tuple[str, ...],
    rates: tuple[int, ...],
    snrs: tuple[float, ...],
    readings: int,
    share: float,
    picture: Path | None,
    engine: str,
    model: Path | None,
    workers: int,
    *,
    listens: bool,
) -> int:
    """Look for mistakes in CHECK files: what cannot run, and what will be misheard.

    CHECK may be a sector plan: then its checks are looked at too.

    Each finding has its place (file:line:column), what is wrong and what to do:
    words that cannot be heard, answers that sound alike, items that cannot be
    answered with "no", limits off the gauge. Your own words are looked at too.

    With --listen, synthetic speech is heard by the engine as in a run. It shows
    which phrases are too alike for the engine; it does not show how well any
    person is heard.

    \b
    Examples:
      voiceflow lint my-check.yaml
      voiceflow lint my-check.yaml --listen --picture confusions.svg
      voiceflow lint my-check.yaml --listen --item crew-oxygen --snr 20 --snr 10

    Ends with status 2 if a file cannot be used; warnings alone give 0.
    """
    aircraft_path = find_aircraft(aircraft) if aircraft is not None else None
    own = find_own_words(own_words)
    # two checks may name the same aircraft file: its problems are told once
    problems: dict[Problem, None] = {}
    aircraft_of: dict[Path, Path | None] = {}
    for name in check:
        for path, tail in _named(find_check_or_plan(name), aircraft_path, problems):
            aircraft_of.setdefault(path, tail)
    paths = list(aircraft_of)
    if picture is not None:
        _see_to_picture(listens=listens, checks=len(paths))
    for path, tail in aircraft_of.items():
        for problem in lint_check(path, tail, _dictionary(path, tail), own):
            problems[problem] = None
    for problem in problems:
        click.echo(problem)
    errors = sum(problem.severity is Severity.ERROR for problem in problems)
    if listens and errors:
        click.echo("Not listened to: put the errors right first.", err=True)
    elif listens:
        from voiceflow.lint.listening.trial import Conditions

        conditions = Conditions(
            voices=voices,
            rates_wpm=rates,
            snrs_db=snrs,
            readings=readings,
            engine=engine,
            model=model,
        )
        for path in paths:
            for problem in _listen(
                path, aircraft_of[path], own, items, conditions, share, picture, workers
            ):
                problems[problem] = None
    warnings = len(problems) - errors
    files = "1 file" if len(paths) == 1 else f"{len(paths)} files"
    click.echo(f"{files}: {errors} errors, {warnings} warnings", err=True)
    return UNUSABLE if errors else DONE


def _named(
    path: Path, aircraft_path: Path | None, problems: dict[Problem, None]
) -> Iterator[tuple[Path, Path | None]]:
    """Give the check files that a file stands for: itself, or those of a sector plan.

    Args:
        path: A check file or a sector plan.
        aircraft_path: The aircraft file that was named; None: the plan's, or the check's.
        problems: Takes what is wrong with the plan.
    """
    if not is_plan(path):
        yield path, aircraft_path
        return
    try:
        plan = load_plan(path)
    except CheckFileError as error:
        problems.update(dict.fromkeys(error.problems))
        return
    for planned in plan.checks:
        yield beside(path, planned.name), aircraft_path or plan.aircraft_file


def _dictionary(path: Path, aircraft_path: Path | None) -> Phones | None:
    """Give the out-of-the-box recogniser's dictionary, if it is of the check's language."""
    header = read_check(path, aircraft_path, languages=known_languages()).header
    if header is None or header.language not in known_languages():
        return None
    from voiceflow.recognition.engines.pocketsphinx import bundled_pronunciations, can_hear

    if not can_hear(language(header.language)):
        return None

    @cache
    def phones(word: str) -> tuple[Pronunciation, ...]:
        return tuple(tuple(way.split()) for way in bundled_pronunciations(word))

    return phones


# --- listening ---


def _see_to_picture(*, listens: bool, checks: int) -> None:
    if not listens:
        raise UsageError("--picture shows what was listened to", "Add --listen.")
    if checks > 1:
        raise UsageError("one picture shows one check", "Name one check at a time.")
    from voiceflow.lint.listening.picture import require

    require()  # before minutes of listening, not after them


def _listen(
    path: Path,
    aircraft_path: Path | None,
    own: OwnWords | None,
    items: Sequence[str],
    conditions: "Conditions",
    share: float,
    picture: Path | None,
    workers: int,
) -> tuple[Problem, ...]:
    from dataclasses import replace

    from voiceflow.cli.checks import find_item
    from voiceflow.lint.listening.confusions import confusions, find
    from voiceflow.lint.listening.trial import all_sayings, listen
    from voiceflow.session.engines import choose_engine

    loaded = load_own_check(path, aircraft_path, own, SOME_DAY)
    pack = language(loaded.language)
    click.echo(choose_engine(pack, conditions.engine, conditions.model).sentence, err=True)
    ids = [find_item(loaded, name).id for name in items] or [item.id for item in loaded.items]
    if not conditions.voices:
        conditions = replace(conditions, voices=pack.voice_ids or (pack.voice_id,))
    total = len(all_sayings(loaded, ids, conditions)) * conditions.ways
    began = perf_counter()
    with _Bar(total) as advance:
        trials = listen(loaded, ids, conditions, workers=workers, on_done=advance)
    took_s = perf_counter() - began
    found = confusions(trials)
    _print(found, trials, took_s)
    if picture is not None:
        from voiceflow.lint.listening.picture import draw

        draw(trials, picture, title=loaded.title)
        click.echo(f"The confusion matrices are in {picture}.", err=True)
    subject = Subject(
        read=read_own_check(path, aircraft_path, own, SOME_DAY),
        language=pack,
        engine_phones=None,
        own=own,
    )
    problems = tuple(find(subject, found, least_share=share / 100))
    for problem in problems:
        click.echo(problem)
    return problems


def _print(found: "Sequence[Confusion]", trials: "Sequence[Trial]", took_s: float) -> None:
    from rich.console import Console
    from rich.table import Table

    right = sum(trial.is_right for trial in trials)
    mixed = sum(trial.is_mixed_up for trial in trials)
    by_condition: Counter[tuple[str, str]] = Counter()
    of: Counter[tuple[str, str]] = Counter()
    for trial in trials:
        noise = f"{trial.snr_db:g} dB"
        of[trial.voice, noise] += 1
        by_condition[trial.voice, noise] += trial.is_right
    console = Console(width=None if Console().is_terminal else 132)
    if found:
        table = Table("item", "said", "heard as", "times", "of", title="Mixed up")
        for each in found:
            table.add_row(each.item_id, each.said, each.heard, str(each.count), str(each.of))
        console.print(table)
    click.echo(
        f"Synthetic speech, {len(trials)} sayings: {right} right, {mixed} mixed up, "
        f"{len(trials) - right - mixed} asked again; {took_s:.0f} s."
    )
    for (voice, noise), count in of.items():
        click.echo(f"  {voice}, {noise}: {by_condition[voice, noise]} of {count} right")


class _Bar:
    """A progress bar on stderr."""

    def __init__(self, total: int) -> None:
        from rich.console import Console
        from rich.progress import (
            BarColumn,
            MofNCompleteColumn,
            Progress,
            TextColumn,
            TimeElapsedColumn,
            TimeRemainingColumn,
        )

        self._progress = Progress(
            TextColumn("listening"),
            BarColumn(),
            MofNCompleteColumn(),
            TimeElapsedColumn(),
            TimeRemainingColumn(),
            console=Console(stderr=True),
            transient=True,
        )
        self._task = self._progress.add_task("listening", total=total)

    def __enter__(self) -> Self:
        self._progress.start()
        return self

    def __call__(self, done: int) -> None:
        self._progress.update(self._task, completed=done)

    def __exit__(self, *_: object) -> None:
        self._progress.stop()
