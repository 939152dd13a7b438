"""``voiceflow evaluate``: how well a set of recordings is heard, in figures."""

import json
import os
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

import click
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn
from rich.table import Table

from voiceflow.errors import UsageError
from voiceflow.evaluation.criteria import Criterion, is_main, judge_hearing, judge_speed
from voiceflow.evaluation.manifest import Row, load_manifest
from voiceflow.evaluation.metrics import Interval, Result, Spread, Tally
from voiceflow.evaluation.run import EngineChoice, Outcome, evaluate, verify
from voiceflow.evaluation.speed import Speed, measure

#: Characters a line where there is no terminal whose width one could ask.
_FILE_WIDTH = 132


@click.command("evaluate")
@click.argument("manifest", type=click.Path(path_type=Path))
@click.option(
    "--engine",
    type=click.Choice(["auto", "vosk", "pocketsphinx"]),
    default="auto",
    show_default=True,
    help="What is to hear the recordings.",
)
@click.option(
    "--model", type=click.Path(path_type=Path), default=None, help="Folder of a Vosk model."
)
@click.option("--voice", default=None, help='Only recordings of this voice ("flite slt").')
@click.option(
    "--workers",
    type=click.IntRange(min=1),
    default=lambda: os.cpu_count() or 1,
    show_default="one a processor",
    help="Processes that share the work.",
)
@click.option(
    "--run",
    "run_on",
    type=(str, click.Path(path_type=Path)),
    default=None,
    metavar="CHECK RECORDING",
    help="Also run CHECK on RECORDING and measure memory and time to the first word "
    "(default: the demo recording beside the manifest, if it is there).",
)
@click.option("--json", "as_json", is_flag=True, help="One JSON object a line.")
def command(
    manifest: Path,
    engine: str,
    model: Path | None,
    voice: str | None,
    workers: int,
    run_on: tuple[str, Path] | None,
    as_json: bool,
) -> None:
    r"""Hear every recording of a MANIFEST and print how many came out right.

    A manifest is a CSV file that says of each recording what was said and what it
    means. Every figure stands with its 95 % interval. Figures from synthetic speech
    show that the program works; they do not tell how well a person is heard.

    \b
    Example:
      voiceflow evaluate audio_fixtures/manifest.csv
    """
    rows = load_manifest(manifest)
    verify(rows, manifest)
    if voice is not None:
        rows = _of_voice(rows, voice)
    choice = EngineChoice(name=engine, model=model)
    with _bar(len(rows), shown=not as_json) as advance:
        outcomes = evaluate(rows, choice, workers=workers, on_done=advance)
    speed = _speed(manifest, choice, run_on)
    criteria = judge_hearing(outcomes) + (judge_speed(speed) if speed else ())
    if as_json:
        for line in _json_lines(outcomes, criteria):
            click.echo(line)
        return
    console = Console()
    if not console.is_terminal:
        console = Console(width=_FILE_WIDTH)
    _print(console, outcomes, criteria, speed)


def _of_voice(rows: Sequence[Row], voice: str) -> tuple[Row, ...]:
    found = tuple(row for row in rows if row.voice == voice)
    if not found:
        voices = ", ".join(sorted({row.voice for row in rows}))
        what = f"no recording has the voice {voice!r}"
        raise UsageError(what, f"The voices are: {voices}.")
    return found


class _bar:  # noqa: N801 - used as a context manager, like open
    """A progress bar on stderr, or nothing."""

    def __init__(self, total: int, *, shown: bool) -> None:
        self._progress = Progress(
            TextColumn("hearing"),
            BarColumn(),
            MofNCompleteColumn(),
            TimeElapsedColumn(),
            console=Console(stderr=True),
            disable=not shown,
            transient=True,
        )
        self._task = self._progress.add_task("hearing", total=total)

    def __enter__(self) -> Callable[[int], None]:
        self._progress.start()
        return lambda done: self._progress.update(self._task, completed=done)

    def __exit__(self, *_: object) -> None:
        self._progress.stop()


def _speed(manifest: Path, choice: EngineChoice, run_on: tuple[str, Path] | None) -> Speed | None:
    if run_on is None:
        demo = manifest.parent / "demo" / "cockpit-preparation.flac"
        if not demo.is_file():
            return None
        run_on = ("cockpit-preparation", demo)
    check, recording = run_on
    front_end = ("voiceflow.cli.main", "voiceflow.cli.run")
    return measure(check, recording, choice.name, choice.model, front_end)


# --- tables ------------------------------------------------------------------------------


def _print(
    console: Console,
    outcomes: Sequence[Outcome],
    criteria: Sequence[Criterion],
    speed: Speed | None,
) -> None:
    console.print(_heading(outcomes), highlight=False)
    main = [outcome for outcome in outcomes if is_main(outcome)]
    meant = [outcome for outcome in outcomes if outcome.row.kind != "none"]
    nothing = [outcome for outcome in outcomes if outcome.row.kind == "none"]
    tables = (
        ("By kind (main set, clean)", main, lambda one: one.row.kind),
        ("Readings by form (main set, clean)", _readings(main), lambda one: one.row.form),
        ("Readings by item (main set, clean)", _readings(main), lambda one: one.row.item),
        ("Answers by voice (clean)", _clean(meant), lambda one: one.row.voice),
        ("Answers by noise", meant, lambda one: one.row.condition),
        ("Answers by engine", meant, lambda one: one.engine),
    )
    for title, group, key in tables:
        if group:
            console.print(_table(title, _without_nothing(group), key))
    if nothing:
        console.print(_nothing_table(nothing))
    _print_wrong(console, outcomes)
    _print_delay(console, outcomes, speed)
    console.print(_criteria_table(criteria, _speech(outcomes)))


def _speech(outcomes: Sequence[Outcome]) -> str:
    made = sum(outcome.row.is_synthetic for outcome in outcomes)
    if made == len(outcomes):
        return "synthetic speech"
    return "recorded speech" if made == 0 else "synthetic and recorded speech"


def _heading(outcomes: Sequence[Outcome]) -> str:
    voices = sorted({outcome.row.voice for outcome in outcomes})
    engines = sorted({outcome.engine for outcome in outcomes})
    minutes = sum(outcome.audio_s for outcome in outcomes) / 60
    return (
        f"\n[bold]{len(outcomes)} recordings, {_speech(outcomes)}[/bold], {minutes:.1f} minutes\n"
        f"voices: {', '.join(voices)}\nengine: {', '.join(engines)}\n"
    )


def _readings(outcomes: Iterable[Outcome]) -> list[Outcome]:
    return [outcome for outcome in outcomes if outcome.row.kind == "reading"]


def _clean(outcomes: Iterable[Outcome]) -> list[Outcome]:
    return [outcome for outcome in outcomes if outcome.row.snr_db is None]


def _without_nothing(outcomes: Iterable[Outcome]) -> list[Outcome]:
    return [outcome for outcome in outcomes if outcome.row.kind != "none"]


def _range(interval: Interval) -> str:
    return f"{interval.low:.1%} to {interval.high:.1%}"


def _table(title: str, outcomes: Sequence[Outcome], key: Callable[[Outcome], str]) -> Table:
    table = Table(title=title, title_justify="left")
    table.add_column("")
    for name in ("of", "right", "", "95 % interval", *list(Result)[1:]):
        table.add_column(str(name), justify="right")
    groups: dict[str, list[Result]] = {}
    for outcome in outcomes:
        groups.setdefault(key(outcome), []).append(outcome.result)
    everything = [result for group in groups.values() for result in group]
    lines = [*sorted(groups.items()), *([("all", everything)] if len(groups) > 1 else [])]
    for name, results in lines:
        tally = Tally.of(results)
        table.add_row(
            name,
            str(tally.total),
            str(tally.count(Result.RIGHT)),
            f"{tally.share(Result.RIGHT):.1%}",
            _range(tally.interval(Result.RIGHT)),
            *(str(tally.count(result)) for result in list(Result)[1:]),
        )
    return table


def _nothing_table(outcomes: Sequence[Outcome]) -> Table:
    """Talk that answers nothing: every acceptance is false."""
    table = Table(title="Talk that answers nothing here", title_justify="left")
    table.add_column("")
    for name in (
        "of",
        "accepted",
        "",
        "95 % interval",
        "put as a question",
        "asked again",
        "ignored",
    ):
        table.add_column(name, justify="right")
    tally = Tally.of(outcome.result for outcome in outcomes)
    table.add_row(
        "all",
        str(tally.total),
        str(tally.count(Result.WRONG_ACCEPTED)),
        f"{tally.share(Result.WRONG_ACCEPTED):.1%}",
        _range(tally.interval(Result.WRONG_ACCEPTED)),
        str(tally.count(Result.WRONG_CONFIRMED)),
        str(tally.count(Result.ASKED)),
        str(tally.count(Result.IGNORED)),
    )
    return table


def _print_wrong(console: Console, outcomes: Sequence[Outcome]) -> None:
    wrong = [
        outcome
        for outcome in outcomes
        if outcome.row.snr_db is None
        and outcome.row.kind != "none"
        and outcome.result is not Result.RIGHT
    ]
    if not wrong:
        return
    table = Table(title="Clean recordings that did not come out right", title_justify="left")
    for name in ("recording", "said", "heard", "result"):
        table.add_column(name)
    for outcome in wrong:
        heard = " / ".join(
            f"{text or '(nothing)'} [{decision}]"
            for text, decision in zip(outcome.heard, outcome.decisions, strict=True)
        )
        table.add_row(outcome.row.file, outcome.row.text, heard.replace("[", r"\["), outcome.result)
    console.print(table)


def _print_delay(console: Console, outcomes: Sequence[Outcome], speed: Speed | None) -> None:
    delays = Spread.of(
        outcome.delay_s
        for outcome in outcomes
        if outcome.delay_s is not None and outcome.result is Result.RIGHT
    )
    if delays.median is not None and delays.p95 is not None:
        console.print(
            f"End of speech to decision: median {delays.median * 1000:.0f} ms, "
            f"95 of 100 within {delays.p95 * 1000:.0f} ms",
            highlight=False,
        )
    if speed is not None:
        console.print(
            f"A whole run: {speed.wall_s:.1f} s, of which {speed.cpu_s:.1f} s processor time\n",
            highlight=False,
        )


def _criteria_table(criteria: Sequence[Criterion], speech: str) -> Table:
    table = Table(title=f"Criteria ({speech})", title_justify="left")
    for name in ("", "wanted", "measured", "95 % interval", ""):
        table.add_column(name)
    for one in criteria:
        table.add_row(
            one.what,
            one.wanted,
            one.measured,
            _range(one.interval) if one.interval else "",
            "[green]pass[/green]" if one.kept else "[red]short[/red]",
        )
    return table


# --- JSON --------------------------------------------------------------------------------


def _json_lines(outcomes: Sequence[Outcome], criteria: Sequence[Criterion]) -> Iterable[str]:
    for outcome in outcomes:
        yield json.dumps(
            {
                "recording": outcome.row.file,
                "part": outcome.row.part,
                "check": outcome.row.check,
                "item": outcome.row.item,
                "kind": outcome.row.kind,
                "form": outcome.row.form,
                "voice": outcome.row.voice,
                "noise": outcome.row.condition,
                "engine": outcome.engine,
                "text": outcome.row.text,
                "heard": list(outcome.heard),
                "decisions": list(outcome.decisions),
                "result": outcome.result,
                "said_aloud": outcome.said_aloud,
                "delay_s": outcome.delay_s,
                "decode_s": outcome.decode_s,
                "audio_s": outcome.audio_s,
            },
            ensure_ascii=False,
        )
    for one in criteria:
        yield json.dumps(
            {
                "criterion": one.what,
                "speech": _speech(outcomes),
                "wanted": one.wanted,
                "measured": one.measured,
                "interval": [one.interval.low, one.interval.high] if one.interval else None,
                "kept": one.kept,
            },
            ensure_ascii=False,
        )
