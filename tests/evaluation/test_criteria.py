"""What is promised in noise, on outcomes whose counts are known."""

from dataclasses import replace
from decimal import Decimal

from tests.evaluation.test_scoring import outcome
from voiceflow.evaluation.criteria import Criterion, judge_noise
from voiceflow.evaluation.metrics import Result
from voiceflow.evaluation.run import Outcome
from voiceflow.evaluation.tables import criteria_lines
from voiceflow.grammar.meaning import Reading


def at(
    snr_db: float | None, noise: str, results: dict[Result, int], kind: str = "reading"
) -> list[Outcome]:
    reading = Reading(value=Decimal(1), unit="psi")
    made = []
    for result, count in results.items():
        for number in range(count):
            one = outcome(f"{noise} {snr_db} {result} {number}", 0.9, answers=kind != "none")
            row = replace(one.row, noise=noise, snr_db=snr_db)
            if kind == "reading":
                row = replace(row, meaning=reading)
            made.append(replace(one, row=row, result=result))
    return made


def named(criteria: tuple[Criterion, ...], what: str) -> Criterion:
    return next(one for one in criteria if one.what == what)


def test_noises_count_together_by_ratio() -> None:
    heard = [
        *at(10.0, "pink", {Result.RIGHT: 80, Result.ASKED: 20}),
        *at(10.0, "brown", {Result.RIGHT: 95, Result.WRONG_ACCEPTED: 5}),
        *at(10.0, "babble", {Result.WRONG_ACCEPTED: 50}),
        *at(20.0, "pink", {Result.RIGHT: 19, Result.IGNORED: 1}),
    ]
    found = judge_noise(heard)
    right = named(found, "steady noise, 10 dB: readings right")
    assert right.measured == "87.5% (175 of 200)"
    assert right.kept
    wrong = named(found, "steady noise, 10 dB: readings wrong without a question")
    assert wrong.measured == "2.5% (5 of 200)"
    assert not wrong.kept
    ignored = named(found, "steady noise, 20 dB: answers ignored")
    assert ignored.measured == "5.0% (1 of 20)"
    assert not ignored.kept
    assert not any(one.what.startswith(("clean", "steady noise, 15")) for one in found)


def test_other_talk_and_responses_have_bounds_of_their_own() -> None:
    heard = [
        *at(None, "clean", {Result.IGNORED: 99, Result.WRONG_ACCEPTED: 1}, "none"),
        *at(None, "clean", {Result.RIGHT: 97, Result.WRONG_ACCEPTED: 3}, "command"),
    ]
    found = judge_noise(heard)
    assert named(found, "clean: other talk accepted").kept
    assert not named(found, "clean: responses and commands right").kept
    assert not named(found, "clean: responses and commands wrong without a question").kept
    lines = criteria_lines(found)
    assert [line[-1] for line in lines[1:]] == ["short", "short", "kept", "kept"]
