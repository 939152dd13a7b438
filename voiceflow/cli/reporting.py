"""Writes the reports of a run; what they say is made in ``voiceflow.reports``."""

from pathlib import Path

from voiceflow.errors import UsageError
from voiceflow.journal.asking import RunReader
from voiceflow.journal.replay import replay
from voiceflow.reports.content import build
from voiceflow.reports.html import render, render_log
from voiceflow.reports.structured import to_json
from voiceflow.reports.tables import to_csv


def write_reports(
    journal: RunReader,
    run_id: str,
    *,
    html: Path | None = None,
    csv: Path | None = None,
    json: Path | None = None,
    log: Path | None = None,
) -> tuple[Path, ...]:
    """Write a run down for people.

    Args:
        journal: The journal, or the fleet's store, that has it.
        run_id: The run.
        html: Where the page goes; None: nowhere.
        csv: Where the table goes; None: nowhere.
        json: Where everything goes for programs; None: nowhere.
        log: Where the short page for a technical log goes; None: nowhere.

    Returns:
        The files written, absolute.

    Raises:
        JournalError: If there is no such run or it cannot be read; of a store StoreError.
        UsageError: If a file cannot be written.
    """
    header = journal.header(run_id)
    events = journal.events(run_id)
    links = [each.link for each in journal.raw_events(run_id)]
    report = build(
        header,
        replay(header, events),
        events,
        steps=journal.finding_steps(),
        link=links[-1] if links else "",
    )
    texts = ((html, render), (csv, to_csv), (json, to_json), (log, render_log))
    written = []
    for path, make in texts:
        if path is None:
            continue
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(make(report), encoding="utf-8", newline="")
        except OSError as error:
            reason = (error.strerror or str(error)).lower()
            raise UsageError(
                f"the report {path} cannot be written: {reason}",
                "Name another file with --html, --csv, --json or --log.",
            ) from error
        written.append(path.absolute())
    return tuple(written)
