"""Every row of tests/published/cockpit_numbers.yaml, by the way a check file reaches it."""

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML

from tests.builders import expected, make_check, make_item, wrong
from tests.dialogue.conversation import Conversation
from voiceflow.checks.model import Agreement, Limit, Reference, Remedy, RemedyAction, Wait
from voiceflow.grammar.meaning import Response
from voiceflow.limits.atmosphere import altitude_ft, pressure_hpa
from voiceflow.limits.computed import Conditions
from voiceflow.limits.cross_check import TakenReading, compare
from voiceflow.limits.fuel import fuel_in
from voiceflow.limits.judge import Verdict, judge
from voiceflow.limits.oxygen import Cylinder, lasting_min
from voiceflow.limits.servicing import first_mark_above, oil_needed
from voiceflow.limits.units import convert
from voiceflow.numbers.scale import Scale
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.prompts import FindingReason

Row = dict[str, Any]
TABLES: dict[str, list[Row]] = YAML(typ="safe").load(
    Path(__file__).parent.parent / "published" / "cockpit_numbers.yaml"
)
ALTIMETERS = {row["id"]: row for row in TABLES["altimeters"]}
PRACTICE = {row["id"]: row for row in TABLES["practice"]}


def test_every_row_says_where_it_is_from() -> None:
    rows = [row for name, table in TABLES.items() if name != "document" for row in table]
    for row in rows:
        assert row["source"]
        assert row["verified"] in {"V", "V2", "C"}
    for row in TABLES["practice"]:
        assert row["source"].startswith("common practice, no source")


@pytest.mark.parametrize("row", TABLES["conversions"], ids=lambda r: f"{r['value']} {r['from']}")
def test_conversions(row: Row) -> None:
    found = convert(row["value"], row["from"], row["to"])
    assert found == pytest.approx(row["gives"], abs=row["within"])


@pytest.mark.parametrize(
    "row", TABLES["fuel"], ids=lambda r: f"{r['value']} {r['from']} in {r['to']} at {r['density']}"
)
def test_fuel_and_readings_of_it(row: Row) -> None:
    found = fuel_in(row["value"], row["from"], row["to"], row["density"])
    assert found == pytest.approx(row["gives"], abs=row["within"])
    # a gauge that shows just that agrees with the truck's meter, one that is off does not
    agreement = Agreement(
        reference=Reference(readings=("uplift",), density=Decimal(str(row["density"]))),
        within=Decimal(str(row["within"])),
    )
    taken = {"uplift": TakenReading(value=Decimal(str(row["value"])), unit=row["from"])}
    shown = Decimal(str(row["gives"]))
    for off, agrees in ((0, True), (2, False), (-2, False)):
        value = shown + off * Decimal(str(row["within"]))
        difference = compare(value, row["to"], agreement, taken, Conditions())
        assert difference is not None
        assert difference.is_within is agrees


@pytest.mark.parametrize("row", TABLES["atmosphere"], ids=lambda r: f"{r['ft']} ft")
def test_the_standard_atmosphere(row: Row) -> None:
    assert pressure_hpa(row["ft"]) == pytest.approx(row["hpa"], abs=row["within"])
    # and back
    assert altitude_ft(pressure_hpa(row["ft"])) == pytest.approx(row["ft"], abs=1e-3)


@pytest.mark.parametrize("name", ["field", "australia"])
@pytest.mark.parametrize("elevation_ft", [-20, 118, 5431])
@pytest.mark.parametrize("unit", ["ft", "m"])
def test_how_far_an_altimeter_may_be_off(name: str, elevation_ft: int, unit: str) -> None:
    allowed_ft = ALTIMETERS[name]["apart_ft"]
    allowed = Decimal(repr(round(convert(allowed_ft, "ft", unit), 6)))
    agreement = Agreement(reference=Reference(elevation=True), within=allowed)
    day = Conditions(elevation_ft=Decimal(elevation_ft))
    for off_ft, agrees in ((0, True), (allowed_ft, True), (allowed_ft + 1, False)):
        for sign in (1, -1):
            shown_ft = elevation_ft + sign * off_ft
            shown = Decimal(repr(round(convert(shown_ft, "ft", unit), 6)))
            difference = compare(shown, unit, agreement, {}, day)
            assert difference is not None
            assert difference.is_within is agrees


@pytest.mark.parametrize("name", ["hectopascal", "hundredth", "seventy-five"])
def test_what_a_step_of_the_setting_is_worth(name: str) -> None:
    row = ALTIMETERS[name]
    unit = row["setting"]
    at_sea_level = Decimal(repr(round(convert(1013.25, "hPa", unit), 6)))
    agreement = Agreement(reference=Reference(setting="left", qnh="qnh"), within=Decimal(75))
    shown = []
    for setting in (at_sea_level, at_sea_level + Decimal(str(row["step"]))):
        taken = {
            "left": TakenReading(value=setting, unit=unit),
            "qnh": TakenReading(value=Decimal("1013.25"), unit="hPa"),
        }
        difference = compare(
            Decimal(0), "ft", agreement, taken, Conditions(elevation_ft=Decimal(0))
        )
        assert difference is not None
        shown.append(difference.expected)
    assert shown[1] - shown[0] == pytest.approx(row["feet"], abs=row["within"])


@pytest.mark.parametrize("name", ["oxygen-short-trip", "oxygen-comfortable"])
def test_practice_of_crew_oxygen(name: str) -> None:
    """Two of a crew at 3.9 litres a minute, 11 litres: invented, of a usual size."""
    row = PRACTICE[name]
    bottle = Cylinder(volume_l=11.0, full_psi=1850.0, empty_psi=50.0)
    assert lasting_min(bottle, row["psi"], 15.0, 2, 3.9) > row["lasts_min"]


def test_practice_of_oil() -> None:
    """Two engines at half a quart an hour for eight hours, ten quarts at the end: invented."""
    assert oil_needed(10.0, 0.5, 8.0) <= PRACTICE["oil"]["quarts"]


def test_practice_of_hydraulic_contents() -> None:
    row = PRACTICE["hydraulic"]
    scale = Scale(lowest=Decimal(0), highest=Decimal(120), step=Decimal(1))
    limit = Limit(
        minimum=first_mark_above(Decimal(row["refill_at"]), scale),
        maximum=Decimal(row["full_at"]),
    )
    for percent, verdict in (
        (row["refill_at"], Verdict.OUTSIDE),
        (row["refill_at"] + 1, Verdict.WITHIN),
        (row["full_at"], Verdict.WITHIN),
        (row["full_at"] + 1, Verdict.OUTSIDE),
    ):
        assert judge(Decimal(percent), limit) is verdict


@pytest.mark.parametrize(
    ("after_s", "answer", "reason"),
    [
        (-1.0, expected("out"), None),
        (1.5, expected("out"), FindingReason.LATE),
        (1.5, wrong("still lit"), FindingReason.NOT_AS_EXPECTED),
    ],
)
def test_practice_of_a_battery_fed_lamp(
    after_s: float, answer: Response, reason: FindingReason | None
) -> None:
    within_s = float(PRACTICE["battery-lamp"]["out_within_s"])
    lamp = make_item(
        "lamp",
        "Battery lamp",
        expect=("out",),
        not_as_expected=("still lit",),
        wait=Wait(within_s=within_s, late=Remedy(action=RemedyAction.MAINTENANCE)),
    )
    talk = Conversation(make_check(lamp)).start()
    # the time runs from the end of the challenge to the beginning of the answer, which took
    # a second
    talk.say(answer, after_s=within_s + after_s)
    if reason is FindingReason.NOT_AS_EXPECTED:
        talk.say(CommandName.AFFIRM)
    found = [each.reason for each in talk.state.open_discrepancies]
    assert found == ([] if reason is None else [reason])
