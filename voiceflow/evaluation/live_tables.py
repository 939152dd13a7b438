"""A live run in figures: tables, and what is promised of it."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import ceil
from statistics import NormalDist
from typing import Final

from voiceflow.dialogue.policy import Decision
from voiceflow.evaluation.criteria import Criterion
from voiceflow.evaluation.live import LiveRun, Said
from voiceflow.evaluation.live_lines import Manner
from voiceflow.evaluation.metrics import Interval, Result, Spread, Tally, wilson
from voiceflow.evaluation.tables import Lines

#: Promised of the gap: name of the group, median and 95 of 100, seconds.
GAPS: Final = (("responses and commands", 0.300, 0.550), ("readings", 0.550, 0.800))
#: So much more is allowed in noise.
GAP_IN_NOISE_S: Final = 0.080
WAITING_CPU: Final = 0.15
#: Growth of an hour that passes for flat, megabytes: a tenth of what the program holds.
GROWTH_MB_AN_HOUR: Final = 20.0
#: Before, what is kept of the last items, searches, grammars and speech, is still filling up.
_SETTLED_S: Final = 600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Gaps:
    """The response gaps of one kind of line.

    Attributes:
        of: How many were measured.
        spread: Median and 95th percentile, seconds.
        median_between: 95 % interval of the median, by order statistics; None if there
            are too few.
        within: Part of them within the bound, with its 95 % interval.
        within_between: That interval.
    """

    of: int
    spread: Spread
    median_between: tuple[float, float] | None
    within: float
    within_between: Interval


def gaps_of(values: Iterable[float], bound_s: float) -> Gaps:
    """Count gaps.

    Args:
        values: Seconds.
        bound_s: What 95 of 100 are to be within.
    """
    ordered = sorted(values)
    count = len(ordered)
    inside = sum(value <= bound_s for value in ordered)
    return Gaps(
        of=count,
        spread=Spread.of(ordered),
        median_between=_between(ordered),
        within=inside / count if count else 0.0,
        within_between=wilson(inside, count),
    )


def _between(ordered: Sequence[float]) -> tuple[float, float] | None:
    # ranks n/2 -+ z sqrt(n)/2: the normal approximation of the binomial distribution
    count = len(ordered)
    half = NormalDist().inv_cdf(0.975) * count**0.5 / 2
    low, high = int(count / 2 - half) - 1, ceil(count / 2 + half)
    return None if low < 0 or high >= count else (ordered[low], ordered[high])


def is_reading(said: Said) -> bool:
    """Whether a line was a reading."""
    return said.line.kind == "reading"


def counting(run: LiveRun) -> tuple[Said, ...]:
    """Give the lines that go into the figures: they mean something, and may score."""
    return tuple(one for one in run.said if one.line.counts and one.line.kind != "none")


def measured_gaps(said: Iterable[Said]) -> tuple[float, ...]:
    """Give the gaps of lines whose reply was heard, and which were found in the recording."""
    return tuple(
        one.exchange.gap_s
        for one in said
        if one.exchange is not None and one.exchange.gap_s is not None
    )


def gap_groups(run: LiveRun) -> tuple[Gaps, ...]:
    """Give the gaps, in the order of ``GAPS``."""
    lines = counting(run)
    of_kind: tuple[Callable[[Said], bool], ...] = (lambda one: not is_reading(one), is_reading)
    return tuple(
        gaps_of(measured_gaps(filter(wanted, lines)), bound_s)
        for wanted, (_, _, bound_s) in zip(of_kind, GAPS, strict=True)
    )


def growth_mb_an_hour(rss_mb: Sequence[tuple[float, float]]) -> float | None:
    """Give how memory grew, by a straight line through the samples; None if there are too few.

    Args:
        rss_mb: Seconds, megabytes.
    """
    settled = [(at_s, mb) for at_s, mb in rss_mb if at_s >= _SETTLED_S]
    if len(settled) < 10:
        return None
    mean_s = sum(at_s for at_s, _ in settled) / len(settled)
    mean_mb = sum(mb for _, mb in settled) / len(settled)
    spread = sum((at_s - mean_s) ** 2 for at_s, _ in settled)
    return 3600 * sum((at_s - mean_s) * (mb - mean_mb) for at_s, mb in settled) / spread


def own_voice_taken(run: LiveRun) -> int:
    """Count what was taken, or put as a question, while nobody spoke."""
    return sum(decision in (Decision.ACCEPT, Decision.CONFIRM) for _, decision in run.unprompted)


def judge_live(run: LiveRun, *, in_noise: bool) -> tuple[Criterion, ...]:
    """Hold a run against what is promised."""
    more_s = GAP_IN_NOISE_S if in_noise else 0.0
    made = []
    for (name, median_s, p95_s), gaps in zip(GAPS, gap_groups(run), strict=True):
        if gaps.spread.median is None or gaps.spread.p95 is None:
            continue
        kept = gaps.spread.median <= median_s + more_s and gaps.spread.p95 <= p95_s + more_s
        made.append(
            Criterion(
                what=f"response gap, {name}",
                wanted=f"median {_ms(median_s + more_s)}, 95 % within {_ms(p95_s + more_s)}",
                measured=f"{_ms(gaps.spread.median)}, {_ms(gaps.spread.p95)} ({gaps.of})",
                interval=None,
                kept=kept,
            )
        )
    if run.waiting_cpu is not None:
        made.append(
            Criterion(
                what="processor while waiting for speech, of one core",
                wanted=f"at most {WAITING_CPU:.0%}",
                measured=f"{run.waiting_cpu:.1%}",
                interval=None,
                kept=run.waiting_cpu <= WAITING_CPU,
            )
        )
    growth = growth_mb_an_hour(run.rss_mb)
    if growth is not None:
        made.append(
            Criterion(
                what="growth of memory in an hour, after ten minutes",
                wanted=f"at most {GROWTH_MB_AN_HOUR:.0f} MB",
                measured=f"{growth:.0f} MB",
                interval=None,
                kept=growth <= GROWTH_MB_AN_HOUR,
            )
        )
    taken = own_voice_taken(run)
    made.append(
        Criterion(
            what="taken while nobody spoke",
            wanted="none",
            measured=str(taken),
            interval=None,
            kept=taken == 0,
        )
    )
    return tuple(made)


def live_json(run: LiveRun, criteria: Sequence[Criterion]) -> Iterator[dict[str, object]]:
    """Give a run as objects for JSON: one a line that was said, then one a criterion."""
    for one in run.said:
        yield {
            "recording": one.line.name,
            "item": one.item,
            "kind": one.line.kind,
            "manner": one.line.manner,
            "counts": one.line.counts,
            "text": one.line.text,
            "is_question": one.is_question,
            "decisions": [decision for _, decision in one.heard],
            "result": one.result,
            "gap_s": None if one.exchange is None else one.exchange.gap_s,
            "stopped_s": None if one.exchange is None else one.exchange.stopped_s,
        }
    for promise in criteria:
        yield {
            "criterion": promise.what,
            "speech": "synthetic speech, virtual devices",
            "wanted": promise.wanted,
            "measured": promise.measured,
            "kept": promise.kept,
        }
    yield {
        "wall_s": run.wall_s,
        "waiting_cpu": run.waiting_cpu,
        "cpu": run.cpu,
        "rss_mb": list(run.rss_mb),
        "unprompted": list(run.unprompted),
        "tool_db": run.tool_db,
    }


def live_tables(run: LiveRun) -> dict[str, Lines]:
    """Give every table of a live run: title to lines, the first of which is the head."""
    lines = counting(run)
    made: dict[str, Lines] = {
        "Response gap: end of speech to first sample of the reply": _gap_lines(run),
        "What became of the same lines": _accuracy_lines(lines),
    }
    barging = [one for one in run.said if one.line.manner is Manner.BARGING]
    stops = [
        one.exchange.stopped_s
        for one in barging
        if one.exchange is not None and one.exchange.stopped_s is not None
    ]
    if barging:
        stopped = Spread.of(stops)
        right = Tally.of(one.result for one in barging if one.line.kind != "none")
        made["Talked over (barge-in)"] = (
            ("lines", "tool was speaking", "stopped after, median", "95 % within", "right", "of"),
            (
                str(len(barging)),
                str(len(stops)),
                _ms(stopped.median),
                _ms(stopped.p95),
                str(right.count(Result.RIGHT)),
                str(right.total),
            ),
        )
    made["Besides"] = _besides(run)
    return made


def _gap_lines(run: LiveRun) -> Lines:
    head = ("", "of", "median", "95 % interval", "95 % within", "in bounds", "95 % interval")
    rows = [
        (
            name,
            str(gaps.of),
            _ms(gaps.spread.median),
            "" if gaps.median_between is None else " to ".join(map(_ms, gaps.median_between)),
            _ms(gaps.spread.p95),
            f"{gaps.within:.1%} of {_ms(bound_s)}",
            f"{gaps.within_between.low:.1%} to {gaps.within_between.high:.1%}",
        )
        for (name, _, bound_s), gaps in zip(GAPS, gap_groups(run), strict=True)
    ]
    return (head, *rows)


def _accuracy_lines(lines: Sequence[Said]) -> Lines:
    head = ("", "of", "right", "95 % interval", *(str(result) for result in list(Result)[1:]))
    groups = (
        (GAPS[0][0], [one for one in lines if not is_reading(one)]),
        (GAPS[1][0], [one for one in lines if is_reading(one)]),
    )
    rows = []
    for name, group in groups:
        tally = Tally.of(one.result for one in group)
        between = tally.interval(Result.RIGHT)
        rows.append(
            (
                name,
                str(tally.total),
                str(tally.count(Result.RIGHT)),
                f"{between.low:.1%} to {between.high:.1%}",
                *(str(tally.count(result)) for result in list(Result)[1:]),
            )
        )
    return (head, *rows)


def _besides(run: LiveRun) -> Lines:
    talk = [one for one in run.said if one.line.kind == "none"]
    taken = Tally.of(one.result for one in talk)
    growth = growth_mb_an_hour(run.rss_mb)
    lost = sum(one.exchange is None for one in run.said)
    rows = [
        ("lines said, in all", f"{len(run.said)} in {run.wall_s / 60:.1f} minutes"),
        (
            "talk to others, taken or put as a question",
            f"{taken.count(Result.WRONG_ACCEPTED, Result.WRONG_CONFIRMED)} of {taken.total}",
        ),
        (
            "heard while nobody spoke",
            f"{len(run.unprompted)}, of which taken or put as a question {own_voice_taken(run)}",
        ),
        ("left out of the gaps: the sound server was starved", str(lost)),
        ("processor while waiting, of one core", _share(run.waiting_cpu)),
        ("processor over the whole run, of one core", _share(run.cpu)),
    ]
    if run.rss_mb:
        first, last = run.rss_mb[0][1], run.rss_mb[-1][1]
        rows.append(("memory at the start and at the end", f"{first:.0f} MB, {last:.0f} MB"))
    if growth is not None:
        rows.append(("growth of memory in an hour, after ten minutes", f"{growth:.0f} MB"))
    if run.tool_db is not None:
        rows.append(("the tool in the microphone, against the person", f"{run.tool_db:+.1f} dB"))
    return (("", ""), *rows)


def _share(share: float | None) -> str:
    return "not measured" if share is None else f"{share:.1%}"


def _ms(seconds: float | None) -> str:
    return "" if seconds is None else f"{seconds * 1000:.0f} ms"
