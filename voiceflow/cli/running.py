"""What run, resume and demo have in common: looking on, stopping, telling how it ended."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TextIO

import click

from voiceflow.cli.exit_status import INTERRUPTED, status_of
from voiceflow.cli.main import CAUTION
from voiceflow.cli.transcript import JsonLines, Transcript, Typescript, clock, closing_lines
from voiceflow.errors import VoiceflowError
from voiceflow.journal.place import default_journal
from voiceflow.journal.store import Journal
from voiceflow.session.assembly import Result
from voiceflow.session.keyed import TalkKey
from voiceflow.session.lines import Lines, NoLine, lines_beside, lines_of

Watching = Transcript | JsonLines


class Prompted:
    """The lines of the keyboard, with a prompt before each.

    A line that comes from a file or a pipe is printed too, so that the transcript
    can be read.
    """

    def __init__(self, lines: Lines, *, echo: bool) -> None:
        self._lines = lines
        self._echo = echo

    def next(self, timeout_s: float | None) -> str | NoLine:
        """Give the next line, waiting for it at most so long."""
        click.echo("> ", nl=False)
        line = self._lines.next(timeout_s)
        if isinstance(line, NoLine):
            click.echo()
        elif self._echo:
            click.echo(line)
        return line


def keyboard(*, prompt: bool) -> Lines:
    """Give what is typed, or comes in through a pipe."""
    stream: TextIO | None = sys.stdin  # None if it was closed before the program started
    lines = lines_of(stream)
    at_terminal = stream is not None and stream.isatty()
    return Prompted(lines, echo=not at_terminal) if prompt else lines


def keyboard_beside() -> Lines | None:
    """Give what is typed beside a microphone; none if nobody sits at a terminal."""
    return lines_beside(sys.stdin)


@contextmanager
def talk_key(is_wanted: bool) -> Iterator[TalkKey | None]:
    """Give the key of push-to-talk, or none if it is not wanted.

    Raises:
        UsageError: If there is no terminal for it.
    """
    if not is_wanted:
        yield None
        return
    from voiceflow.cli.keys import terminal_key

    with terminal_key() as key:
        yield key


@contextmanager
def watching(*, as_json: bool, typed: bool, total_s: float | None) -> Iterator[Watching]:
    """Give what looks on: JSON lines, or a transcript with progress through a recording.

    Args:
        as_json: Print events.
        typed: The person sits at the keyboard.
        total_s: Length of the recording, for a bar; None: there is none.
    """
    click.echo(click.style(CAUTION, dim=True), err=True)
    if as_json:
        yield JsonLines()
    elif typed:
        yield Typescript()
    elif total_s is not None and sys.stdout.isatty():
        with _bar(total_s) as (emit, moved):
            yield Transcript(emit, moved)
    else:
        yield Transcript()


@contextmanager
def _bar(
    total_s: float,
) -> Iterator[tuple[Callable[[str], None], Callable[[float], None]]]:
    # only where there is a bar: the first word must not wait for it
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn
    from rich.text import Text

    console = Console(highlight=False)
    columns = (TextColumn("hearing"), BarColumn(), TextColumn("{task.fields[at]}"))
    with Progress(*columns, console=console, transient=True) as progress:
        task = progress.add_task("hearing", total=total_s, at="")

        def emit(line: str) -> None:
            progress.console.print(Text.from_ansi(line))

        def moved(at_s: float) -> None:
            at = f"{clock(at_s).strip()} of {clock(total_s).strip()}"
            progress.update(task, completed=at_s, at=at)

        yield emit, moved


@contextmanager
def open_journal(
    path: Path | None, *, create: bool = True, to_read: bool = False
) -> Iterator[Journal]:
    """Open the journal that is named, or the usual one; for reading only, it stays as it is."""
    place = path or default_journal()
    journal = Journal.open_to_read(place) if to_read else Journal.open(place, create=create)
    with journal:
        yield journal


def carry_through(
    work: Callable[[], Result], *, watcher: Watching, journal: Journal, as_json: bool
) -> tuple[Result | None, int]:
    """Do a run and tell how it came out.

    Args:
        work: Does the run.
        watcher: Looks on.
        journal: The journal it is in.
        as_json: Print nothing but events on stdout.

    Returns:
        The result, None if it was interrupted, and the exit status.
    """
    try:
        result = work()
    except KeyboardInterrupt:
        click.echo(f"\nInterrupted. {_how_to_resume(watcher, journal)}", err=True)
        return None, INTERRUPTED
    except VoiceflowError:
        # main tells what happened; here, that nothing is lost by it
        if watcher.run_id is not None:
            click.echo(f"The run has stopped. {_how_to_resume(watcher, journal)}", err=True)
        raise
    if not as_json:
        click.echo()
        for line in closing_lines(result.state):
            click.echo(line)
    if result.state.ending is None:
        click.echo(_how_to_resume(watcher, journal), err=True)
    elif not as_json:
        click.echo(f"Report: voiceflow report {result.run_id}{journal_option(journal)}", err=True)
    return result, status_of(result.state)


def _how_to_resume(watcher: Watching, journal: Journal) -> str:
    if watcher.run_id is None:
        return "Nothing had been recorded yet."
    return (
        "Everything confirmed is in the journal. Go on with: "
        f"voiceflow resume {watcher.run_id}{journal_option(journal)}"
    )


def journal_option(journal: Journal) -> str:
    """Give the option that names this journal, or nothing for the usual one."""
    usual = default_journal().expanduser().absolute()
    return "" if journal.path == usual else f" --journal {journal.path}"
