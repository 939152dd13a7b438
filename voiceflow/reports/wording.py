"""Every word of ours on a report's page, in one place.

Numbers are in figures with their units: this is a page, not a voice. Words of
the check file and of people are never changed here.
"""

from datetime import datetime
from decimal import Decimal

from voiceflow.checks.model import Limit, RemedyAction
from voiceflow.dialogue.brief import CarriedFinding, FindingState
from voiceflow.dialogue.state import ItemState
from voiceflow.limits.computed import Conditions
from voiceflow.phraseology.prompts import EndingKind, FindingReason, NoteEnd
from voiceflow.reports.comparisons import Comparison
from voiceflow.reports.content import (
    Answered,
    Finding,
    OpenState,
    PartReport,
    Report,
    Row,
    VoiceNote,
)

#: Language of these words, a BCP 47 code.
LANGUAGE = "en"

CAUTION = (
    "Practice and memory aid. Not certified equipment. The operator's approved documents, "
    "the flight manual and local rules prevail."
)

BY_RUN_TIME = (
    "Where no time of day is given, times are minutes and seconds from the start of the run: "
    "a recording was heard, and not at the speed of the clock."
)

STATE = {
    ItemState.AS_EXPECTED: "As expected",
    ItemState.WITHIN_LIMITS: "Within limits",
    ItemState.CAUTION: "CAUTION",
    ItemState.OUTSIDE_LIMITS: "OUTSIDE LIMITS",
    ItemState.NOT_AS_EXPECTED: "NOT AS EXPECTED",
    ItemState.UNABLE: "UNABLE",
    ItemState.LATE: "LATE",
}
#: States that need no attention; every other stands out on the page.
GOOD_STATES = frozenset({ItemState.AS_EXPECTED, ItemState.WITHIN_LIMITS})

OPEN = {
    OpenState.LEFT: "OPEN: left for later",
    OpenState.CURRENT: "OPEN: being asked",
    OpenState.NOT_REACHED: "OPEN: not reached",
}
REASON = {
    FindingReason.NOT_AS_EXPECTED: "Not as expected",
    FindingReason.OUTSIDE_LIMITS: "Outside limits",
    FindingReason.CAUTION: "In the caution band",
    FindingReason.UNABLE: "Could not be done",
    FindingReason.LATE: "Came late",
    FindingReason.DISAGREES: "Disagrees with another reading",
}
ACTION = {
    RemedyAction.MAINTENANCE: "Report to maintenance",
    RemedyAction.CAPTAIN: "Captain to decide",
    RemedyAction.INFORMATION: "For information",
}
CAUSE = {
    "stand-by": "stand by",
    "device": "a sound device stopped working",
    "next-check": "the next check had not begun",
}
_ENDING = {
    EndingKind.COMPLETE: "Complete",
    EndingKind.COMPLETE_EXCEPT: "Complete except",
    EndingKind.ABANDONED: "Abandoned",
}
STANDING = {
    FindingState.OPEN: "open",
    FindingState.DEFERRED: "deferred",
    FindingState.RECTIFIED: "rectified",
    FindingState.ACCEPTED: "accepted",
}
#: How a note came to its end, where that is worth telling.
NOTE_END = {
    NoteEnd.PAUSE: "",
    NoteEnd.BOUND: "kept up to here: no more fits into a note",
    NoteEnd.BROKEN_OFF: "broken off: the microphone went",
}
#: Unit symbols as check files have them -> as people write them.
_UNITS = {"degC": "°C", "degF": "°F", "percent": "%"}


def counted(count: int, one: str, several: str | None = None) -> str:
    """Give a number with its noun: "no findings", "1 finding", "2 findings"."""
    if count == 1:
        return f"1 {one}"
    return f"{count or 'no'} {several or one + 's'}"


def ending(report: Report) -> str:
    """Say how the run ended, in one sentence."""
    result = report.result
    still_open = len(report.open_rows)
    rest = f"{counted(still_open, 'item')} open, {counted(len(report.findings), 'finding')}"
    if not still_open:
        rest = counted(len(report.findings), "finding")
    elif not report.findings:
        rest = f"{counted(still_open, 'item')} open"
    match result.ending:
        case None if result.at is None and result.answered == 0:
            return "Not started."
        case None:
            place = "holding at" if result.holding else "at"
            return f"Not finished: {place} {result.at}; {rest}."
        case EndingKind.COMPLETE:
            return f"Complete: {counted(result.count, 'item')} answered, nothing found."
        case EndingKind.COMPLETE_EXCEPT:
            return f"Complete except: {rest}."
        case EndingKind.ABANDONED:
            at = f" at {result.at}" if result.at is not None else ""
            return f"Abandoned{at}: {rest}."


def part_ending(part: PartReport) -> str:
    """Say how one check of a sector ended."""
    if part.ending is None:
        return f"Not finished: {part.count - part.answered} of {counted(part.count, 'item')} open"
    rest = []
    if part.answered < part.count:
        rest.append(f"{counted(part.count - part.answered, 'item')} open")
    if part.findings:
        rest.append(counted(part.findings, "finding"))
    return f"Complete except: {', '.join(rest)}" if rest else "Complete"


def signed(report: Report) -> str:
    """Say who signed what; an empty text where nobody was to."""
    signature = report.signature
    if signature is None:
        return f"Not signed by {report.signer}." if report.signer else ""
    what = _ENDING[signature.kind].lower()
    rest = []
    if signature.open_count:
        rest.append(f"{counted(signature.open_count, 'item')} open")
    if signature.findings:
        rest.append(counted(signature.findings, "finding"))
    return f"Signed aloud by {signature.by}: {' '.join([what, ', '.join(rest)]).strip()}."


def carried(found: CarriedFinding) -> str:
    """Say what an earlier run found, and how it stood when this one began."""
    what = quantity(found.value, found.unit) if found.value is not None else found.phrase
    told = REASON[found.reason] if what is None else f"{REASON[found.reason]}: {what}"
    by = f" by {found.by}" if found.by else ""
    under = f", {found.reference}" if found.reference else ""
    return f"{told}; {STANDING[found.state]}{by}{under}"


def standing(found: Finding) -> str:
    """Say what people have done about a finding since; empty while it is open."""
    return "; ".join(
        f"{STANDING[step.state]} by {step.by}{f', {step.reference}' if step.reference else ''}, "
        f"{step.at[:10]}"
        for step in found.steps
    )


def note(kept: VoiceNote) -> str:
    """Say who wrote a note's words down; the words stand beside it."""
    if not kept.text:
        return "sound only"
    return "typed" if not kept.digest else f"words as {kept.engine} wrote them down"


def conditions(day: Conditions) -> str:
    """Give the conditions of the day, as far as they are known."""
    parts = []
    if day.temperature_c is not None:
        parts.append(quantity(day.temperature_c, "degC"))
    if day.crew is not None:
        parts.append(f"crew of {day.crew}")
    if day.hours is not None:
        parts.append(f"{quantity(day.hours, 'h')} planned")
    if day.elevation_ft is not None:
        parts.append(f"elevation {quantity(day.elevation_ft, 'ft')}")
    if day.density_kg_l is not None:
        parts.append(f"fuel of {quantity(day.density_kg_l, 'kg/L')}")
    return ", ".join(parts)


def ending_word(report: Report) -> str:
    """Give the ending in a word or two, for a title."""
    return "Not finished" if report.result.ending is None else _ENDING[report.result.ending]


def number(value: Decimal) -> str:
    """Give a number in figures, with a true minus sign."""
    return f"{value:f}".replace("-", "\N{MINUS SIGN}")


def quantity(value: Decimal, unit: str, digits: int = 1) -> str:
    """Give a number with its unit; a no-break space holds them together.

    Args:
        value: The number.
        unit: Its unit symbol; may be empty.
        digits: Before the decimal mark, at least: a clock at half past five is 0530.
    """
    symbol = _UNITS.get(unit, unit)
    sign, figures = ("\N{MINUS SIGN}", -value) if value < 0 else ("", value)
    whole, mark, part = f"{figures:f}".partition(".")
    text = f"{sign}{whole.zfill(digits)}{mark}{part}"
    return f"{text}\N{NO-BREAK SPACE}{symbol}" if symbol else text


def limit(bounds: Limit, unit: str) -> str:
    """Give a limit; an empty text if there are no bounds."""
    parts = []
    if bounds.minimum is not None and bounds.maximum is not None:
        parts.append(f"{number(bounds.minimum)} to {quantity(bounds.maximum, unit)}")
    elif bounds.minimum is not None:
        parts.append(f"at least {quantity(bounds.minimum, unit)}")
    elif bounds.maximum is not None:
        parts.append(f"at most {quantity(bounds.maximum, unit)}")
    if bounds.caution_below is not None:
        parts.append(f"caution below {quantity(bounds.caution_below, unit)}")
    if bounds.caution_above is not None:
        parts.append(f"caution above {quantity(bounds.caution_above, unit)}")
    return "; ".join(parts)


def wanted(row: Row) -> str:
    """Give what an item wants: its limit, or its responses."""
    if row.limit is not None:
        return limit(row.limit, row.unit) or "a reading, without limit"
    return " / ".join(row.expect)


def answer(taken: Answered | Finding) -> str:
    """Give an answer: the reading with its unit, or the response."""
    if taken.value is not None:
        digits = taken.digits if isinstance(taken, Answered) else 1
        return quantity(taken.value, taken.unit, digits)
    return taken.phrase or "unable"


def comparison(made: Comparison) -> str:
    """Say what came of a comparison."""
    other = " + ".join(made.compared_with)
    if made.expected is None:
        return f"{other}: NOT COMPARED, no {', '.join(made.missing)}"
    near = quantity(made.within, "min" if made.is_time else made.unit)
    told = "agrees" if made.agrees else "DISAGREES"
    wanted = _time_of_day(made.expected) if made.is_time else quantity(made.expected, made.unit)
    return f"{other}: {wanted}, to within {near}: {told}"


def lasting(found: Finding) -> str:
    """Say how long a reading of oxygen lasts; empty for anything else."""
    if found.lasts_min is None:
        return ""
    length = quantity(Decimal(found.lasts_min), "min")
    return f"Lasts {length} for {found.breathing} of the crew"


def _time_of_day(value: Decimal) -> str:
    """Give hours and minutes that were read as one number: "00:03"."""
    hours, minutes = divmod(int(value), 100)
    return f"{hours:02d}:{minutes:02d}"


def held_against(found: Finding) -> str:
    """Give what a finding was held against; an empty text for a response."""
    if found.within_s is not None:
        return f"within {seconds(found.within_s)}"
    if found.compared_with and found.expected is not None and found.within is not None:
        other = " + ".join(found.compared_with)
        near = quantity(found.within, "min" if found.is_time else found.unit)
        expected = found.expected
        told = _time_of_day(expected) if found.is_time else quantity(expected, found.unit)
        return f"{other}: {told}, to within {near}"
    return limit(found.limit, found.unit)


def seconds(length_s: float) -> str:
    """Give a length of time: "8.5 s", "2 min 05 s", "1 h 02 min"."""
    if round(length_s, 1) < 60:
        return f"{length_s:.1f}".removesuffix(".0") + "\N{NO-BREAK SPACE}s"
    minutes, rest = divmod(round(length_s), 60)
    if minutes < 60:
        return f"{minutes}\N{NO-BREAK SPACE}min {rest:02d}\N{NO-BREAK SPACE}s"
    hours, minutes = divmod(minutes, 60)
    return f"{hours}\N{NO-BREAK SPACE}h {minutes:02d}\N{NO-BREAK SPACE}min"


def run_time(at_s: float) -> str:
    """Give a time of the run: "03:07", "1:02:03" (minutes and seconds, hours if any)."""
    minutes, seconds = divmod(int(at_s), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02d}:{seconds:02d}" if hours else f"{minutes:02d}:{seconds:02d}"


def day(moment: datetime) -> str:
    """Give a day and a time with its offset: "2026-11-25 09:30:12 UTC"."""
    offset = moment.strftime("%z")
    zone = "UTC" if offset in {"", "+0000"} else f"UTC{offset[:3]}:{offset[3:5]}"
    return f"{moment:%Y-%m-%d %H:%M:%S} {zone}"
