import re
from collections.abc import Callable
from dataclasses import replace
from html.parser import HTMLParser
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from typing_extensions import override

from tests.builders import (
    command,
    expected,
    heard,
    make_check,
    make_gauge,
    make_item,
    reading,
    wrong,
)
from tests.reports.conftest import Run, make_run
from voiceflow.checks.model import Check
from voiceflow.dialogue.events import (
    DeviceLost,
    DeviceReturned,
    Event,
    InputEnded,
    ProfileUsed,
    Resumed,
    SpeechStarted,
    Spoken,
    Started,
    TimePassed,
)
from voiceflow.dialogue.machine import handle
from voiceflow.grammar.meaning import Meaning, NoMatch
from voiceflow.phraseology.commands import CommandName
from voiceflow.reports import wording
from voiceflow.reports.content import build
from voiceflow.reports.html import render
from voiceflow.reports.tables import to_csv

#: https://html.spec.whatwg.org/multipage/syntax.html#void-elements, those a page of ours may use
VOID = {"meta", "wbr", "br", "hr", "img", "link", "input"}


class Page(HTMLParser):
    """Reads a page with the standard library: every tag closed, text by element."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.texts: list[tuple[tuple[str, ...], str]] = []
        self._open: list[str] = []
        self.feed(text)
        self.close()
        assert self._open == []

    @override
    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs
        if tag not in VOID:
            self._open.append(tag)

    @override
    def handle_endtag(self, tag: str) -> None:
        assert self._open.pop() == tag

    @override
    def handle_data(self, data: str) -> None:
        self.texts.append((tuple(self._open), data))

    @property
    def text(self) -> str:
        shown = (data for tags, data in self.texts if not {"style", "title"} & set(tags))
        return " ".join(" ".join(shown).split())


def page_of(run: Run) -> Page:
    return Page(render(build(run.header, run.state, run.events)))


def test_page_holds_everything(full_run: Run) -> None:
    text = page_of(full_run).text.replace("\N{NO-BREAK SPACE}", " ")
    check = full_run.header.check
    for item in check.items:
        assert item.challenge in text
    for outcome in full_run.state.outcomes:
        assert outcome.said in text
    for part in (
        wording.CAUTION,
        "Complete except: 3 findings.",
        "Skerry 42",
        "X-SKR7",
        check.source.document,
        "Voiceflow 0.1.0",
        "pocketsphinx",
        "1100 psi",
        "at least 1200 psi; caution below 1400 psi",
        "OUTSIDE LIMITS",
        "Report to maintenance: Call maintenance, and let nobody sign",
        "−5 °C (Within limits) taken back at 09:30:34",
        "still running at the last event",
        "left, came back",
        "Not understood and asked again: 1",
    ):
        assert " ".join(part.split()) in text, part


def test_page_of_a_recording_gives_times_of_the_run(full_run: Run) -> None:
    header = replace(full_run.header, recording="/home/crew/preparation.wav")
    text = render(build(header, full_run.state, full_run.events))
    page = Page(text).text.replace("\N{NO-BREAK SPACE}", " ")
    assert "begun 2026-11-25 09:30:12 UTC" in page
    assert "from the recording /home/crew/preparation.wav" in page
    assert wording.BY_RUN_TIME in page
    assert "taken back at 00:22" in page
    # in the table of items no time of day is left
    items = text[text.index('id="items"') : text.index('id="course"')]
    assert not re.search(r"\d\d:\d\d:\d\d", items)
    assert wording.BY_RUN_TIME not in page_of(full_run).text


def test_run_times() -> None:
    times = {0.0: "00:00", 59.99: "00:59", 187.2: "03:07", 3723.5: "1:02:03"}
    assert {at_s: wording.run_time(at_s) for at_s in times} == times


def test_findings_come_first(full_run: Run) -> None:
    page = render(build(full_run.header, full_run.state, full_run.events))
    places = [page.index(f'id="{name}"') for name in ("findings", "items", "course", "basis")]
    assert places == sorted(places)
    assert page.index("seal broken") > places[0]
    assert page.count('class="finding"') == 3


def test_page_stands_alone_and_runs_nothing(full_run: Run) -> None:
    page = page_of(full_run)
    assert not {"script", "link", "img", "iframe", "object", "form"} & set(page.tags)
    assert not {name for name, _ in page.attributes} & {"src", "href", "style"}
    assert ("lang", "en") in page.attributes
    assert "url(" not in render(build(full_run.header, full_run.state, full_run.events))


@pytest.mark.parametrize(
    "evil", ["<script>alert(1)</script>", '"><b>x</b>', "a & b < c", "'{{ 7*7 }}'"]
)
def test_every_text_is_escaped(make: Callable[[Check, list[Event]], Run], evil: str) -> None:
    item = make_item("covers", evil, area=evil, expect=(evil,), not_as_expected=(f"not {evil}",))
    check = replace(
        make_check(item), title=evil, aircraft=evil, tail=evil, id=evil, check_digest=evil
    )
    run = make(
        check,
        [
            Started(at_s=0.0),
            heard("covers", wrong(f"not {evil}"), 2.0, text=evil),
            heard("covers", command(CommandName.AFFIRM), 4.0),
        ],
    )
    header = replace(run.header, engine=evil, recording=evil, run_id=evil)
    text = render(build(header, run.state, run.events))
    page = Page(text)
    assert not {"script", "b"} & set(page.tags)
    assert page.text.count(" ".join(evil.split())) >= 10
    assert "49" not in page.text.replace("09:30", "")


def test_times_stand_in_elements_of_their_own(full_run: Run) -> None:
    """Without time elements, resumptions and the run's name, no time of day is left."""
    page = render(build(full_run.header, full_run.state, full_run.events))
    rest = without_times(page)
    assert not re.search(r"\d\d:\d\d", rest)
    assert "2026" not in rest


def without_times(page: str) -> str:
    page = re.sub(r"<p class=\"resumption\">.*?</p>", "", page, flags=re.DOTALL)
    page = re.sub(r"<dd class=\"run-id\">.*?</dd>", "", page)
    return re.sub(r"<time.*?</time>", "<time></time>", page)


def test_slower_and_interrupted_run_is_alike_but_for_times(
    make: Callable[[Check, list[Event]], Run],
) -> None:
    def run(pace: float, *between: Event) -> Run:
        return make(
            make_check(),
            [
                Started(at_s=0.0),
                heard("covers", expected(), 2.0 * pace),
                *between,
                heard("oxygen", reading(1100), 4.0 * pace),
                heard("oxygen", command(CommandName.AFFIRM), 5.0 * pace),
            ],
        )

    reports = [
        build(run.header, run.state, run.events)
        for run in (run(1.0), run(7.3, Resumed(at_s=20.0, clock_at="2026-12-01T00:00:00+00:00")))
    ]
    first, second = (render(report) for report in reports)
    assert first != second
    assert without_times(first) == without_times(second)


def test_every_profile_that_listened_is_named_once(full_run: Run) -> None:
    ann, bob = (ProfileUsed(name=name, digest=name * 20) for name in ("ann", "bob"))
    header = replace(full_run.header, profile=ann)
    resumed = [
        Resumed(at_s=1e4 + place, profile=used) for place, used in enumerate((bob, None, ann))
    ]
    report = build(header, full_run.state, [*full_run.events, *resumed])
    assert report.heading.profiles == (ann, bob)
    page = render(report)
    assert page.count("<dt>Speaker profile</dt>") == 2
    assert bob.digest in page
    assert "Speaker profile" not in render(build(full_run.header, full_run.state, full_run.events))


# ---- contrast


def _luminance(colour: str) -> float:
    channels = [int(part * (2 if len(part) == 1 else 1), 16) / 255 for part in _split(colour)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _split(colour: str) -> list[str]:
    size = len(colour) // 3
    return [colour[place : place + size] for place in range(0, len(colour), size)]


def test_text_has_contrast(full_run: Run) -> None:
    """WCAG 2.2, 1.4.6 (enhanced): 7 to 1, by its own definition of relative luminance."""
    page = render(build(full_run.header, full_run.state, full_run.events))
    inks = set(re.findall(r"[{;]\s*color: #([0-9a-f]+)", page))
    papers = set(re.findall(r"background: #([0-9a-f]+)", page))
    assert inks
    assert papers
    for ink in inks:
        for paper in papers:
            dark, light = sorted((_luminance(ink), _luminance(paper)))
            assert (light + 0.05) / (dark + 0.05) >= 7.0, (ink, paper)


# ---- any run


SOME_CHECK = make_check(
    make_item(), make_gauge(), make_item("door", "Cabin door", expect=("closed",))
)
WORDS = st.text(max_size=12)
MEANINGS = st.one_of(
    st.sampled_from(CommandName).map(command),
    st.sampled_from([expected(), wrong(), expected("closed"), NoMatch(suggestion="x")]),
    st.integers(0, 200).map(lambda tens: reading(tens * 10)),
)
#: Makes an event at a time, heard at the item that is being asked.
Maker = Callable[[float, str], Event]


def _hears(meaning: Meaning, text: str, confidence: float) -> Maker:
    return lambda at_s, item_id: heard(item_id, meaning, at_s, text=text, confidence=confidence)


MAKERS: st.SearchStrategy[Maker] = st.one_of(
    st.builds(_hears, MEANINGS, WORDS, st.floats(0, 1)),
    st.sampled_from(
        [
            lambda at_s, _: SpeechStarted(at_s=at_s),
            lambda at_s, _: TimePassed(at_s=at_s),
            lambda at_s, _: Spoken(at_s=at_s, words="x", completed=True),
            lambda at_s, _: DeviceLost(at_s=at_s, device="Headset"),
            lambda at_s, _: DeviceReturned(at_s=at_s, device="Headset"),
            lambda at_s, _: InputEnded(at_s=at_s),
            lambda at_s, _: Resumed(at_s=at_s),
        ]
    ),
)


@settings(max_examples=60)
@given(makers=st.lists(MAKERS, max_size=25))
def test_any_run_gives_a_page_and_a_table(
    makers: list[Maker],
) -> None:
    events: list[Event] = [Started(at_s=0.0)]
    state = make_run(SOME_CHECK, events).state
    for place, maker in enumerate(makers, start=1):
        events.append(maker(place * 1.5, state.item_id or "covers"))
        state = handle(state, events[-1]).state
    run = make_run(SOME_CHECK, events)
    assert run.state == state
    report = build(run.header, run.state, run.events)
    page = Page(render(report))
    assert wording.ending(report) in page.text.replace("  ", " ")
    assert page.tags.count("article") == len(run.state.open_discrepancies)
    assert len(report.open_rows) + len(run.state.outcomes) == 3
    assert to_csv(report).count("item,") >= 3
    assert all(before.number < after.number for before, after in pairwise(report.rows))
