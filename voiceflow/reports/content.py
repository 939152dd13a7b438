"""What a report says, as plain values: no words of ours, no layout.

Everything comes from the run's head, its state and its events. What the record
does not hold is None here, and said to be missing on the page, never made up.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal
from enum import StrEnum

from voiceflow.checks.model import (
    Check,
    ComputedLimit,
    Item,
    Limit,
    OxygenSupply,
    RemedyAction,
)
from voiceflow.dialogue.actions import Ignored, Record, Say
from voiceflow.dialogue.brief import CarriedFinding
from voiceflow.dialogue.events import Event, Heard, ProfileUsed, Resumed
from voiceflow.dialogue.machine import handle
from voiceflow.dialogue.policy import Decision, decide
from voiceflow.dialogue.state import Discrepancy, ItemState, Outcome, Phase, State
from voiceflow.grammar.meaning import Command
from voiceflow.journal.header import MICROPHONE, TYPED, RunHeader
from voiceflow.journal.ledger import FindingStep
from voiceflow.limits.computed import Conditions
from voiceflow.limits.judge import Verdict
from voiceflow.limits.oxygen import lasting_of
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.prompts import (
    AskAgain,
    EndingKind,
    FindingReason,
    NoteEnd,
    SayTheSetting,
    WhichOne,
)
from voiceflow.reports.comparisons import Comparison, compared_with, comparisons

_ASKING_AGAIN = (AskAgain, WhichOne, SayTheSetting)
#: Commands that have a question said once more: nothing was misunderstood.
_REPEATING = (Command(name=CommandName.SAY_AGAIN), Command(name=CommandName.SPEAK_SLOWER))


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """A point of time in the run.

    Attributes:
        at_s: Seconds into the run.
        clock: The same on the clock, with UTC offset; None where it is not known.
    """

    at_s: float
    clock: datetime | None


class OpenState(StrEnum):
    """Why an item has no answer."""

    LEFT = "left"  # left for later
    CURRENT = "current"  # it is being asked
    NOT_REACHED = "not-reached"


@dataclass(frozen=True, slots=True, kw_only=True)
class PartReport:
    """One check of a sector.

    Attributes:
        check_id: The check's short name.
        title: What it is called.
        document: The document that it was written from.
        revision: Its revision.
        digest: SHA-256 of the check file.
        count: How many items it has.
        answered: How many of them have an answer.
        findings: How many of its discrepancies stand.
        ending: How it ended; None if it has not.
        ended: When it ended last; None if it has not.
    """

    check_id: str
    title: str
    document: str
    revision: str
    digest: str
    count: int
    answered: int
    findings: int
    ending: EndingKind | None
    ended: Moment | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Signature:
    """Who signed, aloud.

    Attributes:
        by: The name.
        kind: What was signed: complete, or complete except.
        open_count: Items without an answer, at that time.
        findings: How many discrepancies stood.
        said: The very words heard.
        at: When.
    """

    by: str
    kind: EndingKind
    open_count: int
    findings: int
    said: str
    at: Moment


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """What was run, when and with what.

    Attributes:
        run_id: Name of the run in its journal.
        check_id: The check's short name.
        check_title: What the check is called.
        language: Language of the check's own words, a BCP 47 code.
        aircraft: Type name.
        tail: Registration; empty if none was known.
        document: The document that the check was written from.
        revision: Its revision.
        check_digest: SHA-256 of the check file; empty if not known.
        aircraft_digest: SHA-256 of the aircraft file; empty if there was none.
        own_words_digest: SHA-256 of the personal file; empty if there was none.
        computed: The limits that were worked out for this run.
        program_version: Version of Voiceflow that began the run.
        engine: The recogniser.
        profiles: The speaker profiles that listened, in their order, each once.
        recording: The recording that was heard instead of a microphone, if one.
        started: Second 0.
        last: The ending, or the last event of a run that has not ended.
        by_run_time: Times are given from the start of the run, some or all of them,
            because a recording was heard, and not at the speed of the clock.
        flight: As it is written; empty if none was given.
        conditions: Of the day.
        parts: The checks of a sector; none where it is one check.
    """

    run_id: str
    check_id: str
    check_title: str
    language: str
    aircraft: str
    tail: str
    document: str
    revision: str
    check_digest: str
    aircraft_digest: str
    own_words_digest: str
    computed: tuple[ComputedLimit, ...]
    program_version: str
    engine: str
    profiles: tuple[ProfileUsed, ...]
    recording: str | None
    started: Moment
    last: Moment
    by_run_time: bool
    flight: str
    conditions: Conditions
    parts: tuple[PartReport, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """How the run stands.

    Attributes:
        ending: How it ended; None if it has not.
        at: Challenge of the item at which it was abandoned, or, without an ending,
            at which it stands.
        holding: It is paused there.
        answered: How many items have an answer.
        count: How many items the check has.
    """

    ending: EndingKind | None
    at: str | None
    holding: bool
    answered: int
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class VoiceNote:
    """What the person said or typed beside the answers.

    Attributes:
        number: Its place among the notes of the run, from 1; its sound is found by it.
        item_number: The place in the check of the item that it is about, from 1.
        item_id: That item's short name.
        challenge: That item's challenge.
        text: Its words, as an engine wrote them down or as they were typed; empty: nobody
            wrote them down.
        engine: Who wrote them down ("typed": the person); empty: nobody.
        digest: SHA-256 of its sound in the journal; empty: it was typed.
        length_s: Of that sound; 0: it was typed.
        ended: How it came to its end.
        at: When it was kept.
    """

    number: int
    item_number: int
    item_id: str
    challenge: str
    text: str
    engine: str
    digest: str
    length_s: float
    ended: NoteEnd
    at: Moment


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One discrepancy.

    Attributes:
        number: The item's place in the check, from 1.
        item_id: The item's short name.
        area: Where on the aircraft, if the check says so.
        challenge: The item's challenge.
        reason: Why it is a discrepancy.
        phrase: The response; None for a reading or "unable".
        value: The reading; None for a response.
        unit: Its unit symbol.
        limit: What the reading was held against; no bounds for a response.
        within_s: The time that the response had, if it was late.
        action: Whom it concerns.
        say: The check file's own words for what to do.
        said: The very words heard.
        at: When it was recorded.
        compared_with: What the reading had to agree with: a name, or challenges; none if
            it was not that.
        expected: What it would have had to be.
        within: How near it would have had to be, in the gauge's unit; of times in minutes.
        is_time: Both are times of day.
        lasts_min: How long a reading of oxygen lasts those who breathe of it, whole minutes.
        breathing: How many they are.
        finding_id: Its name in the journal.
        steps: What people have done about it since, in that order.
        notes: What was said about its item; with the last finding of an item that has several.
    """

    number: int
    item_id: str
    area: str | None
    challenge: str
    reason: FindingReason
    phrase: str | None
    value: Decimal | None
    unit: str
    limit: Limit
    within_s: float | None
    action: RemedyAction
    say: str | None
    said: str
    at: Moment
    compared_with: tuple[str, ...] = ()
    expected: Decimal | None = None
    within: Decimal | None = None
    is_time: bool = False
    lasts_min: int | None = None
    breathing: int = 0
    finding_id: str = ""
    steps: tuple[FindingStep, ...] = ()
    notes: tuple[VoiceNote, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered:
    """How an item was answered.

    Attributes:
        state: How.
        phrase: The response, as the check file has it; None for a reading or "unable".
        value: The reading; None for a response.
        unit: Its unit symbol.
        verdict: Of the reading.
        confirmed: The person affirmed it.
        said: The very words heard.
        confidence: 0 to 1.
        from_left: The item had been left and came back.
        asked: When its challenge was put.
        answered: When the answer was taken.
        digits: Digits before the decimal mark that the gauge is always written with.
    """

    state: ItemState
    phrase: str | None
    value: Decimal | None
    unit: str
    verdict: Verdict | None
    confirmed: bool
    said: str
    confidence: float
    from_left: bool
    asked: Moment
    answered: Moment
    digits: int = 1

    @property
    def took_s(self) -> float:
        """Seconds from challenge to answer."""
        return self.answered.at_s - self.asked.at_s


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One item of the check.

    Attributes:
        number: Its place in the check, from 1.
        item_id: Its short name.
        area: Where on the aircraft, if the check says so.
        challenge: Its challenge.
        critical: Its answer is always confirmed.
        limit: Of its reading; None for an item that wants a response.
        unit: Unit symbol of its reading; empty for an item that wants a response.
        expect: Responses that satisfy it.
        answer: How it was answered; None if it is open.
        open: Why it is open; None if it was answered.
        part: Title of its check, in a sector; None where it is one check.
        disagrees: Its reading disagrees with something else that is known.
    """

    number: int
    item_id: str
    area: str | None
    challenge: str
    critical: bool
    limit: Limit | None
    unit: str
    expect: tuple[str, ...]
    answer: Answered | None
    open: OpenState | None
    part: str | None
    disagrees: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Withdrawn:
    """An answer that was taken back; the one that stands is in the item's row.

    Attributes:
        number: The item's place in the check, from 1.
        challenge: The item's challenge.
        answer: The answer taken back.
        at: When it was taken back.
        now: The answer that stands; None if the item is open.
    """

    number: int
    challenge: str
    answer: Answered
    at: Moment
    now: Answered | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Pause:
    """The check was paused; ``until`` is None if it still is."""

    challenge: str
    cause: str
    since: Moment
    until: Moment | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TimedItem:
    """An item with a timed thing that began.

    Attributes:
        number: The item's place in the check, from 1.
        challenge: The item's challenge.
        within_s: Its response had to come within this time, if set.
        ready_in_s: Something is ready this long after its answer, if set.
        since: Second at which the time began, as far as the record says.
        due: When it is due.
        running: It had not passed at the last event.
    """

    number: int
    challenge: str
    within_s: float | None
    ready_in_s: float | None
    since: Moment
    due: Moment | None
    running: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """Everything that a report says.

    Attributes:
        heading: What was run.
        result: How it stands.
        findings: Discrepancies that stand, in the order found.
        rows: Every item, in the check's order.
        withdrawn: Answers that were taken back, in that order.
        pauses: Every hold.
        timed: Every wait that began.
        resumptions: When the run went on after the program had stopped.
        asked_again: Utterances after which the tool had to ask again, because they were
            not understood, could mean two things, or did not say the setting.
        ignored: Sounds not believed to be an answer.
        carried: Discrepancies of earlier runs that nobody had cleared when it began.
        signer: Who was to sign; empty: nobody was.
        signature: Who signed; None: nobody has.
        link: SHA-256 that ties the run's last event to all before it; empty: not known.
        comparisons: What the readings that stand had to agree with.
        notes: Every note, in the order taken.
    """

    heading: Heading
    result: Result
    findings: tuple[Finding, ...]
    rows: tuple[Row, ...]
    withdrawn: tuple[Withdrawn, ...]
    pauses: tuple[Pause, ...]
    timed: tuple[TimedItem, ...]
    resumptions: tuple[Moment, ...]
    asked_again: int
    ignored: int
    carried: tuple[CarriedFinding, ...]
    signer: str
    signature: Signature | None
    link: str = ""
    comparisons: tuple[Comparison, ...] = ()
    notes: tuple[VoiceNote, ...] = ()

    @property
    def notes_beside(self) -> tuple[VoiceNote, ...]:
        """Notes that stand with no finding."""
        with_findings = {note.number for found in self.findings for note in found.notes}
        return tuple(note for note in self.notes if note.number not in with_findings)

    @property
    def open_rows(self) -> tuple[Row, ...]:
        """Items without an answer, in the check's order."""
        return tuple(row for row in self.rows if row.answer is None)

    @property
    def rows_left(self) -> tuple[Row, ...]:
        """Items that were left for later and came back, or are still left."""
        return tuple(
            row
            for row in self.rows
            if row.open is OpenState.LEFT or (row.answer is not None and row.answer.from_left)
        )


def build(
    header: RunHeader,
    state: State,
    events: Sequence[Event],
    *,
    steps: Sequence[FindingStep] = (),
    link: str = "",
) -> Report:
    """Gather what a report says.

    Args:
        header: The run's head.
        state: Its state after the last event.
        events: Its events, in order: for what the state no longer holds, which is
            answers taken back, resumptions, and words not understood.
        steps: What people have done about discrepancies since, of any run.
        link: SHA-256 that ties the run's last event to all before it.
    """
    clock = _Clock(header, events)
    check = header.check
    ending = state.ending
    at_item = ending.at_item if ending is not None else state.item_id
    counts = _Counts(header, events)
    return Report(
        heading=Heading(
            run_id=header.run_id,
            check_id=check.id,
            check_title=check.title,
            language=check.language,
            aircraft=check.aircraft,
            tail=check.tail,
            document=check.source.document,
            revision=check.source.revision,
            check_digest=check.check_digest,
            aircraft_digest=check.aircraft_digest,
            own_words_digest=check.own_words_digest,
            computed=check.computed,
            program_version=header.program_version,
            engine=header.engine,
            profiles=_profiles(header, events),
            recording=header.recording,
            started=Moment(at_s=0.0, clock=_clock_time(header.started_at)),
            last=clock.moment(state.at_s if ending is None else ending.at_s),
            by_run_time=clock.is_of_recording and not header.clock_given,
            flight=header.brief.flight,
            conditions=header.brief.conditions,
            parts=tuple(_part(state, index, clock) for index in range(len(check.parts))),
        ),
        result=Result(
            ending=None if ending is None else ending.kind,
            at=None if at_item is None else check.item(at_item).challenge,
            holding=state.phase is Phase.HOLDING,
            answered=len(check.items) - len(state.open_items),
            count=len(check.items),
        ),
        findings=_findings(header, state, clock, steps),
        rows=tuple(_row(state, item, clock) for item in check.items),
        withdrawn=_withdrawn(header, state, events, clock),
        pauses=tuple(
            Pause(
                challenge=check.item(hold.item_id).challenge,
                cause=hold.cause,
                since=clock.moment(hold.from_s),
                until=None if hold.until_s is None else clock.moment(hold.until_s),
            )
            for hold in state.holds
        ),
        timed=tuple(
            timed for item in check.items if (timed := _timed(state, item, clock)) is not None
        ),
        resumptions=tuple(
            Moment(at_s=event.at_s, clock=_clock_time(event.clock_at))
            for event in events
            if isinstance(event, Resumed)
        ),
        asked_again=counts.asked_again,
        ignored=counts.ignored,
        carried=header.brief.carried,
        signer=header.brief.signer,
        signature=_signature(state, clock),
        link=link,
        comparisons=tuple(comparisons(state)),
        notes=_notes(state, clock),
    )


def _notes(state: State, clock: "_Clock") -> tuple[VoiceNote, ...]:
    check = state.check
    return tuple(
        VoiceNote(
            number=number,
            item_number=check.position(note.item_id) + 1,
            item_id=note.item_id,
            challenge=check.item(note.item_id).challenge,
            text=note.text,
            engine=note.engine,
            digest=note.digest,
            length_s=note.length_s,
            ended=note.ended,
            at=clock.moment(note.at_s),
        )
        for number, note in enumerate(state.notes, 1)
    )


def _part(state: State, index: int, clock: "_Clock") -> PartReport:
    part = state.check.parts[index]
    ids = {item.id for item in state.check.part_items(index)}
    ended = next((each for each in reversed(state.part_endings) if each.part == index), None)
    return PartReport(
        check_id=part.check_id,
        title=part.title,
        document=part.source.document,
        revision=part.source.revision,
        digest=part.digest,
        count=part.items,
        answered=sum(outcome.item_id in ids for outcome in state.outcomes),
        findings=sum(found.item_id in ids for found in state.open_discrepancies),
        ending=None if ended is None else ended.kind,
        ended=None if ended is None else clock.moment(ended.at_s),
    )


def _signature(state: State, clock: "_Clock") -> Signature | None:
    signed = state.sign_off
    if signed is None:
        return None
    return Signature(
        by=signed.by,
        kind=signed.kind,
        open_count=len(signed.open_items),
        findings=signed.findings,
        said=signed.said,
        at=clock.moment(signed.at_s),
    )


def _profiles(header: RunHeader, events: Sequence[Event]) -> tuple[ProfileUsed, ...]:
    resumed = (event.profile for event in events if isinstance(event, Resumed))
    used = (profile for profile in (header.profile, *resumed) if profile is not None)
    return tuple(dict.fromkeys(used))


class _Clock:
    """From seconds into the run to the clock.

    Of a recording, seconds of sound are no seconds of the clock: what was heard of it
    has no clock time. The run's seconds may also stand still while the program is
    stopped, so each resumption begins a new count.

    Attributes:
        is_of_recording: At least a part of the run was heard from a recording.
    """

    def __init__(self, header: RunHeader, events: Sequence[Event]) -> None:
        source = header.source
        self.is_of_recording = _is_recording(source)
        is_known = header.clock_given or not self.is_of_recording
        started = _clock_time(header.started_at) if is_known else None
        self._marks = [(0.0, started)]
        for event in events:
            if isinstance(event, Resumed):
                source = event.source or source
                if _is_recording(source):
                    self.is_of_recording = True
                    self._marks.append((event.at_s, None))
                elif event.clock_at is not None:
                    self._marks.append((event.at_s, _clock_time(event.clock_at)))

    def moment(self, at_s: float) -> Moment:
        """Give a point of time."""
        mark_s, clock = self._marks[0]
        for later_s, later in self._marks[1:]:
            if later_s <= at_s:
                mark_s, clock = later_s, later
        if clock is None:
            return Moment(at_s=at_s, clock=None)
        return Moment(at_s=at_s, clock=clock + timedelta(seconds=at_s - mark_s))


def _is_recording(source: str) -> bool:
    return source not in (MICROPHONE, TYPED)


def _clock_time(text: str | None) -> datetime | None:
    try:
        return None if text is None else datetime.fromisoformat(text)
    except ValueError:
        return None


def _answered(check: Check, outcome: Outcome, clock: _Clock) -> Answered:
    spec = check.item(outcome.item_id).reading
    return Answered(
        state=outcome.state,
        phrase=outcome.phrase,
        value=outcome.value,
        unit=outcome.unit,
        verdict=outcome.verdict,
        confirmed=outcome.confirmed,
        said=outcome.said,
        confidence=outcome.confidence,
        from_left=outcome.from_left,
        asked=clock.moment(outcome.asked_s),
        answered=clock.moment(outcome.answered_s),
        digits=spec.scale.digits if spec else 1,
    )


def _findings(
    header: RunHeader, state: State, clock: _Clock, steps: Sequence[FindingStep]
) -> tuple[Finding, ...]:
    counts: dict[str, int] = {}
    found = []
    notes = _notes(state, clock)
    last = {each.item_id: each for each in state.open_discrepancies}
    for each in state.discrepancies:
        # as the journal numbers them: those that were taken back count too
        counts[each.item_id] = counts.get(each.item_id, 0) + 1
        ordinal = f".{counts[each.item_id]}" if counts[each.item_id] > 1 else ""
        name = f"{header.run_id}/{each.item_id}{ordinal}"
        if not each.withdrawn:
            found.append(
                replace(
                    _finding(header.check, each, clock),
                    finding_id=name,
                    steps=tuple(step for step in steps if step.finding_id == name),
                    notes=tuple(
                        note
                        for note in notes
                        if note.item_id == each.item_id and last[each.item_id] is each
                    ),
                )
            )
    return tuple(found)


def _finding(check: Check, found: Discrepancy, clock: _Clock) -> Finding:
    item = check.item(found.item_id)
    is_reading = found.value is not None and item.reading is not None
    is_late = found.reason is FindingReason.LATE and item.wait is not None
    is_compared = found.reason is FindingReason.DISAGREES
    supply = None if is_compared else _supply(check, item)
    return Finding(
        number=check.position(item.id) + 1,
        item_id=item.id,
        area=item.area,
        challenge=item.challenge,
        reason=found.reason,
        phrase=found.phrase,
        value=found.value,
        unit=found.unit,
        limit=item.reading.limit if is_reading and not is_compared and item.reading else Limit(),
        within_s=item.wait.within_s if is_late and item.wait else None,
        action=found.action,
        say=found.say,
        said=found.said,
        at=clock.moment(found.at_s),
        compared_with=_compared_with(check, item, found),
        expected=found.expected,
        within=found.within,
        is_time=found.agreement is not None
        and item.reading is not None
        and item.reading.agrees[found.agreement].is_time,
        lasts_min=None
        if supply is None or found.value is None
        else lasting_of(supply, float(found.value)),
        breathing=0 if supply is None else supply.crew,
    )


def _supply(check: Check, item: Item) -> OxygenSupply | None:
    """Give the cylinder that an item's limit was worked out from, if it was."""
    names = item.reading.computed if item.reading is not None else ()
    supplies = (limit.supply for limit in check.computed if limit.name in names)
    return next((supply for supply in supplies if supply is not None), None)


def _compared_with(check: Check, item: Item, found: Discrepancy) -> tuple[str, ...]:
    if found.agreement is None or item.reading is None:
        return ()
    return compared_with(check, item.reading.agrees[found.agreement])


def _row(state: State, item: Item, clock: _Clock) -> Row:
    outcome = state.outcome(item.id)
    parts = state.check.parts
    reason: OpenState | None = None
    if outcome is None:
        reason = OpenState.NOT_REACHED
        if item.id in state.left:
            reason = OpenState.LEFT
        elif item.id == state.item_id:
            reason = OpenState.CURRENT
        elif item.id in state.came_back and item.id not in state.queue:
            # the way through is behind us: it was put, left, put again and left again
            reason = OpenState.LEFT
    return Row(
        number=state.check.position(item.id) + 1,
        item_id=item.id,
        area=item.area,
        challenge=item.challenge,
        critical=item.critical,
        limit=item.reading.limit if item.reading else None,
        unit=item.reading.unit if item.reading else "",
        expect=item.expect,
        answer=None if outcome is None else _answered(state.check, outcome, clock),
        open=reason,
        part=parts[state.check.part_index(item.id)].title if parts else None,
        disagrees=any(
            found.item_id == item.id and found.reason is FindingReason.DISAGREES
            for found in state.open_discrepancies
        ),
    )


def _withdrawn(
    header: RunHeader, state: State, events: Sequence[Event], clock: _Clock
) -> tuple[Withdrawn, ...]:
    """Go through the events again for the answers that the state has forgotten."""
    check = header.check
    standing: dict[str, Outcome] = {}
    found = []
    passing = header.begin()
    for event in events:
        step = handle(passing, event)
        passing = step.state
        for record in step.actions:
            if not isinstance(record, Record):
                continue
            if record.outcome is not None:
                standing[record.outcome.item_id] = record.outcome
            item_id = record.withdrawn_item
            if item_id is not None and item_id in standing:
                now = state.outcome(item_id)
                found.append(
                    Withdrawn(
                        number=check.position(item_id) + 1,
                        challenge=check.item(item_id).challenge,
                        answer=_answered(check, standing.pop(item_id), clock),
                        at=clock.moment(event.at_s),
                        now=None if now is None else _answered(check, now, clock),
                    )
                )
    return tuple(found)


def _timed(state: State, item: Item, clock: _Clock) -> TimedItem | None:
    """Give an item's wait if it began, which is when it was put or answered."""
    if item.wait is None:
        return None
    outcome = state.outcome(item.id)
    running = next((wait for wait in state.waits if wait.item_id == item.id), None)
    if item.wait.within_s is not None:
        if outcome is not None:
            since, due = outcome.asked_s, None
        elif running is not None:
            since, due = running.due_s - item.wait.within_s, running.due_s
        else:
            return None
    elif item.wait.ready_in_s is not None and outcome is not None:
        if running is None and outcome.state not in {
            ItemState.AS_EXPECTED,
            ItemState.WITHIN_LIMITS,
        }:
            # not as it should be: nothing is getting ready
            return None
        since = outcome.answered_s
        due = running.due_s if running else since + item.wait.ready_in_s
    else:
        return None
    return TimedItem(
        number=state.check.position(item.id) + 1,
        challenge=item.challenge,
        within_s=item.wait.within_s,
        ready_in_s=item.wait.ready_in_s,
        since=clock.moment(since),
        due=None if due is None else clock.moment(due),
        running=running is not None and running.due_s > state.at_s,
    )


class _Counts:
    """Counts, going through the events again, what the dialogue made of utterances.

    Attributes:
        asked_again: Utterances after which the tool asked again.
        ignored: Sounds not believed to be an answer.
    """

    def __init__(self, header: RunHeader, events: Sequence[Event]) -> None:
        self.asked_again = self.ignored = 0
        items = {item.id: item for item in header.check.items}
        state = header.begin()
        for event in events:
            step = handle(state, event)
            state = step.state
            if not isinstance(event, Heard):
                continue
            if any(isinstance(action, Ignored) for action in step.actions):
                item = items.get(event.item_id)
                if item is not None:
                    decision = decide(event.utterance, item, header.settings.policy)
                    self.ignored += decision is Decision.IGNORE
            elif event.utterance.meaning not in _REPEATING:
                prompts = [
                    prompt
                    for action in step.actions
                    if isinstance(action, Say)
                    for prompt in action.prompts
                ]
                self.asked_again += any(isinstance(prompt, _ASKING_AGAIN) for prompt in prompts)
