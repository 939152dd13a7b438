"""One prompt of every kind and branch: what both packs must have words for."""

from dataclasses import replace
from decimal import Decimal

from tests.builders import make_scale
from voiceflow.checks.model import Limit, RemedyAction
from voiceflow.limits.judge import Verdict
from voiceflow.phraseology import prompts
from voiceflow.phraseology.prompts import (
    CarriedSummary,
    EndingKind,
    FindingReason,
    FindingSummary,
    NoteEnd,
    Prompt,
    Rung,
    RunningWaitSummary,
    SpokenValue,
    WhyNot,
)

SCALE = make_scale()
VOLTS = make_scale("0", "30", "0.5")
FEET = make_scale("0", "2000", "1")
FEET_200 = SpokenValue(value=Decimal(200), unit="ft", scale=FEET)
AT_LEAST = Limit(minimum=Decimal(1200))
AT_MOST = Limit(maximum=Decimal(1800))
CAUTION = Limit(minimum=Decimal(1000), caution_below=Decimal(1400), caution_above=Decimal(1700))

OXYGEN = "Crew oxygen"
COVERS = "Pitot covers"
TITLE = "Cockpit preparation"


def psi(value: int) -> SpokenValue:
    """Make a value of the oxygen gauge."""
    return SpokenValue(value=Decimal(value), unit="psi", scale=SCALE)


def finding(
    challenge: str = OXYGEN,
    reason: FindingReason = FindingReason.OUTSIDE_LIMITS,
    *,
    said: str | None = None,
    value: SpokenValue | None = None,
    action: RemedyAction = RemedyAction.MAINTENANCE,
    say: str | None = None,
) -> FindingSummary:
    """Make a discrepancy as it is said in a list."""
    return FindingSummary(
        challenge=challenge, reason=reason, said=said, value=value, action=action, say=say
    )


LOW_OXYGEN = finding(value=psi(900))
COVER_FITTED = finding(
    COVERS,
    FindingReason.NOT_AS_EXPECTED,
    said="one fitted",
    action=RemedyAction.CAPTAIN,
    say="Take the cover off",
)
GYRO = RunningWaitSummary(challenge="Gyro", remaining_s=40)


def closing(
    ending: EndingKind,
    *,
    at: str | None = None,
    open_items: tuple[str, ...] = (),
    findings: tuple[FindingSummary, ...] = (),
    waits: tuple[RunningWaitSummary, ...] = (),
) -> prompts.Closing:
    """Make closing words."""
    return prompts.Closing(
        title=TITLE, ending=ending, at=at, open_items=open_items, findings=findings, waits=waits
    )


#: Every prompt, with the English words for it: the table to read when judging how the
#: tool speaks.
ENGLISH: tuple[tuple[Prompt, str], ...] = (
    (
        prompts.Opening(
            title="Northmark 214", aircraft="Skerry 42", tail="X-SKR7", count=40, checks=3
        ),
        "Northmark two one four. Skerry forty two, X-ray Sierra Kilo Romeo seven. Three checks.",
    ),
    (
        prompts.HowLong(elapsed_s=600, waits=(), outlook=prompts.Outlook(to_go_s=500, late_s=700)),
        "Ten minutes since the start. About eight minutes to go, at the latest twelve minutes.",
    ),
    (
        # never told shorter than it is
        prompts.HowLong(elapsed_s=600, waits=(), outlook=prompts.Outlook(to_go_s=80, late_s=125)),
        "Ten minutes since the start. About one minute to go, at the latest three minutes.",
    ),
    (
        prompts.HowLong(
            elapsed_s=600,
            waits=(),
            outlook=prompts.Outlook(
                to_go_s=20,
                late_s=50,
                ready_at="05:35",
                late_at="05:36",
                off_blocks_at="05:40",
                runway_at="05:44",
                slot_from="05:50",
                slot_to="06:05",
            ),
        ),
        (
            "Ten minutes since the start. About half a minute to go, at the latest one minute. "
            "Ready at zero five three five, at the latest zero five three six. Off blocks zero "
            "five four zero. At the runway at the latest zero five four four, slot zero five five "
            "zero to zero six zero five."
        ),
    ),
    (
        prompts.TimeShort(
            limit=prompts.TimeLimit.OFF_BLOCKS,
            late_at="05:44",
            limit_at="05:40",
            may_wait=("Cabin heater", "Documents"),
        ),
        (
            "Time is short. Ready at the latest zero five four four, off blocks zero five four "
            "zero. Could be left for the end: cabin heater and documents."
        ),
    ),
    (
        prompts.TimeShort(
            limit=prompts.TimeLimit.SLOT, late_at="06:09", limit_at="06:05", may_wait=()
        ),
        (
            "Time is short. At the runway at the latest zero six zero nine, the slot closes zero "
            "six zero five."
        ),
    ),
    *(
        (
            prompts.ConfirmReading(
                challenge="Right altimeter",
                taken=FEET_200,
                verdict=Verdict.WITHIN,
                limit=Limit(),
                apart=(
                    prompts.Apart(
                        kind=kind,
                        names=names,
                        by=SpokenValue(value=Decimal(82), unit="ft", scale=FEET),
                        allowed=SpokenValue(value=Decimal(75), unit="ft", scale=FEET),
                        is_above=above,
                    ),
                ),
            ),
            (
                f"Right altimeter, two hundred feet. Eight two feet {words}, seven five allowed. "
                "Confirm?"
            ),
        )
        for kind, names, above, words in (
            (prompts.ReferenceKind.ELEVATION, (), True, "above the field elevation"),
            (prompts.ReferenceKind.TEMPERATURE, (), False, "below the temperature of the day"),
            (prompts.ReferenceKind.ALTIMETER, (), True, "above what its setting gives here"),
            (prompts.ReferenceKind.READING, ("Left altimeter",), True, "above left altimeter"),
            (prompts.ReferenceKind.SUM, ("A", "B"), False, "below A and B together"),
        )
    ),
    (
        prompts.FindingRecorded(
            finding=replace(
                finding("Right clock", FindingReason.DISAGREES, action=RemedyAction.CAPTAIN),
                apart=prompts.Apart(
                    kind=prompts.ReferenceKind.READING,
                    names=("Left clock",),
                    by=SpokenValue(value=Decimal(3), unit="min", scale=FEET),
                    allowed=SpokenValue(value=Decimal(1), unit="min", scale=FEET),
                    is_above=False,
                    is_time=True,
                ),
            )
        ),
        "Discrepancy recorded. Tell the captain.",
    ),
    (
        # one that is compared with what was read just now
        prompts.ConfirmReading(
            challenge="Left altimeter",
            taken=FEET_200,
            verdict=Verdict.WITHIN,
            limit=Limit(),
            apart=(
                prompts.Apart(
                    kind=prompts.ReferenceKind.READING,
                    names=("Left altimeter",),
                    by=SpokenValue(value=Decimal(80), unit="ft", scale=FEET),
                    allowed=SpokenValue(value=Decimal(60), unit="ft", scale=FEET),
                    is_above=False,
                    challenge="Right altimeter",
                    taken=SpokenValue(value=Decimal(120), unit="ft", scale=FEET),
                ),
            ),
        ),
        (
            "Left altimeter, two hundred feet. Right altimeter, one two zero feet, eight zero feet "
            "below left altimeter, six zero allowed. Confirm?"
        ),
    ),
    (
        prompts.FindingRecorded(
            finding=finding(
                "Right altimeter", FindingReason.DISAGREES, action=RemedyAction.CAPTAIN
            ),
            of_other=True,
        ),
        "Discrepancy recorded: right altimeter. Tell the captain.",
    ),
    (
        prompts.FindingRecorded(finding=LOW_OXYGEN, count=2),
        "Two discrepancies recorded. Call maintenance.",
    ),
    (
        prompts.FindingWithdrawn(challenge="Right altimeter"),
        "No longer recorded: right altimeter.",
    ),
    (
        prompts.LastRecorded(
            challenge="Right altimeter",
            value=FEET_200,
            phrase=None,
            verdict=Verdict.WITHIN,
            apart=(
                prompts.Apart(
                    kind=prompts.ReferenceKind.ELEVATION,
                    names=(),
                    by=SpokenValue(value=Decimal(82), unit="ft", scale=FEET),
                    allowed=SpokenValue(value=Decimal(75), unit="ft", scale=FEET),
                    is_above=True,
                ),
            ),
        ),
        (
            "Right altimeter: two hundred feet. Eight two feet above the field elevation, seven "
            "five allowed."
        ),
    ),
    (
        prompts.PartEnded(title="Walk-round", open_items=(), findings=0),
        "Walk-round complete.",
    ),
    (
        prompts.PartEnded(title="Walk-round", open_items=(COVERS,), findings=2),
        "Walk-round complete except one item: pitot covers, and two discrepancies.",
    ),
    (
        prompts.NextCheck(title="Before start", count=12),
        "Next, before start, twelve items. Say continue to begin.",
    ),
    (prompts.NextCheck(title="Before start", count=12, attempt=1), "Say continue to begin."),
    (
        prompts.NextCheck(title="Before start", count=12, attempt=2),
        "Not understood twice. Next is before start. Say continue to begin.",
    ),
    (prompts.PartOpening(title="Before start", count=12), "Before start, twelve items."),
    (
        prompts.CarriedOver(
            carried=(
                CarriedSummary(finding=LOW_OXYGEN, deferred_by=None),
                CarriedSummary(finding=COVER_FITTED, deferred_by="M Sund", reference="defect 42"),
            )
        ),
        (
            "Two discrepancies carried over. Crew oxygen, niner hundred p s i, outside limits, still "
            "open. Pitot covers, one fitted, deferred by M Sund, reference defect forty two."
        ),
    ),
    (
        prompts.CarriedOver(carried=(CarriedSummary(finding=COVER_FITTED, deferred_by=None),) * 6),
        (
            "Six discrepancies carried over."
            + " Pitot covers, one fitted, still open." * 4
            + " And two more."
        ),
    ),
    (
        prompts.CarriedHere(carried=CarriedSummary(finding=LOW_OXYGEN, deferred_by=None)),
        "Carried over: crew oxygen, niner hundred p s i, outside limits, still open.",
    ),
    (
        prompts.FindingsSoFar(
            findings=(COVER_FITTED,),
            carried=(CarriedSummary(finding=LOW_OXYGEN, deferred_by="M Sund"),),
        ),
        (
            "One discrepancy. Pitot covers, one fitted. Take the cover off. Carried over: crew "
            "oxygen, niner hundred p s i, outside limits, deferred by M Sund."
        ),
    ),
    (prompts.FindingsSoFar(findings=(), carried=()), "No discrepancies."),
    (
        prompts.ConfirmSignOff(title=TITLE, signer="Ada North", open_count=0, findings=1),
        "Confirm: sign as Ada North?",
    ),
    (
        prompts.ConfirmSignOff(
            title=TITLE, signer="Ada North", open_count=0, findings=1, attempt=1
        ),
        "Affirm or negative: sign as Ada North?",
    ),
    (
        prompts.ConfirmSignOff(
            title=TITLE, signer="Ada North", open_count=0, findings=1, attempt=2
        ),
        "Asked three times: sign as Ada North? Say affirm, or negative.",
    ),
    (prompts.Signed(by="Ada North"), "Signed, Ada North."),
    (prompts.Signed(by=None), "Not signed."),
    (
        prompts.WhatIsLeft(to_come=2, left=(), findings=0, then=("Before start", "Taxi")),
        "Two items to go, with this one. No discrepancies. Then before start and taxi.",
    ),
    (
        prompts.Opening(title=TITLE, aircraft="Skerry 42", tail="X-SKR7", count=32),
        "Cockpit preparation. Skerry forty two, X-ray Sierra Kilo Romeo seven. Thirty two items.",
    ),
    (
        prompts.Opening(title=TITLE, aircraft="", tail="", count=1),
        "Cockpit preparation. One item.",
    ),
    (
        prompts.Challenge(challenge=COVERS, area="walk-round, nose"),
        "Walk-round, nose. Pitot covers.",
    ),
    (prompts.Challenge(challenge="Generator 1"), "Generator one."),
    (prompts.Challenge(challenge=OXYGEN, digit_by_digit=True), "Crew oxygen, digit by digit."),
    (prompts.Challenge(challenge="Doors closed?"), "Doors closed?"),
    # readings
    (
        prompts.ReadBack(taken=psi(1650), verdict=Verdict.WITHIN, limit=AT_LEAST),
        "One six five zero p s i, within limits.",
    ),
    (
        prompts.ReadBack(taken=psi(1600), verdict=Verdict.WITHIN, limit=Limit()),
        "One thousand six hundred p s i.",
    ),
    (
        prompts.ReadBack(taken=psi(900), verdict=Verdict.OUTSIDE, limit=AT_LEAST),
        "Niner hundred p s i. Below minimum one thousand two hundred.",
    ),
    (
        prompts.ReadBack(taken=psi(1950), verdict=Verdict.OUTSIDE, limit=AT_MOST),
        "One niner five zero p s i. Above maximum one thousand eight hundred.",
    ),
    (
        prompts.ReadBack(
            taken=psi(1230), verdict=Verdict.OUTSIDE, limit=Limit(minimum=Decimal("1237.5"))
        ),
        "One two three zero p s i. Below minimum one two three seven decimal five.",
    ),
    (
        prompts.ReadBack(taken=psi(1250), verdict=Verdict.CAUTION, limit=CAUTION),
        "One two five zero p s i. Caution, below one thousand four hundred.",
    ),
    (
        prompts.ReadBack(taken=psi(1750), verdict=Verdict.CAUTION, limit=CAUTION),
        "One seven five zero p s i. Caution, above one thousand seven hundred.",
    ),
    (
        prompts.ReadBack(
            taken=SpokenValue(value=Decimal("24.5"), unit="V", scale=VOLTS),
            verdict=Verdict.WITHIN,
            limit=Limit(minimum=Decimal(23)),
        ),
        "Two four decimal five volts, within limits.",
    ),
    (
        prompts.ReadBack(
            taken=SpokenValue(value=Decimal(1), unit="qt", scale=make_scale("0", "20", "1")),
            verdict=Verdict.WITHIN,
            limit=Limit(),
        ),
        "One quart.",
    ),
    (
        prompts.ReadBack(
            taken=SpokenValue(value=Decimal(-5), unit="C", scale=make_scale("-40", "50", "1")),
            verdict=Verdict.WITHIN,
            limit=Limit(),
        ),
        "Minus five degrees.",
    ),
    (
        prompts.ReadBack(
            taken=SpokenValue(value=Decimal(2), unit="", scale=make_scale("-2", "6", "1")),
            verdict=Verdict.WITHIN,
            limit=Limit(),
        ),
        "Two.",
    ),
    # the verdict stands even where no bound explains it
    (
        prompts.ReadBack(taken=psi(900), verdict=Verdict.OUTSIDE, limit=Limit()),
        "Niner hundred p s i. Outside limits.",
    ),
    (
        prompts.ReadBack(taken=psi(900), verdict=Verdict.CAUTION, limit=Limit()),
        "Niner hundred p s i. Caution.",
    ),
    # how a gauge goes
    (
        prompts.TrendRemark(falls=True, change=Decimal(12), unit="psi", ahead=9),
        "Down twelve p s i a day, minimum in nine days.",
    ),
    (
        prompts.TrendRemark(falls=True, change=Decimal(120), unit="psi", ahead=1),
        "Down one hundred and twenty p s i a day, minimum in one day.",
    ),
    (
        prompts.TrendRemark(falls=False, change=Decimal("0.31"), unit="C", ahead=0),
        "Up zero decimal three one degrees a day, maximum within a day.",
    ),
    (
        prompts.TrendRemark(falls=True, change=Decimal(1), unit="qt", ahead=4, flown=True),
        "Down one quart an hour, minimum in four hours.",
    ),
    (
        prompts.TrendRemark(falls=True, change=Decimal(2), unit="", ahead=0, flown=True),
        "Down two an hour, minimum within an hour.",
    ),
    (prompts.AcknowledgeResponse(phrase="both removed"), "Both removed."),
    # confirmations
    (
        prompts.ConfirmReading(
            challenge=OXYGEN, taken=psi(1500), verdict=Verdict.WITHIN, limit=AT_LEAST
        ),
        "Crew oxygen, one thousand five hundred p s i. Confirm?",
    ),
    (
        prompts.ConfirmReading(
            challenge=OXYGEN, taken=psi(900), verdict=Verdict.OUTSIDE, limit=AT_LEAST
        ),
        "Crew oxygen, niner hundred p s i. Below minimum one thousand two hundred. Confirm?",
    ),
    (
        prompts.ConfirmReading(
            challenge=OXYGEN, taken=psi(900), verdict=Verdict.OUTSIDE, limit=AT_LEAST, attempt=1
        ),
        "Affirm or negative: crew oxygen, niner hundred p s i?",
    ),
    (
        prompts.ConfirmReading(
            challenge=OXYGEN, taken=psi(900), verdict=Verdict.OUTSIDE, limit=AT_LEAST, attempt=2
        ),
        (
            "I have crew oxygen, niner hundred p s i. Below minimum one thousand two hundred. "
            "Say affirm, or say the right value."
        ),
    ),
    (
        prompts.ConfirmReading(
            challenge=OXYGEN, taken=psi(900), verdict=Verdict.OUTSIDE, limit=AT_LEAST, attempt=3
        ),
        (
            "Asked four times: crew oxygen, niner hundred p s i. "
            "Say affirm to keep it, negative to drop it."
        ),
    ),
    (
        prompts.ConfirmResponse(challenge="Flight recorder", phrase="on"),
        "Flight recorder, on. Confirm?",
    ),
    (
        prompts.ConfirmResponse(challenge="Flight recorder", phrase="on", attempt=1),
        "Affirm or negative: flight recorder, on?",
    ),
    (
        prompts.ConfirmResponse(challenge="Flight recorder", phrase="on", attempt=2),
        "I have flight recorder, on. Say affirm, or say the right answer.",
    ),
    (
        prompts.ConfirmResponse(challenge="Flight recorder", phrase="on", attempt=4),
        "Asked five times: flight recorder, on. Say affirm to keep it, negative to drop it.",
    ),
    (prompts.ConfirmUnable(challenge=OXYGEN), "Confirm: crew oxygen cannot be done?"),
    (prompts.ConfirmAbandon(open_count=12), "Confirm: stop here, with twelve items open?"),
    (prompts.ConfirmAbandon(open_count=1), "Confirm: stop here, with one item open?"),
    (
        prompts.WhichOne(values=(psi(1500), psi(150))),
        "Which: one thousand five hundred p s i, or one five zero p s i?",
    ),
    (prompts.WhichOne(phrases=("both on", "left on", "off")), "Which: both on, left on, or off?"),
    (prompts.WhichOne(phrases=("on", "off"), attempt=1), "Still unclear: on, or off?"),
    (prompts.WhichOne(phrases=("on", "off"), attempt=2), "Asked three times: on, or off?"),
    # not understood
    (
        prompts.AskAgain(attempt=1, challenge=OXYGEN, wants_number=True),
        "Not understood. Crew oxygen?",
    ),
    (
        prompts.AskAgain(attempt=2, challenge=OXYGEN, rung=Rung.EXPECTED, wants_number=True),
        "Crew oxygen: say the number on the gauge.",
    ),
    (
        prompts.AskAgain(
            attempt=2,
            challenge=OXYGEN,
            rung=Rung.EXPECTED,
            wants_number=True,
            choices=("gauge unreadable",),
        ),
        "Crew oxygen: say the number on the gauge, or gauge unreadable.",
    ),
    (
        prompts.AskAgain(
            attempt=3,
            challenge=OXYGEN,
            rung=Rung.ALTERNATIVES,
            wants_number=True,
            values=(psi(1500), psi(500)),
        ),
        "I heard one thousand five hundred, or five hundred. Which one?",
    ),
    (
        prompts.AskAgain(
            attempt=3,
            challenge=OXYGEN,
            rung=Rung.ALTERNATIVES,
            wants_number=True,
            values=(psi(1650),),
            phrases=("Gauge unreadable",),
        ),
        "I heard one six five zero, or gauge unreadable. Which one?",
    ),
    (
        prompts.AskAgain(
            attempt=3, challenge=COVERS, rung=Rung.ALTERNATIVES, phrases=("Both removed",)
        ),
        "I heard both removed. If that is right, say it once more.",
    ),
    (
        prompts.AskAgain(attempt=3, challenge=OXYGEN, rung=Rung.IN_FULL, wants_number=True),
        "Crew oxygen: say it digit by digit.",
    ),
    (
        prompts.AskAgain(attempt=4, challenge=OXYGEN, rung=Rung.WAY_OUT, keyboard=True),
        "Crew oxygen is still open. Type it, or say: leave it for later.",
    ),
    (
        prompts.AskAgain(attempt=4, challenge=OXYGEN, rung=Rung.WAY_OUT, wants_number=True),
        "Crew oxygen is still open. Answer it, or say: leave it for later.",
    ),
    (
        prompts.AskAgain(attempt=5, challenge=OXYGEN, rung=Rung.AGAIN, wants_number=True),
        "Crew oxygen: not understood five times. Once more, say the number on the gauge.",
    ),
    (
        prompts.AskAgain(
            attempt=6,
            challenge=OXYGEN,
            rung=Rung.AGAIN,
            wants_number=True,
            values=(psi(1650), psi(1690)),
        ),
        (
            "Crew oxygen: not understood six times. "
            "I heard one six five zero, or one six niner zero. Which one?"
        ),
    ),
    (
        prompts.AskAgain(attempt=1, challenge=COVERS, choices=("removed",), suggestion="removed"),
        "Not understood. If you mean removed, say that.",
    ),
    (
        prompts.AskAgain(
            attempt=2, challenge=COVERS, rung=Rung.EXPECTED, choices=("removed", "fitted")
        ),
        "Pitot covers: say removed, or fitted.",
    ),
    (
        prompts.AskAgain(
            attempt=2,
            challenge=COVERS,
            rung=Rung.EXPECTED,
            choices=("a", "b", "c", "d", "e", "f"),
        ),
        "Pitot covers: say, for example, a, b, c, d, or e.",
    ),
    (
        prompts.AskAgain(attempt=2, challenge=COVERS, rung=Rung.EXPECTED),
        "Pitot covers: say what you see.",
    ),
    (
        prompts.AskAgain(
            attempt=3, challenge=COVERS, rung=Rung.IN_FULL, choices=("removed", "fitted")
        ),
        "Pitot covers: straight into the microphone, and nothing but removed, or fitted.",
    ),
    (
        prompts.AskAgain(attempt=3, challenge=COVERS, rung=Rung.IN_FULL),
        "Pitot covers: speak straight into the microphone, one answer only.",
    ),
    (
        prompts.OffScale(challenge=OXYGEN, lowest=psi(0), highest=psi(2000)),
        "Not on the gauge: crew oxygen goes from zero to two thousand p s i.",
    ),
    (
        prompts.OffScale(challenge=OXYGEN, lowest=psi(0), highest=psi(2000), step=psi(10)),
        "Not on the gauge: crew oxygen goes from zero to two thousand p s i, in steps of one zero.",
    ),
    (
        prompts.SayTheSetting(challenge="Flap lever", said="set", choices=("up", "ten")),
        "Set is not a setting. Flap lever: say up, or ten.",
    ),
    (
        prompts.SayTheSetting(challenge=OXYGEN, said="checked", wants_number=True),
        "Checked is not a setting. Crew oxygen: say the number.",
    ),
    (
        prompts.SayTheSetting(challenge=COVERS, said="as required"),
        "As required is not a setting. Pitot covers: say what you see.",
    ),
    # commands that change nothing
    (prompts.NotHere(why=WhyNot.COMPLETES_NOTHING, said="roger"), "Roger does not answer it."),
    (prompts.NotHere(why=WhyNot.NOTHING_TO_CONFIRM, said="affirm"), "Nothing to confirm."),
    (prompts.NotHere(why=WhyNot.NOTHING_TO_CORRECT, said="correction"), "Nothing to correct."),
    (prompts.NotHere(why=WhyNot.NOTHING_RECORDED, said="read back"), "Nothing recorded yet."),
    (prompts.NotHere(why=WhyNot.NOT_HOLDING, said="continue"), "Not holding."),
    (prompts.NotHere(why=WhyNot.NO_ITEM_BEFORE, said="go back one"), "No item before this one."),
    (
        prompts.NotHere(why=WhyNot.AFFIRM_OR_NEGATIVE, said="stand by"),
        "First, affirm or negative?",
    ),
    # discrepancies
    (
        prompts.FindingRecorded(finding=LOW_OXYGEN),
        "Discrepancy recorded. Call maintenance.",
    ),
    (
        prompts.FindingRecorded(finding=COVER_FITTED),
        "Discrepancy recorded. Take the cover off.",
    ),
    (
        prompts.FindingRecorded(
            finding=finding(reason=FindingReason.CAUTION, action=RemedyAction.INFORMATION)
        ),
        "Caution recorded.",
    ),
    (
        prompts.FindingRecorded(
            finding=finding(reason=FindingReason.UNABLE, action=RemedyAction.CAPTAIN)
        ),
        "Recorded as not done. Tell the captain.",
    ),
    (
        prompts.FindingRecorded(finding=finding(reason=FindingReason.LATE)),
        "Recorded as late. Call maintenance.",
    ),
    # the course of the check
    (prompts.Corrected(challenge=OXYGEN), "Changed: crew oxygen."),
    (prompts.Corrected(challenge=OXYGEN, asks=True), "Withdrawn. Crew oxygen?"),
    (prompts.Disregarded(), "Dropped."),
    (prompts.HoldingAt(challenge=OXYGEN), "Holding at crew oxygen. Say continue to go on."),
    (prompts.HoldingAt(challenge="GPS 2"), "Holding at GPS two. Say continue to go on."),
    (prompts.HoldingAt(challenge=OXYGEN, attempt=1), "Say continue to go on."),
    (
        prompts.HoldingAt(challenge=OXYGEN, attempt=2),
        "Not understood twice, still holding at crew oxygen. Say continue to go on.",
    ),
    (prompts.Continuing(last_done=COVERS), "Continuing. Last done: pitot covers."),
    (prompts.Continuing(last_done=None), "Continuing."),
    (
        prompts.Continuing(last_done=COVERS, restarting=True),
        "Starting over, from the first item.",
    ),
    (
        prompts.OfferToGoBack(away_s=120),
        "Two minutes gone. Say go back two to hear the last two items again, or go on.",
    ),
    (
        prompts.Resuming(title=TITLE, last_done=COVERS),
        "Cockpit preparation, resumed. Last done: pitot covers.",
    ),
    (
        prompts.Resuming(title=TITLE, last_done=None, restarting=True),
        "Cockpit preparation, starting over from the first item.",
    ),
    (prompts.LeftForLater(challenge=OXYGEN), "Crew oxygen, left for the end."),
    (prompts.LeftForLater(challenge=OXYGEN, comes_back=False), "Crew oxygen, left open."),
    (prompts.ItemsLeft(count=2), "Two items left open, now."),
    (
        prompts.WhereWeAre(
            title=TITLE,
            challenge=OXYGEN,
            area="right side wall",
            number=7,
            count=32,
            last_done=COVERS,
        ),
        (
            "Cockpit preparation, item seven of thirty two. Right side wall: crew oxygen. "
            "Last done: pitot covers."
        ),
    ),
    (
        prompts.WhereWeAre(
            title=TITLE,
            challenge=OXYGEN,
            area=None,
            number=1,
            count=120,
            last_done=None,
        ),
        "Cockpit preparation, item one of one hundred and twenty. Crew oxygen.",
    ),
    (
        prompts.WhatIsLeft(to_come=12, left=(COVERS, OXYGEN), findings=1),
        (
            "Twelve items to go, with this one. "
            "Two items left for the end: pitot covers and crew oxygen. One discrepancy."
        ),
    ),
    (prompts.WhatIsLeft(to_come=0, left=(), findings=0), "None to go. No discrepancies."),
    (
        prompts.HowLong(elapsed_s=130, waits=(GYRO,)),
        "Two minutes ten since the start. Gyro, forty seconds to go.",
    ),
    (
        prompts.HowLong(
            elapsed_s=3900, waits=(RunningWaitSummary(challenge="Gyro", remaining_s=0),)
        ),
        "One hour five minutes since the start. Gyro, time is up.",
    ),
    (
        prompts.WhatCanBeSaid(responses=("removed", "both removed"), example=None),
        (
            "Say removed, or both removed. Or: say again, correction, disregard, stand by, unable, "
            "leave it for later, go back one, read back, speak slower, where are we, what is left, "
            "list the findings, how long, take a note, or abandon check."
        ),
    ),
    (
        prompts.WhatCanBeSaid(responses=(), example=psi(1600)),
        (
            "A number, such as one thousand six hundred p s i. Or: say again, correction, "
            "disregard, stand by, unable, leave it for later, go back one, read back, speak slower, "
            "where are we, what is left, list the findings, how long, take a note, or abandon check."
        ),
    ),
    (
        prompts.LastRecorded(
            challenge=OXYGEN, value=psi(1650), phrase=None, verdict=Verdict.WITHIN
        ),
        "Crew oxygen: one six five zero p s i, within limits.",
    ),
    (
        prompts.LastRecorded(
            challenge=OXYGEN, value=psi(900), phrase=None, verdict=Verdict.OUTSIDE
        ),
        "Crew oxygen: niner hundred p s i, outside limits.",
    ),
    (
        prompts.LastRecorded(
            challenge=OXYGEN, value=psi(1250), phrase=None, verdict=Verdict.CAUTION
        ),
        "Crew oxygen: one two five zero p s i, caution.",
    ),
    (
        prompts.LastRecorded(challenge=COVERS, value=None, phrase="Both removed", verdict=None),
        "Pitot covers: both removed.",
    ),
    (prompts.SpeakingSlower(), "Slower from now on."),
    (prompts.StillThere(challenge=OXYGEN, attempt=1), "Waiting at crew oxygen."),
    (
        prompts.StillThere(challenge=OXYGEN, attempt=2),
        "Still at crew oxygen. Silent until you speak.",
    ),
    (prompts.StillThere(challenge=OXYGEN, attempt=3), "Still at crew oxygen, asked three times."),
    # waits and devices
    (
        prompts.WaitOverdue(challenge="Gyro warning light", within_s=10),
        "Ten seconds gone. Gyro warning light?",
    ),
    (
        prompts.WaitStarted(challenge="Gyro", ready_in_s=420),
        "Gyro, ready in seven minutes.",
    ),
    (prompts.WaitDue(challenge="Gyro", say=None), "Gyro, time is up."),
    (prompts.WaitDue(challenge="Gyro", say="Gyros are ready"), "Gyros are ready."),
    (
        prompts.DeviceTrouble(device="microphone", challenge=OXYGEN),
        "Microphone lost. Holding at crew oxygen.",
    ),
    (prompts.DeviceBack(device="microphone"), "Microphone is back."),
    # endings
    (closing(EndingKind.COMPLETE), "Cockpit preparation complete."),
    (
        closing(EndingKind.COMPLETE, findings=(LOW_OXYGEN,), waits=(GYRO,)),
        (
            "Cockpit preparation complete. One discrepancy. "
            "Crew oxygen, niner hundred p s i, outside limits. Call maintenance. "
            "Time it yourself: gyro, forty seconds to go."
        ),
    ),
    (
        closing(
            EndingKind.ABANDONED,
            waits=(RunningWaitSummary(challenge="Gyro", remaining_s=0),),
        ),
        "Cockpit preparation abandoned. Zero items open. Gyro, time is up.",
    ),
    (
        closing(
            EndingKind.COMPLETE_EXCEPT,
            open_items=(OXYGEN, "Flight recorder"),
            findings=(COVER_FITTED,),
        ),
        (
            "Cockpit preparation complete except two items: crew oxygen and flight recorder. "
            "One discrepancy. Pitot covers, one fitted. Take the cover off."
        ),
    ),
    (
        closing(EndingKind.COMPLETE_EXCEPT, findings=(LOW_OXYGEN, COVER_FITTED)),
        (
            "Cockpit preparation complete except two discrepancies. "
            "Crew oxygen, niner hundred p s i, outside limits. Call maintenance. "
            "Pitot covers, one fitted. Take the cover off."
        ),
    ),
    (
        closing(
            EndingKind.COMPLETE_EXCEPT,
            findings=(
                finding(reason=FindingReason.UNABLE, said="unable", action=RemedyAction.CAPTAIN),
                finding(
                    "Gyro warning light",
                    FindingReason.LATE,
                    said="out",
                    action=RemedyAction.INFORMATION,
                ),
                finding(reason=FindingReason.CAUTION, value=psi(1250)),
            ),
        ),
        (
            "Cockpit preparation complete except three discrepancies. "
            "Crew oxygen, not done. Tell the captain. Gyro warning light, out, late. "
            "Crew oxygen, one two five zero p s i, caution. Call maintenance."
        ),
    ),
    (
        closing(EndingKind.ABANDONED, at=OXYGEN, open_items=("a", "b", "c")),
        "Cockpit preparation abandoned at crew oxygen. Three items open.",
    ),
    (
        closing(EndingKind.ABANDONED),
        "Cockpit preparation abandoned. Zero items open.",
    ),
    (
        prompts.TakingNote(challenge=OXYGEN, has_tone=True),
        "Note on crew oxygen. Speak after the tone.",
    ),
    (prompts.TakingNote(challenge=OXYGEN, has_tone=False), "Note on crew oxygen. Speak now."),
    (prompts.NoteKept(length_s=8, ended=NoteEnd.PAUSE), "Note kept, eight seconds."),
    (prompts.NoteKept(length_s=60, ended=NoteEnd.BOUND), "Note full, one minute kept."),
    (
        prompts.NoteKept(length_s=1, ended=NoteEnd.BROKEN_OFF),
        "Note kept as far as it was heard, one second.",
    ),
    (prompts.NoteKept(length_s=None, ended=NoteEnd.PAUSE), "Note kept."),
    (prompts.NoNote(), "No note."),
)

SAMPLES: tuple[Prompt, ...] = tuple(prompt for prompt, _ in ENGLISH)
