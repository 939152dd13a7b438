"""``voiceflow journal``: what the journal holds."""

import sys
from pathlib import Path
from typing import TextIO

import click
from rich.console import Console
from rich.table import Table

from voiceflow.cli import options
from voiceflow.cli.exit_status import DONE, OPEN
from voiceflow.cli.running import open_journal
from voiceflow.cli.transcript import Transcript, closing_lines
from voiceflow.dialogue.actions import Say
from voiceflow.dialogue.events import ProfileUsed
from voiceflow.dialogue.machine import handle
from voiceflow.journal import codec, export
from voiceflow.journal.replay import verify
from voiceflow.journal.store import Journal
from voiceflow.languages.registry import language
from voiceflow.phraseology.language import worded


@click.group("journal", invoke_without_command=True)
@options.journal
@click.pass_context
def command(ctx: click.Context, journal_path: Path | None) -> None:
    """Look into the journal: every run, every word, nothing ever changed.

    \b
    Examples:
      voiceflow journal
      voiceflow journal show 20261125-093012-7f3a
      voiceflow journal --journal voiceflow-demo/journal.sqlite list
    """
    ctx.obj = journal_path
    if ctx.invoked_subcommand is None:
        ctx.invoke(list_runs, journal_path=journal_path, as_json=False)


@command.command("list")
@options.journal
@options.as_json
@click.pass_obj
def list_runs(obj: Path | None, journal_path: Path | None, *, as_json: bool) -> None:
    """List the runs, oldest first."""
    with open_journal(journal_path or obj, create=False) as journal:
        runs = journal.runs()
    if as_json:
        for run in runs:
            click.echo(
                codec.to_text(
                    {
                        "run_id": run.run_id,
                        "started_at": run.started_at,
                        "check": run.check_id,
                        "title": run.check_title,
                        "tail": run.tail,
                        "events": run.events,
                        "last_at_s": run.last_at_s,
                        "ending": run.ending,
                    }
                )
            )
        return
    if not runs:
        click.echo("No runs yet. Begin one: voiceflow run CHECK")
        return
    table = Table(box=None, pad_edge=False)
    for name in ("run", "started", "check", "tail", "events", "ending"):
        table.add_column(name, justify="right" if name == "events" else "left", no_wrap=True)
    for run in runs:
        started = run.started_at[:19].replace("T", " ")
        ending = run.ending or "not finished"
        table.add_row(run.run_id, started, run.check_id, run.tail, str(run.events), ending)
    # in a pipe there is no width to keep to
    Console(highlight=False, width=None if sys.stdout.isatty() else 160).print(table)


@command.command("show")
@click.argument("run")
@options.journal
@options.as_json
@click.pass_obj
def show(obj: Path | None, run: str, journal_path: Path | None, *, as_json: bool) -> None:
    """Show a RUN as it went: time, who, words, verdict."""
    with open_journal(journal_path or obj, create=False) as journal:
        run_id = journal.find(run).run_id
        if as_json:
            for line in export.to_json_lines(journal.header(run_id), journal.entries(run_id)):
                click.echo(line)
        else:
            _tell(journal, run_id)


@command.command("export")
@click.argument("run")
@click.option("--csv", "as_csv", is_flag=True, help="As CSV for spreadsheets, not JSON lines.")
@click.option(
    "--to", metavar="FILE", type=click.File("w", encoding="utf-8", lazy=True), default="-"
)
@options.journal
@click.pass_obj
def export_run(
    obj: Path | None,
    run: str,
    to: TextIO,
    journal_path: Path | None,
    *,
    as_csv: bool,
) -> None:
    """Write a RUN out: every event with its records, for other programs."""
    with open_journal(journal_path or obj, create=False) as journal:
        run_id = journal.find(run).run_id
        entries = journal.entries(run_id)
        if as_csv:
            click.echo(export.to_csv(run_id, entries), file=to, nl=False)
        else:
            for line in export.to_json_lines(journal.header(run_id), entries):
                click.echo(line, file=to)


@command.command("verify")
@click.argument("run")
@options.journal
@click.pass_obj
def verify_run(obj: Path | None, run: str, journal_path: Path | None) -> int:
    """Replay a RUN and hold what comes out against what was written down.

    Ends with status 0 if both agree to the last word, 1 if not.
    """
    with open_journal(journal_path or obj, create=False) as journal:
        run_id = journal.find(run).run_id
        differences = verify(journal, run_id)
        count = len(journal.events(run_id))
    for found in differences:
        if found.n is None:
            click.echo(f"event {found.seq}: it is missing, or one before it")
            continue
        stored = "nothing" if found.stored is None else codec.dump_record(found.stored)
        derived = "nothing" if found.derived is None else codec.dump_record(found.derived)
        click.echo(f"event {found.seq}, record {found.n}: {stored} is stored, {derived} follows")
    if differences:
        click.echo(f"Run {run_id}: {len(differences)} differences")
        return OPEN
    click.echo(f"Run {run_id}: {count} events, replayed; the record is whole.")
    return DONE


def _tell(journal: Journal, run_id: str) -> None:
    header = journal.header(run_id)
    pack = worded(language(header.check.language), header.settings.voice.wording)
    click.echo(f"Run {run_id}, begun {header.started_at}")
    click.echo(f"{header.check.title}, {header.check.aircraft} {header.check.tail}".rstrip())
    click.echo(f"Heard by {header.engine}{_with_profile(header.profile)}")
    click.echo()
    transcript = Transcript()
    state = header.begin()
    for entry in journal.entries(run_id):
        step = handle(state, entry.event)
        state = step.state
        transcript.happened(entry.seq, entry.event, step)
        for action in step.actions:
            if isinstance(action, Say):
                words = " ".join(pack.wording(prompt) for prompt in action.prompts)
                transcript.said(entry.event.at_s, words)
    click.echo()
    for line in closing_lines(state):
        click.echo(line)


def _with_profile(profile: ProfileUsed | None) -> str:
    return "" if profile is None else f" with the profile {profile.name} (SHA-256 {profile.digest})"
