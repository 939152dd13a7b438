"""What the tool says, as values. A language pack's wording turns each into words.

A prompt holds what is meant, never words of ours; text that it carries is text
of the check file, or of the person.
"""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import Literal

from voiceflow.checks.model import Limit, RemedyAction
from voiceflow.limits.judge import Verdict
from voiceflow.numbers.scale import Scale


@dataclass(frozen=True, slots=True, kw_only=True)
class SpokenValue:
    """A value as it is read back.

    Attributes:
        value: The number.
        unit: Unit symbol, or an empty string.
        scale: The gauge's marks, which fix how the number is said.
    """

    value: Decimal
    unit: str
    scale: Scale


class ReferenceKind(StrEnum):
    """What a reading is compared with."""

    READING = "reading"
    SUM = "sum"
    ELEVATION = "elevation"
    TEMPERATURE = "temperature"
    ALTIMETER = "altimeter"


@dataclass(frozen=True, slots=True, kw_only=True)
class Apart:
    """How far a reading is from what it has to agree with.

    Attributes:
        kind: What that is.
        names: What it is called: one name, or the challenges that are added up.
        by: The difference without its sign; of times in minutes.
        allowed: The largest that would be within limits.
        is_above: The reading is the larger one, or the later.
        is_time: Both are times of day.
        challenge: Whose reading is that far off, where it is another item's.
        taken: That reading.
    """

    kind: ReferenceKind
    names: tuple[str, ...]
    by: SpokenValue
    allowed: SpokenValue
    is_above: bool
    is_time: bool = False
    challenge: str = ""
    taken: SpokenValue | None = None


class FindingReason(StrEnum):
    """Why something is a discrepancy."""

    NOT_AS_EXPECTED = "not-as-expected"
    OUTSIDE_LIMITS = "outside-limits"
    CAUTION = "caution"
    UNABLE = "unable"
    LATE = "late"
    DISAGREES = "disagrees"


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingSummary:
    """One discrepancy, as it is said in a list.

    Attributes:
        challenge: The item's challenge.
        reason: Why.
        said: The response as said; None for a reading.
        value: The reading; None for a response.
        action: Whom it concerns.
        say: The check file's own words for what to do, if any.
        apart: How far it is from what it has to agree with, if that is why.
    """

    challenge: str
    reason: FindingReason
    said: str | None
    value: SpokenValue | None
    action: RemedyAction
    say: str | None
    apart: Apart | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """The check begins. ``count`` items; or a sector of so many ``checks``."""

    kind: Literal["opening"] = "opening"
    title: str
    aircraft: str
    tail: str
    count: int
    checks: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Challenge:
    """The challenge of an item; ``area`` only when it has changed.

    ``digit_by_digit``: so is the reading to be said this time.
    """

    kind: Literal["challenge"] = "challenge"
    challenge: str
    area: str | None = None
    digit_by_digit: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadBack:
    """A reading as taken, with its verdict; ``limit`` said when not within."""

    kind: Literal["read-back"] = "read-back"
    taken: SpokenValue
    verdict: Verdict
    limit: Limit


@dataclass(frozen=True, slots=True, kw_only=True)
class TrendRemark:
    """A gauge goes towards its limit, run after run, and will be there soon.

    Attributes:
        falls: Towards the minimum; else it rises towards the maximum.
        change: How much in a day, or in an hour flown; above 0.
        unit: Unit symbol, or an empty string.
        ahead: Whole days, or hours flown, until the limit; 0: less than one.
        flown: It is counted by hours flown.
    """

    kind: Literal["trend-remark"] = "trend-remark"
    falls: bool
    change: Decimal
    unit: str
    ahead: int
    flown: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class AcknowledgeResponse:
    """A response as taken, where saying nothing would leave doubt."""

    kind: Literal["acknowledge-response"] = "acknowledge-response"
    phrase: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ConfirmReading:
    """A reading to be confirmed; ``limit`` is said when the verdict asks for it.

    ``apart``: how far it is from what it has to agree with, and how far others then are
    from what they have to agree with; none if all agree.
    """

    kind: Literal["confirm-reading"] = "confirm-reading"
    challenge: str
    taken: SpokenValue
    verdict: Verdict
    limit: Limit
    attempt: int = 0
    apart: tuple[Apart, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ConfirmResponse:
    """A response to be confirmed."""

    kind: Literal["confirm-response"] = "confirm-response"
    challenge: str
    phrase: str
    attempt: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class ConfirmUnable:
    """Is the item really impossible?"""

    kind: Literal["confirm-unable"] = "confirm-unable"
    challenge: str
    attempt: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class ConfirmAbandon:
    """Is the check really to end here? ``open_count`` items are open."""

    kind: Literal["confirm-abandon"] = "confirm-abandon"
    open_count: int
    attempt: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class WhichOne:
    """The words fit more than one value or response: ask, naming them.

    ``attempt`` from 0: the second question is put in other words than the first.
    """

    kind: Literal["which-one"] = "which-one"
    values: tuple[SpokenValue, ...] = ()
    phrases: tuple[str, ...] = ()
    attempt: int = 0


class Rung(StrEnum):
    """The steps of the asking ladder, in order: each helps more than the one before."""

    QUESTION = "question"  # not understood: the item, asked shortly
    EXPECTED = "expected"  # what would be understood
    ALTERNATIVES = "alternatives"  # what was heard so far: which of them is it?
    IN_FULL = "in-full"  # digit by digit; or nothing but one of these phrases
    WAY_OUT = "way-out"  # the keyboard, or leaving the item for later
    AGAIN = "again"  # and so on, counted


@dataclass(frozen=True, slots=True, kw_only=True)
class AskAgain:
    """Not understood: ask anew, at each attempt in other words.

    Attributes:
        attempt: How many times this has failed at this item, from 1.
        challenge: The item's challenge.
        rung: Which step of the ladder this is; said in the same words only on the last
            one, and there with the number of attempts.
        choices: Responses that would be understood (from the second step on).
        wants_number: The item wants a reading.
        suggestion: "Did you mean": the phrase nearest to what was typed or heard.
        values: Readings heard so far and not believed, most likely first. They are only
            asked about: the person has to say the right one.
        phrases: Responses heard so far and not believed, likewise.
        keyboard: A line that is typed now is heard too.
    """

    kind: Literal["ask-again"] = "ask-again"
    attempt: int
    challenge: str
    rung: Rung = Rung.QUESTION
    choices: tuple[str, ...] = ()
    wants_number: bool = False
    suggestion: str | None = None
    values: tuple[SpokenValue, ...] = ()
    phrases: tuple[str, ...] = ()
    keyboard: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class OffScale:
    """The number that was typed is no mark of the gauge: say which marks it has.

    Attributes:
        challenge: The item's challenge.
        lowest: The lowest mark.
        highest: The highest mark.
        step: From one mark to the next, where the number lies between two of them;
            None where it lies beyond the ends.
    """

    kind: Literal["off-scale"] = "off-scale"
    challenge: str
    lowest: SpokenValue
    highest: SpokenValue
    step: SpokenValue | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SayTheSetting:
    """The words "set" or "checked" do not say what it is set to."""

    kind: Literal["say-the-setting"] = "say-the-setting"
    challenge: str
    said: str
    choices: tuple[str, ...] = ()
    wants_number: bool = False


class WhyNot(StrEnum):
    """Why a command or answer changes nothing here."""

    COMPLETES_NOTHING = "completes-nothing"  # roger, wilco
    NOTHING_TO_CONFIRM = "nothing-to-confirm"  # affirm without a question
    NOTHING_TO_CORRECT = "nothing-to-correct"
    NOTHING_RECORDED = "nothing-recorded"  # read back before anything was taken
    NOT_HOLDING = "not-holding"  # continue without a hold
    NO_ITEM_BEFORE = "no-item-before"
    AFFIRM_OR_NEGATIVE = "affirm-or-negative"  # an answer is wanted first


@dataclass(frozen=True, slots=True, kw_only=True)
class NotHere:
    """A command that changes nothing here, and why; ``said`` as the person said it."""

    kind: Literal["not-here"] = "not-here"
    why: WhyNot
    said: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingRecorded:
    """A discrepancy was recorded, and what it needs.

    ``of_other``: it is not of the item that was answered just now, so it is named.
    ``count``: so many of that item are recorded, all needing the same.
    """

    kind: Literal["finding-recorded"] = "finding-recorded"
    finding: FindingSummary
    of_other: bool = False
    count: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingWithdrawn:
    """A discrepancy no longer stands: what that item was compared with was taken back."""

    kind: Literal["finding-withdrawn"] = "finding-withdrawn"
    challenge: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Corrected:
    """An answer is withdrawn; ``asks``: its item is asked again, else a new answer follows."""

    kind: Literal["corrected"] = "corrected"
    challenge: str
    asks: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Disregarded:
    """What was just said is dropped."""

    kind: Literal["disregarded"] = "disregarded"


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldingAt:
    """The check is paused at an item, and how to go on.

    ``attempt``: how often the word to go on was heard too badly to be believed.
    """

    kind: Literal["holding-at"] = "holding-at"
    challenge: str
    attempt: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Continuing:
    """The hold is over; ``last_done`` names the item answered last, if any."""

    kind: Literal["continuing"] = "continuing"
    last_done: str | None
    restarting: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferToGoBack:
    """The check lay still for long: the last two items can be asked again."""

    kind: Literal["offer-to-go-back"] = "offer-to-go-back"
    away_s: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Resuming:
    """The run goes on after the program had stopped."""

    kind: Literal["resuming"] = "resuming"
    title: str
    last_done: str | None
    restarting: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftForLater:
    """The item is left: it comes back at the end, or stays open if it had come back."""

    kind: Literal["left-for-later"] = "left-for-later"
    challenge: str
    comes_back: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemsLeft:
    """The items left for later come up now."""

    kind: Literal["items-left"] = "items-left"
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class WhereWeAre:
    """The place: item ``number`` of ``count``."""

    kind: Literal["where-we-are"] = "where-we-are"
    title: str
    challenge: str
    area: str | None
    number: int
    count: int
    last_done: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatIsLeft:
    """What is still open: how many to come, which were left, how many discrepancies.

    ``then``: the checks of the sector that come after this one.
    """

    kind: Literal["what-is-left"] = "what-is-left"
    to_come: int
    left: tuple[str, ...]
    findings: int
    then: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RunningWaitSummary:
    """A wait that is running: what, and how many seconds remain."""

    challenge: str
    remaining_s: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """When all will be done, as far as it can be told. Clock times are "HH:MM", UTC.

    Attributes:
        to_go_s: Expected, from now.
        late_s: Nine times of ten less than this, from now.
        ready_at: The expected finish; None: no clock is known.
        late_at: The late finish.
        off_blocks_at: When the aircraft is to leave its stand; None: not planned.
        runway_at: At the runway after a late finish; None: there is no slot.
        slot_from: Begin of the slot's window.
        slot_to: End of it.
    """

    to_go_s: int
    late_s: int
    ready_at: str | None = None
    late_at: str | None = None
    off_blocks_at: str | None = None
    runway_at: str | None = None
    slot_from: str | None = None
    slot_to: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class HowLong:
    """Time since the check began, the waits that run, and what is to be expected."""

    kind: Literal["how-long"] = "how-long"
    elapsed_s: int
    waits: tuple[RunningWaitSummary, ...]
    outlook: Outlook | None = None


class TimeLimit(StrEnum):
    """A time that is to be kept."""

    OFF_BLOCKS = "off-blocks"
    SLOT = "slot"


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeShort:
    """The late finish is past a time that is to be kept.

    Attributes:
        limit: Which.
        late_at: The late finish, for a slot at the runway; "HH:MM", UTC.
        limit_at: The time to be kept.
        may_wait: Challenges of items that could be left for later; the person decides.
    """

    kind: Literal["time-short"] = "time-short"
    limit: TimeLimit
    late_at: str
    limit_at: str
    may_wait: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatCanBeSaid:
    """What is understood at this item; commands by name, said in the pack's words.

    ``example`` is a value of the gauge, said as an example of a reading.
    """

    kind: Literal["what-can-be-said"] = "what-can-be-said"
    responses: tuple[str, ...]
    example: SpokenValue | None


@dataclass(frozen=True, slots=True, kw_only=True)
class LastRecorded:
    """What was recorded last, read back on request.

    ``apart``: how far it is from what it has to agree with, as far as it disagrees.
    """

    kind: Literal["last-recorded"] = "last-recorded"
    challenge: str
    value: SpokenValue | None
    phrase: str | None
    verdict: Verdict | None
    apart: tuple[Apart, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeakingSlower:
    """The voice will be slower from now on."""

    kind: Literal["speaking-slower"] = "speaking-slower"


@dataclass(frozen=True, slots=True, kw_only=True)
class StillThere:
    """Nothing was heard for a while; ``attempt`` from 1."""

    kind: Literal["still-there"] = "still-there"
    challenge: str
    attempt: int


@dataclass(frozen=True, slots=True, kw_only=True)
class WaitOverdue:
    """The time of a wait is over and its response has not come."""

    kind: Literal["wait-overdue"] = "wait-overdue"
    challenge: str
    within_s: int


@dataclass(frozen=True, slots=True, kw_only=True)
class WaitStarted:
    """Something will be ready in so many seconds; the check goes on meanwhile."""

    kind: Literal["wait-started"] = "wait-started"
    challenge: str
    ready_in_s: int


@dataclass(frozen=True, slots=True, kw_only=True)
class WaitDue:
    """Something that was waited for is due; ``say`` is the check file's own words."""

    kind: Literal["wait-due"] = "wait-due"
    challenge: str
    say: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceTrouble:
    """A microphone or speaker went away; the check holds."""

    kind: Literal["device-trouble"] = "device-trouble"
    device: str
    challenge: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceBack:
    """The device is back; the check goes on at the item."""

    kind: Literal["device-back"] = "device-back"
    device: str


class EndingKind(StrEnum):
    """How a check ends."""

    COMPLETE = "complete"
    COMPLETE_EXCEPT = "complete-except"
    ABANDONED = "abandoned"


@dataclass(frozen=True, slots=True, kw_only=True)
class Closing:
    """The closing words: never "complete" with an item open.

    Attributes:
        title: The check.
        ending: How it ended.
        at: Challenge of the item at which it was abandoned.
        open_items: Challenges of items without an answer.
        findings: Every discrepancy.
        waits: Waits that still run.
    """

    kind: Literal["closing"] = "closing"
    title: str
    ending: EndingKind
    at: str | None
    open_items: tuple[str, ...]
    findings: tuple[FindingSummary, ...]
    waits: tuple[RunningWaitSummary, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartEnded:
    """One check of a sector has ended; never "complete" with an item open."""

    kind: Literal["part-ended"] = "part-ended"
    title: str
    open_items: tuple[str, ...]
    findings: int


@dataclass(frozen=True, slots=True, kw_only=True)
class NextCheck:
    """The next check of a sector waits for the word to go on.

    ``attempt``: how often that word was heard too badly to be believed.
    """

    kind: Literal["next-check"] = "next-check"
    title: str
    count: int
    attempt: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class PartOpening:
    """A check of a sector begins. ``count`` items."""

    kind: Literal["part-opening"] = "part-opening"
    title: str
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CarriedSummary:
    """A discrepancy of an earlier run, as it is said.

    Attributes:
        finding: What it is.
        deferred_by: Who deferred it; None: it is open.
        reference: Under what, as that person wrote it; may be empty.
    """

    finding: FindingSummary
    deferred_by: str | None
    reference: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CarriedOver:
    """What earlier runs of this aircraft found and nobody has cleared."""

    kind: Literal["carried-over"] = "carried-over"
    carried: tuple[CarriedSummary, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CarriedHere:
    """The item that comes was found like this in an earlier run, and not cleared."""

    kind: Literal["carried-here"] = "carried-here"
    carried: CarriedSummary


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingsSoFar:
    """Every discrepancy of this run, and those of earlier ones."""

    kind: Literal["findings-so-far"] = "findings-so-far"
    findings: tuple[FindingSummary, ...]
    carried: tuple[CarriedSummary, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ConfirmSignOff:
    """Will this person sign?

    Attributes:
        title: What is signed.
        signer: Who.
        open_count: Items without an answer.
        findings: Discrepancies that stand.
        attempt: How often it was asked before.
    """

    kind: Literal["confirm-sign-off"] = "confirm-sign-off"
    title: str
    signer: str
    open_count: int
    findings: int
    attempt: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Signed:
    """The record is signed, or ends without a signature (``by`` is None)."""

    kind: Literal["signed"] = "signed"
    by: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TakingNote:
    """What is said next is kept as a note.

    Attributes:
        challenge: Challenge of the item that it is about.
        has_tone: A sound after these words tells when to speak.
    """

    kind: Literal["taking-note"] = "taking-note"
    challenge: str
    has_tone: bool


class NoteEnd(StrEnum):
    """How a note came to its end."""

    PAUSE = "pause"  # nobody spoke any more, the key was let go, or the line was typed
    BOUND = "bound"  # it was as long as a note may be
    BROKEN_OFF = "broken-off"  # the microphone went


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteKept:
    """A note is kept.

    Attributes:
        length_s: Of its sound; None: it was typed.
        ended: How it came to its end.
    """

    kind: Literal["note-kept"] = "note-kept"
    length_s: int | None
    ended: NoteEnd


@dataclass(frozen=True, slots=True, kw_only=True)
class NoNote:
    """Nothing was said: no note is kept."""

    kind: Literal["no-note"] = "no-note"


Prompt = (
    Opening
    | Challenge
    | ReadBack
    | TrendRemark
    | AcknowledgeResponse
    | ConfirmReading
    | ConfirmResponse
    | ConfirmUnable
    | ConfirmAbandon
    | WhichOne
    | AskAgain
    | OffScale
    | SayTheSetting
    | NotHere
    | FindingRecorded
    | FindingWithdrawn
    | Corrected
    | Disregarded
    | HoldingAt
    | Continuing
    | OfferToGoBack
    | Resuming
    | LeftForLater
    | ItemsLeft
    | WhereWeAre
    | WhatIsLeft
    | HowLong
    | WhatCanBeSaid
    | LastRecorded
    | SpeakingSlower
    | StillThere
    | WaitOverdue
    | WaitStarted
    | WaitDue
    | DeviceTrouble
    | DeviceBack
    | Closing
    | PartEnded
    | NextCheck
    | PartOpening
    | CarriedOver
    | CarriedHere
    | FindingsSoFar
    | ConfirmSignOff
    | Signed
    | TimeShort
    | TakingNote
    | NoteKept
    | NoNote
)
