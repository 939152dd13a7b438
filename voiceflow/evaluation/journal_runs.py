"""Years of runs, as the journal would have them: made by the dialogue itself, not by a clock.

A person answers forty items of the shipped check, fifteen of them readings, in a sector of
two parts. What is said comes through the real dialogue and the real words; only the hearing
is put in its place: a phrase of the item, a confidence, and times on the grid of the audio's
frames. One answer in twenty is questioned and affirmed, one reading in fifty corrected; a
run in three stands by once. A gauge drifts a little and sometimes lies outside its limit.
"""

from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from random import Random
from typing import Final

from voiceflow.checks.loader import load_check
from voiceflow.checks.model import Check, Item, Part
from voiceflow.checks.shipped import find_check
from voiceflow.dialogue.actions import Record, Say
from voiceflow.dialogue.brief import Brief, Departure, Pace, TrendNote
from voiceflow.dialogue.events import (
    Event,
    Heard,
    SpeechStarted,
    Spoken,
    Started,
    TimePassed,
    Utterance,
)
from voiceflow.dialogue.machine import handle, next_deadline_s
from voiceflow.dialogue.state import Phase, State
from voiceflow.grammar.meaning import Command, Correction, Meaning, Reading, Response, ResponseState
from voiceflow.journal.header import RunHeader, make_run_id
from voiceflow.languages.registry import language
from voiceflow.limits.computed import Conditions, computing
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.language import Language, worded
from voiceflow.settings import Settings

CHECK: Final = "cockpit-preparation"
READINGS: Final = 15
RESPONSES: Final = 25
TAILS: Final = ("X-SKR7", "X-SKR9")
_BEGIN: Final = datetime(2026, 1, 5, 5, 10, tzinfo=UTC)
_BETWEEN: Final = timedelta(hours=5, minutes=17)
_FRAME_S: Final = 0.02
_WORD_S: Final = 0.35
_QUESTIONED: Final = 0.05
_CORRECTED: Final = 0.02

Step = tuple[Event, tuple[Record, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeRun:
    """One run: its head, and its events with what they led to."""

    header: RunHeader
    steps: tuple[Step, ...]


def make_runs(count: int, *, seed: int = 1, tails: Sequence[str] = TAILS) -> Iterator[MadeRun]:
    """Make runs, the tails by turns, some five hours apart.

    Args:
        count: How many.
        seed: The same seed gives the same runs.
        tails: Registrations.
    """
    random = Random(seed)
    checks: dict[Conditions, Check] = {}
    for number in range(count):
        day = Conditions(temperature_c=Decimal(random.randint(-12, 34)), crew=2, hours=Decimal(1))
        if day not in checks:
            checks[day] = make_sector(day)
        started = _BEGIN + number * _BETWEEN
        check = replace(checks[day], tail=tails[number % len(tails)])
        header = RunHeader(
            run_id=make_run_id(started, random.randbytes(2)),
            program_version="0.1.0",
            started_at=started.isoformat(),
            check=check,
            settings=Settings(),
            engine="pocketsphinx",
            voice="speakers",
            brief=_brief(check, day, started, random),
        )
        yield MadeRun(header=header, steps=tuple(_person(header, random)))


def make_sector(day: Conditions) -> Check:
    """Give a sector of two parts with forty items of the shipped check, fifteen readings."""
    check = load_check(find_check(CHECK), compute=computing(day))
    readings = _so_many([item for item in check.items if item.reading], READINGS)
    others = _so_many([item for item in check.items if not item.reading], RESPONSES)
    # as they come in a cockpit: readings among responses
    items = sorted((*readings, *others), key=lambda item: (item.line, item.id))
    half = len(items) // 2
    parts: list[Part] = []
    named: list[Item] = []
    for part_id, part in (("walk-round", items[:half]), ("before-start", items[half:])):
        parts.append(
            Part(
                check_id=part_id,
                title=part_id.replace("-", " ").capitalize(),
                kind=check.kind,
                source=check.source,
                digest=check.check_digest,
                items=len(part),
                pauses=False,
            )
        )
        named.extend(replace(item, id=f"{part_id}.{item.id}") for item in part)
    return replace(check, id="morning", title="Morning", items=tuple(named), parts=tuple(parts))


def _so_many(items: Sequence[Item], count: int) -> list[Item]:
    """Give so many items; where the check has fewer, some once more under another name."""
    again = [replace(item, id=f"{item.id}-again") for item in items]
    return [*items, *again][:count]


def _brief(check: Check, day: Conditions, started: datetime, random: Random) -> Brief:
    paces = []
    for item in check.items:
        expected_s = round(random.uniform(3.0, 15.0), 1)
        late_s = round(expected_s * 2.2, 1)
        paces.append(Pace(item_id=item.id, expected_s=expected_s, late_s=late_s, count=50))
    trends = tuple(
        TrendNote(
            item_id=item.id,
            per_day=round(random.uniform(-2.0, 0.5), 4),
            low=round(random.uniform(-4.0, -2.0), 4),
            high=round(random.uniform(0.5, 1.0), 4),
            count=random.randint(20, 60),
            days=round(random.uniform(20.0, 60.0), 1),
        )
        for item in check.items
        if item.reading is not None
    )
    return Brief(
        flight="NM 412",
        signer="Ada Norberg",
        conditions=day,
        departure=Departure(zero_at=started.isoformat(), off_blocks_s=2400.0, taxi_s=480.0),
        paces=tuple(paces),
        trends=trends,
    )


def _person(header: RunHeader, random: Random) -> Iterator[Step]:
    """Do the whole run; give each event with its records."""
    pack = worded(language(header.check.language), header.settings.voice.wording)
    talk = _Talk(header.begin(), pack, random)
    yield from talk.take(Started(at_s=0.0))
    stands_by = random.randrange(3 * len(header.check.items))
    while talk.state.ending is None:
        state = talk.state
        item = None if state.item_id is None else state.check.item(state.item_id)
        if state.phase is Phase.CLOSING or item is None:
            yield from talk.wait()
        elif state.phase is Phase.CONFIRMING or state.phase is Phase.SIGNING:
            yield from talk.hear("affirm", Command(name=CommandName.AFFIRM))
        elif state.phase is Phase.HOLDING:
            yield from talk.hear("continue", Command(name=CommandName.CONTINUE))
        elif len(state.outcomes) == stands_by and not state.holds:
            yield from talk.hear("stand by", Command(name=CommandName.STAND_BY))
        else:
            yield from talk.answer(item)
    yield from talk.speak()


class _Talk:
    """The tool and a person, taking turns."""

    def __init__(self, state: State, pack: Language, random: Random) -> None:
        self.state = state
        self._pack = pack
        self._random = random
        self._frames = 0
        self._saying: deque[str] = deque()

    def take(self, event: Event) -> Iterator[Step]:
        """Let something happen."""
        step = handle(self.state, event)
        self.state = step.state
        for action in step.actions:
            if isinstance(action, Say):
                self._saying.extend(self._pack.wording(prompt) for prompt in action.prompts)
        records = tuple(action for action in step.actions if isinstance(action, Record))
        yield event, records

    def speak(self) -> Iterator[Step]:
        """Let the tool say what it has to."""
        while self._saying:
            words = self._saying.popleft()
            at_s = self._later(_WORD_S * len(words.split()))
            yield from self.take(Spoken(at_s=at_s, words=words, completed=True))

    def wait(self) -> Iterator[Step]:
        """Let time pass until the tool has something to do."""
        yield from self.speak()
        due_s = next_deadline_s(self.state)
        if self.state.ending is None and due_s is not None:
            at_s = self._later(max(0.0, due_s - self._frames * _FRAME_S) + _FRAME_S)
            yield from self.take(TimePassed(at_s=at_s))

    def hear(self, text: str, meaning: Meaning, confidence: float | None = None) -> Iterator[Step]:
        """Let the person say something at the item."""
        item_id = self.state.item_id
        yield from self.speak()
        if self.state.ending is not None or item_id is None or item_id != self.state.item_id:
            return
        # people look before they answer; some of it takes longer than the tool is patient
        due_s = next_deadline_s(self.state)
        thinks_s = self._random.expovariate(1 / 5.0)
        now_s = self._frames * _FRAME_S
        if due_s is not None and now_s + thinks_s > due_s:
            yield from self.take(TimePassed(at_s=self._later(due_s - now_s + _FRAME_S)))
            yield from self.speak()
            thinks_s = 0.5
        speech_start_s = self._later(thinks_s)
        yield from self.take(SpeechStarted(at_s=speech_start_s))
        said_s = self._later(_WORD_S * len(text.split()))
        utterance = Utterance(
            text=text,
            meaning=meaning,
            confidence=confidence or 1.0 - 0.01 * self._random.random(),
            engine="pocketsphinx",
            speech_start_s=round(speech_start_s - 0.068, 3),
            speech_end_s=round(said_s, 3),
        )
        heard = Heard(at_s=self._later(0.2), item_id=item_id, utterance=utterance)
        yield from self.take(heard)

    def answer(self, item: Item) -> Iterator[Step]:
        """Let the person answer an item, now and then with a correction."""
        confidence = 0.6 if self._random.random() < _QUESTIONED else None
        if item.reading is None:
            phrase = item.expect[0]
            response = Response(phrase=phrase, state=ResponseState.AS_EXPECTED)
            yield from self.hear(phrase, response, confidence)
            return
        reading = self._reading(item)
        text = " ".join((item.reading.names or ("",))[:1] + tuple(str(reading.value)))
        yield from self.hear(text, reading, confidence)
        if self.state.previous_id == item.id and self._random.random() < _CORRECTED:
            correction = Correction(previous=(self._reading(item),))
            yield from self.hear(f"correction {text}", correction)

    def _reading(self, item: Item) -> Reading:
        """Read a gauge: near the middle of what is allowed, once in a while outside."""
        spec = item.reading
        if spec is None:
            msg = f"item {item.id} has no gauge"
            raise ValueError(msg)
        scale, limit = spec.scale, spec.limit
        lowest = scale.lowest if limit.minimum is None else limit.minimum
        highest = scale.highest if limit.maximum is None else limit.maximum
        part = Decimal(str(round(self._random.uniform(-0.01, 0.9), 4)))
        value = lowest + (highest - lowest) * part
        steps = ((value - scale.lowest) / scale.step).to_integral_value()
        marked = min(max(scale.lowest + steps * scale.step, scale.lowest), scale.highest)
        return Reading(value=marked, unit=spec.unit)

    def _later(self, after_s: float) -> float:
        """Give the time so much later, on the grid of frames, as the audio's clock has it."""
        self._frames += max(1, round(after_s / _FRAME_S))
        return self._frames * _FRAME_S
