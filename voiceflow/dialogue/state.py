"""Where the conversation stands: one immutable value, rebuilt exactly by replay."""

from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from typing import Literal

from voiceflow.checks.model import Check, RemedyAction
from voiceflow.dialogue.brief import Brief
from voiceflow.dialogue.events import Utterance
from voiceflow.grammar.meaning import Answer
from voiceflow.limits.judge import Verdict
from voiceflow.phraseology.prompts import (
    EndingKind,
    FindingReason,
    NoteEnd,
    Prompt,
    Rung,
    TimeLimit,
)
from voiceflow.settings import Settings


class Phase(StrEnum):
    """What the conversation is doing."""

    NOT_STARTED = "not-started"
    ASKING = "asking"  # the challenge was read; an answer is wanted
    CONFIRMING = "confirming"  # a question was put; affirm or negative is wanted
    HOLDING = "holding"  # paused at the item
    CLOSING = "closing"  # all is answered; the last readback may still be rejected
    SIGNING = "signing"  # all is said; the person is asked to sign
    NOTING = "noting"  # what is said next is kept as a note, and answers nothing
    FINISHED = "finished"


class ItemState(StrEnum):
    """How an item was answered."""

    AS_EXPECTED = "as-expected"
    WITHIN_LIMITS = "within-limits"
    CAUTION = "caution"
    OUTSIDE_LIMITS = "outside-limits"
    NOT_AS_EXPECTED = "not-as-expected"
    UNABLE = "unable"
    LATE = "late"


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """How one item was answered.

    Attributes:
        item_id: The item.
        state: How.
        phrase: The response, as the check file has it; None for a reading.
        value: The reading; None for a response.
        unit: Its unit symbol.
        verdict: Of the reading.
        said: The very words heard.
        confidence: Of the utterance.
        confirmed: Whether the person affirmed it.
        asked_s: When the challenge was first put.
        answered_s: When the answer was taken.
        from_left: The item had been left and came back.
    """

    item_id: str
    state: ItemState
    phrase: str | None
    value: Decimal | None
    unit: str
    verdict: Verdict | None
    said: str
    confidence: float
    confirmed: bool
    asked_s: float
    answered_s: float
    from_left: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Discrepancy:
    """Something not as expected; open until people deal with it.

    Attributes:
        item_id: The item.
        reason: Why it is one.
        phrase: The response; None for a reading or "unable".
        value: The reading, if one.
        unit: Its unit symbol.
        minimum: The limit it was held against, if any.
        maximum: The limit it was held against, if any.
        action: Whom it concerns.
        say: The check file's own words for what to do.
        at_s: When it was recorded.
        said: The very words heard.
        withdrawn: A correction took it back; kept in the record.
        agreement: Which of the item's comparisons failed, from 0; None: none did.
        expected: What the reading would have had to be.
        within: How near it would have had to be.
    """

    item_id: str
    reason: FindingReason
    phrase: str | None
    value: Decimal | None
    unit: str
    minimum: Decimal | None
    maximum: Decimal | None
    action: RemedyAction
    say: str | None
    at_s: float
    said: str
    withdrawn: bool = False
    agreement: int | None = None
    expected: Decimal | None = None
    within: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AgreesAgain:
    """A discrepancy no longer holds: a reading that it was compared with was taken back.

    Attributes:
        item_id: The item that has to agree.
        agreement: Which of its comparisons, from 0.
    """

    item_id: str
    agreement: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RunningWait:
    """A wait that runs.

    Attributes:
        item_id: The item it belongs to.
        due_s: When it is due.
        overdue_said: The person was told that the time is over (``within``).
        is_deadline: True for "within": a response must come before; False for
            "ready in": something is ready then.
    """

    item_id: str
    due_s: float
    is_deadline: bool
    overdue_said: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PendingAnswer:
    """An answer that waits for affirm or negative."""

    kind: Literal["answer"] = "answer"
    item_id: str
    answer: Answer
    utterance: Utterance


@dataclass(frozen=True, slots=True, kw_only=True)
class PendingUnable:
    """The word "unable" waits for affirm or negative."""

    kind: Literal["unable"] = "unable"
    item_id: str
    utterance: Utterance


@dataclass(frozen=True, slots=True, kw_only=True)
class PendingAbandon:
    """A wish to abandon the check waits for affirm or negative."""

    kind: Literal["abandon"] = "abandon"


@dataclass(frozen=True, slots=True, kw_only=True)
class PendingSignOff:
    """The signature waits for affirm or negative."""

    kind: Literal["sign-off"] = "sign-off"


Pending = PendingAnswer | PendingUnable | PendingAbandon | PendingSignOff


class HoldCause(StrEnum):
    """Why the check is paused."""

    STAND_BY = "stand-by"
    DEVICE = "device"
    NEXT_CHECK = "next-check"  # one check of a sector has ended, the next has not begun


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """One pause of the check; ``until_s`` is None while it lasts."""

    item_id: str
    from_s: float
    until_s: float | None = None
    cause: HoldCause = HoldCause.STAND_BY


@dataclass(frozen=True, slots=True, kw_only=True)
class Ending:
    """How the check ended.

    Attributes:
        kind: Complete, complete except, abandoned.
        at_item: The item at which it was abandoned.
        open_items: Items without an answer.
        at_s: When.
    """

    kind: EndingKind
    at_item: str | None
    open_items: tuple[str, ...]
    at_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PartEnding:
    """How one check of a sector ended; the last one of a check is the one that stands.

    Attributes:
        part: Which of the sector's parts, from 0.
        check_id: The check's short name.
        kind: Complete or complete except.
        open_items: Its items without an answer.
        findings: How many of its discrepancies stand.
        at_s: When.
    """

    part: int
    check_id: str
    kind: EndingKind
    open_items: tuple[str, ...]
    findings: int
    at_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SignOff:
    """A person put the name under the record, aloud.

    Attributes:
        by: The name.
        kind: What was signed: complete, or complete except.
        open_items: Items without an answer, at that time.
        findings: How many discrepancies stood.
        at_s: When.
        said: The very words heard.
    """

    by: str
    kind: EndingKind
    open_items: tuple[str, ...]
    findings: int
    at_s: float
    said: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """Something that the person said or typed beside the answers, about an item.

    Attributes:
        item_id: The item.
        at_s: When it was taken.
        digest: SHA-256 of its sound (FLAC) in the journal, hexadecimal; empty: typed.
        length_s: Of that sound; 0: typed.
        text: Its words; empty: nobody wrote them down.
        engine: Who wrote them down ("typed": the person); empty: nobody.
        ended: How it came to its end.
    """

    item_id: str
    at_s: float
    digest: str
    length_s: float
    text: str
    engine: str
    ended: NoteEnd


@dataclass(frozen=True, slots=True, kw_only=True)
class Noting:
    """A note is waited for.

    Attributes:
        item_id: The item that it will be about.
        back_to: What the conversation was doing, and goes back to.
        silence_s: After so long without a word there is no note.
    """

    item_id: str
    back_to: Phase
    silence_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """Everything the dialogue knows.

    Attributes:
        check: The check being run.
        settings: The thresholds this run began with, so that replay decides alike.
        brief: What was known before this run began.
        phase: What the conversation is doing.
        item_id: The current item; None before the start and after the end.
        queue: Items still to come after the current one, in order.
        left: Items left for later, in the order left.
        came_back: Items that were left and have come back since.
        outcomes: One for each answered item, in the order answered.
        discrepancies: All, in the order found, withdrawn ones included.
        pending: What waits for affirm or negative.
        waits: Waits that run.
        holds: Every pause.
        awaited: Lost devices without which the check does not go on by itself.
        previous_id: The item answered last: what "correction" is about.
        fresh: Nothing was said at the current item yet, so that "negative",
            "disregard" or "correction" is about the answer to ``previous_id``.
        attempts: How often the current item, or the question that is open, was not
            understood.
        rung: The step of the asking ladder that was reached at the current item; None: none yet.
        heard: Answers to the current item that were heard and not believed, the last one
            heard first. They are only ever asked about.
        refused: Answers to the current item that were put as a question and refused.
        asked_s: When the current item's challenge was first put.
        area: The area said last.
        last_said: The prompts said last, for "say again".
        quiet_since_s: When the tool last finished speaking or something was heard.
        nudges: How often silence at this item was broken.
        person_s: When the person last said something to the tool, or the run began.
        offered: The person was told that one can go back two: "continue" then means to
            go on.
        pieces: Prompts being said or waiting to be, in order.
        cut_short: Prompts that were not heard out and have not been said again.
        question_due: What the person is being asked has not begun to be said.
        person_speaking: Somebody is speaking: no deadline fires.
        slower: "Speak slower" was said.
        keyboard: Lines that are typed are heard beside the voice.
        started_s: When the run began.
        at_s: Time of the last event.
        ending: How the check ended; None while it runs.
        part: Which of a sector's checks has begun last, from 0.
        part_endings: How its checks ended, in that order; one that was gone back to and
            ended anew stands there again.
        sign_off: Who signed; None: nobody has.
        warned: Times to keep of which the person was told that they are endangered.
        reminded: Items at which the person was told what earlier runs had found there.
        trends_told: Items at whose answer the person was told how the gauge goes.
        noting: The note that is waited for; None: none is.
        notes: All, in the order taken.
    """

    check: Check
    settings: Settings = field(default_factory=Settings)
    brief: Brief = field(default_factory=Brief)
    phase: Phase = Phase.NOT_STARTED
    item_id: str | None = None
    queue: tuple[str, ...] = ()
    left: tuple[str, ...] = ()
    came_back: tuple[str, ...] = ()
    outcomes: tuple[Outcome, ...] = ()
    discrepancies: tuple[Discrepancy, ...] = ()
    pending: Pending | None = None
    waits: tuple[RunningWait, ...] = ()
    holds: tuple[Hold, ...] = ()
    awaited: tuple[str, ...] = ()
    previous_id: str | None = None
    fresh: bool = False
    attempts: int = 0
    rung: Rung | None = None
    heard: tuple[Answer, ...] = ()
    refused: tuple[Answer, ...] = ()
    asked_s: float = 0.0
    area: str | None = None
    last_said: tuple[Prompt, ...] = ()
    quiet_since_s: float = 0.0
    nudges: int = 0
    person_s: float = 0.0
    offered: bool = False
    pieces: tuple[Prompt, ...] = ()
    cut_short: tuple[Prompt, ...] = ()
    question_due: bool = False
    person_speaking: bool = False
    slower: bool = False
    keyboard: bool = False
    started_s: float = 0.0
    at_s: float = 0.0
    ending: Ending | None = None
    part: int = 0
    part_endings: tuple[PartEnding, ...] = ()
    sign_off: SignOff | None = None
    reminded: tuple[str, ...] = ()
    warned: tuple[TimeLimit, ...] = ()
    trends_told: tuple[str, ...] = ()
    noting: Noting | None = None
    notes: tuple[Note, ...] = ()

    def outcome(self, item_id: str) -> Outcome | None:
        """Give how an item was answered, or None if it is open."""
        for outcome in self.outcomes:
            if outcome.item_id == item_id:
                return outcome
        return None

    @property
    def saying(self) -> int:
        """How many things are still being said."""
        return len(self.pieces)

    @property
    def open_items(self) -> tuple[str, ...]:
        """Items without an answer, in the check's order."""
        answered = {outcome.item_id for outcome in self.outcomes}
        return tuple(item.id for item in self.check.items if item.id not in answered)

    @property
    def open_discrepancies(self) -> tuple[Discrepancy, ...]:
        """Discrepancies that no correction took back."""
        return tuple(found for found in self.discrepancies if not found.withdrawn)
