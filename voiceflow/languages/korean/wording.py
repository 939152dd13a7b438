"""What the tool says, in Korean: every prompt to its words.

Short and polite, noun first, as instructions on a flight deck are. Names of the check
file stand before a comma or a colon, so that no particle has to fit their last letter.
As in English, no prompt holds a command that could be taken from the tool's own mouth,
except where the command is being taught. Figures are always words.
"""

from typing import assert_never

from voiceflow.checks.model import Limit, RemedyAction
from voiceflow.languages.korean.commands import COMMANDS
from voiceflow.languages.korean.numbers import read_number
from voiceflow.languages.korean.plain_words import (
    counted,
    duration,
    listed,
    number_words,
    sentence,
    spoken,
    tail_words,
)
from voiceflow.languages.korean.units import read_unit
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

_MOST_CHOICES = 5
#: More than this are not all read out before a run begins.
_MOST_CARRIED = 4

_AFFIRM = COMMANDS[CommandName.AFFIRM][0]
_NEGATIVE = COMMANDS[CommandName.NEGATIVE][0]

#: What "what can I say" teaches besides the answers, as in English.
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
    CommandName.HOW_LONG,
    CommandName.NOTE,
    CommandName.ABANDON,
)


def wording(prompt: Prompt) -> str:
    """Give the words of a prompt: one or more sentences, no figures."""
    match prompt:
        case prompts.Opening():
            aircraft = [spoken(prompt.aircraft), tail_words(prompt.tail)]
            return _join(
                sentence(spoken(prompt.title)),
                sentence(", ".join(part for part in aircraft if part)),
                f"점검 {counted(prompt.checks, '개')}."
                if prompt.checks
                else f"{_items(prompt.count)}.",
            )
        case prompts.Challenge():
            asked = sentence(spoken(prompt.challenge))
            if prompt.digit_by_digit:
                asked = f"{_name(prompt.challenge)}, 숫자를 하나씩."
            return _join(sentence(spoken(prompt.area or "")), asked)
        case prompts.ReadBack():
            return _read_back(prompt.taken, prompt.verdict, prompt.limit)
        case prompts.TrendRemark():
            return _trend(prompt)
        case prompts.AcknowledgeResponse():
            return sentence(spoken(prompt.phrase))
        case prompts.ConfirmReading():
            value = sentence(f"{_name(prompt.challenge)}, {_value(prompt.taken)}")
            why = sentence(_why(prompt.taken, prompt.verdict, prompt.limit))
            why = _join(why, *(sentence(_apart(each)) for each in prompt.apart))
            return _confirm(value, why, "값", prompt.attempt)
        case prompts.ConfirmResponse():
            answer = sentence(f"{_name(prompt.challenge)}, {spoken(prompt.phrase)}")
            return _confirm(answer, "", "답", prompt.attempt)
        case prompts.ConfirmUnable():
            what = f"{_name(prompt.challenge)}, 할 수 없는 상태 맞습니까?"
            return _confirm_plain(what, prompt.attempt)
        case prompts.ConfirmAbandon():
            what = f"남은 것 {counted(prompt.open_count, '개')}. 여기서 끝냅니까?"
            return _confirm_plain(what, prompt.attempt)
        case prompts.WhichOne():
            return _which_one(prompt)
        case prompts.AskAgain():
            return _ask_again(prompt)
        case prompts.OffScale():
            return _off_scale(prompt)
        case prompts.SayTheSetting():
            how = "숫자를 말씀하십시오" if prompt.wants_number else _choices(prompt.choices)
            said = f"{spoken(prompt.said)}, 그것만으로는 상태를 알 수 없음."
            return _join(said, f"{_name(prompt.challenge)}: {how}.")
        case prompts.NotHere():
            return _not_here(prompt)
        case prompts.FindingRecorded():
            return _finding_recorded(prompt)
        case prompts.FindingWithdrawn():
            return f"{_name(prompt.challenge)}, 이상 기록에서 뺌."
        case prompts.Corrected():
            if prompt.asks:
                return f"기록에서 뺐습니다. {_name(prompt.challenge)}?"
            return f"{_name(prompt.challenge)}, 고침."
        case prompts.Disregarded():
            return "버렸습니다."
        case prompts.HoldingAt():
            return _holding(prompt)
        case prompts.Continuing():
            if prompt.restarting:
                return "처음부터 새로 시작합니다."
            return _join("이어 갑니다.", _last_done(prompt.last_done))
        case prompts.OfferToGoBack():
            return _offer_to_go_back(prompt)
        case prompts.Resuming():
            title = spoken(prompt.title)
            if prompt.restarting:
                return f"{title}, 처음부터 새로 시작합니다."
            return _join(f"{title}, 이어 갑니다.", _last_done(prompt.last_done))
        case prompts.LeftForLater():
            then = "마지막에 다시 함" if prompt.comes_back else "남겨 둠"
            return f"{_name(prompt.challenge)}, {then}."
        case prompts.ItemsLeft():
            return f"남겨 둔 것 {counted(prompt.count, '개')}, 이제 합니다."
        case prompts.WhereWeAre():
            return _where_we_are(prompt)
        case prompts.WhatIsLeft():
            left = [_name(challenge) for challenge in prompt.left]
            return _join(
                f"이것까지 앞으로 {_items(prompt.to_come)}." if prompt.to_come else "앞으로 없음.",
                f"마지막에 다시 할 것 {counted(len(left), '개')}: {listed(left, '')}."
                if left
                else "",
                f"{_discrepancies(prompt.findings)}.",
                f"그 다음 {listed([spoken(title) for title in prompt.then], '')}."
                if prompt.then
                else "",
            )
        case prompts.HowLong():
            so_far = f"시작부터 {duration(prompt.elapsed_s)} 지남."
            return _join(so_far, _outlook(prompt.outlook), *map(_wait, prompt.waits))
        case prompts.TimeShort():
            return _time_short(prompt)
        case prompts.WhatCanBeSaid():
            return _what_can_be_said(prompt)
        case prompts.LastRecorded():
            return _last_recorded(prompt)
        case prompts.SpeakingSlower():
            return "이제 느리게 말합니다."
        case prompts.StillThere():
            return _still_there(prompt)
        case prompts.WaitOverdue():
            return f"{duration(prompt.within_s)} 지남. {_name(prompt.challenge)}?"
        case prompts.WaitStarted():
            return f"{_name(prompt.challenge)}, {duration(prompt.ready_in_s)} 뒤 준비됨."
        case prompts.WaitDue():
            return sentence(spoken(prompt.say or "") or f"{_name(prompt.challenge)}, 시간 됨")
        case prompts.DeviceTrouble():
            return f"{spoken(prompt.device)} 끊김. {_name(prompt.challenge)}에서 멈춤."
        case prompts.DeviceBack():
            return f"{spoken(prompt.device)} 다시 연결됨."
        case prompts.Closing():
            return _closing(prompt)
        case prompts.PartEnded():
            return _part_ended(prompt)
        case prompts.NextCheck():
            return _next_check(prompt)
        case prompts.PartOpening():
            return f"{spoken(prompt.title)}, {_items(prompt.count)}."
        case prompts.CarriedOver():
            heading = f"이월된 {_discrepancies(len(prompt.carried))}."
            more = len(prompt.carried) - _MOST_CARRIED
            rest = f"그 밖에 {counted(more, '개')}." if more > 0 else ""
            return _join(heading, *map(_carried, prompt.carried[:_MOST_CARRIED]), rest)
        case prompts.CarriedHere():
            return f"이월됨: {_carried(prompt.carried)}"
        case prompts.FindingsSoFar():
            carried = [f"이월됨: {_carried(one)}" for one in prompt.carried]
            heading = f"{_discrepancies(len(prompt.findings))}."
            return _join(heading, *map(_finding, prompt.findings), *carried)
        case prompts.ConfirmSignOff():
            what = f"{spoken(prompt.signer)}, 서명합니까?"
            return _confirm_plain(what, prompt.attempt)
        case prompts.Signed():
            return "서명 없음." if prompt.by is None else f"서명됨, {spoken(prompt.by)}."
        case prompts.TakingNote():
            when = "신호음 뒤에" if prompt.has_tone else "지금"
            return f"{_name(prompt.challenge)}, 메모. {when} 말씀하십시오."
        case prompts.NoteKept():
            return _note_kept(prompt)
        case prompts.NoNote():
            return "메모 없음."
        case _:
            assert_never(prompt)


def _note_kept(prompt: prompts.NoteKept) -> str:
    if prompt.length_s is None:
        return "메모 남김."
    length = duration(prompt.length_s)
    match prompt.ended:
        case NoteEnd.PAUSE:
            return f"메모 남김, {length}."
        case NoteEnd.BOUND:
            return f"메모 가득 참, {length}까지 남김."
        case NoteEnd.BROKEN_OFF:
            return f"들린 데까지 메모 남김, {length}."


def _read_back(taken: SpokenValue, verdict: Verdict, limit: Limit) -> str:
    value = _value(taken)
    if verdict is not Verdict.WITHIN:
        return _join(sentence(value), sentence(_why(taken, verdict, limit)))
    return f"{value}, 범위 안." if limit != Limit() else f"{value}."


def _confirm(taken: str, why: str, kind: str, attempt: int) -> str:
    """Ask whether something is right, at each attempt in other words."""
    match attempt:
        case 0:
            return _join(taken, why, "맞습니까?")
        case 1:
            return _join(f"{_AFFIRM}, 또는 {_NEGATIVE}:", f"{taken.rstrip('.')}?")
        case 2:
            return _join("들은 것:", taken, why, f"{_AFFIRM}, 또는 바른 {kind} 말씀하십시오.")
        case _:
            return _join(
                f"{counted(attempt + 1, '번')} 묻습니다:",
                taken,
                f"맞으면 {_AFFIRM}, 틀리면 {_NEGATIVE}.",
            )


def _confirm_plain(what: str, attempt: int) -> str:
    match attempt:
        case 0:
            return what
        case 1:
            return f"{_AFFIRM}, 또는 {_NEGATIVE}: {what}"
        case _:
            times = counted(attempt + 1, "번")
            return f"{times} 묻습니다: {what} 맞으면 {_AFFIRM}, 틀리면 {_NEGATIVE}."


def _which_one(prompt: prompts.WhichOne) -> str:
    options = listed([*map(_value, prompt.values), *map(spoken, prompt.phrases)])
    match prompt.attempt:
        case 0:
            return f"어느 쪽입니까? {options}?"
        case 1:
            return f"아직 분명하지 않음: {options}?"
        case attempt:
            return f"{counted(attempt + 1, '번')} 묻습니다: {options}?"


def _ask_again(prompt: prompts.AskAgain) -> str:
    name = _name(prompt.challenge)
    hint = ""
    if prompt.suggestion is not None:
        hint = f"{spoken(prompt.suggestion)}, 이 뜻이면 그대로 말씀하십시오."
    match prompt.rung:
        case Rung.QUESTION:
            return _join("알아듣지 못함.", hint or f"{name}?")
        case Rung.EXPECTED:
            return _join(f"{name}: {_how_to_answer(prompt)}.", hint)
        case Rung.ALTERNATIVES:
            return _join(_alternatives(prompt), hint)
        case Rung.IN_FULL if prompt.wants_number:
            return _join(f"{name}: 숫자를 하나씩 끊어 말씀하십시오.", hint)
        case Rung.IN_FULL if prompt.choices:
            only = _listed_choices(prompt.choices)
            return _join(f"{name}: 마이크에 대고 이 중 하나만 말씀하십시오: {only}.", hint)
        case Rung.IN_FULL:
            return _join(f"{name}: 마이크에 대고 답만 말씀하십시오.", hint)
        case Rung.WAY_OUT:
            later = COMMANDS[CommandName.LEAVE_FOR_LATER][0]
            answer = "키보드로 치거나" if prompt.keyboard else "답하거나"
            return _join(f"{name}, 아직 답 없음. {answer}, {later}, 하고 말씀하십시오.", hint)
        case Rung.AGAIN:
            how = _alternatives(prompt) or f"{_how_to_answer(prompt)}."
            times = counted(prompt.attempt, "번")
            return _join(f"{name}: {times} 알아듣지 못함.", hint or how)
        case _:
            assert_never(prompt.rung)


def _alternatives(prompt: prompts.AskAgain) -> str:
    numbers = [read_number(one.value, one.scale) for one in prompt.values]
    heard = [*numbers, *map(spoken, prompt.phrases)]
    if len(heard) > 1:
        return f"들은 것: {listed(heard)}. 어느 것입니까?"
    return f"들은 것: {heard[0]}. 이것이면 그대로 한 번 더 말씀하십시오." if heard else ""


def _off_scale(prompt: prompts.OffScale) -> str:
    lowest = read_number(prompt.lowest.value, prompt.lowest.scale)
    ends = f"{_name(prompt.challenge)}, {lowest}부터 {_value(prompt.highest)}까지"
    if prompt.step is not None:
        ends = f"{ends}, 눈금 간격 {read_number(prompt.step.value, prompt.step.scale)}"
    return f"계기에 없는 값: {ends}."


def _holding(prompt: prompts.HoldingAt) -> str:
    go_on = f"이어 가려면 {COMMANDS[CommandName.CONTINUE][0]}, 하고 말씀하십시오."
    at = f"{_name(prompt.challenge)}에서 멈춤."
    match prompt.attempt:
        case 0:
            return f"{at} {go_on}"
        case 1:
            return go_on
        case attempt:
            return f"{counted(attempt, '번')} 알아듣지 못함. 아직 {at} {go_on}"


def _how_to_answer(prompt: prompts.AskAgain) -> str:
    if not prompt.wants_number:
        return _choices(prompt.choices)
    if not prompt.choices:
        return "계기의 숫자를 말씀하십시오"
    return f"계기의 숫자, {_listed_choices(prompt.choices)}, 그중 하나"


def _choices(choices: tuple[str, ...]) -> str:
    if not choices:
        return "보이는 대로 말씀하십시오"
    lead = "예를 들어 " if len(choices) > _MOST_CHOICES else ""
    return f"{lead}{_listed_choices(choices)}, 그중 하나"


def _listed_choices(choices: tuple[str, ...]) -> str:
    return listed([spoken(choice) for choice in choices[:_MOST_CHOICES]])


def _not_here(prompt: prompts.NotHere) -> str:
    match prompt.why:
        case WhyNot.COMPLETES_NOTHING:
            return f"{spoken(prompt.said)}, 답이 아님."
        case WhyNot.NOTHING_TO_CONFIRM:
            return "물은 것 없음."
        case WhyNot.NOTHING_TO_CORRECT:
            return "고칠 것 없음."
        case WhyNot.NOTHING_RECORDED:
            return "아직 기록 없음."
        case WhyNot.NOT_HOLDING:
            return "멈춘 상태 아님."
        case WhyNot.NO_ITEM_BEFORE:
            return "이것이 첫 항목."
        case WhyNot.AFFIRM_OR_NEGATIVE:
            return f"먼저 답하십시오: {_AFFIRM}, 또는 {_NEGATIVE}?"
        case _:
            assert_never(prompt.why)


def _finding_recorded(prompt: prompts.FindingRecorded) -> str:
    finding = prompt.finding
    match finding.reason:
        case FindingReason.NOT_AS_EXPECTED | FindingReason.OUTSIDE_LIMITS | FindingReason.DISAGREES:
            recorded = "이상 기록함."
            if prompt.count > 1:
                recorded = f"{_discrepancies(prompt.count)} 기록함."
        case FindingReason.CAUTION:
            recorded = "주의 기록함."
        case FindingReason.UNABLE:
            recorded = "못 한 것으로 기록함."
        case FindingReason.LATE:
            recorded = "늦은 것으로 기록함."
        case _:
            assert_never(finding.reason)
    if prompt.of_other:
        recorded = f"{_name(finding.challenge)}, {recorded}"
    return _join(recorded, sentence(_remedy(finding)))


def _remedy(finding: FindingSummary) -> str:
    if finding.say:
        return spoken(finding.say)
    match finding.action:
        case RemedyAction.MAINTENANCE:
            return "정비사 호출"
        case RemedyAction.CAPTAIN:
            return "기장에게 보고"
        case RemedyAction.INFORMATION:
            return ""
        case _:
            assert_never(finding.action)


def _offer_to_go_back(prompt: prompts.OfferToGoBack) -> str:
    back = COMMANDS[CommandName.GO_BACK_TWO][0]
    return (
        f"{duration(prompt.away_s)} 지남. 마지막 둘을 다시 하려면 {back}, 아니면 이어서 답하십시오."
    )


def _where_we_are(prompt: prompts.WhereWeAre) -> str:
    count, number = number_words(prompt.count), number_words(prompt.number)
    area = f"{spoken(prompt.area)}: " if prompt.area else ""
    return _join(
        f"{spoken(prompt.title)}, {count} 중 {number} 번.",
        f"{area}{_name(prompt.challenge)}.",
        _last_done(prompt.last_done),
    )


def _what_can_be_said(prompt: prompts.WhatCanBeSaid) -> str:
    answers = [spoken(response) for response in prompt.responses]
    taught = [COMMANDS[name][0] for name in _TAUGHT]
    return _join(
        f"답: {listed(answers)}." if answers else "",
        f"숫자, 보기를 들면 {_value(prompt.example)}." if prompt.example else "",
        f"그 밖에: {listed(taught)}.",
    )


def _trend(prompt: prompts.TrendRemark) -> str:
    change = spoken(f"{prompt.change:f}")
    each = "시간당" if prompt.flown else "하루"
    way, bound = ("감소", "최소") if prompt.falls else ("증가", "최대")
    if not prompt.ahead:
        when = "한 시간 안에" if prompt.flown else "하루 안에"
    elif prompt.flown:
        when = f"{counted(prompt.ahead, '시간')} 뒤"
    else:
        when = f"{number_words(prompt.ahead)} 일 뒤"
    return f"{each} {f'{change} {read_unit(prompt.unit)}'.strip()} {way}, {when} {bound}."


def _last_recorded(prompt: prompts.LastRecorded) -> str:
    said = spoken(prompt.phrase or "")
    if prompt.value is not None:
        said = _value(prompt.value)
        is_told = prompt.verdict is Verdict.WITHIN and prompt.apart
        if prompt.verdict is not None and not is_told:
            said = f"{said}, {_verdict(prompt.verdict)}"
    told = f"{_name(prompt.challenge)}: {said}."
    return _join(told, *(sentence(_apart(each)) for each in prompt.apart))


def _verdict(verdict: Verdict) -> str:
    match verdict:
        case Verdict.WITHIN:
            return "범위 안"
        case Verdict.CAUTION:
            return "주의"
        case Verdict.OUTSIDE:
            return "범위 밖"
        case _:
            assert_never(verdict)


def _still_there(prompt: prompts.StillThere) -> str:
    name = _name(prompt.challenge)
    match prompt.attempt:
        case 0 | 1:
            return f"{name}, 답 기다림."
        case 2:
            return f"아직 {name}. 말씀이 있을 때까지 조용히 있겠음."
        case attempt:
            return f"아직 {name}, {counted(attempt, '번')} 물음."


def _closing(prompt: prompts.Closing) -> str:
    title = spoken(prompt.title)
    open_items = [_name(challenge) for challenge in prompt.open_items]
    count = counted(len(open_items), "개")
    discrepancies = f"{_discrepancies(len(prompt.findings))}." if prompt.findings else ""
    match prompt.ending:
        case EndingKind.COMPLETE:
            head = f"{title} 완료."
        case EndingKind.COMPLETE_EXCEPT if open_items:
            head = f"{title} 완료, 단 {count} 제외: {listed(open_items, '')}."
        case EndingKind.COMPLETE_EXCEPT:
            head = f"{title} 완료, 단 {discrepancies}"
            discrepancies = ""
        case EndingKind.ABANDONED:
            at = f"{_name(prompt.at)}에서 " if prompt.at else ""
            head = f"{title}, {at}그만둠. 하지 않은 것 {count}."
        case _:
            assert_never(prompt.ending)
    return _join(
        head, discrepancies, *map(_finding, prompt.findings), *map(_not_called, prompt.waits)
    )


def _not_called(wait: RunningWaitSummary) -> str:
    """A wait that runs on after the end, when nobody will say that it is over."""
    if wait.remaining_s <= 0:
        return _wait(wait)
    return f"직접 시간을 보십시오: {_name(wait.challenge)}, {duration(wait.remaining_s)} 남음."


def _outlook(outlook: prompts.Outlook | None) -> str:
    if outlook is None:
        return ""
    ready = off_blocks = slot = ""
    if outlook.ready_at and outlook.late_at:
        ready = f"예상 {_clock(outlook.ready_at)}, 늦어도 {_clock(outlook.late_at)}."
    if outlook.off_blocks_at:
        off_blocks = f"출발 {_clock(outlook.off_blocks_at)}."
    if outlook.runway_at and outlook.slot_from and outlook.slot_to:
        slot = (
            f"활주로 늦어도 {_clock(outlook.runway_at)}, "
            f"슬롯 {_clock(outlook.slot_from)} 부터 {_clock(outlook.slot_to)} 까지."
        )
    to_go = f"약 {_rounded(outlook.to_go_s)} 남음, 늦어도 {_at_most(outlook.late_s)}."
    return _join(to_go, ready, off_blocks, slot)


def _rounded(seconds: int) -> str:
    return duration(max(1, round(seconds / 60)) * 60)


def _at_most(seconds: int) -> str:
    """The same, never told shorter than it is."""
    return duration(max(1, -(-seconds // 60)) * 60)


def _clock(time_of_day: str) -> str:
    return spoken(time_of_day.replace(":", ""))


def _time_short(prompt: prompts.TimeShort) -> str:
    late = _clock(prompt.late_at)
    limit = _clock(prompt.limit_at)
    match prompt.limit:
        case TimeLimit.OFF_BLOCKS:
            told = f"늦어도 {late} 준비, 출발 {limit}."
        case TimeLimit.SLOT:
            told = f"늦어도 {late} 활주로, 슬롯 {limit} 까지."
        case _:
            assert_never(prompt.limit)
    could = [_name(challenge) for challenge in prompt.may_wait]
    offer = f"나중에 할 수 있는 것: {listed(could, '')}." if could else ""
    return _join("시간 부족.", told, offer)


def _apart(apart: prompts.Apart) -> str:
    allowed = read_number(apart.allowed.value, apart.allowed.scale)
    names = [_name(name) for name in apart.names]
    match apart.kind:
        case ReferenceKind.READING:
            reference = names[0]
        case ReferenceKind.SUM:
            reference = listed(names, "")
        case ReferenceKind.ELEVATION:
            reference = names[0] if names else "비행장 고도"
        case ReferenceKind.TEMPERATURE:
            reference = names[0] if names else "현재 기온"
        case ReferenceKind.ALTIMETER:
            reference = names[0] if names else "설정 기준"
        case _:
            assert_never(apart.kind)
    way = "위" if apart.is_above else "아래"
    if apart.is_time:
        way = "빠름" if apart.is_above else "늦음"
    whose = "" if apart.taken is None else f"{_name(apart.challenge)}, {_value(apart.taken)}, "
    return f"{whose}{reference} 보다 {_value(apart.by)} {way}, 허용 {allowed}"


def _part_ended(prompt: prompts.PartEnded) -> str:
    title = spoken(prompt.title)
    rest = []
    if prompt.open_items:
        names = listed([_name(challenge) for challenge in prompt.open_items], "")
        rest.append(f"{counted(len(prompt.open_items), '개')} 제외: {names}")
    if prompt.findings:
        rest.append(_discrepancies(prompt.findings))
    return f"{title} 완료, 단 {', '.join(rest)}." if rest else f"{title} 완료."


def _next_check(prompt: prompts.NextCheck) -> str:
    go_on = f"시작하려면 {COMMANDS[CommandName.CONTINUE][0]}, 하고 말씀하십시오."
    title = spoken(prompt.title)
    match prompt.attempt:
        case 0:
            return f"다음은 {title}, {_items(prompt.count)}. {go_on}"
        case 1:
            return go_on
        case attempt:
            return f"{counted(attempt, '번')} 알아듣지 못함. 다음은 {title}. {go_on}"


def _carried(carried: prompts.CarriedSummary) -> str:
    if carried.deferred_by is None:
        return f"{_found(carried.finding)}, 아직 열려 있음."
    under = f", 근거 {spoken(carried.reference)}" if carried.reference else ""
    return f"{_found(carried.finding)}, {spoken(carried.deferred_by)} 보류{under}."


def _finding(finding: FindingSummary) -> str:
    return _join(sentence(_found(finding)), sentence(_remedy(finding)))


def _found(finding: FindingSummary) -> str:
    parts = [spoken(finding.challenge)]
    if finding.value is not None:
        parts.append(_value(finding.value))
    elif finding.said:
        parts.append(spoken(finding.said))
    match finding.reason:
        case FindingReason.NOT_AS_EXPECTED:
            pass
        case FindingReason.OUTSIDE_LIMITS:
            parts.append("범위 밖")
        case FindingReason.CAUTION:
            parts.append("주의")
        case FindingReason.UNABLE:
            parts[1:] = ["못 함"]
        case FindingReason.LATE:
            parts.append("늦음")
        case FindingReason.DISAGREES:
            parts.append("서로 다름" if finding.apart is None else _apart(finding.apart))
        case _:
            assert_never(finding.reason)
    return ", ".join(parts)


def _wait(wait: RunningWaitSummary) -> str:
    remaining = f"{duration(wait.remaining_s)} 남음" if wait.remaining_s > 0 else "시간 됨"
    return f"{_name(wait.challenge)}, {remaining}."


def _why(taken: SpokenValue, verdict: Verdict, limit: Limit) -> str:
    """Say which bound a reading has crossed; nothing if it is within limits."""
    value, scale = taken.value, taken.scale
    match verdict:
        case Verdict.WITHIN:
            return ""
        case Verdict.OUTSIDE:
            if limit.minimum is not None and value < limit.minimum:
                return f"최소 {read_number(limit.minimum, scale)} 아래"
            if limit.maximum is not None and value > limit.maximum:
                return f"최대 {read_number(limit.maximum, scale)} 위"
            return "범위 밖"
        case Verdict.CAUTION:
            if limit.caution_below is not None and value < limit.caution_below:
                return f"주의, {read_number(limit.caution_below, scale)} 아래"
            if limit.caution_above is not None and value > limit.caution_above:
                return f"주의, {read_number(limit.caution_above, scale)} 위"
            return "주의"
        case _:
            assert_never(verdict)


def _value(taken: SpokenValue) -> str:
    return f"{read_number(taken.value, taken.scale)} {read_unit(taken.unit)}".strip()


def _name(challenge: str) -> str:
    """A challenge inside a sentence."""
    return spoken(challenge).rstrip(".?!")


def _last_done(challenge: str | None) -> str:
    return f"마지막으로 한 것: {_name(challenge)}." if challenge else ""


def _items(count: int) -> str:
    return f"항목 {counted(count, '개')}"


def _discrepancies(count: int) -> str:
    return f"이상 {counted(count, '건')}" if count else "이상 기록 없음"


def _join(*sentences: str) -> str:
    return " ".join(part for part in sentences if part)
