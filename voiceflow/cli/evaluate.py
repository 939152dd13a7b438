"""``voiceflow evaluate``: how well a set of recordings is heard, in figures."""

import json
import os
from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict
from pathlib import Path

import click
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn
from rich.table import Table

from voiceflow.cli import options
from voiceflow.errors import UsageError
from voiceflow.evaluation import comparison
from voiceflow.evaluation.care import care_lines
from voiceflow.evaluation.comparison import Change
from voiceflow.evaluation.criteria import (
    Criterion,
    is_main,
    judge_hearing,
    judge_noise,
    judge_speed,
)
from voiceflow.evaluation.live import Wishes
from voiceflow.evaluation.live_bench import measure_live
from voiceflow.evaluation.live_tables import judge_live, live_json, live_tables
from voiceflow.evaluation.manifest import Row, load_manifest
from voiceflow.evaluation.metrics import Interval, Result, Tally
from voiceflow.evaluation.noise import Noise
from voiceflow.evaluation.page import require, write
from voiceflow.evaluation.run import EngineChoice, Outcome, evaluate, verify, with_noise
from voiceflow.evaluation.scoring import (
    scoring,
    shortened,
    thinned,
    training_voices,
    with_training_voices,
)
from voiceflow.evaluation.speed import Speed, measure
from voiceflow.evaluation.tables import (
    Lines,
    change_lines,
    criteria_lines,
    delay_lines,
    tables,
    unattended_lines,
)
from voiceflow.evaluation.unattended import CHECK, Unattended, listen
from voiceflow.settings import settings_for

#: Characters a line where there is no terminal whose width one could ask.
_FILE_WIDTH = 132


def _list_of(what: str, known: Sequence[Noise]) -> Callable[..., tuple[Noise, ...]]:
    def read(context: click.Context, option: click.Parameter, text: str) -> tuple[Noise, ...]:
        names = list(dict.fromkeys(name.strip() for name in text.split(",") if name.strip()))
        for name in names:
            if name not in set(known):
                message = f"there is no {what} {name!r}. Choose from {', '.join(known)}."
                raise click.BadParameter(message, context, option)
        return tuple(Noise(name) for name in names)

    return read


def _numbers(context: click.Context, option: click.Parameter, text: str) -> tuple[float, ...]:
    try:
        numbers = tuple(dict.fromkeys(float(one) for one in text.split(",")))
    except ValueError:
        message = f"{text!r} is not a list of numbers. Write, for example, 20,15,10."
        raise click.BadParameter(message, context, option) from None
    if not all(-60 <= one <= 60 for one in numbers):
        message = "a ratio lies between -60 and 60 decibels."
        raise click.BadParameter(message, context, option)
    return numbers


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
@options.care
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
@click.option(
    "--whole",
    is_flag=True,
    help='Hear all of the part "other talk"; else every third row of it.',
)
@click.option(
    "--every",
    type=click.IntRange(min=1),
    default=1,
    metavar="N",
    help="Hear only every Nth recording of each voice and part, to save time.",
)
@click.option(
    "--noise",
    "noises",
    callback=_list_of("noise", tuple(Noise)),
    default="",
    metavar="KIND,...",
    help="Hear the clean recordings again in noise mixed in now: pink, brown, fans, babble.",
)
@click.option(
    "--snr",
    "snrs_db",
    callback=_numbers,
    default="20,15,10",
    show_default=True,
    metavar="DB,...",
    help="Ratios of speech over that noise, decibels.",
)
@click.option(
    "--hours",
    type=click.FloatRange(min=0, max=100),
    default=0.05,
    show_default=True,
    help="How long to listen to the noise, breath and clicks of a cockpit where nobody speaks.",
)
@click.option(
    "--training-voice",
    "trained",
    multiple=True,
    metavar="VOICE",
    help="A voice that weights or thresholds were set with, besides those that the manifest "
    "names: it does not score. May be given several times.",
)
@click.option(
    "--html",
    "page",
    type=click.Path(path_type=Path, dir_okay=False),
    default=None,
    help="Write tables and curves to this page (needs the extra voiceflow[pictures]).",
)
@click.option(
    "--save",
    type=click.Path(path_type=Path, dir_okay=False),
    default=None,
    help="Keep the run in this file, to compare another with it.",
)
@click.option(
    "--compare",
    type=click.Path(path_type=Path, dir_okay=False),
    default=None,
    help="Say how this run differs from one that was kept, and whether chance explains it.",
)
@click.option("--json", "as_json", is_flag=True, help="One JSON object a line.")
@click.option(
    "--live",
    is_flag=True,
    help="Talk to the real program in real time, on virtual sound devices (needs PulseAudio), "
    "and measure from a recording how soon it replies.",
)
@click.option(
    "--turns",
    type=click.IntRange(min=1),
    default=200,
    show_default=True,
    help="Live: how many lines are said that count; 200 take about half an hour.",
)
@click.option(
    "--demo",
    "live_demo",
    is_flag=True,
    help="Live: do the check of the demo beside the manifest, with the lines of its recording.",
)
@click.option(
    "--live-snr",
    "live_snr_db",
    type=click.FloatRange(-60, 60),
    default=None,
    metavar="DB",
    help="Live: with pink noise in the room, speech over it in decibels.",
)
@click.option(
    "--echo",
    "echo_db",
    type=click.FloatRange(-60, 20),
    default=None,
    metavar="DB",
    help="Live: the tool is heard by its own microphone, so loud against the person, decibels.",
)
@click.option(
    "--run-option",
    "run_options",
    multiple=True,
    metavar="OPTION",
    help="Live: a further option for the program under test (--run-option=--profile=me). "
    "May be given several times.",
)
def command(
    manifest: Path,
    engine: str,
    model: Path | None,
    care: str,
    voice: str | None,
    workers: int,
    run_on: tuple[str, Path] | None,
    whole: bool,
    every: int,
    noises: tuple[Noise, ...],
    snrs_db: tuple[float, ...],
    hours: float,
    trained: tuple[str, ...],
    page: Path | None,
    save: Path | None,
    compare: Path | None,
    as_json: bool,
    live: bool,
    turns: int,
    live_demo: bool,
    live_snr_db: float | None,
    echo_db: float | None,
    run_options: tuple[str, ...],
) -> None:
    r"""Hear every recording of a MANIFEST and print how many came out right.

    A manifest is a CSV file that says of each recording what was said and what it
    means. Every figure stands with its 95 % interval. The criteria are about the main
    part of the set; the tables after them about voices that no weight or threshold was
    set with. Figures from synthetic speech
    show that the program works; they do not tell how well a person is heard.

    \b
    Example:
      voiceflow evaluate audio_fixtures/manifest.csv
      voiceflow evaluate audio_fixtures/manifest.csv --noise pink,babble --snr 15 --html page.html
      voiceflow evaluate audio_fixtures/manifest.csv --live --turns 40 --live-snr 15
    """
    if live:
        engine_options = ["--engine", engine] + ([] if model is None else ["--model", str(model)])
        wishes = Wishes(
            snr_db=live_snr_db, echo_db=echo_db, options=(*engine_options, *run_options)
        )
        _live(manifest, turns, wishes, demo=live_demo, as_json=as_json)
        return
    earlier = comparison.load(compare) if compare else None
    if page is not None:
        require()
    rows = load_manifest(manifest)
    verify(rows, manifest)
    _see_voices(rows, trained)
    rows = with_training_voices(rows, trained)
    if voice is not None:
        rows = _of_voice(rows, voice)
    rows = thinned(rows if whole else shortened(rows), every)
    rows = _once(rows + with_noise(rows, noises, snrs_db))
    choice = EngineChoice(name=engine, model=model)
    # before anything is heard here: a child counts the memory of the process that made it
    speed = _speed(manifest, choice, run_on)
    with _bar(len(rows), shown=not as_json) as advance:
        outcomes = evaluate(
            rows, choice, settings=settings_for(care), workers=workers, on_done=advance
        )
    checks = {row.check for row in rows}
    # a set in another language has its own checks, and perhaps no engine for the usual one
    check = CHECK if CHECK in checks else min(checks)
    unattended = (
        listen(hours, choice, check=check, settings=settings_for(care), workers=workers)
        if hours
        else None
    )
    if save is not None:
        comparison.save(save, outcomes)
    changes = () if earlier is None else comparison.compare(earlier, comparison.keep(outcomes))
    criteria = judge_hearing(outcomes) + (judge_speed(speed) if speed else ())
    scored = scoring(outcomes)
    new_voices = judge_noise(scored)
    if as_json:
        for line in _json_lines(outcomes, criteria + new_voices, unattended, changes):
            click.echo(line)
    shown = tables(scored)
    if new_voices:
        shown["Promises, kept or short"] = criteria_lines(new_voices)
    if scored:
        shown["The same utterances, more and less carefully"] = care_lines(scored)
    if unattended is not None:
        shown[_unattended_title(unattended)] = unattended_lines(unattended)
    if earlier is not None:
        shown["Against the run that was kept (all voices)"] = change_lines(changes)
    if page is not None:
        write(page, scored, speech=_speech(outcomes), notes=_notes(outcomes, scored), tables=shown)
    if as_json:
        return
    console = _console()
    _print(console, outcomes, criteria, speed)
    for note in _notes(outcomes, scored):
        console.print(f"\n{note}", highlight=False)
    for title, lines in shown.items():
        console.print(_lines_table(title, lines))


def _live(manifest: Path, turns: int, wishes: Wishes, *, demo: bool, as_json: bool) -> None:
    rows = load_manifest(manifest)
    verify(rows, manifest)
    folder = manifest.parent / "demo" if demo else None
    with (
        _bar(turns, shown=not as_json) as advance,
        measure_live(rows, folder, turns, wishes, advance) as run,
    ):
        pass
    criteria = judge_live(run, in_noise=wishes.snr_db is not None)
    if as_json:
        for line in live_json(run, criteria):
            click.echo(json.dumps(line, ensure_ascii=False))
        return
    console = _console()
    console.print(
        "\n[bold]A live run on virtual sound devices, with synthetic speech[/bold]\n",
        highlight=False,
    )
    for title, lines in live_tables(run).items():
        console.print(_lines_table(title, lines))
    console.print(_criteria_table(criteria, "synthetic speech, virtual devices"))


def _console() -> Console:
    console = Console()
    return console if console.is_terminal else Console(width=_FILE_WIDTH)


def _once(rows: Sequence[Row]) -> tuple[Row, ...]:
    """Leave out what a manifest already has in the noise that was asked for."""
    return tuple({row.key: row for row in reversed(rows)}.values())[::-1]


def _see_voices(rows: Sequence[Row], voices: Sequence[str]) -> None:
    for voice in voices:
        _of_voice(rows, voice)


def _unattended_title(heard: Unattended) -> str:
    return f"A cockpit where nobody speaks, synthesised, {heard.seconds / 60:.1f} minutes"


def _notes(outcomes: Sequence[Outcome], scored: Sequence[Outcome]) -> tuple[str, ...]:
    trained = sorted(training_voices(outcome.row for outcome in outcomes))
    voices = ", ".join(sorted({outcome.row.voice for outcome in scored})) or "none"
    left_out = f"Used for training, so left out here: {', '.join(trained)}. " if trained else ""
    return (
        (
            f"{len(scored)} of {len(outcomes)} recordings score, {_speech(outcomes)}. "
            f"{left_out}Voices that score: {voices}."
        ),
    )


def _lines_table(title: str, lines: Lines) -> Table:
    table = Table(title=title, title_justify="left")
    for number, name in enumerate(lines[0]):
        table.add_column(name, justify="right" if number else "left")
    for line in lines[1:]:
        table.add_row(*line)
    return table


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
    lines = delay_lines(outcomes)
    if len(lines) > 1:
        console.print(_lines_table("End of speech to decision, right answers, ms", lines))
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


def _json_lines(
    outcomes: Sequence[Outcome],
    criteria: Sequence[Criterion],
    unattended: Unattended | None,
    changes: Sequence[Change],
) -> Iterable[str]:
    for outcome in outcomes:
        yield json.dumps(
            {
                "recording": outcome.row.key,
                "part": outcome.row.part,
                "role": outcome.row.role,
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
                "confidences": list(outcome.confidences),
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
    if unattended is not None:
        taken = [
            {"minute": one.minute, "item": one.item, "heard": one.text, "decision": one.decision}
            for one in unattended.taken
        ]
        yield json.dumps({"unattended_s": unattended.seconds, "taken": taken}, ensure_ascii=False)
    for change in changes:
        yield json.dumps({"compared": change.group, **asdict(change)}, ensure_ascii=False)
