"""``voiceflow findings``: discrepancies that nobody has cleared, and what people say of them."""

import json
import sys
from datetime import datetime
from pathlib import Path
from typing import Final

import click
from rapidfuzz import process
from rich.console import Console
from rich.table import Table

from voiceflow.cli import options
from voiceflow.cli.exit_status import DONE
from voiceflow.cli.running import open_journal
from voiceflow.dialogue.brief import CarriedFinding, FindingState
from voiceflow.errors import JournalError, UsageError
from voiceflow.journal.ledger import FindingStep
from voiceflow.journal.store import Journal
from voiceflow.reports import wording

_ACTIONS: Final = {
    "defer": FindingState.DEFERRED,
    "rectify": FindingState.RECTIFIED,
    "accept": FindingState.ACCEPTED,
}


@click.command("findings", options_metavar="[OPTIONS]")
@click.argument("words", nargs=-1, metavar="[TAIL | defer ID | rectify ID | accept ID]")
@click.option("--by", metavar="NAME", help="Who defers, has rectified or accepts it.")
@click.option(
    "--reference",
    metavar="TEXT",
    default="",
    help="Under what: the deferred item's or the work order's number.",
)
@options.journal
@options.as_json
def command(
    words: tuple[str, ...], by: str | None, reference: str, journal_path: Path | None, as_json: bool
) -> int:
    """List discrepancies that nobody has cleared, of one TAIL or of all.

    People decide what becomes of a discrepancy; what they decide is written down with
    their name and the time, beside the run in which it was found, and nothing is taken
    away. A deferred one is still told at the next run; one that was rectified, or
    accepted by the captain, no longer is.

    \b
    Examples:
      voiceflow findings X-SKR7
      voiceflow findings defer 20261125-093012-7f3a/crew-oxygen --by "Bo Lind" --reference "35-1"
      voiceflow findings rectify 20261125-093012-7f3a/crew-oxygen --by "Bo Lind" --reference "WO 881"
    """
    if words and words[0] in _ACTIONS:
        finding_id = _only(words[1:], f"{words[0]} wants the ID of one finding")
        step = _step(words[0], finding_id, by, reference)
        with open_journal(journal_path, create=False) as journal:
            _note(journal, step, as_json=as_json)
        return DONE
    if by is not None or reference:
        what = "--by and --reference belong to defer, rectify or accept"
        raise UsageError(what, "Say which: voiceflow findings defer ID --by NAME --reference TEXT")
    tail = _only(words, "one TAIL is listed at a time") if words else None
    with open_journal(journal_path, to_read=True) as journal:
        _list(journal, tail, as_json=as_json)
    return DONE


def _only(words: tuple[str, ...], what: str) -> str:
    if len(words) != 1:
        raise UsageError(f"{what}, not {len(words)} words", "See: voiceflow findings --help")
    return words[0]


def _step(action: str, finding_id: str, by: str | None, reference: str) -> FindingStep:
    """Give what is to be written down, at the present time.

    Raises:
        UsageError: If who, or under what, was not said.
    """
    name, under = (by or "").strip(), reference.strip()
    if not name:
        raise UsageError(f"nobody is named who would {action} it", "Say who: --by NAME")
    if not under and action != "accept":
        what = f"a finding that somebody would {action} needs a reference"
        raise UsageError(what, "Give the number it is written under: --reference TEXT")
    now = datetime.now().astimezone().isoformat(timespec="seconds")
    return FindingStep(
        finding_id=finding_id, state=_ACTIONS[action], by=name, reference=under, at=now
    )


def _note(journal: Journal, step: FindingStep, *, as_json: bool) -> None:
    try:
        journal.note_finding(step)
    except JournalError as error:
        known = [one.finding_id for tail in journal.tails() for one in journal.open_findings(tail)]
        near = process.extract(step.finding_id, known, limit=1, score_cutoff=70)
        if not near:
            raise
        remedy = f"{error.remedy}. Did you mean {near[0][0]}?"
        raise JournalError(journal.path, error.what, remedy) from error
    if as_json:
        click.echo(
            _line(
                finding_id=step.finding_id,
                state=str(step.state),
                by=step.by,
                reference=step.reference,
                at=step.at,
            )
        )
        return
    under = f", {step.reference}" if step.reference else ""
    click.echo(f"{step.finding_id}: {wording.STANDING[step.state]} by {step.by}{under}, {step.at}")
    if not step.state.is_cleared:
        click.echo("It is still told at the next run.")


def _list(journal: Journal, tail: str | None, *, as_json: bool) -> None:
    known = journal.tails()
    if tail is not None and tail not in known:
        raise JournalError(
            journal.path,
            f"no run of {tail}",
            f"There are runs of: {', '.join(known) or 'none'}.",
        )
    found = [
        (of, one)
        for of in (known if tail is None else (tail,))
        for one in journal.open_findings(of)
    ]
    if as_json:
        for of, one in found:
            click.echo(_json_line(of, one))
        return
    if not found:
        click.echo("Nothing is open.")
        return
    table = Table(box=None, pad_edge=False)
    for name in ("finding", "tail", "found", "item", "what", "for"):
        table.add_column(name, no_wrap=name in ("finding", "tail", "found"))
    for of, one in found:
        when = one.found_at[:16].replace("T", " ")
        concerns = wording.ACTION[one.action] if one.say is None else one.say
        table.add_row(one.finding_id, of, when, one.challenge, wording.carried(one), concerns)
    # in a pipe there is no width to keep to
    Console(highlight=False, width=None if sys.stdout.isatty() else 200).print(table)


def _json_line(tail: str, found: CarriedFinding) -> str:
    return _line(
        finding_id=found.finding_id,
        tail=tail,
        found_at=found.found_at,
        check_id=found.check_id,
        item_id=found.item_id,
        challenge=found.challenge,
        reason=str(found.reason),
        phrase=found.phrase,
        value=None if found.value is None else str(found.value),
        unit=found.unit,
        action=str(found.action),
        say=found.say,
        state=str(found.state),
        by=found.by,
        reference=found.reference,
    )


def _line(**fields: str | None) -> str:
    return json.dumps(fields, ensure_ascii=False)
