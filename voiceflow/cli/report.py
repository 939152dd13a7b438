"""``voiceflow report``: a run, written down for people."""

from pathlib import Path

import click

from voiceflow.cli import options
from voiceflow.cli.reading import open_reader
from voiceflow.cli.reporting import write_reports
from voiceflow.errors import UsageError
from voiceflow.journal.store import Journal


@click.command("report")
@click.argument("run", required=False)
@click.option(
    "--html",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Where the page goes, one file that any browser shows.",
)
@click.option(
    "--csv",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Where the table goes, for spreadsheets.",
)
@click.option(
    "--json",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Where everything goes, for other programs.",
)
@click.option(
    "--log",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Where the short page for a technical log goes: findings first, one sheet to print.",
)
@options.journal
@options.store
def command(
    run: str | None,
    html: Path | None,
    csv: Path | None,
    json: Path | None,
    log: Path | None,
    journal_path: Path | None,
    store: str | None,
) -> None:
    """Write a RUN down: items, readings with limits and verdicts, discrepancies, times.

    RUN is the name of a run (see voiceflow journal); without it the last one is
    taken. Without options the page and the table are written beside the journal, from a
    store where you are. The paths are printed.

    \b
    Examples:
      voiceflow report
      voiceflow report 20261125-093012-7f3a --html monday.html
      voiceflow report --log log.html
    """
    with open_reader(journal_path, store) as journal:
        if run is not None:
            run_id = journal.find(run).run_id
        else:
            runs = journal.runs()
            if not runs:
                what = f"{journal.name}: there is no run in it"
                raise UsageError(what, "Begin one: voiceflow run CHECK")
            run_id = runs[-1].run_id
        if html is None and csv is None and json is None and log is None:
            folder = journal.path.parent if isinstance(journal, Journal) else Path()
            html = folder / f"voiceflow-{run_id}.html"
            csv = folder / f"voiceflow-{run_id}.csv"
        for path in write_reports(journal, run_id, html=html, csv=csv, json=json, log=log):
            click.echo(path)
