"""``voiceflow demo``: a whole check from recorded speech to a report."""

from pathlib import Path
from typing import Final

import click

import voiceflow
from voiceflow.audio.frames import RATE_HZ
from voiceflow.audio.wav import read_recording
from voiceflow.cli import options
from voiceflow.cli.checks import load
from voiceflow.cli.exit_status import DONE
from voiceflow.cli.running import carry_through, open_journal, watching
from voiceflow.errors import SynthesisError, UsageError
from voiceflow.journal.store import Journal
from voiceflow.languages.registry import language
from voiceflow.session.assembly import SILENT, Session, Ways
from voiceflow.synthesis.pyttsx3_wav import Pyttsx3Synthesiser

DEMO_FOLDER: Final = Path("voiceflow-demo")
DEMO_JOURNAL: Final = DEMO_FOLDER / "journal.sqlite"
_BOTH_SIDES: Final = DEMO_FOLDER / "both-sides.wav"
_CHECK: Final = "cockpit-preparation"


@click.command("demo")
@options.engine
@options.model
def command(engine: str, model: Path | None) -> int:
    """Watch a whole cockpit preparation run from a recording, in a minute or so.

    The recording is synthetic speech. In it a pilot hesitates, asks "say again",
    corrects an answer, reads a pressure below its minimum, is interrupted and says
    "stand by", and leaves an item that comes back at the end. It goes through the
    same recogniser, dialogue and journal as a check of yours.

    Everything is written into the folder voiceflow-demo here: the journal, the
    report, and a WAV file with both sides, the pilot left and the tool right.

    \b
    Example:
      voiceflow demo

    Ends with status 0 when the demo ran to its end, although the check in it ends
    with something open: that is part of the show.
    """
    recording = demo_recording()
    check = load(_CHECK, None)
    try:
        Pyttsx3Synthesiser(language(check.language))
        voice = str(_BOTH_SIDES)
    except SynthesisError as error:
        click.echo(f"{error} The demo runs without the tool's voice.", err=True)
        voice = SILENT
    total_s = len(read_recording(recording)) / RATE_HZ
    ways = Ways(recording=recording, engine=engine, model=model, voice=voice)
    with open_journal(DEMO_JOURNAL) as journal:
        with watching(as_json=False, typed=False, total_s=total_s) as watcher:
            click.echo(
                f"A recorded {check.title.lower()} of {total_s / 60:.1f} minutes, heard faster "
                "than real time. Should it be interrupted, go on with: voiceflow resume",
                err=True,
            )
            session = Session(journal, check, ways, watcher)
            result, status = carry_through(
                session.run, watcher=watcher, journal=journal, as_json=False
            )
        if result is None:
            return status
        write_demo_reports(journal, result.run_id, quiet=False)
    return DONE if result.state.ending is not None else status


def demo_recording() -> Path:
    """Find the recording: in the installed package, or beside it in a checkout.

    Raises:
        UsageError: If it is in neither place.
    """
    package = Path(voiceflow.__file__).parent
    for folder in (package / "_demo", package.parent / "audio_fixtures" / "demo"):
        for suffix in (".wav", ".flac"):
            path = folder / f"{_CHECK}{suffix}"
            if path.is_file():
                return path
    raise UsageError(
        "the demo's recording is missing from this installation",
        "Install Voiceflow anew, or run a check: voiceflow run cockpit-preparation --typed",
    )


def write_demo_reports(journal: Journal, run_id: str, *, quiet: bool) -> None:
    """Write the demo's reports and say where everything is."""
    # not before the end: what makes pages takes its time to load
    from voiceflow.cli.reporting import write_reports

    paths = write_reports(
        journal, run_id, html=DEMO_FOLDER / "report.html", csv=DEMO_FOLDER / "report.csv"
    )
    if quiet:
        return
    if _BOTH_SIDES.is_file():
        click.echo(f"Both sides, to listen to: {_BOTH_SIDES.absolute()}")
    for path in paths:
        click.echo(f"Report: {path}")
