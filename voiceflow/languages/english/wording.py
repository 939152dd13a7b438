"""What the tool says, in English: every prompt to its words.

How it speaks: short, calm, exact. Standard words of radiotelephony where there is
one. Nothing that needs eyes: every sentence names what it is about. No apology, no
filler, never "check" as a question. Figures are always words.

The tool may hear itself (a bare "Confirm?" is taken for "continue"; over its own voice no such
command is taken). So no prompt holds a command that could be taken from its
own mouth, except where the command is being taught (what can I say, the questions
that want affirm or negative, how a pause ends, the way out after several misses).
"""

from typing import assert_never

from voiceflow.checks.model import Limit, RemedyAction
from voiceflow.languages.english.commands import COMMANDS
from voiceflow.languages.english.numbers import read_number
from voiceflow.languages.english.plain_words import (
    count_words,
    counted,
    duration,
    listed,
    sentence,
    spoken,
    tail_words,
    within_sentence,
)
from voiceflow.languages.english.units import read_unit, read_unit_of_one
from voiceflow.limits.judge import Verdict
from voiceflow.phraseology import prompts
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.prompts import (
    EndingKind,
    FindingReason,
    FindingSummary,
    NoteEnd,
    Prompt,
    ReferenceKind,
    Rung,
    RunningWaitSummary,
    SpokenValue,
    TimeLimit,
    WhyNot,
)

#: More than this are not all read out before a run begins; asked for, they are.
_MOST_CARRIED = 4
#: More choices than this are not all read out; "what can I say" has them all.
_MOST_CHOICES = 5

#: What "what can I say" teaches besides the answers, in this order. Left out: words
#: that answer a question (affirm, negative), that end a pause (continue), and that
#: complete nothing (roger, wilco).
_TAUGHT = (
    CommandName.SAY_AGAIN,
    CommandName.CORRECTION,
    CommandName.DISREGARD,
    CommandName.STAND_BY,
    CommandName.UNABLE,
    CommandName.LEAVE_FOR_LATER,
    CommandName.GO_BACK,
    CommandName.READ_BACK,
    CommandName.SPEAK_SLOWER,
    CommandName.WHERE_ARE_WE,
    CommandName.WHAT_IS_LEFT,
    CommandName.WHAT_WAS_FOUND,
    CommandName.HOW_LONG,
    CommandName.NOTE,
    CommandName.ABANDON,
)


def wording(prompt: Prompt) -> str:
    """Give the words of a prompt: one or more whole sentences, no figures.

    Text of the check file stands in them as it is written, but for figures, which
    become words, and for the first letter.
    """
    match prompt:
        case prompts.Opening():
            return _opening(prompt)
        case prompts.Challenge():
            asked = sentence(spoken(prompt.challenge))
            if prompt.digit_by_digit:
                asked = f"{_lead(prompt.challenge)}, digit by digit."
            return _join(sentence(spoken(prompt.area or "")), asked)
        case prompts.ReadBack():
            return _read_back(prompt.taken, prompt.verdict, prompt.limit)
        case prompts.TrendRemark():
            return _trend(prompt)
        case prompts.AcknowledgeResponse():
            return sentence(spoken(prompt.phrase))
        case prompts.ConfirmReading():
            return _confirm_reading(prompt)
        case prompts.ConfirmResponse():
            return _confirm_response(prompt)
        case prompts.ConfirmUnable():
            return _confirm_plain(f"{_name(prompt.challenge)} cannot be done", prompt.attempt)
        case prompts.ConfirmAbandon():
            return _confirm_plain(
                f"stop here, with {_items(prompt.open_count)} open", prompt.attempt
            )
        case prompts.WhichOne():
            return _which_one(prompt)
        case prompts.AskAgain():
            return _ask_again(prompt)
        case prompts.OffScale():
            return _off_scale(prompt)
        case prompts.SayTheSetting():
            return _say_the_setting(prompt)
        case prompts.NotHere():
            return _not_here(prompt)
        case prompts.FindingRecorded():
            return _finding_recorded(prompt)
        case prompts.FindingWithdrawn():
            return f"No longer recorded: {_name(prompt.challenge)}."
        case prompts.Corrected():
            if prompt.asks:
                return _join("Withdrawn.", _ask(prompt.challenge))
            return f"Changed: {_name(prompt.challenge)}."
        case prompts.Disregarded():
            return "Dropped."
        case prompts.HoldingAt():
            return _holding(prompt)
        case prompts.Continuing():
            if prompt.restarting:
                return "Starting over, from the first item."
            return _join("Continuing.", _last_done(prompt.last_done))
        case prompts.OfferToGoBack():
            return _offer_to_go_back(prompt)
        case prompts.Resuming():
            title = spoken(prompt.title)
            if prompt.restarting:
                return sentence(f"{title}, starting over from the first item")
            return _join(sentence(f"{title}, resumed"), _last_done(prompt.last_done))
        case prompts.LeftForLater():
            then = "left for the end" if prompt.comes_back else "left open"
            return sentence(f"{_name(prompt.challenge)}, {then}")
        case prompts.ItemsLeft():
            return sentence(f"{_items(prompt.count)} left open, now")
        case prompts.WhereWeAre():
            return _where_we_are(prompt)
        case prompts.WhatIsLeft():
            return _what_is_left(prompt)
        case prompts.HowLong():
            so_far = sentence(f"{duration(prompt.elapsed_s)} since the start")
            return _join(so_far, _outlook(prompt.outlook), *map(_wait, prompt.waits))
        case prompts.TimeShort():
            return _time_short(prompt)
        case prompts.WhatCanBeSaid():
            return _what_can_be_said(prompt)
        case prompts.LastRecorded():
            return _last_recorded(prompt)
        case prompts.SpeakingSlower():
            return "Slower from now on."
        case prompts.StillThere():
            return _still_there(prompt)
        case prompts.WaitOverdue():
            return f"{sentence(f'{duration(prompt.within_s)} gone')} {_ask(prompt.challenge)}"
        case prompts.WaitStarted():
            return sentence(f"{_name(prompt.challenge)}, ready in {duration(prompt.ready_in_s)}")
        case prompts.WaitDue():
            return sentence(spoken(prompt.say or "") or f"{_name(prompt.challenge)}, time is up")
        case prompts.DeviceTrouble():
            return (
                f"{sentence(f'{spoken(prompt.device)} lost')} Holding at {_name(prompt.challenge)}."
            )
        case prompts.DeviceBack():
            return sentence(f"{spoken(prompt.device)} is back")
        case prompts.Closing():
            return _closing(prompt)
        case prompts.PartEnded():
            return _part_ended(prompt)
        case prompts.NextCheck():
            return _next_check(prompt)
        case prompts.PartOpening():
            return sentence(f"{spoken(prompt.title)}, {_items(prompt.count)}")
        case prompts.CarriedOver():
            heading = sentence(f"{_discrepancies(len(prompt.carried))} carried over")
            more = len(prompt.carried) - _MOST_CARRIED
            rest = sentence(f"And {count_words(more)} more") if more > 0 else ""
            return _join(heading, *map(_carried, prompt.carried[:_MOST_CARRIED]), rest)
        case prompts.CarriedHere():
            return f"Carried over: {within_sentence(_carried(prompt.carried))}"
        case prompts.FindingsSoFar():
            return _findings_so_far(prompt)
        case prompts.ConfirmSignOff():
            return _confirm_sign_off(prompt)
        case prompts.Signed():
            return "Not signed." if prompt.by is None else sentence(f"Signed, {spoken(prompt.by)}")
        case prompts.TakingNote():
            when = "Speak after the tone." if prompt.has_tone else "Speak now."
            return f"Note on {_name(prompt.challenge)}. {when}"
        case prompts.NoteKept():
            return _note_kept(prompt)
        case prompts.NoNote():
            return "No note."
        case _:
            assert_never(prompt)


def _note_kept(prompt: prompts.NoteKept) -> str:
    if prompt.length_s is None:
        return "Note kept."
    length = duration(prompt.length_s)
    match prompt.ended:
        case NoteEnd.PAUSE:
            return f"Note kept, {length}."
        case NoteEnd.BOUND:
            return f"Note full, {length} kept."
        case NoteEnd.BROKEN_OFF:
            return f"Note kept as far as it was heard, {length}."


def _opening(prompt: prompts.Opening) -> str:
    aircraft = ", ".join(
        part for part in (spoken(prompt.aircraft), tail_words(prompt.tail)) if part
    )
    checks = counted(prompt.checks, "check", "checks")
    count = checks if prompt.checks else _items(prompt.count)
    return _join(sentence(spoken(prompt.title)), sentence(aircraft), sentence(count))


def _read_back(taken: SpokenValue, verdict: Verdict, limit: Limit) -> str:
    value = _value(taken)
    if verdict is not Verdict.WITHIN:
        return _join(sentence(value), sentence(_why(taken, verdict, limit)))
    return sentence(f"{value}, within limits" if limit != Limit() else value)


def _confirm_reading(prompt: prompts.ConfirmReading) -> str:
    value = f"{_name(prompt.challenge)}, {_value(prompt.taken)}"
    why = sentence(_why(prompt.taken, prompt.verdict, prompt.limit))
    why = _join(why, *(sentence(_apart(each)) for each in prompt.apart))
    match prompt.attempt:
        case 0:
            return _join(sentence(value), why, "Confirm?")
        case 1:
            return f"Affirm or negative: {value}?"
        case 2:
            return _join(sentence(f"I have {value}"), why, "Say affirm, or say the right value.")
        case _:
            return _join(
                sentence(f"Asked {_times(prompt.attempt + 1)}: {value}"),
                "Say affirm to keep it, negative to drop it.",
            )


def _apart(apart: prompts.Apart) -> str:
    """How far a reading is from what it has to agree with: "ninety feet above ...", and why."""
    allowed = read_number(apart.allowed.value, apart.allowed.scale)
    whose = "" if apart.taken is None else f"{spoken(apart.challenge)}, {_value(apart.taken)}, "
    return f"{whose}{_value(apart.by)} {_off_by(apart)} {_reference(apart)}, {allowed} allowed"


def _off_by(apart: prompts.Apart) -> str:
    if apart.is_time:
        return "ahead of" if apart.is_above else "behind"
    return "above" if apart.is_above else "below"


def _reference(apart: prompts.Apart) -> str:
    names = [_name(name) for name in apart.names]
    match apart.kind:
        case ReferenceKind.READING:
            return names[0]
        case ReferenceKind.SUM:
            together = listed(names, "and")
            return together if len(names) == 1 else f"{together} together"
        case ReferenceKind.ELEVATION:
            return names[0] if names else "the field elevation"
        case ReferenceKind.TEMPERATURE:
            return names[0] if names else "the temperature of the day"
        case ReferenceKind.ALTIMETER:
            return names[0] if names else "what its setting gives here"
        case _:
            assert_never(apart.kind)


def _confirm_response(prompt: prompts.ConfirmResponse) -> str:
    answer = f"{_name(prompt.challenge)}, {within_sentence(spoken(prompt.phrase))}"
    match prompt.attempt:
        case 0:
            return _join(sentence(answer), "Confirm?")
        case 1:
            return f"Affirm or negative: {answer}?"
        case 2:
            return _join(sentence(f"I have {answer}"), "Say affirm, or say the right answer.")
        case _:
            return _join(
                sentence(f"Asked {_times(prompt.attempt + 1)}: {answer}"),
                "Say affirm to keep it, negative to drop it.",
            )


def _confirm_plain(what: str, attempt: int) -> str:
    match attempt:
        case 0:
            return f"Confirm: {what}?"
        case 1:
            return f"Affirm or negative: {what}?"
        case _:
            return f"Asked {_times(attempt + 1)}: {what}? Say affirm, or negative."


def _which_one(prompt: prompts.WhichOne) -> str:
    options = [*map(_value, prompt.values), *map(spoken, prompt.phrases)]
    match prompt.attempt:
        case 0:
            return f"Which: {listed(options)}?"
        case 1:
            return f"Still unclear: {listed(options)}?"
        case attempt:
            return f"Asked {_times(attempt + 1)}: {listed(options)}?"


def _ask_again(prompt: prompts.AskAgain) -> str:
    name = _lead(prompt.challenge)
    hint = ""
    if prompt.suggestion is not None:
        hint = f"If you mean {within_sentence(spoken(prompt.suggestion))}, say that."
    match prompt.rung:
        case Rung.QUESTION:
            return _join("Not understood.", hint or _ask(prompt.challenge))
        case Rung.EXPECTED:
            return _join(f"{name}: {_how_to_answer(prompt)}.", hint)
        case Rung.ALTERNATIVES:
            return _join(_alternatives(prompt), hint)
        case Rung.IN_FULL if prompt.wants_number:
            return _join(f"{name}: say it digit by digit.", hint)
        case Rung.IN_FULL if prompt.choices:
            only = listed(_few(prompt.choices))
            return _join(f"{name}: straight into the microphone, and nothing but {only}.", hint)
        case Rung.IN_FULL:
            return _join(f"{name}: speak straight into the microphone, one answer only.", hint)
        case Rung.WAY_OUT:
            later = COMMANDS[CommandName.LEAVE_FOR_LATER][0]
            answer = "Type it" if prompt.keyboard else "Answer it"
            return _join(f"{name} is still open. {answer}, or say: {later}.", hint)
        case Rung.AGAIN:
            how = _alternatives(prompt) or sentence(f"Once more, {_how_to_answer(prompt)}")
            return _join(f"{name}: not understood {_times(prompt.attempt)}.", hint or how)
        case _:
            assert_never(prompt.rung)


def _alternatives(prompt: prompts.AskAgain) -> str:
    """What was heard so far, to choose from; nothing if nothing was."""
    numbers = [read_number(one.value, one.scale) for one in prompt.values]
    heard = [*numbers, *(within_sentence(spoken(phrase)) for phrase in prompt.phrases)]
    if len(heard) > 1:
        return f"I heard {listed(heard)}. Which one?"
    return f"I heard {heard[0]}. If that is right, say it once more." if heard else ""


def _off_scale(prompt: prompts.OffScale) -> str:
    lowest = read_number(prompt.lowest.value, prompt.lowest.scale)
    ends = f"{_name(prompt.challenge)} goes from {lowest} to {_value(prompt.highest)}"
    if prompt.step is not None:
        ends = f"{ends}, in steps of {read_number(prompt.step.value, prompt.step.scale)}"
    return f"Not on the gauge: {ends}."


def _holding(prompt: prompts.HoldingAt) -> str:
    go_on = f"Say {COMMANDS[CommandName.CONTINUE][0]} to go on."
    at = f"olding at {_name(prompt.challenge)}."
    match prompt.attempt:
        case 0:
            return f"H{at} {go_on}"
        case 1:
            return go_on
        case attempt:
            return f"Not understood {_times(attempt)}, still h{at} {go_on}"


def _how_to_answer(prompt: prompts.AskAgain) -> str:
    if not prompt.wants_number:
        return _choices(prompt.choices) or "say what you see"
    if not prompt.choices:
        return "say the number on the gauge"
    return f"say the number on the gauge, or {listed(_few(prompt.choices))}"


def _choices(choices: tuple[str, ...]) -> str:
    if not choices:
        return ""
    lead = "say" if len(choices) <= _MOST_CHOICES else "say, for example,"
    return f"{lead} {listed(_few(choices))}"


def _few(choices: tuple[str, ...]) -> list[str]:
    return [within_sentence(spoken(choice)) for choice in choices[:_MOST_CHOICES]]


def _say_the_setting(prompt: prompts.SayTheSetting) -> str:
    said = sentence(f"{spoken(prompt.said)} is not a setting")
    name = _name(prompt.challenge)
    if prompt.wants_number:
        return _join(said, sentence(f"{name}: say the number"))
    how = _choices(prompt.choices) or "say what you see"
    return _join(said, sentence(f"{name}: {how}"))


def _not_here(prompt: prompts.NotHere) -> str:
    match prompt.why:
        case WhyNot.COMPLETES_NOTHING:
            return sentence(f"{spoken(prompt.said)} does not answer it")
        case WhyNot.NOTHING_TO_CONFIRM:
            return "Nothing to confirm."
        case WhyNot.NOTHING_TO_CORRECT:
            return "Nothing to correct."
        case WhyNot.NOTHING_RECORDED:
            return "Nothing recorded yet."
        case WhyNot.NOT_HOLDING:
            return "Not holding."
        case WhyNot.NO_ITEM_BEFORE:
            return "No item before this one."
        case WhyNot.AFFIRM_OR_NEGATIVE:
            return "First, affirm or negative?"
        case _:
            assert_never(prompt.why)


def _finding_recorded(prompt: prompts.FindingRecorded) -> str:
    finding = prompt.finding
    match finding.reason:
        case FindingReason.NOT_AS_EXPECTED | FindingReason.OUTSIDE_LIMITS | FindingReason.DISAGREES:
            recorded = "Discrepancy recorded"
            if prompt.count > 1:
                recorded = sentence(f"{_discrepancies(prompt.count)} recorded", "")
        case FindingReason.CAUTION:
            recorded = "Caution recorded"
        case FindingReason.UNABLE:
            recorded = "Recorded as not done"
        case FindingReason.LATE:
            recorded = "Recorded as late"
        case _:
            assert_never(finding.reason)
    if prompt.of_other:
        recorded = f"{recorded}: {_name(finding.challenge)}"
    return _join(f"{recorded}.", sentence(_remedy(finding)))


def _remedy(finding: FindingSummary) -> str:
    """What to do: the check file's words, else the action's own; nothing for information."""
    if finding.say:
        return spoken(finding.say)
    match finding.action:
        case RemedyAction.MAINTENANCE:
            return "Call maintenance"
        case RemedyAction.CAPTAIN:
            return "Tell the captain"
        case RemedyAction.INFORMATION:
            return ""
        case _:
            assert_never(finding.action)


def _offer_to_go_back(prompt: prompts.OfferToGoBack) -> str:
    back = COMMANDS[CommandName.GO_BACK_TWO][0]
    gone = sentence(f"{duration(prompt.away_s)} gone")
    return f"{gone} Say {back} to hear the last two items again, or go on."


def _where_we_are(prompt: prompts.WhereWeAre) -> str:
    place = f"item {count_words(prompt.number)} of {count_words(prompt.count)}"
    area = f"{spoken(prompt.area)}: " if prompt.area else ""
    return _join(
        sentence(f"{spoken(prompt.title)}, {place}"),
        sentence(f"{area}{_name(prompt.challenge) if area else spoken(prompt.challenge)}"),
        _last_done(prompt.last_done),
    )


def _what_is_left(prompt: prompts.WhatIsLeft) -> str:
    left = [_name(challenge) for challenge in prompt.left]
    return _join(
        sentence(
            f"{_items(prompt.to_come)} to go, with this one" if prompt.to_come else "None to go"
        ),
        sentence(f"{_items(len(left))} left for the end: {listed(left, 'and')}") if left else "",
        sentence(_discrepancies(prompt.findings)),
        sentence(f"Then {listed([within_sentence(spoken(title)) for title in prompt.then], 'and')}")
        if prompt.then
        else "",
    )


def _what_can_be_said(prompt: prompts.WhatCanBeSaid) -> str:
    answers = [within_sentence(spoken(response)) for response in prompt.responses]
    example = f"A number, such as {_value(prompt.example)}." if prompt.example else ""
    taught = [COMMANDS[name][0] for name in _TAUGHT]
    return _join(
        sentence(f"Say {listed(answers)}") if answers else "",
        example,
        sentence(f"{'Or' if answers or example else 'Say'}: {listed(taught)}"),
    )


def _trend(prompt: prompts.TrendRemark) -> str:
    whole = prompt.change == prompt.change.to_integral_value()
    # no reading of a gauge, so an ordinary number: "twelve", not "one two"
    change = count_words(int(prompt.change)) if whole else spoken(f"{prompt.change:f}")
    unit = read_unit_of_one(prompt.unit) if prompt.change == 1 else read_unit(prompt.unit)
    each, one, many = ("an hour", "hour", "hours") if prompt.flown else ("a day", "day", "days")
    way, bound = ("Down", "minimum") if prompt.falls else ("Up", "maximum")
    when = f"in {counted(prompt.ahead, one, many)}" if prompt.ahead else f"within {each}"
    return sentence(f"{way} {f'{change} {unit}'.strip()} {each}, {bound} {when}")


def _last_recorded(prompt: prompts.LastRecorded) -> str:
    said = within_sentence(spoken(prompt.phrase or ""))
    if prompt.value is not None:
        said = _value(prompt.value)
        is_told = prompt.verdict is Verdict.WITHIN and prompt.apart
        if prompt.verdict is not None and not is_told:
            said = f"{said}, {_verdict(prompt.verdict)}"
    told = sentence(f"{spoken(prompt.challenge)}: {said}")
    return _join(told, *(sentence(_apart(each)) for each in prompt.apart))


def _verdict(verdict: Verdict) -> str:
    match verdict:
        case Verdict.WITHIN:
            return "within limits"
        case Verdict.CAUTION:
            return "caution"
        case Verdict.OUTSIDE:
            return "outside limits"
        case _:
            assert_never(verdict)


def _still_there(prompt: prompts.StillThere) -> str:
    name = _name(prompt.challenge)
    match prompt.attempt:
        case 0 | 1:
            return f"Waiting at {name}."
        case 2:
            return f"Still at {name}. Silent until you speak."
        case attempt:
            return f"Still at {name}, asked {_times(attempt)}."


def _closing(prompt: prompts.Closing) -> str:
    title = spoken(prompt.title)
    open_items = [_name(challenge) for challenge in prompt.open_items]
    open_sentence = ""
    match prompt.ending:
        case EndingKind.COMPLETE:
            head = f"{title} complete"
        case EndingKind.COMPLETE_EXCEPT if open_items:
            head = f"{title} complete except {_items(len(open_items))}: {listed(open_items, 'and')}"
        case EndingKind.COMPLETE_EXCEPT:
            head = f"{title} complete except {_discrepancies(len(prompt.findings))}"
        case EndingKind.ABANDONED:
            at = f" at {_name(prompt.at)}" if prompt.at else ""
            head = f"{title} abandoned{at}"
            open_sentence = sentence(f"{_items(len(open_items))} open")
        case _:
            assert_never(prompt.ending)
    said_in_head = prompt.ending is EndingKind.COMPLETE_EXCEPT and not open_items
    heading = ""
    if prompt.findings and not said_in_head:
        heading = sentence(_discrepancies(len(prompt.findings)))
    return _join(
        sentence(head),
        open_sentence,
        heading,
        *map(_finding, prompt.findings),
        *map(_not_called, prompt.waits),
    )


def _not_called(wait: RunningWaitSummary) -> str:
    """A wait that runs on after the end, when nobody will say that it is over."""
    if wait.remaining_s <= 0:
        return _wait(wait)
    return f"Time it yourself: {_name(wait.challenge)}, {duration(wait.remaining_s)} to go."


def _outlook(outlook: prompts.Outlook | None) -> str:
    if outlook is None:
        return ""
    to_go = f"about {_rounded(outlook.to_go_s)} to go, at the latest {_at_most(outlook.late_s)}"
    ready = off_blocks = slot = ""
    if outlook.ready_at and outlook.late_at:
        ready = f"Ready at {_clock(outlook.ready_at)}, at the latest {_clock(outlook.late_at)}"
    if outlook.off_blocks_at:
        off_blocks = f"Off blocks {_clock(outlook.off_blocks_at)}"
    if outlook.runway_at and outlook.slot_from and outlook.slot_to:
        slot = (
            f"At the runway at the latest {_clock(outlook.runway_at)}, "
            f"slot {_clock(outlook.slot_from)} to {_clock(outlook.slot_to)}"
        )
    return _join(*map(sentence, (to_go, ready, off_blocks, slot)))


def _rounded(seconds: int) -> str:
    """A time that is not known to the second: "half a minute", "four minutes"."""
    if seconds < 45:
        return "half a minute"
    return duration(round(seconds / 60) * 60)


def _at_most(seconds: int) -> str:
    """The same, never told shorter than it is."""
    return "half a minute" if seconds <= 30 else duration(-(-seconds // 60) * 60)


def _clock(time_of_day: str) -> str:
    return spoken(time_of_day.replace(":", ""))


def _time_short(prompt: prompts.TimeShort) -> str:
    late = _clock(prompt.late_at)
    limit = _clock(prompt.limit_at)
    match prompt.limit:
        case TimeLimit.OFF_BLOCKS:
            told = f"Ready at the latest {late}, off blocks {limit}"
        case TimeLimit.SLOT:
            told = f"At the runway at the latest {late}, the slot closes {limit}"
        case _:
            assert_never(prompt.limit)
    could = [_name(challenge) for challenge in prompt.may_wait]
    offer = sentence(f"Could be left for the end: {listed(could, 'and')}") if could else ""
    return _join("Time is short.", sentence(told), offer)


def _part_ended(prompt: prompts.PartEnded) -> str:
    title = spoken(prompt.title)
    if not prompt.open_items and not prompt.findings:
        return sentence(f"{title} complete")
    rest = []
    if prompt.open_items:
        names = listed([_name(challenge) for challenge in prompt.open_items], "and")
        rest.append(f"{_items(len(prompt.open_items))}: {names}")
    if prompt.findings:
        rest.append(_discrepancies(prompt.findings))
    return sentence(f"{title} complete except {', and '.join(rest)}")


def _next_check(prompt: prompts.NextCheck) -> str:
    go_on = f"Say {COMMANDS[CommandName.CONTINUE][0]} to begin."
    title = within_sentence(spoken(prompt.title))
    match prompt.attempt:
        case 0:
            return f"Next, {title}, {_items(prompt.count)}. {go_on}"
        case 1:
            return go_on
        case attempt:
            return f"Not understood {_times(attempt)}. Next is {title}. {go_on}"


def _carried(carried: prompts.CarriedSummary) -> str:
    if carried.deferred_by is None:
        return sentence(f"{_found(carried.finding)}, still open")
    under = f", reference {spoken(carried.reference)}" if carried.reference else ""
    by = spoken(carried.deferred_by)
    return sentence(f"{_found(carried.finding)}, deferred by {by}{under}")


def _findings_so_far(prompt: prompts.FindingsSoFar) -> str:
    heading = sentence(_discrepancies(len(prompt.findings)))
    carried = [f"Carried over: {within_sentence(_carried(one))}" for one in prompt.carried]
    return _join(heading, *map(_finding, prompt.findings), *carried)


def _confirm_sign_off(prompt: prompts.ConfirmSignOff) -> str:
    signer = spoken(prompt.signer)
    match prompt.attempt:
        case 0:
            return f"Confirm: sign as {signer}?"
        case 1:
            return f"Affirm or negative: sign as {signer}?"
        case attempt:
            return f"Asked {_times(attempt + 1)}: sign as {signer}? Say affirm, or negative."


def _finding(finding: FindingSummary) -> str:
    """One discrepancy and what it needs."""
    return _join(sentence(_found(finding)), sentence(_remedy(finding)))


def _found(finding: FindingSummary) -> str:
    """One discrepancy."""
    parts = [spoken(finding.challenge)]
    if finding.value is not None:
        parts.append(_value(finding.value))
    elif finding.said:
        parts.append(within_sentence(spoken(finding.said)))
    match finding.reason:
        case FindingReason.NOT_AS_EXPECTED:
            pass
        case FindingReason.OUTSIDE_LIMITS:
            parts.append("outside limits")
        case FindingReason.CAUTION:
            parts.append("caution")
        case FindingReason.UNABLE:
            parts[1:] = ["not done"]
        case FindingReason.LATE:
            parts.append("late")
        case FindingReason.DISAGREES:
            parts.append("disagrees" if finding.apart is None else _apart(finding.apart))
        case _:
            assert_never(finding.reason)
    return ", ".join(parts)


def _wait(wait: RunningWaitSummary) -> str:
    remaining = f"{duration(wait.remaining_s)} to go" if wait.remaining_s > 0 else "time is up"
    return sentence(f"{spoken(wait.challenge)}, {remaining}")


def _why(taken: SpokenValue, verdict: Verdict, limit: Limit) -> str:
    """Say which bound a reading has crossed; nothing if it is within limits."""
    value, scale = taken.value, taken.scale
    match verdict:
        case Verdict.WITHIN:
            return ""
        case Verdict.OUTSIDE:
            if limit.minimum is not None and value < limit.minimum:
                return f"below minimum {read_number(limit.minimum, scale)}"
            if limit.maximum is not None and value > limit.maximum:
                return f"above maximum {read_number(limit.maximum, scale)}"
            return "outside limits"
        case Verdict.CAUTION:
            if limit.caution_below is not None and value < limit.caution_below:
                return f"caution, below {read_number(limit.caution_below, scale)}"
            if limit.caution_above is not None and value > limit.caution_above:
                return f"caution, above {read_number(limit.caution_above, scale)}"
            return "caution"
        case _:
            assert_never(verdict)


def _value(taken: SpokenValue) -> str:
    number = read_number(taken.value, taken.scale)
    is_one = taken.value == 1 and taken.scale.places == 0  # but "one decimal zero quarts"
    unit = read_unit_of_one(taken.unit) if is_one else read_unit(taken.unit)
    return f"{number} {unit}".strip()


def _name(challenge: str) -> str:
    """A challenge inside a sentence."""
    return within_sentence(spoken(challenge)).rstrip(".?!")


def _lead(challenge: str) -> str:
    """A challenge at the head of a sentence that goes on."""
    return sentence(spoken(challenge), ":").rstrip(":.?!")


def _ask(challenge: str) -> str:
    return sentence(spoken(challenge).rstrip(".?!"), "?")


def _last_done(challenge: str | None) -> str:
    return f"Last done: {_name(challenge)}." if challenge else ""


def _items(count: int) -> str:
    return counted(count, "item", "items")


def _discrepancies(count: int) -> str:
    return counted(count, "discrepancy", "discrepancies") if count else "no discrepancies"


def _times(count: int) -> str:
    return {1: "once", 2: "twice"}.get(count, f"{count_words(count)} times")


def _join(*sentences: str) -> str:
    return " ".join(part for part in sentences if part)
