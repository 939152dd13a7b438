"""``voiceflow trend``: how the gauges of an aircraft go over its runs."""

import re
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import click
from rapidfuzz import process
from rich.console import Console
from rich.table import Table

from voiceflow.checks.model import Check
from voiceflow.cli import options
from voiceflow.cli.exit_status import DONE
from voiceflow.cli.reading import open_reader
from voiceflow.errors import UsageError
from voiceflow.history.trends import window_start
from voiceflow.journal import codec
from voiceflow.journal.asking import RunReader
from voiceflow.journal.store import Journal
from voiceflow.reports import trend_wording as wording
from voiceflow.reports.html import render_trends
from voiceflow.reports.trends import GaugeWay, TailTrends, tail_trends


@click.command("trend")
@click.argument("tail")
@click.option(
    "--html",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Where the page goes, one file that any browser shows (default: beside the journal).",
)
@options.journal
@options.store
@options.as_json
def command(
    tail: str, html: Path | None, journal_path: Path | None, store: str | None, *, as_json: bool
) -> int:
    """Show how the gauges of an aircraft went over its runs, and when limits are reached.

    TAIL is the registration. Printed are the last reading of each gauge, its slope since it
    was last serviced with the 95 % interval, its limit and when that is reached. A page with
    a plot of each goes beside the journal, from a store where you are; with --json no page
    is written unless --html names one.

    Pressures of gases are brought to one temperature with that of each run (--temperature);
    oil goes by the hours flown (--hours). Readings of the last 60 days count.

    \b
    Examples:
      voiceflow trend X-SKR7
      voiceflow trend X-SKR7 --html gauges.html
    """
    with open_reader(journal_path, store) as journal:
        folder = journal.path.parent if isinstance(journal, Journal) else Path()
        trends = _trends(journal, tail)
    if as_json:
        for way in trends.ways:
            click.echo(codec.to_text(_plain(tail, way)))
    else:
        _print(trends)
    if html is not None or not as_json:
        named = re.sub(r"[^\w-]", "-", tail)
        click.echo(_write(html or folder / f"voiceflow-trend-{named}.html", trends))
    return DONE


class _Checks:
    """The checks of runs, each read once."""

    def __init__(self, journal: RunReader) -> None:
        self._journal = journal
        self._known: dict[str, Check] = {}

    def check(self, run_id: str) -> Check:
        """Give the check that a run did."""
        if run_id not in self._known:
            self._known[run_id] = self._journal.header(run_id).check
        return self._known[run_id]


def _trends(journal: RunReader, tail: str) -> TailTrends:
    """Give how the gauges of a tail went: up to now, or up to when they were last read."""
    checks, now = _Checks(journal), datetime.now(UTC)
    since = window_start(now).isoformat()
    found = tail_trends(journal.answers(tail, since=since, readings=True), checks, now)
    if found is not None:
        return found
    known = journal.tails()
    if tail not in known:
        near = process.extract(tail, known, limit=1, score_cutoff=60)
        meant = f" Did you mean {near[0][0]}?" if near else ""
        there = ", ".join(known) or "none"
        what = f"{journal.name}: no run of {tail}"
        raise UsageError(what, f"There are runs of: {there}.{meant}")
    answers = journal.answers(tail, readings=True)
    begun = [datetime.fromisoformat(one.started_at) for one in answers]
    found = tail_trends(answers, checks, max(begun)) if begun else None
    if found is None:
        remedy = "Run a check with readings first: voiceflow run CHECK"
        raise UsageError(f"{journal.name}: no reading of {tail}", remedy)
    return found


def _print(trends: TailTrends) -> None:
    click.echo(f"{trends.tail}, {trends.aircraft}: {wording.heading(trends)}")
    click.echo(wording.what_matters(trends))
    click.echo()
    table = Table(box=None, pad_edge=False)
    for name in ("gauge", "last", "slope, 95 % interval", "limit", "limit in", "readings"):
        table.add_column(name, no_wrap=name != "gauge")
    for way in trends.ways:
        count = f"{len(way.trend.counted)} of {len(way.trend.readings)}"
        mark = "! " if way.matters else ""
        table.add_row(
            f"{mark}{way.title}",
            wording.last(way),
            wording.change(way),
            wording.limit(way),
            wording.ahead(way),
            count,
        )
    # in a pipe there is no width to keep to
    Console(highlight=False, width=None if sys.stdout.isatty() else 160).print(table)
    if trends.not_compared:
        click.echo(f"Not compared: {', '.join(trends.not_compared)}")
    click.echo()


def _plain(tail: str, way: GaugeWay) -> dict[str, Any]:
    """Give a gauge as JSON's own types."""
    made, limit = way.trend, way.trend.gauge.limit
    slope = None if made.line is None else made.line.slope
    return {
        "tail": tail,
        "series": made.gauge.series,
        "title": way.title,
        "unit": made.gauge.unit,
        "compared": str(made.gauge.kind),
        "at_c": made.at_c,
        "last": way.last.read,
        "last_at": way.last.at.isoformat(),
        "slope": None if slope is None else slope.middle,
        "low": None if slope is None else slope.low,
        "high": None if slope is None else slope.high,
        "each": "hour flown" if way.is_flown else "day",
        "readings": len(made.readings),
        "counted": len(made.counted),
        "serviced_before": [made.readings[place].at.isoformat() for place in made.serviced],
        "minimum": None if limit.minimum is None else str(limit.minimum),
        "maximum": None if limit.maximum is None else str(limit.maximum),
        "standing": str(way.standing),
        "ahead": way.ahead,
    }


def _write(path: Path, trends: TailTrends) -> Path:
    """Write the page; give its file."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(render_trends(trends), encoding="utf-8")
    except OSError as error:
        what = f"the page {path} cannot be written: {(error.strerror or str(error)).lower()}"
        raise UsageError(what, "Name another file with --html.") from error
    return path.absolute()
