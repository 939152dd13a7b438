"""The short page for a technical log, and the report for programs."""

import json
from dataclasses import replace
from decimal import Decimal

import pytest
from pydantic import TypeAdapter

from tests.builders import expected, make_check, make_gauge, make_item, reading
from tests.dialogue.conversation import Conversation
from tests.reports.conftest import Run, make_header
from tests.reports.test_html import Page
from voiceflow.checks.model import CheckKind, ComputedLimit, Part, RemedyAction, Source
from voiceflow.dialogue.brief import Brief, CarriedFinding, FindingState
from voiceflow.limits.computed import Conditions
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.prompts import FindingReason
from voiceflow.reports import wording
from voiceflow.reports.content import Report, build
from voiceflow.reports.html import render, render_log
from voiceflow.reports.structured import to_json

CARRIED = CarriedFinding(
    finding_id="20261120-080000-0000/inside.fuel",
    check_id="inside",
    item_id="fuel",
    challenge="Left fuel",
    reason=FindingReason.OUTSIDE_LIMITS,
    phrase=None,
    value=Decimal(900),
    unit="psi",
    action=RemedyAction.MAINTENANCE,
    say=None,
    found_at="2026-11-20T08:10:00+00:00",
    state=FindingState.DEFERRED,
    by="M Sund",
    reference="defect 42",
)


@pytest.fixture(scope="module")
def sector() -> Report:
    """Two checks: one with a finding and an item left open, one complete; signed."""
    items = (
        make_item("outside.covers", "Pitot covers"),
        make_gauge("outside.oxygen"),
        make_item("inside.door", "Cabin door", expect=("closed",)),
        make_gauge("inside.fuel", "Left fuel"),
    )
    source = Source(document="Northmark Air Ferries OM-B (invented)", revision="4")
    parts = tuple(
        Part(
            check_id=check_id,
            title=title,
            kind=CheckKind.FLOW,
            source=source,
            digest=digest,
            items=2,
        )
        for check_id, title, digest in (
            ("outside", "Walk-round", "a" * 64),
            ("inside", "Before start", "b" * 64),
        )
    )
    computed = ComputedLimit(name="crew-oxygen", value=Decimal(1200), unit="psi", basis="2 crew")
    check = replace(
        make_check(*items),
        title="Northmark two one four",
        parts=parts,
        check_digest="c" * 64,
        computed=(computed,),
    )
    brief = Brief(
        flight="NMF214",
        signer="Ada Norberg",
        conditions=Conditions(temperature_c=Decimal(-20), crew=2, hours=Decimal("1.2")),
        carried=(CARRIED,),
    )
    talk = Conversation(check, brief=brief).start()
    talk.say(CommandName.LEAVE_FOR_LATER)
    talk.say(reading(900))
    talk.say(CommandName.AFFIRM)
    talk.say(CommandName.LEAVE_FOR_LATER)
    talk.say(CommandName.CONTINUE)
    talk.say(expected("closed"))
    talk.say(reading(1500))
    talk.wait()
    talk.say(CommandName.AFFIRM, text="affirm")
    header = replace(make_header(check), brief=brief)
    return build(header, talk.state, talk.events)


def page_text(report: Report) -> str:
    return Page(render_log(report)).text.replace("\N{NO-BREAK SPACE}", " ")


def test_the_log_says_what_matters(sector: Report) -> None:
    text = page_text(sector)
    for part in (
        wording.CAUTION,
        "Flight NMF214.",
        "−20 °C, crew of 2, 1.2 h planned",
        "Complete except: 1 item open, 1 finding.",
        "Outside limits: 900 psi",
        "limit at least 1200 psi",
        "Report to maintenance",
        "Outside limits: 900 psi; deferred by M Sund, defect 42",
        "found 2026-11-20",
        "Open items: 1",
        "Walk-round : Complete except: 1 item open, 1 finding.",
        "Before start : Complete.",
        "Worked out: crew-oxygen 1200 psi (2 crew).",
        "a" * 64,
        "b" * 64,
        "c" * 64,
        "Signed aloud by Ada Norberg: complete except 1 item open, 1 finding.",
        "heard “affirm”",
    ):
        assert part in text, part


def test_findings_come_first(sector: Report) -> None:
    page = render_log(sector)
    places = [page.index(f'id="{name}"') for name in ("findings", "carried", "open", "readings")]
    assert places == sorted(places)


def test_the_log_stands_alone(sector: Report) -> None:
    page = Page(render_log(sector))
    assert not {"script", "link", "img", "iframe", "object", "form"} & set(page.tags)
    assert not {name for name, _ in page.attributes} & {"src", "href", "style"}


def test_texts_are_escaped(sector: Report) -> None:
    evil = "<script>alert(1)</script>"
    heading = replace(sector.heading, flight=evil, check_title=evil, tail=evil)
    for page in (render_log(replace(sector, heading=heading)), render(sector)):
        assert "script" not in Page(page).tags


def test_the_link_of_the_journal_is_on_it(sector: Report) -> None:
    assert "e" * 64 in page_text(replace(sector, link="e" * 64))


def test_an_ordinary_run_has_room_for_a_signature(full_run: Run) -> None:
    report = build(full_run.header, full_run.state, full_run.events)
    text = page_text(report)
    assert "Signature, name, date" in text
    assert "Findings: 3" in text
    unsigned = page_text(replace(report, signer="Ada Norberg"))
    assert "Not signed by Ada Norberg." in unsigned


def test_the_long_page_names_checks_signature_and_what_was_carried(sector: Report) -> None:
    text = Page(render(sector)).text.replace("\N{NO-BREAK SPACE}", " ")
    for part in (
        "flight NMF214",
        "Signed aloud by Ada Norberg",
        "Carried over from earlier runs: 1",
        "Walk-round",
        "Complete except: 1 item open, 1 finding",
    ):
        assert part in text, part


def test_json_holds_the_whole_report(sector: Report) -> None:
    text = to_json(sector)
    plain = json.loads(text)
    assert plain["format"] == 1
    assert plain["findings"][0]["value"] == "900"
    assert plain["signature"]["by"] == "Ada Norberg"
    assert plain["heading"]["conditions"]["temperature_c"] == "-20"
    # nothing is lost on the way: it reads back as the very report
    assert (
        TypeAdapter(Report).validate_python({k: v for k, v in plain.items() if k != "format"})
        == sector
    )
