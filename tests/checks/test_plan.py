"""Sector plans: their file, and the one check that they become."""

import json
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import jsonschema
import pytest
from ruamel.yaml import YAML

from voiceflow.checks.loader import load_check
from voiceflow.checks.model import Agreement, InterruptedPolicy, Reference
from voiceflow.checks.plan import Plan, composed, load_plan
from voiceflow.checks.schema import schema_text
from voiceflow.checks.shipped import find_aircraft, find_check, is_plan
from voiceflow.errors import CheckFileError

WHOLE = """
plan: northmark-214
title: Northmark two one four
captain: Ada Norberg
flight: NMF214
off_blocks: "5:40"
taxi: 8 min
slot: {ctot: "00:03"}
hours: 1.2
temperature: -20
elevation: 118
density: 0.804
crew: 2
situation: {flight-of-day: first}
checks:
  - cockpit-preparation
  - {check: before-start, begin: at once}
"""


def written(folder: Path, text: str) -> Path:
    path = folder / "plan.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_plan_says_what_is_known_of_the_flight(tmp_path: Path) -> None:
    path = written(tmp_path, WHOLE)
    assert is_plan(path)
    plan = load_plan(path)
    assert (plan.id, plan.captain, plan.flight) == ("northmark-214", "Ada Norberg", "NMF214")
    assert (plan.off_blocks, plan.ctot, plan.edct, plan.taxi_s) == ("05:40", "00:03", None, 480.0)
    assert (plan.hours, plan.temperature_c, plan.crew) == (Decimal("1.2"), Decimal(-20), 2)
    assert (plan.elevation_ft, plan.density_kg_l) == (Decimal(118), Decimal("0.804"))
    assert plan.situation == {"flight-of-day": "first"}
    assert [(each.name, each.pauses) for each in plan.checks] == [
        ("cockpit-preparation", True),
        ("before-start", False),
    ]
    jsonschema.validate(YAML(typ="safe").load(WHOLE), json.loads(schema_text("plan.schema.json")))


@pytest.mark.parametrize(
    ("change", "rule", "told"),
    [
        (('"5:40"', '"25:40"'), "bad-time", "'25:40'"),
        (('"5:40"', "540"), "bad-time", "540"),
        (('{ctot: "00:03"}', "{}"), "slot-times", "one time"),
        (('{ctot: "00:03"}', '{ctot: "00:03", edct: "00:03"}'), "slot-times", "one time"),
        (("crew: 2", "crew: 0"), "out-of-range", "crew 0"),
        (("crew: 2", "crew: 1.5"), "out-of-range", "whole"),
        (("temperature: -20", "temperature: 80"), "out-of-range", "80"),
        (("density: 0.804", "density: 804"), "out-of-range", "804"),
        (("taxi: 8 min", "taxi: 8"), "bad-duration", "8"),
        (("captain:", "captian:"), "unknown-key", "captian"),
        (("at once", "soon"), "unknown-word", "soon"),
        (("flight: NMF214", "aircraft_file: gone.yaml"), "no-aircraft-file", "gone.yaml"),
    ],
)
def test_every_mistake_has_its_place(
    tmp_path: Path, change: tuple[str, str], rule: str, told: str
) -> None:
    text = WHOLE.replace(*change)
    assert text != WHOLE
    with pytest.raises(CheckFileError) as caught:
        load_plan(written(tmp_path, text))
    (problem,) = caught.value.problems
    assert problem.rule == rule
    assert told in str(caught.value)
    line = text.splitlines()[problem.line - 1]
    assert change[1].split(":", maxsplit=1)[0].strip('{}" ') in line


def the_plan(tmp_path: Path) -> Plan:
    return load_plan(written(tmp_path, WHOLE))


def test_the_checks_of_a_plan_become_one(tmp_path: Path) -> None:
    plan = the_plan(tmp_path)
    checks = [load_check(find_check(each.name)) for each in plan.checks]
    sector = composed(plan, checks)
    assert (sector.id, sector.title, sector.tail) == (plan.id, plan.title, "X-SKR7")
    assert len(sector.items) == sum(len(check.items) for check in checks)
    assert len({item.id for item in sector.items}) == len(sector.items)
    assert [part.check_id for part in sector.parts] == ["cockpit-preparation", "before-start"]
    assert [part.pauses for part in sector.parts] == [True, False]
    assert [part.digest for part in sector.parts] == [check.check_digest for check in checks]
    for index, check in enumerate(checks):
        items = sector.part_items(index)
        assert [item.id for item in items] == [f"{check.id}.{item.id}" for item in check.items]
        assert all(sector.part_index(item.id) == index for item in items)
        # a gauge has one name over many runs, whatever the sector calls the item
        assert {item.reading.series for item in items if item.reading} == {
            item.id for item in check.items if item.reading
        }


def test_what_a_reading_is_compared_with_is_of_its_own_check(tmp_path: Path) -> None:
    plan = the_plan(tmp_path)
    first, second = (load_check(find_check(each.name)) for each in plan.checks)
    reference = Reference(readings=("left-fuel", "right-fuel"), setting="a", qnh="b")
    agreement = Agreement(reference=reference, within=Decimal(40))
    items = tuple(
        replace(item, reading=replace(item.reading, agrees=(agreement,))) if item.reading else item
        for item in first.items
    )
    sector = composed(plan, [replace(first, items=items), second])
    spec = sector.item("cockpit-preparation.left-fuel").reading
    assert spec is not None
    assert spec.agrees[0].reference == Reference(
        readings=("cockpit-preparation.left-fuel", "cockpit-preparation.right-fuel"),
        setting="cockpit-preparation.a",
        qnh="cockpit-preparation.b",
    )


def test_checks_that_do_not_go_together_are_refused(tmp_path: Path) -> None:
    plan = the_plan(tmp_path)
    first = load_check(find_check("before-start"))
    with pytest.raises(CheckFileError, match="stands twice"):
        composed(plan, [first, first])
    with pytest.raises(CheckFileError, match="X-SKR9"):
        composed(plan, [first, replace(first, id="other", tail="X-SKR9")])
    with pytest.raises(CheckFileError, match="language ko"):
        composed(plan, [first, replace(first, id="other", language="ko")])


def test_a_check_is_no_plan() -> None:
    assert not is_plan(find_check("before-start"))
    assert not is_plan(Path("gone.yaml"))


CHECK = """
check: small
title: Small
kind: flow
aircraft: Skerry 42
source: {document: Northmark Air Ferries OM-B (invented), revision: 1}
items:
  - {id: always, challenge: Chocks, expect: [in place]}
  - {id: first, challenge: Fuel drain, expect: [clean sample], when: {flight-of-day: first}}
"""


def test_a_situation_is_asked_for_like_equipment(tmp_path: Path) -> None:
    path = tmp_path / "small.yaml"
    path.write_text(CHECK, encoding="utf-8")
    aircraft = find_aircraft("x-skr7")
    first = load_check(path, aircraft, situation={"flight-of-day": "first"})
    assert [item.id for item in first.items] == ["always", "first"]
    later = load_check(path, aircraft, situation={"flight-of-day": "later"})
    assert [item.id for item in later.items] == ["always"]
    assert first.interrupted is InterruptedPolicy.RESUME
