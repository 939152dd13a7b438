"""What a check is once its file and its aircraft file have been read.

Plain values: every reference is resolved, every time is in seconds, every item
that this aircraft does not have is gone.
"""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from voiceflow.numbers.scale import Scale


class CheckKind(StrEnum):
    """How a check is done."""

    FLOW = "flow"  # from memory, area by area, verified aloud
    CHALLENGE_RESPONSE = "challenge-response"


class InterruptedPolicy(StrEnum):
    """What to do after an interruption.

    Operators differ: Transport Canada's guidance holds and resumes, a published
    operator's procedure starts again (see tests/published/discipline.yaml).
    """

    RESUME = "resume"
    RESTART = "restart"


class RemedyAction(StrEnum):
    """What a finding asks for. The tool says and records it; people decide."""

    MAINTENANCE = "maintenance"
    CAPTAIN = "captain"
    INFORMATION = "information"


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedy:
    """What to do when an item is not as expected.

    Attributes:
        action: Whom it concerns.
        say: Words to say, as the check file has them; none: the action's own words.
    """

    action: RemedyAction
    say: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """Bounds of a reading, in the gauge's own unit; both bounds belong to the limit.

    Attributes:
        minimum: Lowest value within limits.
        maximum: Highest value within limits.
        caution_below: Values below this, yet within limits, are in the caution band.
        caution_above: Values above this, yet within limits, are in the caution band.
    """

    minimum: Decimal | None = None
    maximum: Decimal | None = None
    caution_below: Decimal | None = None
    caution_above: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reference:
    """What a reading is compared with. Exactly one of the first four is set.

    Attributes:
        readings: Other items of the check, whose readings are added up.
        elevation: The elevation of the place.
        temperature: The temperature of the day.
        setting: The item with an altimeter's setting: what a faultless altimeter shows
            with it, by the standard atmosphere.
        qnh: With ``setting``: the item with the local pressure.
        density: With ``readings``: kilograms a litre, where litres and kilograms meet.
    """

    readings: tuple[str, ...] = ()
    elevation: bool = False
    temperature: bool = False
    setting: str | None = None
    qnh: str | None = None
    density: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """A reading that has to agree with something else that is known.

    Attributes:
        reference: With what.
        within: Largest difference that is still within limits, in the gauge's own unit;
            in minutes for times.
        is_time: Both are times of day, hours and minutes as one number ("1215").
        name: What the reference is called aloud.
        outside: What to do if they disagree; None: as the item has it.
    """

    reference: Reference
    within: Decimal
    is_time: bool = False
    name: str = ""
    outside: Remedy | None = None


class TrendKind(StrEnum):
    """How the readings of a gauge over many runs are compared."""

    PLAIN = "plain"  # as they were read
    OXYGEN = "oxygen"  # a pressure of oxygen: at one temperature, as a real gas
    AIR = "air"  # a pressure of air or nitrogen: at one temperature, as an ideal gas
    FLOWN_HOURS = "flown-hours"  # by the hours flown between them, where these are known
    NONE = "none"  # not at all: it is filled and emptied, or set, for every flight


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingSpec:
    """A number to be read from a gauge.

    Attributes:
        names: Words that may come before the number ("oxygen sixteen hundred").
        unit: Unit symbol as in the check file ("psi"), or an empty string for a bare number.
        scale: The marks of the gauge.
        limit: What is within limits.
        agrees: What else it is held against.
        series: The gauge's name over many runs, for how it goes; empty: the item's own.
        trend: How its readings over many runs are compared.
        computed: Names of those of its limits that were worked out for the day.
    """

    names: tuple[str, ...]
    unit: str
    scale: Scale
    limit: Limit
    agrees: tuple[Agreement, ...] = ()
    series: str = ""
    trend: TrendKind = TrendKind.PLAIN
    computed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Wait:
    """A timed thing that belongs to an item. Exactly one of the two times is set.

    Attributes:
        within_s: The expected response must come within this many seconds of the
            end of the challenge, else the item is late.
        ready_in_s: After the item is answered, something is ready this many seconds
            later; it runs beside the check and is announced when due.
        say: What is announced when due (ready_in_s), as the check file has it.
        late: What to do if it comes late (within_s).
    """

    within_s: float | None = None
    ready_in_s: float | None = None
    say: str | None = None
    late: Remedy | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One line of a check.

    Attributes:
        id: Short name, unique in the check ("crew-oxygen").
        challenge: What is read out.
        area: Where on the aircraft; said when it changes.
        expect: Responses that satisfy the item.
        not_as_expected: Responses that say something is wrong.
        reading: The number to be read, if the item wants one.
        wait: The timed thing that belongs to the item.
        critical: Always confirmed, however well heard.
        outside: What to do when the item is not as expected or a reading is outside limits.
        line: Line of the item in its file, from 1.
        may_wait: It may be offered for later when time is short.
    """

    id: str
    challenge: str
    area: str | None = None
    expect: tuple[str, ...] = ()
    not_as_expected: tuple[str, ...] = ()
    reading: ReadingSpec | None = None
    wait: Wait | None = None
    critical: bool = False
    outside: Remedy | None = None
    line: int = 0
    may_wait: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """The document that a check was written from."""

    document: str
    revision: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnPronunciation:
    """A further way in which one person says a word.

    Attributes:
        word: The word, in small letters.
        phones: Its sounds in ARPAbet, without stress.
    """

    word: str
    phones: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OxygenSupply:
    """A cylinder and who breathes of it: what a reading is worth.

    Attributes:
        volume_l: What the cylinder holds of water, litres.
        empty_psi: Gauge pressure that must stay in it, psi.
        temperature_c: Of the cylinder, degrees Celsius.
        crew: How many breathe of it.
        flow_l_min: Of each, litres a minute at 0 C and 760 mmHg.
    """

    volume_l: float
    empty_psi: float
    temperature_c: float
    crew: int
    flow_l_min: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ComputedLimit:
    """A limit that was worked out for the day.

    Attributes:
        name: What was worked out ("crew-oxygen").
        value: The limit.
        unit: Its unit symbol.
        basis: What it was worked out from, in words, for the record.
        supply: Of oxygen: what a reading is worth; None: it is no oxygen.
    """

    name: str
    value: Decimal
    unit: str
    basis: str
    supply: OxygenSupply | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One check among those of a sector.

    Attributes:
        check_id: The check's short name.
        title: What it is called aloud.
        kind: Flow or challenge and response.
        source: The document it was written from.
        digest: SHA-256 of its file's bytes, hexadecimal.
        items: How many items it has.
        interrupted: What to do after an interruption of it.
        pauses: The person says when it is to begin.
        after_flight: It comes after the flight: off-blocks time and slot do not wait for it.
    """

    check_id: str
    title: str
    kind: CheckKind
    source: Source
    digest: str
    items: int
    interrupted: InterruptedPolicy = InterruptedPolicy.RESUME
    pauses: bool = True
    after_flight: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One procedure, ready to run on one aircraft.

    Attributes:
        id: Short name ("cockpit-preparation").
        title: What it is called aloud.
        kind: Flow or challenge and response.
        language: Language of the words in it, a BCP 47 code ("en").
        aircraft: Type name ("Skerry 42").
        tail: Registration ("X-SKR7"); empty where no aircraft file was given.
        source: The document it was written from.
        interrupted: What to do after an interruption.
        items: The items that this aircraft has, in order; at least one.
        check_digest: SHA-256 of the check file's bytes, hexadecimal.
        aircraft_digest: SHA-256 of the aircraft file's bytes, or an empty string.
        own_words_digest: SHA-256 of the personal file whose phrases are among those of
            the items, or an empty string.
        own_pronunciations: Further ways to say words, from that file.
        computed: The limits that were worked out for this run.
        parts: The checks of a sector, in order; none: it is one check. The items of a
            sector are named ``CHECK.ITEM``.
    """

    id: str
    title: str
    kind: CheckKind
    language: str
    aircraft: str
    tail: str
    source: Source
    interrupted: InterruptedPolicy
    items: tuple[Item, ...]
    check_digest: str = ""
    aircraft_digest: str = ""
    own_words_digest: str = ""
    own_pronunciations: tuple[OwnPronunciation, ...] = ()
    computed: tuple[ComputedLimit, ...] = ()
    parts: tuple[Part, ...] = ()

    def item(self, item_id: str) -> Item:
        """Give the item of that name.

        Raises:
            KeyError: If there is none.
        """
        for item in self.items:
            if item.id == item_id:
                return item
        raise KeyError(item_id)

    def position(self, item_id: str) -> int:
        """Give the item's place in the check, from 0.

        Raises:
            KeyError: If there is no such item.
        """
        for index, item in enumerate(self.items):
            if item.id == item_id:
                return index
        raise KeyError(item_id)

    def part_index(self, item_id: str) -> int:
        """Give which of the parts an item belongs to; 0 where there are none.

        Raises:
            KeyError: If there is no such item.
        """
        position = self.position(item_id)
        for index, part in enumerate(self.parts):
            if position < part.items:
                return index
            position -= part.items
        return 0

    def part_items(self, index: int) -> tuple[Item, ...]:
        """Give the items of a part, in order; all of them where there are no parts."""
        if not self.parts:
            return self.items
        first = sum(part.items for part in self.parts[:index])
        return self.items[first : first + self.parts[index].items]
