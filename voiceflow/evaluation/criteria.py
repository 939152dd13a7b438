"""What the program promises of itself, and whether the figures keep it.

The promises are about synthetic speech in a quiet room: they show that the parts
fit, not how well a pilot in a cockpit is heard.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from voiceflow.evaluation.manifest import CLEAN, MAIN
from voiceflow.evaluation.metrics import Interval, Result, Tally
from voiceflow.evaluation.noise import Noise
from voiceflow.evaluation.run import Outcome
from voiceflow.evaluation.speed import Speed

READINGS_RIGHT = 0.97
ANSWERS_RIGHT = 0.96
#: Both front ends together, with all that the confidence weighs; one alone takes less
#: than half of it.
DECODE_OF_REAL_TIME = 0.25
PEAK_MB = 300.0
FIRST_WORD_S = 1.5
#: Of right answers, by voices that score, that stay without any reply.
ANSWERS_IGNORED = 0.03
#: Steady noises, which count together.
STEADY = frozenset({Noise.PINK, Noise.BROWN, Noise.FANS})


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """What is promised at one ratio of speech over steady noise, as shares of 1.

    Attributes:
        right: Readings right, and responses and commands right; at least.
        wrong_value: Wrong values accepted without a question; at most.
        wrong_response: Wrong responses and commands accepted without one; at most.
        other_talk: What answers nothing, accepted; at most. None: nothing promised.
    """

    right: float
    wrong_value: float
    wrong_response: float
    other_talk: float | None = None


#: By ratio in decibels; None: clean.
BOUNDS: dict[float | None, Bounds] = {
    None: Bounds(right=0.98, wrong_value=0.002, wrong_response=0.001, other_talk=0.01),
    20.0: Bounds(right=0.95, wrong_value=0.005, wrong_response=0.003),
    15.0: Bounds(right=0.92, wrong_value=0.01, wrong_response=0.005, other_talk=0.02),
    10.0: Bounds(right=0.85, wrong_value=0.015, wrong_response=0.01),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Criterion:
    """One promise and what was measured.

    Attributes:
        what: What is promised.
        wanted: The bound, in words.
        measured: The figure, in words.
        interval: 95 % interval, for shares.
        kept: Whether the figure keeps the bound.
    """

    what: str
    wanted: str
    measured: str
    interval: Interval | None
    kept: bool


def is_main(outcome: Outcome) -> bool:
    """Whether the criteria are about this recording: the main part of the set, clean."""
    return outcome.row.part == MAIN and outcome.row.condition == CLEAN


def judge_hearing(outcomes: Sequence[Outcome]) -> tuple[Criterion, ...]:
    """Hold what was heard against what is promised."""
    main = [outcome for outcome in outcomes if is_main(outcome)]
    unsaid = sum(outcome.said_aloud is False for outcome in outcomes)
    audio_s = sum(outcome.audio_s for outcome in outcomes)
    decode = sum(outcome.decode_s for outcome in outcomes) / audio_s if audio_s else 0.0
    return (
        _share("readings right", main, lambda kind: kind == "reading", READINGS_RIGHT),
        Criterion(
            what="readings recorded wrong without the readback saying the wrong value",
            wanted="none",
            measured=str(unsaid),
            interval=None,
            kept=unsaid == 0,
        ),
        _share(
            "responses and commands right",
            main,
            lambda kind: kind in {"response", "command"},
            ANSWERS_RIGHT,
        ),
        Criterion(
            what="decoding with both front ends, part of real time on one core",
            wanted=f"at most {DECODE_OF_REAL_TIME:g}",
            measured=f"{decode:.3f}",
            interval=None,
            kept=audio_s > 0 and decode <= DECODE_OF_REAL_TIME,
        ),
    )


def judge_noise(scored: Sequence[Outcome]) -> tuple[Criterion, ...]:
    """Hold what is heard clean and in steady noise against what is promised.

    Args:
        scored: Outcomes that may score; ratios without any are left out.
    """
    made: list[Criterion] = []
    for ratio_db, bounds in BOUNDS.items():
        heard = [
            one
            for one in scored
            if (one.row.condition == CLEAN if ratio_db is None else one.row.snr_db == ratio_db)
            and (ratio_db is None or one.row.noise in STEADY)
        ]
        where = "clean" if ratio_db is None else f"steady noise, {ratio_db:g} dB"
        readings = [one for one in heard if one.row.kind == "reading"]
        words = [one for one in heard if one.row.kind in {"response", "command"}]
        other = [one for one in heard if one.row.kind == "none"]
        for name, group, wrong in (
            ("readings", readings, bounds.wrong_value),
            ("responses and commands", words, bounds.wrong_response),
        ):
            if group:
                made.append(_at_least(f"{where}: {name} right", group, bounds.right))
                made.append(_at_most(f"{where}: {name} wrong without a question", group, wrong))
        if readings or words:
            what = f"{where}: answers ignored"
            made.append(_at_most(what, [*readings, *words], ANSWERS_IGNORED, Result.IGNORED))
        if other and bounds.other_talk is not None:
            made.append(_at_most(f"{where}: other talk accepted", other, bounds.other_talk))
    return tuple(made)


def _at_least(what: str, outcomes: Sequence[Outcome], bound: float) -> Criterion:
    return _share(what, outcomes, lambda _: True, bound)


def _at_most(
    what: str, outcomes: Sequence[Outcome], bound: float, result: Result = Result.WRONG_ACCEPTED
) -> Criterion:
    tally = Tally.of(outcome.result for outcome in outcomes)
    share = tally.share(result)
    return Criterion(
        what=what,
        wanted=f"at most {100 * bound:g}%",
        measured=f"{share:.1%} ({tally.count(result)} of {tally.total})",
        interval=tally.interval(result),
        kept=tally.total > 0 and share <= bound,
    )


def judge_speed(speed: Speed) -> tuple[Criterion, ...]:
    """Hold a run's speed and size against what is promised."""
    return (
        Criterion(
            what="start to first spoken word",
            wanted=f"under {FIRST_WORD_S:g} s",
            measured=f"{speed.first_word_s:.2f} s",
            interval=None,
            kept=speed.first_word_s < FIRST_WORD_S,
        ),
        Criterion(
            what="peak memory of a whole run",
            wanted=f"under {PEAK_MB:g} MB",
            measured=f"{speed.peak_mb:.0f} MB",
            interval=None,
            kept=speed.peak_mb < PEAK_MB,
        ),
    )


def _share(
    what: str, outcomes: Sequence[Outcome], wants: Callable[[str], bool], bound: float
) -> Criterion:
    tally = Tally.of(outcome.result for outcome in outcomes if wants(outcome.row.kind))
    share = tally.share(Result.RIGHT)
    return Criterion(
        what=what,
        wanted=f"at least {bound:.0%}",
        measured=f"{share:.1%} ({tally.count(Result.RIGHT)} of {tally.total})",
        interval=tally.interval(Result.RIGHT),
        kept=tally.total > 0 and share >= bound,
    )
