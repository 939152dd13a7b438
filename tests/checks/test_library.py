"""The library of the Skerry 42: every check on both tails, heard and run as written."""

from collections.abc import Iterator
from decimal import Decimal
from functools import cache

import pytest

from voiceflow.checks.loader import load_aircraft, load_check
from voiceflow.checks.model import Check, Item, ReadingSpec, Reference
from voiceflow.checks.shipped import find_aircraft, find_check, shipped_aircraft, shipped_checks
from voiceflow.grammar.item_grammar import compile_item
from voiceflow.grammar.meaning import Meaning, Reading, Response, ResponseState
from voiceflow.languages.registry import language
from voiceflow.limits.computed import SOME_DAY, computing
from voiceflow.limits.cross_check import TakenReading, compare
from voiceflow.limits.judge import Verdict, judge
from voiceflow.lint.registry import lint_check

ENGLISH = language("en")
CHECKS = tuple(path.stem for path in shipped_checks())
TAILS = tuple(path.stem for path in shipped_aircraft())
EVERY = pytest.mark.parametrize("tail", TAILS)
EACH = pytest.mark.parametrize("name", CHECKS)
#: Values of a gauge that are tried in all their spoken forms.
TRIED = 12


@cache
def loaded(name: str, tail: str) -> Check:
    return load_check(find_check(name), find_aircraft(tail), compute=computing(SOME_DAY))


def ids(name: str, tail: str) -> set[str]:
    return {item.id for item in loaded(name, tail).items}


@EVERY
@EACH
def test_every_check_loads_for_every_tail(name: str, tail: str) -> None:
    check = loaded(name, tail)
    assert check.id == name
    assert check.tail == load_aircraft(find_aircraft(tail)).tail
    assert len(check.items) >= 12


#: What one tail is asked and the other is not: equipment, as the two files have it.
DIFFERENCES = {
    "power-up-safety": (set(), {"cabin-heater", "battery-temperature"}),
    "walk-round": ({"wing-boots", "tail-stand"}, {"deicing-fluid", "heater-exhaust"}),
    "cockpit-preparation": ({"tail-stand", "deicing-boots", "recorder-switch"}, {"cabin-heater"}),
    "instruments-and-fuel": (set(), set()),
    "before-start": (set(), set()),
    "after-landing": ({"deicing-boots", "brake-temperature"}, {"deicing-pump", "cabin-heater"}),
    "transit": ({"tail-stand"}, set()),
    "shutdown-and-securing": (
        {"propeller-brake", "recorder-switch", "tail-stand"},
        {"cabin-heater"},
    ),
}


@EACH
def test_tails_differ_as_their_equipment_does(name: str) -> None:
    here, there = ids(name, "x-skr7"), ids(name, "x-skr9")
    assert (here - there, there - here) == DIFFERENCES[name]


def test_tails_have_other_gauges_and_limits() -> None:
    seven, nine = (load_aircraft(find_aircraft(tail)) for tail in TAILS)
    # a check that loads for one must find every name in the other
    assert set(seven.equipment) == set(nine.equipment)
    assert set(seven.gauges) == set(nine.gauges)
    assert set(seven.limits) == set(nine.limits)
    assert (seven.gauges["altimeter-setting"].unit, nine.gauges["altimeter-setting"].unit) == (
        "hPa",
        "inHg",
    )
    assert seven.gauges["crew-oxygen"] != nine.gauges["crew-oxygen"]
    assert seven.oxygen != nine.oxygen
    assert seven.oil != nine.oil
    assert len([name for name in seven.limits if seven.limits[name] != nine.limits[name]]) >= 12


@EVERY
@EACH
def test_lint_is_silent(name: str, tail: str) -> None:
    assert lint_check(find_check(name), find_aircraft(tail)) == []


@EVERY
def test_situation_is_that_of_a_first_flight_where_nobody_names_one(tail: str) -> None:
    equipment = load_aircraft(find_aircraft(tail)).equipment
    assert (equipment["flight-of-day"], equipment["stop"]) == ("first", "night")


@pytest.mark.parametrize(
    ("name", "situation", "gone", "new"),
    [
        (
            "power-up-safety",
            {"flight-of-day": "later"},
            {"fire-bottles", "emergency-lights", "standby-horizon"},
            set(),
        ),
        (
            "walk-round",
            {"flight-of-day": "later"},
            {"left-fuel-drain", "right-fuel-drain"},
            set(),
        ),
        (
            "shutdown-and-securing",
            {"stop": "transit"},
            {"battery-switch", "pitot-covers", "intake-plugs", "gust-locks", "nose-gear-pin"}
            | {"doors"},
            {"ground-power"},
        ),
    ],
)
def test_situation_changes_what_is_asked(
    name: str, situation: dict[str, str], gone: set[str], new: set[str]
) -> None:
    usual = ids(name, "x-skr7")
    check = load_check(find_check(name), compute=computing(SOME_DAY), situation=situation)
    there = {item.id for item in check.items}
    assert (usual - there, there - usual) == (gone, new)


def test_what_moves_radiates_or_sparks_is_asked_before_power_is_on() -> None:
    """Common practice, no source: levers, radar, pumps, heat and ignition before power."""
    items = loaded("power-up-safety", "x-skr9").items
    first_on = next(index for index, item in enumerate(items) if item.area == "power on")
    before = {item.id for item in items[:first_on]}
    assert {
        *("chocks", "technical-log", "battery-switch", "gear-lever", "parking-brake"),
        *("flap-lever", "power-levers", "fuel-levers", "weather-radar", "windscreen-wipers"),
        *("hydraulic-pumps", "probe-heat", "ignition", "cabin-heater"),
    } <= before
    critical = {item.id for item in items if item.critical}
    assert {"gear-lever", "parking-brake", "weather-radar", "ignition"} <= critical


def test_walk_round_passes_every_place_once() -> None:
    for tail in TAILS:
        areas = [item.area for item in loaded("walk-round", tail).items]
        order = [area for index, area in enumerate(areas) if index == 0 or area != areas[index - 1]]
        assert order == [
            *("nose", "left wing", "left main gear", "tail", "right main gear", "right wing"),
        ]


def test_waits_of_the_library() -> None:
    """Waits that come due in the next check, in this one, and an answer in time."""
    ready = {
        (name, item.id): item.wait.ready_in_s
        for name in CHECKS
        for item in loaded(name, "x-skr7").items
        if item.wait is not None and item.wait.ready_in_s is not None
    }
    assert ready["power-up-safety", "heading-reference"] == 480
    assert ready["power-up-safety", "ice-detector"] == 180
    assert ready["shutdown-and-securing", "power-levers"] == 120
    assert ready["shutdown-and-securing", "propeller-brake"] == 25
    turbines = loaded("shutdown-and-securing", "x-skr7").item("turbine-temperature").wait
    assert turbines is not None
    assert turbines.within_s == 30


# --- every phrase is understood as itself ---


def tried_values(reading: ReadingSpec) -> Iterator[Decimal]:
    values = list(reading.scale.values())
    yield from values[:: max(1, len(values) // TRIED)]
    yield values[-1]


def expected_meanings(item: Item) -> Iterator[tuple[str, Meaning]]:
    for state, phrases in (
        (ResponseState.AS_EXPECTED, item.expect),
        (ResponseState.NOT_AS_EXPECTED, item.not_as_expected),
    ):
        for phrase in phrases:
            for words in (phrase, f"{item.challenge} {phrase}"):
                yield words, Response(phrase=phrase, state=state)


@EVERY
@EACH
def test_every_phrase_is_understood_as_itself(name: str, tail: str) -> None:
    for item in loaded(name, tail).items:
        grammar = compile_item(item, ENGLISH)
        for text, meaning in expected_meanings(item):
            assert grammar.meaning(ENGLISH.tokenise(text)) == meaning, (item.id, text)
        if item.reading is None:
            continue
        units = ENGLISH.unit_words.get(item.reading.unit, ())
        for value in tried_values(item.reading):
            wanted = Reading(value=value, unit=item.reading.unit)
            for form in ENGLISH.spoken_forms(value, item.reading.scale):
                assert grammar.meaning(form) == wanted, (item.id, form)
                for lead in item.reading.names[:1]:
                    words = (*ENGLISH.tokenise(lead), *form, *ENGLISH.tokenise(" ".join(units[:1])))
                    assert grammar.meaning(words) == wanted, (item.id, words)


@EVERY
@EACH
def test_every_gauge_can_show_something_good(name: str, tail: str) -> None:
    for item in loaded(name, tail).items:
        if item.reading is not None:
            verdicts = {judge(value, item.reading.limit) for value in item.reading.scale.values()}
            assert Verdict.WITHIN in verdicts, item.id


# --- one reading against another ---


#: What is held against what, by check: reading -> what it is compared with.
AGREEMENTS = {
    "instruments-and-fuel": {
        "left-setting": {"qnh"},
        "left-altimeter": {"elevation"},
        "right-setting": {"left-setting"},
        "right-altimeter": {"elevation", "left-altimeter"},
        "right-clock": {"left-clock"},
        "outside-air": {"temperature"},
        "right-fuel": {"left-fuel"},
        "fuel-total": {"left-fuel + right-fuel", "fuel-before + uplift"},
    },
    "transit": {
        "left-setting": {"qnh"},
        "left-altimeter": {"left-setting with qnh"},
        "right-setting": {"left-setting"},
        "right-altimeter": {"right-setting with qnh", "left-altimeter"},
        "right-fuel": {"left-fuel"},
        "fuel-total": {"left-fuel + right-fuel", "fuel-before + uplift"},
    },
    "walk-round": {"right-tyre": {"left-tyre"}},
    "shutdown-and-securing": {"right-fuel": {"left-fuel"}},
}


def compared_with(reference: Reference) -> str:
    if reference.elevation:
        return "elevation"
    if reference.temperature:
        return "temperature"
    if reference.setting is not None:
        return f"{reference.setting} with {reference.qnh}"
    return " + ".join(reference.readings)


@EVERY
@EACH
def test_readings_are_held_against_each_other(name: str, tail: str) -> None:
    found = {
        item.id: {compared_with(each.reference) for each in item.reading.agrees}
        for item in loaded(name, tail).items
        if item.reading is not None and item.reading.agrees
    }
    assert found == AGREEMENTS.get(name, {})


def differ(name: str, tail: str, item_id: str, value: str, taken: dict[str, str]) -> list[bool]:
    """Tell for each comparison of an item whether it comes out within."""
    check, day = loaded(name, tail), SOME_DAY
    readings = {item.id: item.reading for item in check.items if item.reading is not None}
    spec = readings[item_id]
    known = {
        each: TakenReading(value=Decimal(number), unit=readings[each].unit)
        for each, number in taken.items()
    }
    found = [compare(Decimal(value), spec.unit, each, known, day) for each in spec.agrees]
    return [each.is_within for each in found if each is not None]


@EVERY
def test_uplift_in_litres_meets_kilograms(tail: str) -> None:
    """1000 L at 0.80 kg/L are 800 kg: inside the 775 to 840 kg/m3 of Jet A-1 at 15 C."""
    taken = {"left-fuel": "700", "right-fuel": "700", "fuel-before": "600", "uplift": "1000"}
    assert differ("instruments-and-fuel", tail, "fuel-total", "1400", taken) == [True, True]
    # a gauge that lags by 200 kg, and a ticket for 300 L more than went in
    assert differ("instruments-and-fuel", tail, "fuel-total", "1200", taken) == [False, False]
    more = {**taken, "uplift": "1300"}
    assert differ("instruments-and-fuel", tail, "fuel-total", "1400", more) == [True, False]


@EVERY
def test_altimeter_is_within_75_ft_of_the_elevation(tail: str) -> None:
    """FAA AIM 7-2-3: a difference over 75 ft is questionable. The day is at sea level."""
    for value, within in (("70", True), ("80", False), ("-70", True), ("-80", False)):
        assert differ("instruments-and-fuel", tail, "left-altimeter", value, {}) == [within]


@pytest.mark.parametrize(
    ("tail", "qnh", "other", "shown"),
    [("x-skr7", "1013", "1010", "-80"), ("x-skr9", "29.92", "29.83", "-80")],
)
def test_altimeter_is_judged_by_what_its_setting_shows(
    tail: str, qnh: str, other: str, shown: str
) -> None:
    """27.3 ft for 1 hPa, 9.25 ft for 0.01 inHg at sea level, by the standard atmosphere."""
    right = {"qnh": qnh, "left-setting": other}
    assert differ("transit", tail, "left-altimeter", shown, right) == [True]
    assert differ("transit", tail, "left-altimeter", "0", right) == [False]


def test_a_clock_may_be_a_minute_off() -> None:
    for value, within in (("513", True), ("511", True), ("514", False)):
        taken = {"left-clock": "512"}
        assert differ("instruments-and-fuel", "x-skr7", "right-clock", value, taken) == [within]


@EACH
def test_nothing_critical_may_wait(name: str) -> None:
    for tail in TAILS:
        for item in loaded(name, tail).items:
            assert not (item.may_wait and item.critical), item.id
    may_wait = {item.id for item in loaded("walk-round", "x-skr7").items if item.may_wait}
    assert may_wait == {"nose-strut", "left-brake-wear", "right-brake-wear"}
