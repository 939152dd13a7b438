"""How gauges went, on a page: what comes first, what is drawn where, and in words for all."""

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.builders import make_check, make_gauge, make_item, make_scale
from tests.history.past import FIRST, PastAnswer, past
from tests.reports.test_html import Page
from voiceflow.checks.model import Check, Item, Limit, TrendKind
from voiceflow.history.trends import ReadAnswer
from voiceflow.reports import trend_wording as wording
from voiceflow.reports.html import render_trends
from voiceflow.reports.trend_plot import HEIGHT, WIDTH, plot
from voiceflow.reports.trends import GaugeWay, Standing, TailTrends, tail_trends

DAYS = 20
NOW = FIRST + timedelta(days=DAYS)


def item(
    item_id: str, challenge: str, kind: TrendKind = TrendKind.PLAIN, limit: Limit | None = None
) -> Item:
    made = make_gauge(item_id, challenge, limit=limit or Limit(minimum=make_scale().lowest + 1200))
    assert made.reading is not None
    return replace(made, reading=replace(made.reading, trend=kind))


CHECK = make_check(
    item("low", "Low & <lower>"),
    item("leak", "Crew oxygen", TrendKind.OXYGEN),
    item("slow", "Slow leak"),
    item("rest", "At rest"),
    item("new", "Just filled"),
    item("oil", "Left oil", TrendKind.FLOWN_HOURS),
    item("fuel", "Left fuel", TrendKind.NONE),
    make_item("covers"),
)
READINGS: dict[str, list[float]] = {
    "rest": [1500 + 10 * (day % 2) for day in range(DAYS)],
    "slow": [1900 - 10 * day for day in range(DAYS)],
    "leak": [1500 - 10 * day for day in range(DAYS)],
    "low": [1580 - 20 * day for day in range(DAYS)],
    "new": [1300.0] * (DAYS - 2) + [1900, 1890],
    "oil": [1700 - 20 * day for day in range(DAYS)],
    "fuel": [1500.0] * DAYS,
    "gone": [1500.0] * DAYS,  # its item is no longer in the check
}


class KnownCheck:
    def __init__(self, check: Check) -> None:
        self._check = check

    def check(self, run_id: str) -> Check:
        assert run_id == f"run-{DAYS - 1}"
        return self._check


def answers() -> list[ReadAnswer]:
    found: list[PastAnswer] = []
    for series, values in READINGS.items():
        hours = "4" if series == "oil" else None
        found += past(values, series=series, temperatures=[10.0] * DAYS, hours=hours)
    return list(found)


@pytest.fixture(scope="module")
def trends() -> TailTrends:
    made = tail_trends(answers(), KnownCheck(CHECK), NOW)
    assert made is not None
    return made


def way_of(trends: TailTrends, title: str) -> GaugeWay:
    return next(way for way in trends.ways if way.title == title)


def test_what_matters_comes_first(trends: TailTrends) -> None:
    # 1310 - 1200 at 10 a day; the slow one has 510 to go, the oil 120 at 5 an hour of 10 hours
    assert [(way.title, way.standing) for way in trends.ways] == [
        ("Low & <lower>", Standing.SOON),
        ("Crew oxygen", Standing.SOON),
        ("Left oil", Standing.TOWARDS),
        ("Slow leak", Standing.TOWARDS),
        ("At rest", Standing.STEADY),
        ("Just filled", Standing.TOO_FEW),
    ]
    assert trends.not_compared == ("Left fuel",)
    assert (trends.tail, trends.runs) == ("X-SKR7", DAYS)
    assert wording.what_matters(trends) == "2 gauges are outside limits or will soon be."


def test_a_last_reading_outside_limits_goes_before_all() -> None:
    below = past([*READINGS["rest"][:-1], 1190], series="rest")
    made = tail_trends([*answers()[DAYS:], *below], KnownCheck(CHECK), NOW)
    assert made is not None
    assert made.ways[0].title == "At rest"
    assert made.ways[0].standing is Standing.OUTSIDE
    assert "The last reading is outside limits (min 1200 psi)." in wording.outcome(made.ways[0])


def test_no_reading_no_page() -> None:
    assert tail_trends([], KnownCheck(CHECK), NOW) is None
    assert tail_trends(answers(), KnownCheck(CHECK), NOW + timedelta(days=90)) is None


@pytest.mark.parametrize(
    ("title", "change", "ahead", "outcome"),
    [
        (
            "Crew oxygen",
            "−10 a day (−10 to −10)",
            "11 days",
            (
                "Down 10 psi a day, minimum 1200 psi in 11 days "
                "(95 % interval −10 to −10, 20 readings)."
            ),
        ),
        (
            "Left oil",
            "−5 an hour (−5 to −5)",
            "24 h flown",
            (
                "Down 5 psi an hour, minimum 1200 psi in 24 h flown "
                "(95 % interval −5 to −5, 20 readings)."
            ),
        ),
        (
            "At rest",
            "0 a day (0 to 0)",
            "–",
            "0 psi a day (95 % interval 0 to 0, 20 readings).",
        ),
        (
            "Just filled",
            "–",
            "–",
            "No slope: too few readings since it was serviced (2 of 5 readings).",
        ),
    ],
)
def test_in_words(trends: TailTrends, title: str, change: str, ahead: str, outcome: str) -> None:
    way = way_of(trends, title)
    if title == "At rest":
        assert way.trend.daily is not None
        # ups and downs of one mark: the interval holds 0
        assert way.trend.daily.slope.low <= 0 <= way.trend.daily.slope.high
    else:
        assert wording.change(way) == change
    assert wording.ahead(way) == ahead
    if title != "At rest":
        assert wording.outcome(way) == outcome


def test_why_there_is_no_slope() -> None:
    def only(values: Sequence[float], **more: object) -> str:
        made = tail_trends(
            past(values, series="leak", **more),  # type: ignore[arg-type]
            OneCheck(CHECK),
            NOW,
        )
        assert made is not None
        return wording.outcome(made.ways[0])

    assert "too few readings (3 of 5 readings)" in only([1500, 1490, 1480], temperatures=[1] * 3)
    unknown = only([1500 - day for day in range(8)])
    assert "0 of 5 readings" in unknown
    assert "--temperature" in unknown
    assert "span 1.0 of 3 days" in only([1500] * 5, temperatures=[1] * 5, every_h=6.0)


class OneCheck:
    def __init__(self, check: Check) -> None:
        self._check = check

    def check(self, run_id: str) -> Check:
        del run_id
        return self._check


@pytest.mark.parametrize(
    ("limit", "words"),
    [
        (Limit(minimum=Decimal(55), maximum=Decimal("70.5")), "55 to 70.5"),
        (Limit(maximum=Decimal(70)), "max 70"),
        (Limit(), "–"),
        (Limit(minimum=Decimal(-40)), "min −40"),
    ],
)
def test_limits_in_words(limit: Limit, words: str) -> None:
    checks = OneCheck(make_check(item("tyre", "Tyre", limit=limit)))
    made = tail_trends(past([60.0] * 6, series="tyre"), checks, NOW)
    assert made is not None
    assert wording.limit(made.ways[0]) == words
    assert wording.what_matters(made) == "No gauge is outside limits or plainly on its way there."
    drawn = plot(made.ways[0])
    assert len(drawn.bounds) == (limit.minimum is not None) + (limit.maximum is not None)


def test_a_gauge_that_is_serviced_often_is_counted() -> None:
    checks = OneCheck(make_check(item("oil", "Oil", TrendKind.FLOWN_HOURS)))
    values = [1700.0 - 50 * (day % 5) for day in range(25)]
    made = tail_trends(past(values, series="oil"), checks, NOW + timedelta(days=5))
    assert made is not None
    (way,) = made.ways
    assert wording.serviced(way) == "Serviced 4 times, last before 21 Oct 2026."
    assert wording.compared(way) == "by days: the hours flown are not known"


def test_the_page_is_whole_and_needs_nothing_else(trends: TailTrends) -> None:
    text = render_trends(trends)
    page = Page(text)
    assert "Low & <lower>" in page.text
    assert "script" not in page.tags
    assert not [value for name, value in page.attributes if name in ("src", "href")]
    assert "url(" not in text
    assert page.tags.count("svg") == len(trends.ways) + 5  # and the key
    assert "Not compared, because they are filled, used or set" in page.text
    # told apart without colours: every one is a grey
    for colour in re.findall(r"#[0-9a-f]{3,6}\b", text):
        parts = re.findall("..", colour[1:]) if len(colour) == 7 else list(colour[1:])
        values = [int(part, 16) for part in parts]
        assert max(values) - min(values) <= 24, colour


def test_every_plot_is_in_words_too(trends: TailTrends) -> None:
    text = render_trends(trends)
    page = Page(text)
    named = [value for name, value in page.attributes if name == "aria-labelledby" and value]
    ids = {value for name, value in page.attributes if name == "id"}
    assert {each for value in named for each in value.split()} <= ids
    spoken = [data for tags, data in page.texts if tags[-1:] == ("desc",)]
    assert len(spoken) == len(trends.ways)
    (filled,) = (one for one in spoken if "Serviced" in one)
    assert filled == (
        "20 readings from 1 Oct 2026 to 20 Oct 2026. First 1300 psi, last 1890 psi. "
        "Lowest 1300 psi, highest 1900 psi. Limit min 1200 psi. Serviced before 19 Oct 2026. "
        "No slope: too few readings since it was serviced (2 of 5 readings)."
    )


def numbers(text: str) -> list[float]:
    return [float(one) for one in re.findall(r"-?\d+\.?\d*", text)]


def test_where_things_are_drawn(trends: TailTrends) -> None:
    drawn = plot(way_of(trends, "Crew oxygen"))
    # 20 readings that count, none elsewhere: all were read at one temperature
    dots = re.findall(r"M([\d.]+) ([\d.]+)h0", drawn.dots)
    assert len(dots) == DAYS
    assert drawn.rings == ()
    xs, ys = ([float(one[place]) for one in dots] for place in (0, 1))
    assert xs == sorted(xs)
    assert ys == sorted(ys)  # it falls: further down the page
    assert xs[0] == drawn.left
    assert xs[-1] == pytest.approx(xs[0] + (xs[1] - xs[0]) * 19, abs=1.0)
    # the line goes through the dots, and on to the limit or the edge
    ends = numbers(drawn.line)
    assert ends == pytest.approx([xs[0], ys[0], xs[-1], ys[-1]], abs=0.2)
    assert numbers(drawn.onward)[2] == pytest.approx(drawn.right, abs=0.2)
    (bound,) = drawn.bounds
    assert bound.text == "min 1200"
    assert bound.at > ys[-1]


def test_the_line_of_oil_goes_by_the_hours_flown(trends: TailTrends) -> None:
    way = way_of(trends, "Left oil")
    drawn = plot(way)
    assert len(numbers(drawn.line)) == 2 * DAYS
    assert drawn.onward == ""


def test_servicing_is_marked_and_what_was_before_is_rings(trends: TailTrends) -> None:
    drawn = plot(way_of(trends, "Just filled"))
    assert len(drawn.serviced) == 1
    assert len(drawn.rings) == DAYS - 2
    assert drawn.line == ""
    assert len(re.findall("h0", drawn.dots)) == 2
    assert f"{drawn.serviced[0]:g}" in drawn.dots


@given(
    st.lists(st.integers(0, 200), min_size=1, max_size=40),
    st.sampled_from([0.1, 5.0, 24.0, 300.0]),
    st.sampled_from([0.1, 1.0, 10.0]),
)
def test_everything_lies_within_the_drawing(marks: list[int], every_h: float, mark: float) -> None:
    values = [round(one * mark, 3) for one in marks]
    spec = item("leak", "Leak", limit=Limit(minimum=make_scale().lowest + 50)).reading
    assert spec is not None
    gauge_item = replace(
        make_gauge("leak", "Leak"),
        reading=replace(spec, scale=make_scale("0", "2000", str(mark))),
    )

    found = past(values, series="leak", every_h=every_h)
    made = tail_trends(found, OneCheck(make_check(gauge_item)), FIRST + timedelta(days=1))
    assert made is not None
    drawn = plot(made.ways[0])
    for x, y in (
        *drawn.rings,
        *((float(a), float(b)) for a, b in re.findall(r"M([\d.]+) ([\d.]+)h0", drawn.dots)),
        *((drawn.left, one.at) for one in drawn.bounds),
        *((one.at, drawn.top) for one in drawn.x_ticks),
        *((drawn.left, one.at) for one in drawn.y_ticks),
    ):
        assert 0 <= x <= WIDTH
        assert 0 <= y <= HEIGHT
    assert 2 <= len(drawn.y_ticks) <= 7
    assert len(drawn.x_ticks) <= 60
