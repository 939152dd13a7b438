"""Makers of values for tests: defaults for all, so that a test states only what matters."""

from decimal import Decimal

from voiceflow.checks.model import (
    Check,
    CheckKind,
    InterruptedPolicy,
    Item,
    Limit,
    ReadingSpec,
    Remedy,
    RemedyAction,
    Source,
    Wait,
)
from voiceflow.dialogue.events import Heard, Utterance
from voiceflow.grammar.meaning import Command, Meaning, Reading, Response, ResponseState
from voiceflow.numbers.scale import Scale
from voiceflow.phraseology.commands import CommandName


def make_item(
    item_id: str = "covers",
    challenge: str = "Pitot covers",
    *,
    area: str | None = None,
    expect: tuple[str, ...] = ("removed", "both removed"),
    not_as_expected: tuple[str, ...] = ("fitted",),
    reading: ReadingSpec | None = None,
    wait: Wait | None = None,
    critical: bool = False,
    outside: Remedy | None = None,
) -> Item:
    """Make an item with responses."""
    return Item(
        id=item_id,
        challenge=challenge,
        area=area,
        expect=expect,
        not_as_expected=not_as_expected,
        reading=reading,
        wait=wait,
        critical=critical,
        outside=outside,
    )


def make_scale(lowest: str = "0", highest: str = "2000", step: str = "10") -> Scale:
    """Make a gauge."""
    return Scale(lowest=Decimal(lowest), highest=Decimal(highest), step=Decimal(step))


def make_gauge(
    item_id: str = "oxygen",
    challenge: str = "Crew oxygen",
    *,
    names: tuple[str, ...] = ("oxygen",),
    unit: str = "psi",
    scale: Scale | None = None,
    limit: Limit | None = None,
    not_as_expected: tuple[str, ...] = ("gauge unreadable",),
    critical: bool = False,
    outside: Remedy | None = None,
) -> Item:
    """Make an item with a reading: oxygen, 0 to 2000 psi by 10, at least 1200, caution under 1400."""
    spec = ReadingSpec(
        names=names,
        unit=unit,
        scale=scale or make_scale(),
        limit=limit or Limit(minimum=Decimal(1200), caution_below=Decimal(1400)),
    )
    return make_item(
        item_id,
        challenge,
        expect=(),
        not_as_expected=not_as_expected,
        reading=spec,
        critical=critical,
        outside=outside or Remedy(action=RemedyAction.MAINTENANCE, say="Call maintenance"),
    )


def make_check(
    *items: Item,
    kind: CheckKind = CheckKind.FLOW,
    interrupted: InterruptedPolicy = InterruptedPolicy.RESUME,
    language: str = "en",
) -> Check:
    """Make a check; without items, one of three: covers, oxygen, door."""
    return Check(
        id="preparation",
        title="Cockpit preparation",
        kind=kind,
        language=language,
        aircraft="Skerry 42",
        tail="X-SKR7",
        source=Source(document="Northmark Air Ferries OM-B (invented)", revision="4"),
        interrupted=interrupted,
        items=items
        or (
            make_item(),
            make_gauge(),
            make_item("door", "Cabin door", expect=("closed",), not_as_expected=("open",)),
        ),
    )


def expected(phrase: str = "removed") -> Response:
    """Make a response that satisfies its item."""
    return Response(phrase=phrase, state=ResponseState.AS_EXPECTED)


def wrong(phrase: str = "fitted") -> Response:
    """Make a response that says something is wrong."""
    return Response(phrase=phrase, state=ResponseState.NOT_AS_EXPECTED)


def reading(value: str | int, unit: str = "psi") -> Reading:
    """Make a reading."""
    return Reading(value=Decimal(value), unit=unit)


def command(name: CommandName) -> Command:
    """Make a command."""
    return Command(name=name)


def heard(
    item_id: str,
    meaning: Meaning,
    at_s: float,
    *,
    text: str = "words as said",
    confidence: float = 1.0,
    speech_start_s: float | None = None,
) -> Heard:
    """Make a Heard whose speech took the second before ``at_s``."""
    return Heard(
        at_s=at_s,
        item_id=item_id,
        utterance=Utterance(
            text=text,
            meaning=meaning,
            confidence=confidence,
            engine="typed",
            speech_start_s=max(0.0, at_s - 1.0) if speech_start_s is None else speech_start_s,
            speech_end_s=max(0.0, at_s - 0.3),
        ),
    )
