"""Pushes a journal to the fleet's store, and tells what came of it."""

import sys
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING

import click

from voiceflow.cli.exit_status import DONE, OPEN
from voiceflow.cli.reading import open_store
from voiceflow.cli.running import open_journal
from voiceflow.journal import codec
from voiceflow.journal.rows import Happening, Head, Row

if TYPE_CHECKING:
    from voiceflow.fleet.pushing import Pushed


def push(url: str, journal_path: Path | None, *, as_json: bool) -> int:
    """Push a journal; give the exit status.

    Raises:
        VoiceflowError: If the journal cannot be read, or the store refuses.
    """
    # shown to who looks on, and to nobody else
    is_hidden = as_json or not sys.stderr.isatty()
    with (
        open_journal(journal_path, to_read=True) as journal,
        open_store(url, make=True) as store,
        click.progressbar(length=1, label="pushing", file=sys.stderr, hidden=is_hidden) as bar,
    ):
        from voiceflow.fleet.pushing import push as push_rows

        def moved(done: int, total: int) -> None:
            bar.length = total
            bar.update(done - bar.pos)

        pushed = push_rows(journal, store, moved=moved)
        name = store.name
    if as_json:
        click.echo(_json_line(pushed))
    else:
        _tell(pushed, name)
    return DONE if pushed.agrees else OPEN


def _tell(pushed: "Pushed", name: str) -> None:
    counts = (
        _count(pushed.runs, "run"),
        _count(pushed.events, "event"),
        _count(pushed.steps, "step about a finding", "steps about findings"),
        _count(pushed.sounds, "sound"),
    )
    told = ", ".join(count for count in counts if count)
    has = _count(pushed.has, "row")
    if pushed.rows == 0:
        has_all = f"it has all {has} of this journal" if has else "this journal is empty"
        click.echo(f"{name}: nothing to push, {has_all}.")
    else:
        click.echo(f"{name}: pushed {told or 'nothing'}. All of it fits its links.")
    for row in _runs_aside(pushed.aside):
        click.echo(row)
    if pushed.aside_before:
        was = "was" if pushed.aside_before == 1 else "were"
        click.echo(f"{_count(pushed.aside_before, 'row')} {was} set aside in pushes before.")
    if pushed.ahead:
        click.echo(
            f"The store has {_count(pushed.ahead, 'row')} of this journal that this file does "
            "not have: it is an older copy, or its end was cut off."
        )


def _runs_aside(rows: tuple[Row, ...]) -> list[str]:
    """Say of each run from where on its rows were set aside."""
    places = [_place(row) for row in rows]
    found = []
    for run_id, group in groupby(sorted(places), key=lambda place: place[0]):
        of_run = list(group)
        first = of_run[0][1]
        where = "its head" if first < 0 else f"event {first}"
        count = _count(len(of_run), "row")
        found.append(
            f"Run {run_id}: the store has another from {where} on. {count} set aside there, "
            "nothing overwritten."
        )
    return found


def _place(row: Row) -> tuple[str, int]:
    """Give the run and the event of a row; a head comes before the first event."""
    match row.written:
        case Head(run_id=run_id):
            return run_id, -1
        case Happening(run_id=run_id, seq=seq):
            return run_id, seq
        case _:
            return "", row.place


def _json_line(pushed: "Pushed") -> str:
    return codec.to_text(
        {
            "runs": pushed.runs,
            "events": pushed.events,
            "finding_steps": pushed.steps,
            "sounds": pushed.sounds,
            "has": pushed.has,
            "aside": [
                {"run_id": run_id, "seq": None if seq < 0 else seq}
                for run_id, seq in map(_place, pushed.aside)
            ],
            "aside_before": pushed.aside_before,
            "ahead": pushed.ahead,
        }
    )


def _count(number: int, one: str, many: str = "") -> str:
    if number == 0:
        return ""
    return f"1 {one}" if number == 1 else f"{number} {many or one + 's'}"
