"""Running a set of recordings through the very path that a session uses.

What lives here: rows in, one outcome a row out, on several processes. Nothing is
printed, and nothing is counted but by ``metrics.py``.
"""

from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass, replace
from functools import cache
from multiprocessing import get_context
from pathlib import Path

import numpy as np

from voiceflow.audio.frames import RATE_HZ, Samples
from voiceflow.audio.wav import read_recording
from voiceflow.checks.loader import load_check
from voiceflow.checks.model import Check, Item
from voiceflow.checks.problem import Problem
from voiceflow.checks.shipped import find_check
from voiceflow.dialogue.actions import Action, Record, Say, Step
from voiceflow.dialogue.events import Event, Heard, Spoken, Started, Utterance
from voiceflow.dialogue.machine import begin, handle
from voiceflow.dialogue.policy import Decision
from voiceflow.dialogue.state import Phase, State
from voiceflow.errors import ManifestError, UsageError
from voiceflow.evaluation.manifest import CLEAN, Role, Row, digest
from voiceflow.evaluation.metrics import Result, is_same, judge_recording, judge_utterance
from voiceflow.evaluation.noise import Noise, babble, mix, seed_of, steady
from voiceflow.grammar.item_grammar import ItemGrammar, compile_item
from voiceflow.grammar.meaning import Command, Reading
from voiceflow.languages.registry import language
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.prompts import ConfirmReading, ReadBack
from voiceflow.session.engines import make_recogniser
from voiceflow.session.hearing import Hearing, hear
from voiceflow.settings import Settings


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineChoice:
    """Which engine is to be measured.

    Attributes:
        name: As on the command line: "auto", "vosk", "pocketsphinx".
        model: Model folder, for engines that need one.
    """

    name: str = "auto"
    model: Path | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What became of one recording.

    Attributes:
        row: The recording.
        result: Right, wrong, asked again, ignored.
        engine: Engine that listened.
        heard: Words of each utterance found, in order.
        utterances: The same utterances, with their meaning.
        decisions: What was decided on each.
        confidences: The confidence of each, 0 to 1.
        meant: Of each, whether its meaning is the very one of the row.
        said_aloud: For a wrong reading that was taken or put as a question: whether
            the dialogue says that very value no later than it records it. None for
            everything else.
        delay_s: From the end of speech to the decision on the last utterance,
            seconds; None if nothing was found.
        decode_s: Processor time of decoding, seconds.
        audio_s: Length of the recording, seconds.
    """

    row: Row
    result: Result
    engine: str
    heard: tuple[str, ...]
    utterances: tuple[Utterance, ...]
    decisions: tuple[Decision, ...]
    confidences: tuple[float, ...]
    meant: tuple[bool, ...]
    said_aloud: bool | None
    delay_s: float | None
    decode_s: float
    audio_s: float


def verify(rows: Sequence[Row], manifest: Path) -> None:
    """See that every row has its item, and its recording is the one described.

    Raises:
        ManifestError: With every row whose check has no such item, and every
            recording whose bytes have changed.
        VoiceflowError: If a check cannot be found or read.
    """
    problems: list[Problem] = []

    def note(row: Row, rule: str, what: str, remedy: str) -> None:
        problems.append(
            Problem(path=manifest, line=row.line, column=1, rule=rule, what=what, remedy=remedy)
        )

    for row in rows:
        items = {item.id for item in _check(row.check).items}
        if row.item not in items:
            note(
                row,
                "manifest-item",
                f"{row.check} has no item {row.item!r}",
                f"List its items with: voiceflow phrases {row.check}",
            )
        if digest(row.path) != row.sha256:
            note(
                row,
                "manifest-sha256",
                f"{row.file} is not the recording that this row describes: its SHA-256 differs",
                "Make the recording and the manifest anew together.",
            )
    if problems:
        raise ManifestError(problems)


def batches(rows: Iterable[Row]) -> tuple[tuple[Row, ...], ...]:
    """Put rows together that one recogniser hears one after the other.

    A recogniser gets used to a voice and to the noise, as in a session; so each
    voice in each noise is a batch of its own, and the outcome does not depend on
    how many processes share the work.
    """
    groups: dict[tuple[str, str, str], list[Row]] = {}
    for row in rows:
        key = (_check(row.check).language, row.voice, row.condition)
        groups.setdefault(key, []).append(row)
    return tuple(tuple(group) for group in groups.values())


def evaluate(
    rows: Sequence[Row],
    engine: EngineChoice,
    *,
    settings: Settings | None = None,
    workers: int = 1,
    on_done: Callable[[int], None] | None = None,
) -> tuple[Outcome, ...]:
    """Hear every recording.

    Args:
        rows: The recordings.
        engine: What is to hear them.
        settings: The thresholds; the usual ones if none.
        workers: Processes; 1: in this process.
        on_done: Told how many recordings are done each time some are.

    Returns:
        One outcome a row, in the rows' order, the same for any number of workers.
    """
    work = batches(rows)
    done: dict[str, Outcome] = {}

    def take(outcomes: Iterable[Outcome]) -> None:
        done.update({outcome.row.key: outcome for outcome in outcomes})
        if on_done is not None:
            on_done(len(done))

    if workers <= 1:
        for batch in work:
            take(hear_batch(batch, engine, settings))
    else:
        # spawned, not forked: the engines' libraries hold threads and open models
        with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
            waiting = [pool.submit(hear_batch, batch, engine, settings) for batch in work]
            for future in as_completed(waiting):
                take(future.result())
    return tuple(done[row.key] for row in rows)


def hear_batch(
    rows: Sequence[Row], engine: EngineChoice, settings: Settings | None = None
) -> tuple[Outcome, ...]:
    """Hear recordings of one language one after the other with one recogniser."""
    settings = settings or Settings()
    pack = language(_check(rows[0].check).language)
    recogniser = make_recogniser(pack, engine.name, engine.model)
    try:
        outcomes = []
        for row in rows:
            item = item_of(row)
            samples = sound_of(row)
            found = hear(
                samples,
                item=item,
                grammar=_grammar(row.check, row.item),
                language=pack,
                recogniser=recogniser,
                settings=settings,
            )
            outcomes.append(_outcome(row, found, recogniser.name, len(samples) / RATE_HZ, settings))
    finally:
        recogniser.close()
    return tuple(outcomes)


def item_of(row: Row) -> Item:
    """Give the item that listens to a recording."""
    return _check(row.check).item(row.item)


#: The form of rows in which nobody speaks.
SOUND = "sound"
#: How many people talk in babble.
TALKERS = 6


def with_noise(
    rows: Sequence[Row], noises: Iterable[Noise], snrs_db: Iterable[float]
) -> tuple[Row, ...]:
    """Give every clean row that may score anew in every noise at every ratio.

    Babble is made of clean rows that other voices speak, chosen by the
    row's name: the same rows give the same sound.

    Raises:
        UsageError: If noise is asked for and every row is for training, or babble and
            there is nobody else to talk.
    """
    noises = tuple(noises)
    clean = [row for row in rows if row.condition == CLEAN]
    if noises and not any(row.role is Role.SCORE for row in clean):
        what = (
            "noise is put only over clean recordings that may score, and here all are for training"
        )
        raise UsageError(what, "Leave --noise out, or choose another --voice.")
    ratios = tuple(snrs_db)
    noisy = []
    for noise in noises:
        for row in (row for row in clean if row.role is Role.SCORE):
            talkers = _talkers(row, clean) if noise is Noise.BABBLE else ()
            noisy += [
                replace(row, noise=noise, snr_db=snr_db, mixed=True, talkers=talkers, part="noise")
                for snr_db in ratios
            ]
    return tuple(noisy)


def _talkers(row: Row, rows: Sequence[Row]) -> tuple[Path, ...]:
    others = [one.path for one in rows if one.voice != row.voice and one.form != SOUND]
    if len(others) < TALKERS:
        what = f"babble over {row.voice} needs {TALKERS} recordings of other voices"
        raise UsageError(what, "Leave babble or --voice out.")
    dice = np.random.default_rng(seed_of(row.file, Noise.BABBLE))
    return tuple(others[int(one)] for one in dice.choice(len(others), TALKERS, replace=False))


def sound_of(row: Row) -> Samples:
    """Read a recording and put its noise over it, if it is one to be mixed.

    Raises:
        AudioFileError: If it cannot be read.
    """
    samples = read_recording(row.path)
    if not row.mixed or row.snr_db is None:
        return samples
    dice = np.random.default_rng(seed_of(row.key))
    noise = Noise(row.noise)
    if noise is Noise.BABBLE:
        over = babble([read_recording(path) for path in row.talkers], len(samples), dice)
    else:
        over = steady(noise, len(samples), dice)
    return mix(samples, (row.speech_start_s, row.speech_end_s), over, row.snr_db)


def _outcome(
    row: Row,
    found: Sequence[Hearing],
    engine: str,
    audio_s: float,
    settings: Settings,
) -> Outcome:
    check, item = _check(row.check), item_of(row)
    said: bool | None = None
    for hearing in found:
        verdict = judge_utterance(row.meaning, hearing.utterance.meaning, hearing.decision)
        is_wrong = verdict in (Result.WRONG_ACCEPTED, Result.WRONG_CONFIRMED)
        if is_wrong and isinstance(hearing.utterance.meaning, Reading):
            aloud = is_said_aloud(check, item, hearing.utterance, settings=settings)
            said = aloud and said is not False
    return Outcome(
        row=row,
        result=judge_recording(
            row.meaning, [(hearing.utterance.meaning, hearing.decision) for hearing in found]
        ),
        engine=engine,
        heard=tuple(hearing.utterance.text for hearing in found),
        utterances=tuple(hearing.utterance for hearing in found),
        decisions=tuple(hearing.decision for hearing in found),
        confidences=tuple(hearing.utterance.confidence for hearing in found),
        meant=tuple(is_same(row.meaning, hearing.utterance.meaning) for hearing in found),
        said_aloud=said,
        delay_s=found[-1].decided_s - row.speech_end_s if found else None,
        decode_s=sum(hearing.decode_s for hearing in found),
        audio_s=audio_s,
    )


def is_said_aloud(
    check: Check,
    item: Item,
    utterance: Utterance,
    dialogue: Callable[[State, Event], Step] = handle,
    settings: Settings | None = None,
) -> bool:
    """Tell whether a reading cannot be recorded without its value being said aloud.

    The dialogue itself is asked: the item is put, the utterance is heard, and where
    it asks back, the answer is "affirm", as of somebody who does not listen.

    Args:
        check: The check that the item belongs to.
        item: The item that listened.
        utterance: An utterance whose meaning is a reading.
        dialogue: The dialogue that is asked.
        settings: The thresholds; the usual ones if none.

    Returns:
        False if the value was recorded, and neither the step that recorded it nor
        one before said that very value.
    """
    if not isinstance(utterance.meaning, Reading):
        return True
    value = utterance.meaning.value
    state = begin(replace(check, items=(item,)), settings)
    affirm = replace(utterance, text="affirm", meaning=Command(name=CommandName.AFFIRM))
    events: list[Event] = [
        Started(at_s=0.0),
        Spoken(at_s=1.0, words="", completed=True),
        Heard(at_s=2.0, item_id=item.id, utterance=utterance),
        Spoken(at_s=3.0, words="", completed=True),
        Heard(at_s=4.0, item_id=item.id, utterance=affirm),
    ]
    said = False
    for event in events:
        if state.phase is Phase.FINISHED:
            break
        step = dialogue(state, event)
        state = step.state
        said = said or any(_says(action, utterance.meaning) for action in step.actions)
        recorded = any(
            isinstance(action, Record)
            and action.outcome is not None
            and action.outcome.value == value
            for action in step.actions
        )
        if recorded and not said:
            return False
    return True


def _says(action: Action, reading: Reading) -> bool:
    return isinstance(action, Say) and any(
        isinstance(prompt, ReadBack | ConfirmReading)
        and prompt.taken.value == reading.value
        and prompt.taken.unit == reading.unit
        for prompt in action.prompts
    )


@cache
def _check(name: str) -> Check:
    return load_check(find_check(name))


@cache
def _grammar(check: str, item: str) -> ItemGrammar:
    loaded = _check(check)
    return compile_item(loaded.item(item), language(loaded.language))
