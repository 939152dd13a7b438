"""What the scripted speaker can say: lines, each a recording with what it means.

Two ways to a script. ``from_manifest`` makes a check of its own out of the items that a
set of recordings answers, one item a recording, so that hundreds of turns are different.
``from_demo`` cuts the recorded demo into its lines, to do the whole check that it is of.

Loudness is made the same for all, so that the level of noise or echo is that of each.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from pathlib import Path
from typing import Any, Final

import numpy as np
from ruamel.yaml import YAML

from voiceflow.audio.frames import RATE_HZ, Samples
from voiceflow.audio.wav import read_recording
from voiceflow.checks.loader import load_check
from voiceflow.checks.model import Check, Item
from voiceflow.checks.shipped import find_check
from voiceflow.errors import UsageError
from voiceflow.evaluation.manifest import CLEAN, MAIN, Role, Row
from voiceflow.grammar.item_grammar import compile_item
from voiceflow.grammar.meaning import Command, Meaning, NoMatch, Reading, Response
from voiceflow.languages.registry import language
from voiceflow.phraseology.commands import CommandName

#: RMS of every line while it is spoken, in steps of int16: 26 dB below full scale, the
#: level at which ITU-T P.56 speech is usually given to coders (from memory).
SPEECH_RMS: Final = 32_768 * 10 ** (-26 / 20)
_LONGEST_SILENCE_S: Final = 0.45
_FRAME: Final = RATE_HZ // 100


class Manner(StrEnum):
    """How a line is said.

    PLAIN: a moment after the tool has finished. HESITANT: later, after a breath.
    BARGING: over the challenge, half a second after that began.
    """

    PLAIN = "plain"
    HESITANT = "hesitant"
    BARGING = "barging"


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """Something that the speaker says.

    Attributes:
        name: Where it comes from.
        text: Its words.
        samples: int16 mono at 16 kHz.
        start_s: Where speech starts in it, seconds.
        end_s: Where speech ends in it, seconds.
        meaning: What it means at its item; nothing for talk to others.
        counts: Whether it goes into the figures; not, where its voice has trained.
        manner: How it is said.
    """

    name: str
    text: str
    samples: Samples
    start_s: float
    end_s: float
    meaning: Meaning
    counts: bool = True
    manner: Manner = Manner.PLAIN

    @property
    def kind(self) -> str:
        """What it amounts to: response, reading, command or none."""
        return "none" if isinstance(self.meaning, NoMatch) else self.meaning.kind


@dataclass(frozen=True, slots=True, kw_only=True)
class Script:
    """A check, and what is said at it.

    Attributes:
        check: The check.
        path: Its file, for the program under test.
        lines: What is said at each item, in this order; the answer comes last.
        commands: What the conversation may need besides.
    """

    check: Check
    path: Path
    lines: Mapping[str, tuple[Line, ...]]
    commands: Mapping[CommandName, tuple[Line, ...]]


def line_of(row: Row) -> Line:
    """Read the recording of a row of a manifest.

    Raises:
        AudioFileError: If it cannot be read.
    """
    samples = read_recording(row.path)
    return Line(
        name=row.file,
        text=row.text,
        samples=_levelled(samples, row.speech_start_s, row.speech_end_s),
        start_s=row.speech_start_s,
        end_s=row.speech_end_s,
        meaning=row.meaning,
        counts=row.role is Role.SCORE,
    )


def _levelled(samples: Samples, start_s: float, end_s: float) -> Samples:
    speech = samples[round(start_s * RATE_HZ) : round(end_s * RATE_HZ)].astype(np.float64)
    rms = float(np.sqrt(np.mean(speech**2))) if len(speech) else 0.0
    scaled = samples * (SPEECH_RMS / rms if rms else 1.0)
    levelled: Samples = np.clip(np.rint(scaled), -32_768, 32_767).astype(np.int16)
    return levelled


# --- a check made of the recordings --------------------------------------------------------


def from_manifest(rows: Sequence[Row], folder: Path, turns: int, seed: int) -> Script:
    """Make a check whose items the recordings answer, and write it.

    Args:
        rows: A whole manifest. Those that score and are clean are said; those for
            training only where the conversation needs a command.
        folder: Where the check is written.
        turns: How many lines that count are said at least.
        seed: Where chance comes from: the order, and how lines are said.

    Raises:
        UsageError: If too little can be said with these recordings.
    """
    dice = np.random.default_rng(seed)
    usable = [row for row in rows if row.noise == CLEAN and not row.mixed]
    spoken = [row for row in usable if row.role is Role.SCORE]
    answers = [row for row in spoken if row.kind in ("response", "reading")]
    said = [row for row in spoken if row.kind == "command"]
    talk = [row for row in spoken if row.kind == "none"]
    if not answers:
        what = "no recording that may score answers an item"
        raise UsageError(what, "Give a manifest with rows of the role score.")
    plan: list[tuple[Row, list[Row]]] = []
    planned = 0
    while planned < turns:
        order = [answers[int(k)] for k in dice.permutation(len(answers))]
        with_commands = _spread(said, len(order), dice) if said else [[] for _ in order]
        for answer, before in zip(order, with_commands, strict=True):
            if planned >= turns:
                break
            plan.append((answer, before))
            planned += 1 + len(before)
    # whoever asks the tool to speak slower slows all that follows: this comes last
    plan.sort(key=lambda one: any(_is(row, CommandName.SPEAK_SLOWER) for row in one[1]))
    path = folder / "live-check.yaml"
    lines: dict[str, tuple[Line, ...]] = {}
    items: list[dict[str, Any]] = []
    for number, (answer, before) in enumerate(plan, start=1):
        item = _item(answer)
        item["id"] = f"{answer.item}-{number:03}"
        items.append(item)
        manner = _manner(dice)
        told = [line_of(row) for row in before]
        if dice.random() < _TALK:
            near = [row for row in talk if row.item == answer.item] or talk
            if near:
                told.insert(0, line_of(near[int(dice.integers(len(near)))]))
        first, *others = [*told, line_of(answer)]
        lines[item["id"]] = (_said(first, manner, talk, dice), *others)
    _write(path, items, plan[0][0].check)
    commands: dict[CommandName, list[Line]] = {}
    for row in sorted(usable, key=lambda row: row.role is not Role.SCORE):
        if isinstance(row.meaning, Command) and row.part == MAIN:
            commands.setdefault(row.meaning.name, []).append(line_of(row))
    return Script(
        check=load_check(path),
        path=path,
        lines=lines,
        commands={name: tuple(found) for name, found in commands.items()},
    )


#: How often somebody says something that is not for the tool, hesitates, or barges in.
_TALK: Final = 0.08
_HESITANT: Final = 0.1
_BARGING: Final = 0.15


def _manner(dice: np.random.Generator) -> Manner:
    chance = dice.random()
    if chance < _BARGING:
        return Manner.BARGING
    return Manner.HESITANT if chance < _BARGING + _HESITANT else Manner.PLAIN


def _said(line: Line, manner: Manner, talk: Sequence[Row], dice: np.random.Generator) -> Line:
    breaths = [row for row in talk if row.form == "sound"]
    samples, start_s, end_s = line.samples, line.start_s, line.end_s
    if manner is Manner.HESITANT and breaths:
        breath = read_recording(breaths[int(dice.integers(len(breaths)))].path)
        samples = np.concatenate((breath, samples))
        start_s += len(breath) / RATE_HZ
        end_s += len(breath) / RATE_HZ
    return Line(
        name=line.name,
        text=line.text,
        samples=samples,
        start_s=start_s,
        end_s=end_s,
        meaning=line.meaning,
        counts=line.counts,
        manner=manner,
    )


def _is(row: Row, name: CommandName) -> bool:
    return isinstance(row.meaning, Command) and row.meaning.name is name


def _spread(rows: Sequence[Row], count: int, dice: np.random.Generator) -> list[list[Row]]:
    places: list[list[Row]] = [[] for _ in range(count)]
    # not at the first item: there is nothing before it that a command could be about
    free = dice.permutation(np.arange(1, count)) if count > 1 else np.zeros(1, dtype=int)
    for number, row in enumerate(rows):
        places[int(free[number % len(free)])].append(row)
    return places


def _item(row: Row) -> dict[str, Any]:
    """Copy an item out of the check of a row; without the waits, which take minutes."""
    plain = YAML(typ="safe").load(find_check(row.check))
    for item in plain["items"]:
        if item["id"] == row.item:
            return {key: value for key, value in item.items() if key != "wait"}
    what = f"{row.check} has no item {row.item}"
    raise UsageError(what, f"Mend line {row.line} of the manifest.")


def _write(path: Path, items: list[dict[str, Any]], model: str) -> None:
    source = find_check(model)
    plain = YAML(typ="safe").load(source)
    head = {key: value for key, value in plain.items() if key != "items"}
    head |= {"check": path.stem, "title": "Live check", "interrupted": "resume"}
    if "aircraft_file" in head:
        head["aircraft_file"] = str((source.parent / head["aircraft_file"]).absolute())
    with path.open("w", encoding="utf-8") as stream:
        YAML(typ="safe").dump(head | {"items": items}, stream)


# --- the demo ------------------------------------------------------------------------------

#: Said where the tool asks back or holds, and not before.
_IN_ANSWER: Final = frozenset({CommandName.AFFIRM, CommandName.CONTINUE})


def from_demo(folder: Path, *, barging: Iterable[str] = (), others: Iterable[Row] = ()) -> Script:
    """Cut the recorded demo into its lines.

    The demo's voice has trained, so nothing of it counts in figures of accuracy.

    Args:
        folder: Where ``script.yaml`` and the recording are.
        barging: Items that are answered over their challenge.
        others: Rows whose commands are said where the conversation needs one that the demo
            has not ("negative").

    Raises:
        UsageError: If the recording has not as many lines as the script.
    """
    script = YAML(typ="safe").load(folder / "script.yaml")
    path = find_check(script["check"])
    check = load_check(path)
    recording = read_recording(folder / f"{script['check']}.flac")
    spans = spoken_spans(recording)
    entries = script["lines"]
    if len(spans) != len(entries):
        what = f"the demo has {len(entries)} lines, and {len(spans)} are heard in its recording"
        raise UsageError(what, "Make it anew: python audio_fixtures/make_demo.py.")
    early = frozenset(barging)
    pack = language(check.language)
    previous: Item | None = None
    lines: dict[str, list[Line]] = {}
    commands: dict[CommandName, list[Line]] = {}
    for entry, (first, last) in zip(entries, spans, strict=True):
        pieces = entry["say"] if isinstance(entry["say"], list) else [entry["say"]]
        text = " ".join(piece for piece in pieces if isinstance(piece, str))
        lead = round(0.2 * RATE_HZ)
        samples = recording[max(0, first - lead) : last + lead]
        start_s = min(first, lead) / RATE_HZ
        end_s = start_s + (last - first) / RATE_HZ
        item = check.item(entry["at"])
        grammar = compile_item(item, pack, previous)
        meaning = grammar.meaning(pack.tokenise(text))
        known = lines.setdefault(item.id, [])
        interrupts = entry.get("during_s") is not None or (item.id in early and not known)
        line = Line(
            name=f"demo/{item.id}",
            text=text,
            samples=_levelled(samples, start_s, end_s),
            start_s=start_s,
            end_s=end_s,
            meaning=meaning,
            counts=False,
            manner=Manner.BARGING if interrupts else Manner.PLAIN,
        )
        if isinstance(meaning, Command):
            commands.setdefault(meaning.name, []).append(line)
        if not isinstance(meaning, Command) or meaning.name not in _IN_ANSWER:
            known.append(line)
        if isinstance(meaning, Response | Reading):
            previous = item
    own = frozenset(commands)
    for row in others:
        usable = row.noise == CLEAN and not row.mixed and row.part == MAIN
        if usable and isinstance(row.meaning, Command) and row.meaning.name not in own:
            commands.setdefault(row.meaning.name, []).append(replace(line_of(row), counts=False))
    return Script(
        check=check,
        path=path,
        lines={item: tuple(found) for item, found in lines.items()},
        commands={name: tuple(found) for name, found in commands.items()},
    )


def spoken_spans(samples: Samples) -> list[tuple[int, int]]:
    """Find what is spoken in a recording with a quiet background.

    Args:
        samples: int16 mono at 16 kHz.

    Returns:
        First sample and the one after the last, of each stretch with no silence of
        0.45 s in it.
    """
    count = len(samples) // _FRAME
    frames = samples[: count * _FRAME].reshape(count, _FRAME).astype(np.float64)
    loudness = np.sqrt(np.mean(frames**2, axis=1))
    # a quiet room, and the soft ends of words well above it
    loud = np.nonzero(loudness > 4 * np.median(loudness))[0]
    spans: list[tuple[int, int]] = []
    for frame in loud.tolist():
        if spans and frame - spans[-1][1] / _FRAME < _LONGEST_SILENCE_S * 100:
            spans[-1] = (spans[-1][0], (frame + 1) * _FRAME)
        else:
            spans.append((frame * _FRAME, (frame + 1) * _FRAME))
    return spans
