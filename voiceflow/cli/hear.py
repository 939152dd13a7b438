"""``voiceflow hear``: what would be understood of recordings at an item."""

import json
import sys
from collections.abc import Iterable
from contextlib import closing
from pathlib import Path
from typing import Any

import click
from rich.console import Console
from rich.progress import track

from voiceflow.audio.frames import RATE_HZ
from voiceflow.audio.wav import read_recording
from voiceflow.checks.model import Item
from voiceflow.cli import options
from voiceflow.cli.checks import find_item, item_before, load_own
from voiceflow.cli.exit_status import DONE, UNUSABLE
from voiceflow.cli.wishes import with_pauses
from voiceflow.dialogue.policy import Decision
from voiceflow.errors import AudioFileError
from voiceflow.grammar.item_grammar import compile_item
from voiceflow.grammar.meaning import Ambiguous, Command, Correction, Meaning, Reading, Response
from voiceflow.session.engines import choose_engine
from voiceflow.session.hearing import Hearing, best_of, hear
from voiceflow.session.vocabulary import language_of
from voiceflow.settings import settings_for


@click.command("hear")
@click.argument("check")
@click.argument("item")
@click.argument("audio", nargs=-1, required=True, type=click.Path(path_type=Path))
@options.together(
    options.aircraft,
    options.own_words,
    options.temperature,
    options.crew,
    options.hours,
    options.elevation,
    options.engine,
    options.model,
    options.profile,
    options.care,
    options.pauses,
    options.as_json,
)
def command(
    check: str,
    item: str,
    audio: tuple[Path, ...],
    aircraft: str | None,
    own_words: Path | None,
    temperature: float | None,
    crew: int | None,
    hours: float | None,
    elevation: float | None,
    engine: str,
    model: Path | None,
    profile: str | None,
    care: str,
    pauses: str | None,
    *,
    as_json: bool,
) -> int:
    """Try AUDIO recordings: what would be understood while ITEM of CHECK is asked?

    Record yourself saying an answer and see whether it comes out right, before you
    rely on it. Each file is taken for one answer: the first utterance in which
    words are recognised counts, and the number of utterances is told. Nothing is
    recorded in the journal.

    \b
    Examples:
      voiceflow hear cockpit-preparation crew-oxygen answer.wav
      voiceflow hear my-check.yaml crew-oxygen takes/*.wav --json

    A file that cannot be read is reported and the others are heard; the status is
    then 2.
    """
    day = options.conditions_of(temperature, crew, hours, elevation)
    loaded = load_own(check, aircraft, own_words, day)
    asked = find_item(loaded, item)
    pack = language_of(loaded)
    chosen = choose_engine(pack, engine, model, profile)
    click.echo(chosen.sentence, err=True)
    grammar = compile_item(asked, pack, item_before(loaded, asked))
    status = DONE
    with closing(chosen.load()) as recogniser:
        for path in _with_progress(audio, shown=not as_json):
            try:
                samples = read_recording(path)
            except AudioFileError as error:
                click.echo(f"voiceflow: {error}", err=True)
                status = UNUSABLE
                continue
            found = hear(
                samples,
                item=asked,
                grammar=grammar,
                language=pack,
                recogniser=recogniser,
                settings=with_pauses(settings_for(care), pauses),
            )
            row = describe(path, asked, recogniser.name, found, audio_s=len(samples) / RATE_HZ)
            click.echo(json.dumps(row, ensure_ascii=False) if as_json else _line(row))
    return status


def describe(
    path: Path, item: Item, engine: str, found: tuple[Hearing, ...], *, audio_s: float
) -> dict[str, Any]:
    """Give what was understood of one recording, as JSON's own types.

    Args:
        path: The recording.
        item: The item that listened.
        engine: Name of the engine.
        found: Its utterances.
        audio_s: Length of the recording, seconds.
    """
    row: dict[str, Any] = {
        "file": str(path),
        "item": item.id,
        "engine": engine,
        "heard": "",
        "kind": "none",
        "state": None,
        "phrase": None,
        "value": None,
        "unit": None,
        "command": None,
        "decision": Decision.IGNORE,
        "confidence": 0.0,
        "speech_start_s": None,
        "speech_end_s": None,
        "decided_s": None,
        "decode_s": sum(hearing.decode_s for hearing in found),
        "audio_s": audio_s,
        "utterances": len(found),
    }
    hearing = best_of(found)
    if hearing is not None:
        utterance = hearing.utterance
        row |= {
            "heard": utterance.text,
            "decision": hearing.decision,
            "confidence": round(utterance.confidence, 4),
            "speech_start_s": round(utterance.speech_start_s, 3),
            "speech_end_s": round(utterance.speech_end_s, 3),
            "decided_s": round(hearing.decided_s, 3),
            **_meaning(utterance.meaning),
        }
    return row


def _meaning(meaning: Meaning) -> dict[str, Any]:
    match meaning:
        case Response():
            return {"kind": "response", "state": meaning.state, "phrase": meaning.phrase}
        case Reading():
            # a JSON number; on a whole mark without a decimal point
            is_whole = meaning.value == meaning.value.to_integral_value()
            value = int(meaning.value) if is_whole else float(meaning.value)
            return {"kind": "reading", "value": value, "unit": meaning.unit}
        case Command():
            return {"kind": "command", "command": meaning.name}
        case Correction():
            fields = _meaning(meaning.this[0]) if len(meaning.this) == 1 else {}
            return {**fields, "kind": "command", "command": "correction"}
        case Ambiguous():
            return {"kind": "none", "options": [_meaning(option) for option in meaning.options]}
        case _:
            return {"kind": "none"}


def _line(row: dict[str, Any]) -> str:
    what = {
        "response": f"{row['phrase']} ({row['state']})",
        "reading": f"{row['value']} {row['unit'] or ''}".strip(),
        "command": f"command {row['command']}",
        "none": "nothing of this item",
    }[row["kind"]]
    heard = f'"{row["heard"]}"' if row["heard"] else "(no words)"
    several = f", {row['utterances']} utterances" if row["utterances"] > 1 else ""
    decision = str(row["decision"]).replace("_", " ")
    return (
        f"{row['file']}: {heard} -> {what}; {decision}, confidence {row['confidence']:.2f}{several}"
    )


def _with_progress(audio: tuple[Path, ...], *, shown: bool) -> Iterable[Path]:
    if not shown or len(audio) < 3 or not sys.stderr.isatty() or sys.stdout.isatty():
        # the lines themselves show how far it has got
        return audio
    return track(audio, description="hearing", console=Console(stderr=True), transient=True)
