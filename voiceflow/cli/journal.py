"""``voiceflow journal``: what the journal holds."""

import sys
from pathlib import Path
from typing import TextIO

import click
from rich.console import Console
from rich.table import Table

from voiceflow.cli import options
from voiceflow.cli.exit_status import DONE, OPEN
from voiceflow.cli.pushing import push
from voiceflow.cli.reading import open_reader, open_store
from voiceflow.cli.running import open_journal
from voiceflow.cli.transcript import Transcript, clock, closing_lines
from voiceflow.dialogue.actions import Say
from voiceflow.dialogue.events import ProfileUsed
from voiceflow.dialogue.machine import handle
from voiceflow.dialogue.state import Note
from voiceflow.errors import JournalError, UsageError
from voiceflow.journal import codec, export
from voiceflow.journal.replay import verify
from voiceflow.journal.store import Journal
from voiceflow.journal.verifying import Verification
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
      voiceflow journal sound 20261125-093012-7f3a 2 --to note.flac
      voiceflow journal --journal voiceflow-demo/journal.sqlite list
    """
    ctx.obj = journal_path
    if ctx.invoked_subcommand is None:
        ctx.invoke(list_runs, journal_path=journal_path, store=None, as_json=False)


@command.command("list")
@options.journal
@options.store
@options.as_json
@click.pass_obj
def list_runs(
    obj: Path | None, journal_path: Path | None, store: str | None, *, as_json: bool
) -> None:
    """List the runs, oldest first; of a store, each with the journal it comes from."""
    with open_reader(journal_path or obj, store) as journal:
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
                        **({"source": run.source} if run.source else {}),
                    }
                )
            )
        return
    if not runs:
        click.echo("No runs yet. Begin one: voiceflow run CHECK")
        return
    table = Table(box=None, pad_edge=False)
    # the first figures of a journal's first link tell it from the others
    source = ("from",) if store is not None else ()
    for name in ("run", "started", "check", "tail", "events", "ending", *source):
        table.add_column(name, justify="right" if name == "events" else "left", no_wrap=True)
    for run in runs:
        started = run.started_at[:19].replace("T", " ")
        ending = run.ending or "not finished"
        cells = (run.run_id, started, run.check_id, run.tail, str(run.events), ending)
        table.add_row(*cells, *([run.source[:8]] if source else []))
    # in a pipe there is no width to keep to
    Console(highlight=False, width=None if sys.stdout.isatty() else 160).print(table)


@command.command("show")
@click.argument("run")
@options.journal
@options.as_json
@click.pass_obj
def show(obj: Path | None, run: str, journal_path: Path | None, *, as_json: bool) -> None:
    """Show a RUN as it went: time, who, words, verdict."""
    with open_journal(journal_path or obj, to_read=True) as journal:
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
    with open_journal(journal_path or obj, to_read=True) as journal:
        run_id = journal.find(run).run_id
        entries = journal.entries(run_id)
        if as_csv:
            click.echo(export.to_csv(run_id, entries), file=to, nl=False)
        else:
            for line in export.to_json_lines(journal.header(run_id), entries):
                click.echo(line, file=to)


@command.command("sound")
@click.argument("run")
@click.argument("number", type=click.IntRange(min=1), required=False)
@click.option(
    "--to",
    metavar="FILE",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Where the sound goes, a FLAC file; beside the journal if not given.",
)
@options.journal
@click.pass_obj
def write_sound(
    obj: Path | None, run: str, number: int | None, to: Path | None, journal_path: Path | None
) -> None:
    """Write the sound of a note of a RUN to a file, as it was said.

    NUMBER is the note's place among the notes of the run, as the report has it; it may be
    left out where there is only one. The path is printed.
    """
    with open_journal(journal_path or obj, to_read=True) as journal:
        run_id = journal.find(run).run_id
        place, note = note_of(journal, run_id, number)
        sound = journal.sound(note.digest)
        to = to or journal.path.with_name(f"voiceflow-{run_id}-note-{place}.flac")
    try:
        to.parent.mkdir(parents=True, exist_ok=True)
        to.write_bytes(sound)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise UsageError(
            f"the sound {to} cannot be written: {reason}", "Name another file with --to."
        ) from error
    click.echo(to.absolute())


@command.command("push")
@click.argument("url", nargs=-1)
@options.journal
@options.as_json
@click.pass_obj
def push_journal(
    obj: Path | None, url: tuple[str, ...], journal_path: Path | None, *, as_json: bool
) -> int:
    """Push the journal to the fleet's store at URL: all that it does not have yet.

    The store is a PostgreSQL database, postgresql://USER@HOST/DATABASE; the first push
    makes its tables. Best keep the password out of the URL, in ~/.pgpass or PGPASSWORD:
    what is typed stays in the shell's history.

    A push that is cut off has pushed the part before, and the next goes on from there.
    Nothing in the store is ever overwritten: what does not go with it is set aside and told.
    A run that goes on is pushed as far as it is. The journal stays as it is.

    Ends with status 0 if the store and the journal agree, 1 if something was set aside or
    the store has more than the file, 2 if it could not be pushed.

    \b
    Examples:
      voiceflow journal push postgresql://skerry@records.example/fleet
      voiceflow journal list --store postgresql://skerry@records.example/fleet
    """
    if len(url) != 1:
        # what was given is not repeated: there may be a password in it
        raise UsageError(
            f"one URL of a store is wanted, not {len(url)}",
            "See: voiceflow journal push --help",
        )
    return push(url[0], journal_path or obj, as_json=as_json)


@command.command("verify")
@click.argument("run", required=False)
@options.journal
@click.option(
    "--store", metavar="URL", default=None, help="The fleet's store instead: all of its links."
)
@click.pass_obj
def verify_run(
    obj: Path | None, run: str | None, journal_path: Path | None, store: str | None
) -> int:
    """Tell whether the journal is as it was written: all of it, or one RUN.

    Every row has a link that follows from the one before it, so that a row that was
    changed, taken away, put in or moved is told, the first one first. Then each run is
    replayed, and what comes out is held against what was written down.

    The last link is printed. Note it elsewhere, in a log book or a mail: the links alone
    cannot tell that the end of a journal was cut off, nor that somebody has made all of
    them anew, but then the link that you noted is no longer the last one, or not in it.

    Ends with status 0 if all is whole, 1 if not.
    """
    if store is not None:
        if run is not None or journal_path is not None:
            what = "--store is verified as a whole, and beside it nothing"
            raise UsageError(what, "Leave RUN and --journal out.")
        with open_store(store) as opened:
            return _tell_links(opened.verify_chain())
    with open_journal(journal_path or obj, to_read=True) as journal:
        run_id = None if run is None else journal.find(run).run_id
        chain = journal.verify_chain(run_id)
        if chain.misfit is not None:
            click.echo(f"{chain.misfit.row}: {chain.misfit.what}")
            click.echo(f"{_links(chain.links)} before it fit; the last of them is {chain.last}")
            return OPEN
        runs = [each.run_id for each in journal.runs()] if run_id is None else [run_id]
        # every one is replayed, though one before it was not whole
        whole = [_replay(journal, each, is_told=run_id is not None) for each in runs]
    if not all(whole):
        return OPEN
    if run_id is None:
        count = "1 run" if len(whole) == 1 else f"{len(whole)} runs"
        click.echo(f"{count}, {_links(chain.links)}, replayed: the journal is whole.")
    click.echo(f"Last link: {chain.last}")
    return DONE


def _tell_links(found: Verification) -> int:
    if found.misfit is not None:
        click.echo(f"{found.misfit.row}: {found.misfit.what}")
        click.echo(f"{_links(found.links)} before it fit")
        return OPEN
    click.echo(f"{_links(found.links)}: the store is whole.")
    return DONE


def _links(count: int) -> str:
    return "1 link" if count == 1 else f"{count} links"


def _replay(journal: Journal, run_id: str, *, is_told: bool) -> bool:
    """Replay a run and tell where it differs; ``is_told``: tell, too, that it does not."""
    try:
        differences = verify(journal, run_id)
        count = len(journal.events(run_id))
    except JournalError as error:
        click.echo(f"Run {run_id}: {error.what}. {error.remedy}")
        return False
    for found in differences:
        if found.n is None:
            click.echo(f"event {found.seq}: it is missing, or one before it")
            continue
        stored = "nothing" if found.stored is None else codec.dump_record(found.stored)
        derived = "nothing" if found.derived is None else codec.dump_record(found.derived)
        click.echo(f"event {found.seq}, record {found.n}: {stored} is stored, {derived} follows")
    if differences:
        click.echo(f"Run {run_id}: {len(differences)} differences")
    elif is_told:
        click.echo(f"Run {run_id}: {count} events, replayed; the record is whole.")
    return not differences


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


def note_of(journal: Journal, run_id: str, number: int | None) -> tuple[int, Note]:
    """Give a note of a run that has a sound, and its place among the notes, from 1.

    Raises:
        JournalError: If there is no such note, or several and none is named.
        UsageError: If it was typed.
    """
    notes = [record.note for record in journal.records(run_id) if record.note is not None]
    if not notes:
        raise JournalError(journal.path, f"run {run_id} has no notes", "Look into another run.")
    if number is None and len(notes) == 1:
        number = 1
    if number is None or number > len(notes):
        named = "; ".join(
            f"{place} at {clock(note.at_s).strip()} on {note.item_id}"
            for place, note in enumerate(notes, 1)
        )
        what = f"run {run_id} has no note {number}"
        if number is None:
            what = f"run {run_id} has {len(notes)} notes"
        raise JournalError(journal.path, what, f"Name one by its number: {named}.")
    note = notes[number - 1]
    if not note.digest:
        raise UsageError(f"note {number} was typed: it has no sound", "Its text is in the report.")
    return number, note


def _with_profile(profile: ProfileUsed | None) -> str:
    return "" if profile is None else f" with the profile {profile.name} (SHA-256 {profile.digest})"
