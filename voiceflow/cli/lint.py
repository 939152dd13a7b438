"""``voiceflow lint``: mistakes in check files."""

from functools import cache
from pathlib import Path

import click

from voiceflow.checks.loader import read_check
from voiceflow.checks.problem import Problem, Severity
from voiceflow.checks.shipped import find_aircraft, find_check
from voiceflow.cli import options
from voiceflow.cli.exit_status import DONE, UNUSABLE
from voiceflow.languages.registry import known_languages, language
from voiceflow.lint.registry import lint_check
from voiceflow.lint.subject import Phones
from voiceflow.phraseology.language import Pronunciation


@click.command("lint")
@click.argument("check", nargs=-1, required=True)
@options.aircraft
def command(check: tuple[str, ...], aircraft: str | None) -> int:
    """Look for mistakes in CHECK files: what cannot run, and what will be misheard.

    Each finding has its place (file:line:column), what is wrong and what to do:
    words that cannot be heard, answers that sound alike, items that cannot be
    answered with "no", limits off the gauge.

    \b
    Example:
      voiceflow lint my-check.yaml

    Ends with status 2 if a file cannot be used; warnings alone give 0.
    """
    aircraft_path = find_aircraft(aircraft) if aircraft is not None else None
    paths = [find_check(name) for name in check]
    # two checks may name the same aircraft file: its problems are told once
    problems: dict[Problem, None] = {}
    for path in paths:
        for problem in lint_check(path, aircraft_path, _dictionary(path, aircraft_path)):
            problems[problem] = None
    for problem in problems:
        click.echo(problem)
    errors = sum(problem.severity is Severity.ERROR for problem in problems)
    warnings = len(problems) - errors
    files = "1 file" if len(paths) == 1 else f"{len(paths)} files"
    click.echo(f"{files}: {errors} errors, {warnings} warnings", err=True)
    return UNUSABLE if errors else DONE


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
