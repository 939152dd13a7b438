"""The test itself: phrases are synthesised, put into noise and heard as in a run."""

import zlib
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, ProcessPoolExecutor, wait
from contextlib import closing
from dataclasses import dataclass, replace
from multiprocessing import get_context
from pathlib import Path
from typing import Final

from voiceflow.checks.model import Check, Item
from voiceflow.dialogue.policy import Decision
from voiceflow.grammar.item_grammar import ItemGrammar, compile_item
from voiceflow.grammar.meaning import Command, Correction, Meaning, Reading, Response
from voiceflow.lint.listening.noise import in_noise
from voiceflow.lint.listening.sayings import Saying, sayings
from voiceflow.phraseology.language import Language
from voiceflow.recognition.recogniser import Recogniser
from voiceflow.session.engines import make_recogniser
from voiceflow.session.hearing import Hearing, hear
from voiceflow.session.vocabulary import language_of
from voiceflow.synthesis.synthesiser import Synthesiser

#: Phrases that are said before the test begins in each condition: the decoder learns its
#: mean spectrum from the first seconds.
WARM_UP: Final = 6
_LOOK_EVERY_S: Final = 0.3


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """In how many ways everything is said and heard.

    Attributes:
        voices: Names of the synthesiser's voices.
        rates_wpm: Words a minute.
        snrs_db: Speech over pink noise, decibels. With much less noise than a room has
            (60), this kind of voice comes out worse: no microphone hears it so bare.
        readings: Values of each gauge.
        forms: Forms of each value.
        engine: As on the command line.
        model: Folder of a Vosk model, if one is named.
    """

    voices: tuple[str, ...]
    rates_wpm: tuple[int, ...] = (150,)
    snrs_db: tuple[float, ...] = (30.0, 15.0)
    readings: int = 12
    forms: int = 2
    engine: str = "auto"
    model: Path | None = None

    @property
    def ways(self) -> int:
        """How often each phrase is said."""
        return len(self.voices) * len(self.rates_wpm) * len(self.snrs_db)


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """One phrase, said once.

    Attributes:
        saying: What was said.
        voice: By which voice.
        rate_wpm: How fast.
        snr_db: Speech over pink noise, decibels.
        heard: What the dialogue would take it for, or ask to have confirmed; None if it
            would ask again or ignore it.
        words: What the engine understood.
    """

    saying: Saying
    voice: str
    rate_wpm: int
    snr_db: float
    heard: Meaning | None
    words: str

    @property
    def is_right(self) -> bool:
        """It was taken for what was meant; one response of a state is as good as another."""
        return self.heard is not None and _essence(self.heard) == _essence(self.saying.meaning)

    @property
    def is_mixed_up(self) -> bool:
        """It was taken for something else."""
        return self.heard is not None and not self.is_right


def all_sayings(
    check: Check, item_ids: Sequence[str], conditions: Conditions
) -> tuple[Saying, ...]:
    """Give everything that is to be said of a check, item by item."""
    pack = language_of(check)
    return tuple(
        saying
        for item_id in item_ids
        for saying in sayings(
            check.item(item_id), pack, readings=conditions.readings, forms=conditions.forms
        )
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Condition:
    """One voice at one speed in one noise.

    Attributes:
        voice: The voice.
        rate_wpm: Words a minute.
        snr_db: Speech over pink noise, decibels.
    """

    voice: str
    rate_wpm: int
    snr_db: float


def listen(
    check: Check,
    item_ids: Sequence[str],
    conditions: Conditions,
    *,
    workers: int = 1,
    on_done: Callable[[int], None] | None = None,
) -> tuple[Trial, ...]:
    """Hear every phrase of these items in all conditions.

    Args:
        check: The check.
        item_ids: Its items that are listened to.
        conditions: Voices, rates, noises.
        workers: Processes; each takes one condition at a time.
        on_done: Told how many trials are done each time some are.

    Returns:
        The trials, item by item, the same for any number of workers.

    Raises:
        SynthesisError: If there is no such voice.
        ModelNotFoundError, EngineError: If no engine can listen.
    """
    done = 0

    def told(count: int) -> None:
        nonlocal done
        done += count
        if on_done is not None and count:
            on_done(done)

    each = [
        Condition(voice=voice, rate_wpm=rate_wpm, snr_db=snr_db)
        for voice in conditions.voices
        for rate_wpm in conditions.rates_wpm
        for snr_db in conditions.snrs_db
    ]
    if workers <= 1 or len(each) < 2:
        found = [_hear_all(check, item_ids, conditions, one, told) for one in each]
    else:
        # spawned, not forked: the libraries hold threads and open models
        context = get_context("spawn")
        with context.Manager() as manager, ProcessPoolExecutor(workers, context) as pool:
            counts = manager.Queue()
            futures = [
                pool.submit(_hear_all, check, item_ids, conditions, one, counts.put) for one in each
            ]
            pending = set(futures)
            while pending:
                _, pending = wait(pending, timeout=_LOOK_EVERY_S, return_when=FIRST_COMPLETED)
                while not counts.empty():
                    told(counts.get())
            found = [future.result() for future in futures]
    order = {item_id: place for place, item_id in enumerate(item_ids)}
    trials = [trial for group in found for trial in group]
    return tuple(sorted(trials, key=lambda trial: order[trial.saying.item_id]))


def hear_condition(
    check: Check,
    item_ids: Sequence[str],
    conditions: Conditions,
    condition: Condition,
    synthesiser: Synthesiser,
    recogniser: Recogniser,
) -> Iterator[Trial]:
    """Hear every phrase in one condition, as one person in one room would say them.

    Args:
        check: The check.
        item_ids: Its items that are listened to.
        conditions: How many readings, in how many forms.
        condition: Voice, rate and noise.
        synthesiser: Says the phrases.
        recogniser: Hears them one after the other.
    """
    pack = language_of(check)
    grammars: dict[str, ItemGrammar] = {}

    def heard(item: Item, text: str) -> Sequence[Hearing]:
        if item.id not in grammars:
            place = check.position(item.id)
            previous = check.items[place - 1] if place else None
            grammars[item.id] = compile_item(item, pack, previous)
        # of the words, not of their place: the same phrase has the same noise always
        seed = zlib.crc32(f"{condition} {text}".encode())
        return hear(
            in_noise(synthesiser.synthesise(text, condition.rate_wpm), condition.snr_db, seed),
            item=item,
            grammar=grammars[item.id],
            language=pack,
            recogniser=recogniser,
        )

    # an engine gets used to a voice and a room over the first words: these do not count
    for place in range(WARM_UP):
        item = check.item(item_ids[place % len(item_ids)])
        heard(item, item.challenge)
    for saying in all_sayings(check, item_ids, conditions):
        taken, words = _taken(heard(check.item(saying.item_id), saying.text))
        yield Trial(
            saying=saying,
            voice=condition.voice,
            rate_wpm=condition.rate_wpm,
            snr_db=condition.snr_db,
            heard=taken,
            words=words,
        )


def _taken(found: Sequence[Hearing]) -> tuple[Meaning | None, str]:
    """Give the first thing that would be taken or confirmed, and all words."""
    words = " / ".join(hearing.utterance.text for hearing in found if hearing.utterance.text)
    for hearing in found:
        if hearing.decision in (Decision.ACCEPT, Decision.CONFIRM):
            return hearing.utterance.meaning, words
    return None, words


def _essence(meaning: Meaning) -> object:
    match meaning:
        case Response():
            return meaning.state
        case Reading():
            return meaning.value
        case Command():
            return meaning.name
        case Correction() if len(meaning.this) == 1:
            return ("correction", _essence(meaning.this[0]))
        case _:
            return meaning


def _recogniser(check: Check, conditions: Conditions) -> Recogniser:
    return make_recogniser(language_of(check), conditions.engine, conditions.model)


def _synthesiser(check: Check, voice: str) -> Synthesiser:
    from voiceflow.synthesis.pyttsx3_wav import Pyttsx3Synthesiser

    pack: Language = language_of(check)
    return Pyttsx3Synthesiser(replace(pack, voice_id=voice))


def _hear_all(
    check: Check,
    item_ids: Sequence[str],
    conditions: Conditions,
    condition: Condition,
    told: Callable[[int], None],
) -> tuple[Trial, ...]:
    trials: list[Trial] = []
    # a recogniser of its own: what it learns of one voice must not help with the next
    with closing(_recogniser(check, conditions)) as recogniser:
        synthesiser = _synthesiser(check, condition.voice)
        for trial in hear_condition(
            check, item_ids, conditions, condition, synthesiser, recogniser
        ):
            trials.append(trial)
            told(1)
    return tuple(trials)
