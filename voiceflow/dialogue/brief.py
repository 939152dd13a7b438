"""What is known before a run begins: the flight, the day, what was found and read before.

Gathered at the edge and kept in the run's header, so that a replay decides alike. Clock
times are seconds of the run here; ``Departure.zero_at`` brings them back to the clock.
"""

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from enum import StrEnum

from voiceflow.checks.model import RemedyAction
from voiceflow.limits.computed import UNKNOWN, Conditions
from voiceflow.phraseology.prompts import FindingReason


class FindingState(StrEnum):
    """How a discrepancy stands. People say so; the tool only writes it down."""

    OPEN = "open"
    DEFERRED = "deferred"
    RECTIFIED = "rectified"
    ACCEPTED = "accepted"

    @property
    def is_cleared(self) -> bool:
        """Whether the next run of the tail need not hear of it."""
        return self in {FindingState.RECTIFIED, FindingState.ACCEPTED}


@dataclass(frozen=True, slots=True, kw_only=True)
class CarriedFinding:
    """A discrepancy of an earlier run of this tail that nobody has cleared.

    Attributes:
        finding_id: Its name in the journal.
        check_id: The check it was found in.
        item_id: The item's short name in that check.
        challenge: The item's challenge.
        reason: Why it is one.
        phrase: The response; None for a reading or "unable".
        value: The reading, if one.
        unit: Its unit symbol.
        action: Whom it concerns.
        say: The check file's own words for what to do.
        found_at: Clock time, ISO 8601 with UTC offset.
        state: Open or deferred.
        by: Who deferred it; empty while it is open.
        reference: Under what, as that person wrote it.
    """

    finding_id: str
    check_id: str
    item_id: str
    challenge: str
    reason: FindingReason
    phrase: str | None
    value: Decimal | None
    unit: str
    action: RemedyAction
    say: str | None
    found_at: str
    state: FindingState = FindingState.OPEN
    by: str = ""
    reference: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pace:
    """How long an item took before, from the answer before it to its own.

    Attributes:
        item_id: The item of this run.
        expected_s: Half of the times were shorter.
        late_s: Nine of ten were shorter.
        count: How many times are behind it; 0: nobody has done it yet.
    """

    item_id: str
    expected_s: float
    late_s: float
    count: int


class SlotKind(StrEnum):
    """Which window a take-off time has."""

    CTOT = "ctot"
    EDCT = "edct"


@dataclass(frozen=True, slots=True, kw_only=True)
class Departure:
    """The times to keep, in seconds of the run; before its start they are negative.

    Attributes:
        zero_at: Clock time of second 0, ISO 8601 with UTC offset.
        off_blocks_s: When the aircraft is to leave its stand; None: not planned.
        slot_from_s: Begin of the slot's window at the runway; None: no slot.
        slot_to_s: End of it.
        slot: Which kind it is.
        taxi_s: From leaving the stand to the runway.
    """

    zero_at: str
    off_blocks_s: float | None = None
    slot_from_s: float | None = None
    slot_to_s: float | None = None
    slot: SlotKind | None = None
    taxi_s: float = 0.0

    def clock(self, at_s: float, *, is_latest: bool = False) -> str:
        """Give the time of day of a second of the run, "HH:MM", UTC.

        Args:
            at_s: The second.
            is_latest: To the next minute and not the one before: half a minute past a time
                must not read as that time.
        """
        moment = datetime.fromisoformat(self.zero_at) + timedelta(seconds=at_s)
        if is_latest:
            moment += timedelta(minutes=1) - timedelta(microseconds=1)
        return f"{moment.astimezone(UTC):%H:%M}"


@dataclass(frozen=True, slots=True, kw_only=True)
class TrendNote:
    """How a gauge went in the runs before, at the temperature of this day.

    Attributes:
        item_id: The item of this run.
        per_day: Median slope, in the gauge's unit a day; an hour flown where ``flown``.
        low: Lower end of its 95 % interval.
        high: Upper end.
        count: How many readings are behind it, all since the gauge was last serviced.
        days: ... over how many days, or hours flown.
        flown: It is counted by hours flown instead of days.
    """

    item_id: str
    per_day: float
    low: float
    high: float
    count: int
    days: float
    flown: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Brief:
    """What is known before a run begins.

    Attributes:
        flight: Of the sector, as it is written; empty: none was given.
        signer: Who is asked to sign at the end; empty: nobody is.
        conditions: Of the day.
        departure: The times to keep; None: none was given.
        carried: Discrepancies of earlier runs that nobody has cleared.
        paces: How long items took before.
        pauses: How long it took before a check of a sector was begun on the person's word,
            under the name of its first item.
        trends: How gauges went before.
    """

    flight: str = ""
    signer: str = ""
    conditions: Conditions = field(default=UNKNOWN)
    departure: Departure | None = None
    carried: tuple[CarriedFinding, ...] = ()
    paces: tuple[Pace, ...] = ()
    trends: tuple[TrendNote, ...] = ()
    pauses: tuple[Pace, ...] = ()
