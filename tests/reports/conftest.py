"""One run of 36 items with everything in it that a report has to show."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal

import pytest

from tests.builders import make_check, make_gauge, make_item, make_scale
from voiceflow.checks.model import Check, Item, Limit, Remedy, RemedyAction, Wait
from voiceflow.dialogue.events import (
    DeviceLost,
    DeviceReturned,
    Event,
    Heard,
    Resumed,
    Started,
    TimePassed,
    Utterance,
)
from voiceflow.dialogue.machine import begin, handle
from voiceflow.dialogue.state import State
from voiceflow.grammar.meaning import (
    Command,
    Correction,
    Meaning,
    NoMatch,
    Reading,
    Response,
    ResponseState,
)
from voiceflow.journal.header import RunHeader
from voiceflow.phraseology.commands import CommandName
from voiceflow.settings import Settings


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    header: RunHeader
    state: State
    events: tuple[Event, ...]


def make_header(check: Check) -> RunHeader:
    return RunHeader(
        run_id="20261125-093012-7f3a",
        program_version="0.1.0",
        started_at="2026-11-25T09:30:12+00:00",
        check=check,
        settings=Settings(),
        engine="pocketsphinx",
    )


def make_run(check: Check, events: list[Event]) -> Run:
    header = make_header(check)
    state = begin(check, header.settings)
    for event in events:
        state = handle(state, event).state
    return Run(header=header, state=state, events=tuple(events))


class Conversation:
    """Says things at the item that is being asked, one every three seconds."""

    def __init__(self, check: Check) -> None:
        self.state = begin(check, Settings())
        self.check = check
        self.events: list[Event] = []
        self.at_s = 0.0
        self.take(Started(at_s=0.0))

    def take(self, event: Event) -> None:
        self.events.append(event)
        self.state = handle(self.state, event).state

    def say(self, text: str, meaning: Meaning, confidence: float = 0.91) -> None:
        self.at_s += 3.25
        assert self.state.item_id is not None
        utterance = Utterance(
            text=text,
            meaning=meaning,
            confidence=confidence,
            engine="pocketsphinx",
            speech_start_s=self.at_s - 1.5,
            speech_end_s=self.at_s - 0.5,
        )
        self.take(Heard(at_s=self.at_s, item_id=self.state.item_id, utterance=utterance))

    def command(self, name: CommandName) -> None:
        self.say(name.replace("-", " "), Command(name=name))

    def respond(self, phrase: str, state: ResponseState = ResponseState.AS_EXPECTED) -> None:
        self.say(phrase, Response(phrase=phrase, state=state))

    def read(self, text: str, value: str, unit: str) -> None:
        self.say(text, Reading(value=Decimal(value), unit=unit))


def _items() -> Iterator[Item]:
    yield make_item("covers", "Pitot covers", area="walk-round, nose")
    yield make_gauge(
        "oxygen",
        "Crew oxygen",
        outside=Remedy(
            action=RemedyAction.MAINTENANCE,
            say="Call maintenance, and let nobody sign for the aircraft before the bottle has been "
            "filled and the pressure has been read again with the mask valve open",
        ),
    )
    yield make_gauge(
        "outside-air",
        "Outside air temperature",
        unit="°C",
        scale=make_scale("-50", "50", "1"),
        limit=Limit(minimum=Decimal(-35), maximum=Decimal(45)),
    )
    yield make_item(
        "extinguisher",
        "Fire extinguisher behind the left seat, its seal, its pressure mark and its bracket",
        area="right side wall",
        expect=("in place, sealed, mark in the green and bracket locked",),
        not_as_expected=("seal broken",),
        outside=Remedy(action=RemedyAction.CAPTAIN),
    )
    yield make_item(
        "gyro-warning",
        "Gyro warning light",
        area="right side wall",
        expect=("out",),
        wait=Wait(within_s=10.0, late=Remedy(action=RemedyAction.MAINTENANCE)),
    )
    yield make_item(
        "heater",
        "Windshield heat",
        area="overhead",
        expect=("on",),
        wait=Wait(ready_in_s=420.0, say="Windshield is warm"),
        critical=True,
    )
    for number in range(1, 31):
        area = ("overhead", "left side wall", "centre pedestal")[(number - 1) // 10]
        yield make_item(
            f"switch-{number}",
            f"Switch number {number}",
            area=area,
            expect=("off",),
            not_as_expected=("on",),
        )


@pytest.fixture(scope="session")
def full_run() -> Run:
    check = make_check(*_items())
    talk = Conversation(check)
    talk.say("uh what", NoMatch())
    talk.command(CommandName.SAY_AGAIN)
    talk.respond("removed")
    # a reading below its minimum, confirmed
    talk.read("oxygen eleven hundred", "1100", "psi")
    talk.command(CommandName.AFFIRM)
    talk.read("minus five", "-5", "°C")
    # corrected in the next breath
    talk.say(
        "correction minus seven", Correction(previous=(Reading(value=Decimal(-7), unit="°C"),))
    )
    talk.respond("seal broken", ResponseState.NOT_AS_EXPECTED)
    talk.command(CommandName.AFFIRM)
    talk.command(CommandName.STAND_BY)
    talk.at_s += 240.0
    talk.command(CommandName.CONTINUE)
    talk.respond("out")
    talk.respond("on")
    talk.command(CommandName.AFFIRM)
    talk.command(CommandName.LEAVE_FOR_LATER)
    talk.command(CommandName.UNABLE)
    talk.command(CommandName.AFFIRM)
    talk.take(DeviceLost(at_s=talk.at_s + 1.0, device="Headset"))
    talk.at_s += 5.0
    talk.take(DeviceReturned(at_s=talk.at_s, device="Headset"))
    talk.take(Resumed(at_s=talk.at_s + 1.0, clock_at="2026-11-25T10:02:00+00:00"))
    talk.at_s += 1.0
    while talk.state.queue:
        talk.respond("off")
    talk.respond("off")
    # the item that was left comes back
    assert talk.state.item_id == "switch-1"
    talk.respond("off")
    assert talk.state.ending is not None
    talk.take(TimePassed(at_s=talk.at_s + 1.0))
    return Run(header=make_header(check), state=talk.state, events=tuple(talk.events))


@pytest.fixture
def make() -> Callable[[Check, list[Event]], Run]:
    return make_run
