"""What is said of how a gauge went: when, in which words, and when nothing is said."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.builders import expected, make_check, make_gauge, make_item, make_scale, reading
from tests.dialogue.conversation import Conversation
from tests.history.kept import keep_runs
from tests.history.past import FIRST, past, shown_psi
from voiceflow.checks.model import Check, Item, Limit, TrendKind
from voiceflow.dialogue.brief import Brief, TrendNote
from voiceflow.dialogue.events import SpeechStarted, Spoken, Started
from voiceflow.dialogue.machine import begin
from voiceflow.dialogue.trends import series_of
from voiceflow.grammar.meaning import Correction
from voiceflow.history.trends import trend_notes
from voiceflow.journal.store import Journal
from voiceflow.languages.registry import language
from voiceflow.limits.computed import Conditions
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.prompts import TrendRemark
from voiceflow.settings import Settings, TrendSettings

LEAK = TrendNote(item_id="oxygen", per_day=-12.0, low=-13.0, high=-11.0, count=20, days=19.0)
#: Of the gauge in the builders: at least 1200 psi, caution below 1400.
SAID = TrendRemark(falls=True, change=Decimal(12), unit="psi", ahead=9)


def at_the_gauge(note: TrendNote = LEAK, *items: Item) -> Conversation:
    check = make_check(*(items or (make_gauge(), make_item("door", "Cabin door"))))
    return Conversation(check, brief=Brief(trends=(note,))).start()


def remarks(talk: Conversation) -> list[TrendRemark]:
    return [prompt for prompt in talk.prompts() if isinstance(prompt, TrendRemark)]


def test_it_follows_the_readback_and_goes_before_the_next_challenge() -> None:
    talk = at_the_gauge(replace(LEAK, per_day=-24.0, low=-25.0, high=-23.0))
    talk.say(reading(1500))
    assert talk.kinds() == ("read-back", "trend-remark", "challenge")
    assert remarks(talk) == [TrendRemark(falls=True, change=Decimal(24), unit="psi", ahead=12)]


def test_a_reading_in_the_caution_band_has_it_after_what_was_recorded() -> None:
    talk = at_the_gauge()
    talk.say(reading(1310))
    assert talk.kinds() == ("confirm-reading",)
    talk.say(CommandName.AFFIRM)
    assert talk.kinds() == ("finding-recorded", "trend-remark", "challenge")
    assert remarks(talk) == [SAID]
    words = language("en").wording(SAID)
    assert words == "Down twelve p s i a day, minimum in nine days."
    assert language("ko").wording(SAID) == "하루 십이 피에스아이 감소, 구 일 뒤 최소."


def test_a_reading_outside_limits_has_none() -> None:
    talk = at_the_gauge()
    talk.say(reading(1190))
    talk.say(CommandName.AFFIRM)
    assert talk.kinds() == ("finding-recorded", "challenge")


def test_a_limit_beyond_the_horizon_is_not_spoken_of() -> None:
    # 14 days: 1200 + 14 x 12 = 1368
    for value, count in ((1360, 1), (1370, 0)):
        talk = at_the_gauge()
        talk.say(reading(value))
        talk.say(CommandName.AFFIRM)
        assert len(remarks(talk)) == count, value


@pytest.mark.parametrize(
    "note",
    [
        replace(LEAK, high=0.0),  # it may be chance
        replace(LEAK, low=-13.0, high=1.0),
        replace(LEAK, per_day=12.0, low=11.0, high=13.0),  # away from the minimum
        replace(LEAK, per_day=-0.4, low=-0.5, high=-0.3),  # 8 psi in all, on a gauge by 10
        replace(LEAK, item_id="another"),
    ],
)
def test_what_is_not_plain_or_not_towards_a_limit_is_not_said(note: TrendNote) -> None:
    talk = at_the_gauge(note)
    talk.say(reading(1210))
    talk.say(CommandName.AFFIRM)
    assert remarks(talk) == []


def test_a_response_has_none() -> None:
    talk = at_the_gauge(replace(LEAK, item_id="door"), make_item("door", "Cabin door"))
    talk.say(expected())
    assert remarks(talk) == []
    item = make_item()
    assert series_of(item) == ""


def test_a_maximum_and_the_hours_flown() -> None:
    warm = make_gauge(
        "brakes",
        unit="C",
        scale=make_scale("0", "300", "1"),
        limit=Limit(maximum=Decimal(200)),
    )
    rising = TrendNote(item_id="brakes", per_day=2.46, low=2.0, high=3.0, count=9, days=9.0)
    talk = at_the_gauge(rising, warm)
    talk.say(reading(180, "C"))
    up = TrendRemark(falls=False, change=Decimal("2.5"), unit="C", ahead=8)
    assert remarks(talk) == [up]
    talk = at_the_gauge(replace(rising, flown=True), warm)
    talk.say(reading(180, "C"))
    assert remarks(talk) == [replace(up, flown=True)]
    # 10 hours are the horizon there
    talk = at_the_gauge(replace(rising, flown=True), warm)
    talk.say(reading(175, "C"))
    assert remarks(talk) == []


def test_once_a_run_for_each_gauge() -> None:
    def oxygen(item_id: str) -> Item:
        item = make_gauge(item_id)
        assert item.reading is not None
        return replace(item, reading=replace(item.reading, series="crew-oxygen"))

    check = make_check(oxygen("first"), oxygen("second"), make_gauge("third"))
    notes = tuple(replace(LEAK, item_id=item.id) for item in check.items)
    talk = Conversation(check, brief=Brief(trends=notes)).start()
    count = []
    for _ in check.items:
        talk.say(reading(1310))
        talk.say(CommandName.AFFIRM)
        count.append(len(remarks(talk)))
    # the second reads the same cylinder, the third another gauge
    assert count == [1, 0, 1]


def test_a_corrected_reading_has_its_own() -> None:
    talk = at_the_gauge()
    talk.say(reading(1310))
    talk.say(CommandName.AFFIRM)
    assert remarks(talk)[0].ahead == 9
    talk.say(Correction(previous=(reading(1350),)))
    talk.say(CommandName.AFFIRM)
    assert remarks(talk)[0].ahead == 12
    talk.say(Correction(previous=(reading(1400),)))
    assert remarks(talk) == []


def test_one_that_was_not_heard_out_is_said_again() -> None:
    talk = at_the_gauge(replace(LEAK, per_day=-24.0, low=-25.0, high=-23.0))
    talk = Conversation(talk.state.check, brief=talk.state.brief, hear_out=False)
    talk.event(Started(at_s=0.0))
    talk.event(Spoken(at_s=1.0, words="", completed=True))
    talk.event(Spoken(at_s=1.0, words="", completed=True))
    talk.say(reading(1500))
    talk.event(Spoken(at_s=talk.at_s, words="", completed=True))  # the readback
    talk.event(SpeechStarted(at_s=talk.at_s))
    for _ in range(2):  # the remark, the challenge
        talk.event(Spoken(at_s=talk.at_s, words="", completed=False))
    talk.say(CommandName.WHERE_ARE_WE)
    assert talk.kinds()[0] == "trend-remark"


def test_runs_from_before_there_were_trends_say_nothing() -> None:
    check = make_check(make_gauge())
    old = replace(Settings(), trend=TrendSettings())
    state = begin(check, old, Brief(trends=(LEAK,)))
    talk = Conversation(check)
    talk.state = state
    talk.start()
    talk.say(reading(1310))
    talk.say(CommandName.AFFIRM)
    assert remarks(talk) == []


# --- from a journal of made-up runs to the words ---

DAYS = [18.0, 16.0, 13.0, 9.0, 6.0, 2.0, -1.0, -4.0, -6.0, -9.0]


def words_after(path: Path, check: Check, value: int) -> str:
    """Give what is said after a reading on the day after the last run, at 15 C."""
    conditions = Conditions(temperature_c=Decimal(15))
    with Journal.open_to_read(path) as journal:
        answers = journal.answers(check.tail)
    notes = trend_notes(check, answers, conditions, FIRST + timedelta(days=len(DAYS)))
    talk = Conversation(check, brief=Brief(conditions=conditions, trends=notes)).start()
    talk.say(reading(value))
    if talk.kinds() == ("confirm-reading",):
        talk.say(CommandName.AFFIRM)
    return " ".join(map(language("en").wording, talk.prompts()))


@pytest.mark.parametrize(
    ("a_day", "today", "words"),
    [
        (
            -15,
            1340,
            (
                "One three four zero p s i, within limits. "
                "Down fourteen p s i a day, minimum in nine days. Cabin door."
            ),
        ),
        # the cold alone
        (0, 1490, "One four niner zero p s i, within limits. Cabin door."),
    ],
)
def test_from_runs_to_words(tmp_path: Path, a_day: int, today: int, words: str) -> None:
    # 1490 psi at 15 C, and so much less each day, as a cylinder shows it in falling
    # temperatures by the reference equation (CoolProp), read to 10 psi
    values = [
        round(shown_psi(1490.0 + a_day * day, 15.0, degrees) / 10) * 10
        for day, degrees in enumerate(DAYS)
    ]
    assert values[-1] < values[0] - 100
    item = make_gauge(limit=Limit(minimum=Decimal(1200)))
    assert item.reading is not None
    item = replace(item, reading=replace(item.reading, trend=TrendKind.OXYGEN))
    check = make_check(item, make_item("door", "Cabin door"))
    path = tmp_path / "journal.sqlite"
    keep_runs(path, check, {"oxygen": values}, temperatures=DAYS)
    assert words_after(path, check, today) == words


# --- gauges at rest, rising gauges and noise say nothing ---

seeds = st.integers(0, 2**32 - 1)


def said_of(values: Sequence[float], today: float) -> list[TrendRemark]:
    check = make_check(make_gauge(limit=Limit(minimum=Decimal(1200))))
    notes = trend_notes(check, past(values), Conditions(), FIRST + timedelta(days=len(values)))
    talk = Conversation(check, brief=Brief(trends=notes)).start()
    talk.say(reading(str(today)))
    return remarks(talk)


@given(st.integers(1, 60), st.integers(120, 200))
def test_a_gauge_at_rest_says_nothing(count: int, tens: int) -> None:
    assert said_of([tens * 10.0] * count, tens * 10.0) == []


@given(st.integers(5, 60), seeds, st.floats(0.5, 10.0))
def test_a_rising_gauge_says_nothing(count: int, seed: int, rise: float) -> None:
    random = np.random.default_rng(seed)
    exact = 1210 + rise * np.arange(count)
    # read to the mark: no reading lies more than half of one beside it, so that over two
    # weeks and more none could fall to the minimum by more than chance has it
    values = np.clip(np.round((exact + random.uniform(-2, 2, count)) / 10) * 10, 1210, 2000)
    assert said_of(list(values), float(values[-1])) == []


def test_noise_says_next_to_nothing() -> None:
    random = np.random.default_rng(7)
    said = 0
    for _ in range(400):
        values = np.round((1500 + random.normal(0, 20, random.integers(5, 40))) / 10) * 10
        said += bool(said_of(list(values), float(values[-1])))
    # 300 psi above the minimum in noise of 20: a slope by chance that would be there in two
    # weeks is one of 21 psi a day, which needs few days and an unlikely order of them
    assert said <= 2
