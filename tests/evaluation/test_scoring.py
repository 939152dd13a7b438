import math
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest, chi2

from tests.evaluation.test_run import make_row
from voiceflow.dialogue.policy import Decision
from voiceflow.errors import UsageError
from voiceflow.evaluation import comparison
from voiceflow.evaluation.comparison import Kept, compare, mcnemar
from voiceflow.evaluation.manifest import Role
from voiceflow.evaluation.metrics import Result
from voiceflow.evaluation.page import reliability_svg, trade_off_svg, write
from voiceflow.evaluation.run import Outcome
from voiceflow.evaluation.scoring import (
    calibration_error,
    reliability,
    scoring,
    shortened,
    thinned,
    trade_off,
    training_voices,
    with_training_voices,
)
from voiceflow.evaluation.tables import change_lines, delay_lines, tables, unattended_lines
from voiceflow.evaluation.unattended import Taken, Unattended, poisson
from voiceflow.grammar.meaning import Command
from voiceflow.phraseology.commands import CommandName

AFFIRM = Command(name=CommandName.AFFIRM)


def outcome(
    file: str,
    confidence: float,
    *,
    answers: bool = True,
    meant: bool = True,
    result: Result = Result.RIGHT,
    voice: str = "one",
) -> Outcome:
    row = make_row(file, voice)
    return Outcome(
        row=replace(row, meaning=AFFIRM, form="affirm") if answers else replace(row, form="talk"),
        result=result,
        engine="test",
        utterances=(),
        heard=("words",),
        decisions=(Decision.ACCEPT,),
        confidences=(confidence,),
        meant=(meant,),
        said_aloud=None,
        delay_s=0.5,
        decode_s=0.1,
        audio_s=2.0,
    )


def talk(file: str, confidence: float, *, nothing: bool = False, voice: str = "one") -> Outcome:
    result = Result.IGNORED if nothing else Result.WRONG_ACCEPTED
    return outcome(file, confidence, answers=False, meant=nothing, result=result, voice=voice)


def test_trade_off_by_hand() -> None:
    found = [outcome("a", 0.9), outcome("b", 0.4), talk("c", 0.5), talk("d", 0.95, nothing=True)]
    points = {point.threshold: (point.rejected, point.accepted) for point in trade_off(found)}
    # of two right answers 0.4 lies below 0.5; of two talks one means something, at 0.5
    assert points[0.0] == (0.0, 0.5)
    assert points[0.5] == (0.5, 0.5)
    assert points[0.9] == (0.5, 0.0)
    assert points[max(points)] == (1.0, 0.0)
    assert trade_off([outcome("a", 0.9)]) == ()


@given(
    st.lists(st.floats(0, 1), min_size=1, max_size=20),
    st.lists(st.floats(0, 1), min_size=1, max_size=20),
)
def test_a_higher_threshold_rejects_more_and_accepts_less(
    right: list[float], other: list[float]
) -> None:
    found = [outcome(f"a{n}", one) for n, one in enumerate(right)]
    found += [talk(f"b{n}", one) for n, one in enumerate(other)]
    points = trade_off(found)
    assert [point.rejected for point in points] == sorted(point.rejected for point in points)
    falling = [point.accepted for point in points]
    assert falling == sorted(falling, reverse=True)
    assert (points[0].rejected, points[-1].accepted) == (0.0, 0.0)


def test_reliability_by_hand() -> None:
    found = [
        outcome("a", 0.95),
        outcome("b", 0.91, meant=False, result=Result.WRONG_ACCEPTED),
        talk("c", 0.15),
        talk("d", 0.5, nothing=True),  # has no meaning to be confident of
        outcome("e", 1.0),
    ]
    low, high = reliability(found)
    assert (low.total, low.right, high.total) == (1, 0.0, 3)
    assert low.confidence == pytest.approx(0.15)
    assert high.right == pytest.approx(2 / 3)
    assert high.confidence == pytest.approx((0.95 + 0.91 + 1.0) / 3)
    expected = (0.15 * 1 + abs(2.86 / 3 - 2 / 3) * 3) / 4
    assert calibration_error((low, high)) == pytest.approx(expected)


def test_training_voices_never_score() -> None:
    found = [outcome("a", 0.9), outcome("b", 0.9, voice="two"), outcome("c", 0.9, voice="three")]
    # one row for training is enough to leave the whole voice out
    found.append(replace(found[1], row=replace(found[1].row, file="d", role=Role.TRAIN)))
    assert [one.row.file for one in scoring(found)] == ["a", "c"]
    rows = with_training_voices([one.row for one in found], ["three"])
    assert training_voices(rows) == {"two", "three"}


@given(st.integers(0, 60), st.integers(0, 60))
def test_mcnemar_agrees_with_scipy(gained: int, lost: int) -> None:
    # outside reference: scipy.stats.binomtest on the discordant pairs
    total = gained + lost
    expected = binomtest(gained, total, 0.5).pvalue if total else 1.0
    assert mcnemar(gained, lost) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("count", [0, 1, 2, 7, 40])
def test_rates_agree_with_scipy(count: int) -> None:
    # outside reference: Garwood's bounds by quantiles of chi-squared, scipy.stats.chi2
    found = poisson(count)
    assert found.high == pytest.approx(chi2.ppf(0.975, 2 * count + 2) / 2, rel=1e-6)
    lower = chi2.ppf(0.025, 2 * count) / 2 if count else 0.0
    assert found.low == pytest.approx(lower, rel=1e-6)


def test_rates_an_hour() -> None:
    taken = Taken(minute=0, item="a", text="off", confidence=0.9, decision=Decision.ACCEPT)
    heard = Unattended(seconds=1800.0, taken=(taken, replace(taken, decision=Decision.IGNORE)))
    assert heard.an_hour(Decision.ACCEPT) == 2.0
    assert heard.interval(Decision.CONFIRM).high == pytest.approx(2 * -math.log(0.025))
    assert unattended_lines(heard)[1][:3] == ("accepted", "1", "2.0")


def test_a_short_run_leaves_out_most_other_talk() -> None:
    main = [make_row(f"main{n}") for n in range(4)]
    other = [replace(make_row(f"other{n}"), part="other talk", form="talk") for n in range(7)]
    train = replace(make_row("train"), part="other talk", role=Role.TRAIN)
    kept_rows = [row.file for row in shortened([*main, *other, train])]
    assert kept_rows == ["main0", "main1", "main2", "main3", "other0", "other3", "other6"]
    assert [row.file for row in thinned([*main, *other], 4)] == ["main0", "other0", "other4"]


def kept(result: Result, kind: str = "reading", sha256: str = "x") -> Kept:
    return Kept(kind=kind, condition="clean", result=result, sha256=sha256)


def test_two_runs_by_hand() -> None:
    before = {"a": kept(Result.RIGHT), "b": kept(Result.ASKED), "c": kept(Result.ASKED)}
    after = {"a": kept(Result.ASKED), "b": kept(Result.RIGHT), "c": kept(Result.RIGHT)}
    before["talk"] = kept(Result.WRONG_ACCEPTED, "none")
    after["talk"] = kept(Result.IGNORED, "none")
    # another sound of the same name, and one that only one run heard: not compared
    before["other"], after["other"] = kept(Result.RIGHT), kept(Result.ASKED, sha256="y")
    after["new"] = kept(Result.RIGHT)
    changes = {change.group: change for change in compare(before, after)}
    answers = changes["answers, all"]
    assert (answers.total, answers.before, answers.after) == (3, 1, 2)
    assert (answers.gained, answers.lost, answers.chance) == (2, 1, 1.0)
    assert changes["other talk, clean"].gained == 1
    assert change_lines(tuple(changes.values()))[1][0] == "answers, clean"
    assert compare({}, after) == ()


def test_a_run_is_kept_and_read_again(tmp_path: Path) -> None:
    path = tmp_path / "run.json"
    found = [outcome("a", 0.9), talk("b", 0.9)]
    comparison.save(path, found)
    assert comparison.load(path) == comparison.keep(found)


@pytest.mark.parametrize("text", ["", "[]", '"x"', "{}", '{"format": "other"}', "\x00"])
def test_what_is_no_kept_run(tmp_path: Path, text: str) -> None:
    path = tmp_path / "run.json"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(UsageError, match=r"run\.json"):
        comparison.load(path)
    with pytest.raises(UsageError, match="cannot be read"):
        comparison.load(tmp_path / "absent.json")


def test_tables_count_everything_once() -> None:
    found = [outcome("a", 0.9), outcome("b", 0.9, result=Result.ASKED, voice="two"), talk("c", 0.9)]
    made = tables(found)
    assert made["Answers by voice"][1:] == (
        ("one", "1", "1 (100.0%)", "20.7% to 100.0%", "0 (0.0%)", "0.0% to 79.3%", "0", "0", "0"),
        ("two", "1", "0 (0.0%)", "0.0% to 79.3%", "0 (0.0%)", "0.0% to 79.3%", "0", "1", "0"),
        ("all", "2", "1 (50.0%)", "9.5% to 90.5%", "0 (0.0%)", "0.0% to 65.8%", "0", "1", "0"),
    )
    assert made["Other talk by kind"][1][:3] == ("talk", "1", "1 (100.0%)")


def test_the_page_holds_both_curves_and_every_table(tmp_path: Path) -> None:
    found = [outcome("a", 0.9), outcome("b", 0.4), talk("c", 0.5)]
    path = tmp_path / "page.html"

    def make() -> str:
        write(path, found, speech="synthetic <speech>", notes=["3 of 3"], tables=tables(found))
        return path.read_text(encoding="utf-8")

    text = make()
    assert text.count("<svg") == 2
    assert "synthetic &lt;speech&gt;" in text
    assert "Answers by engine" in text
    assert make() == text
    with pytest.raises(UsageError, match="cannot be written"):
        write(tmp_path / "no" / "page.html", found, speech="s", notes=[], tables={})


def test_every_noise_has_its_curve() -> None:
    pair = [outcome("a", 0.9), talk("b", 0.5)]
    groups = {f"noise {number}": pair for number in range(10)}
    drawing = trade_off_svg(groups)
    assert all(f"noise {number} (1 answers, 1 other)" in drawing for number in range(10))


def test_curves_of_nothing_are_drawn_empty() -> None:
    assert trade_off_svg({"clean": [outcome("a", 0.9)]}).startswith("<svg")
    assert reliability_svg([]).startswith("<svg")


def test_delays_of_right_answers_by_kind_and_noise() -> None:
    quick = [replace(outcome(str(number), 0.9), delay_s=0.2) for number in range(3)]
    late = replace(outcome("late", 0.9), delay_s=0.7)
    wrong = replace(outcome("wrong", 0.9, result=Result.WRONG_ACCEPTED), delay_s=0.1)
    head, *lines = delay_lines([*quick, late, wrong, talk("other", 0.9)])
    assert head[3] == "median"
    assert lines == [
        ("responses and commands", "clean", "4", "200", "200 to 700", "700", "200 to 700")
    ]
