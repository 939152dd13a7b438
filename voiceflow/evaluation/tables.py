"""What was measured as lines of cells, the same for the screen and for the page."""

from collections.abc import Callable, Sequence

from voiceflow.dialogue.policy import Decision
from voiceflow.evaluation.comparison import Change
from voiceflow.evaluation.criteria import Criterion
from voiceflow.evaluation.metrics import Interval, Quantile, Result, Tally
from voiceflow.evaluation.run import Outcome
from voiceflow.evaluation.unattended import Unattended

Lines = tuple[tuple[str, ...], ...]

_ANSWER_HEAD = (
    "",
    "of",
    "right",
    "95 % interval",
    "wrong accepted",
    "95 % interval",
    "wrong confirmed",
    "asked again",
    "ignored",
)
_OTHER_HEAD = ("", "of", "accepted", "95 % interval", "put as a question", "asked again", "ignored")


def tables(outcomes: Sequence[Outcome]) -> dict[str, Lines]:
    """Give every table of what was heard: title to lines, the first of which is the head.

    Args:
        outcomes: Those that may score.
    """
    answers = [outcome for outcome in outcomes if outcome.row.kind != "none"]
    other = [outcome for outcome in outcomes if outcome.row.kind == "none"]
    groups: tuple[tuple[str, Callable[[Outcome], str]], ...] = (
        ("engine", lambda one: one.engine),
        ("voice", lambda one: one.row.voice),
        ("noise", lambda one: one.row.noise),
        ("SNR", lambda one: _ratio(one)),
        ("noise and SNR", lambda one: one.row.condition),
    )
    made: dict[str, Lines] = {}
    readings = [one for one in answers if one.row.kind == "reading"]
    words = [one for one in answers if one.row.kind != "reading"]
    for name, part in (("Readings", readings), ("Responses and commands", words)):
        if part:
            made[f"{name} by noise and SNR"] = answer_lines(part, lambda one: one.row.condition)
    for name, key in groups:
        # one line by noise would only say again what the one by engine says
        if name != "engine" and len({key(one) for one in outcomes}) < 2:
            continue
        if answers:
            made[f"Answers by {name}"] = answer_lines(answers, key)
        if other:
            made[f"Other talk by {name}"] = other_lines(other, key)
    if other:
        made["Other talk by kind"] = other_lines(other, lambda one: one.row.form)
    return made


def answer_lines(outcomes: Sequence[Outcome], key: Callable[[Outcome], str]) -> Lines:
    """Count answers by a key."""
    return (
        _ANSWER_HEAD,
        *(
            (
                name,
                str(tally.total),
                *_share(tally, Result.RIGHT),
                *_share(tally, Result.WRONG_ACCEPTED),
                str(tally.count(Result.WRONG_CONFIRMED)),
                str(tally.count(Result.ASKED)),
                str(tally.count(Result.IGNORED)),
            )
            for name, tally in _tallies(outcomes, key)
        ),
    )


def other_lines(outcomes: Sequence[Outcome], key: Callable[[Outcome], str]) -> Lines:
    """Count other talk by a key: every acceptance of it is false."""
    return (
        _OTHER_HEAD,
        *(
            (
                name,
                str(tally.total),
                *_share(tally, Result.WRONG_ACCEPTED),
                str(tally.count(Result.WRONG_CONFIRMED)),
                str(tally.count(Result.ASKED)),
                str(tally.count(Result.IGNORED)),
            )
            for name, tally in _tallies(outcomes, key)
        ),
    )


def unattended_lines(heard: Unattended) -> Lines:
    """Give the rates of an unattended cockpit."""
    names = {
        Decision.ACCEPT: "accepted",
        Decision.CONFIRM: "put as a question",
        Decision.ASK_AGAIN: "asked again",
        Decision.IGNORE: "ignored",
    }
    return (
        ("", "times", "an hour", "95 % interval"),
        *(
            (
                name,
                str(heard.count(decision)),
                f"{heard.an_hour(decision):.1f}",
                "{0.low:.1f} to {0.high:.1f}".format(heard.interval(decision)),
            )
            for decision, name in names.items()
        ),
    )


#: What the delay is told of: who answers with a number takes longer to be sure of.
_READING = "readings"
_WORDS = "responses and commands"


def delay_lines(outcomes: Sequence[Outcome]) -> Lines:
    """Give how long after the end of speech it is known what was said, in milliseconds.

    Only answers that came out right count: what was cut early came out quickly, and wrong.
    """
    groups: dict[tuple[str, str], list[float]] = {}
    for one in outcomes:
        if one.result is Result.RIGHT and one.delay_s is not None and one.row.kind != "none":
            kind = _READING if one.row.kind == "reading" else _WORDS
            groups.setdefault((kind, one.row.condition), []).append(one.delay_s)
    return (
        ("", "noise", "of", "median", "95 % interval", "95 of 100 within", "95 % interval"),
        *(
            (kind, condition, str(len(delays)), *_within(delays, 0.5), *_within(delays, 0.95))
            for (kind, condition), delays in sorted(groups.items())
        ),
    )


def _within(delays_s: Sequence[float], part: float) -> tuple[str, str]:
    found = Quantile.of(delays_s, part)
    if found is None:
        return "", ""
    return f"{found.value * 1000:.0f}", f"{found.low * 1000:.0f} to {found.high * 1000:.0f}"


def change_lines(changes: Sequence[Change]) -> Lines:
    """Give how two runs differ."""
    return (
        ("", "of", "before", "after", "difference", "gained", "lost", "p"),
        *(
            (
                one.group,
                str(one.total),
                f"{one.before / one.total:.1%}",
                f"{one.after / one.total:.1%}",
                f"{(one.after - one.before) / one.total:+.1%}",
                str(one.gained),
                str(one.lost),
                f"{one.chance:.3f}" if one.chance >= 0.001 else "under 0.001",
            )
            for one in changes
        ),
    )


def criteria_lines(criteria: Sequence[Criterion]) -> Lines:
    """Give promises and what became of them."""
    return (
        ("", "wanted", "measured", "95 % interval", ""),
        *(
            (
                one.what,
                one.wanted,
                one.measured,
                span(one.interval) if one.interval else "",
                "kept" if one.kept else "short",
            )
            for one in criteria
        ),
    )


def span(interval: Interval) -> str:
    """Give an interval in percent."""
    return f"{interval.low:.1%} to {interval.high:.1%}"


def _ratio(outcome: Outcome) -> str:
    return "clean" if outcome.row.snr_db is None else f"{outcome.row.snr_db:g} dB"


def _share(tally: Tally, result: Result) -> tuple[str, str]:
    return f"{tally.count(result)} ({tally.share(result):.1%})", span(tally.interval(result))


def _tallies(outcomes: Sequence[Outcome], key: Callable[[Outcome], str]) -> list[tuple[str, Tally]]:
    groups: dict[str, list[Result]] = {}
    for outcome in outcomes:
        groups.setdefault(key(outcome), []).append(outcome.result)
    counted = [(name, Tally.of(results)) for name, results in sorted(groups.items())]
    if len(counted) > 1:
        counted.append(("all", Tally.of(outcome.result for outcome in outcomes)))
    return counted
