"""The shipped files: found by name, sound, and as many-sided as they claim."""

import json
from itertools import chain
from pathlib import Path

import jsonschema
import pytest
from ruamel.yaml import YAML

from voiceflow.checks.loader import load_aircraft, load_check
from voiceflow.checks.model import Check, CheckKind
from voiceflow.checks.schema import SCHEMAS, schema_text, write_schemas
from voiceflow.checks.shipped import (
    find_aircraft,
    find_check,
    grammars_folder,
    shipped_aircraft,
    shipped_checks,
)
from voiceflow.errors import UsageError
from voiceflow.limits.computed import SOME_DAY, computing

DATA = Path(__file__).parent.parent / "data" / "checks"


def loaded(path: Path) -> Check:
    return load_check(path, compute=computing(SOME_DAY))


def test_names() -> None:
    assert [path.stem for path in shipped_checks()] == [
        "after-landing",
        "before-start",
        "cockpit-preparation",
        "instruments-and-fuel",
        "power-up-safety",
        "shutdown-and-securing",
        "transit",
        "walk-round",
    ]
    assert [path.stem for path in shipped_aircraft()] == ["x-skr7", "x-skr9"]


def test_found_by_name_and_by_path(tmp_path: Path) -> None:
    assert find_check("before-start") in shipped_checks()
    assert find_aircraft("x-skr7") in shipped_aircraft()
    own = tmp_path / "own.yaml"
    own.write_text("check: own\n")
    assert find_check(str(own)) == own


def test_unknown_name_is_answered_with_the_nearest() -> None:
    with pytest.raises(UsageError) as caught:
        find_check("cockpit-preperation")
    assert "Did you mean cockpit-preparation?" in caught.value.remedy
    with pytest.raises(UsageError) as caught:
        find_aircraft("zzz")
    assert caught.value.remedy == "Shipped: x-skr7, x-skr9."


def test_installed_files_go_before_the_checkout(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    package = tmp_path / "voiceflow"
    package.mkdir()
    monkeypatch.setattr("voiceflow.__file__", str(package / "__init__.py"))
    assert grammars_folder() == tmp_path / "grammars"
    (package / "_grammars").mkdir()
    assert grammars_folder() == package / "_grammars"


def test_cockpit_preparation_is_a_flow_with_everything_in_it() -> None:
    check = load_check(find_check("cockpit-preparation"))
    assert check.kind is CheckKind.FLOW
    assert check.tail == "X-SKR7"
    assert len(check.items) >= 32
    areas = {item.area.split(",")[0] for item in check.items if item.area}
    assert {"walk-round", "emergency equipment", "overhead", "warning tests", "main panel"} <= areas
    assert check.item("gyro-warning").wait is not None
    assert any(item.wait and item.wait.within_s == 10.0 for item in check.items)
    assert any(item.wait and item.wait.ready_in_s == 420.0 for item in check.items)
    assert any(item.critical for item in check.items)
    # this tail's heater burns no fuel, so it has no fuel valve
    assert "cabin-heater" not in [item.id for item in check.items]


def test_before_start_is_challenge_and_response() -> None:
    check = load_check(find_check("before-start"))
    assert check.kind is CheckKind.CHALLENGE_RESPONSE
    assert len(check.items) >= 13


def test_at_least_six_different_gauges() -> None:
    items = chain.from_iterable(loaded(path).items for path in shipped_checks())
    gauges = {(item.reading.unit, item.reading.scale) for item in items if item.reading}
    assert len(gauges) >= 6


def test_aircraft_of_another_kind_has_other_items(tmp_path: Path) -> None:
    text = find_aircraft("x-skr7").read_text(encoding="utf-8")
    other = tmp_path / "x-skr8.yaml"
    other.write_text(
        text.replace("recorder: manual", "recorder: automatic").replace("X-SKR7", "X-SKR8")
    )
    here = {item.id for item in load_check(find_check("cockpit-preparation")).items}
    there = {item.id for item in load_check(find_check("cockpit-preparation"), other).items}
    assert here - there == {"recorder-switch"}


@pytest.mark.parametrize(
    "path", [*shipped_checks(), *shipped_aircraft()], ids=lambda path: path.stem
)
def test_file_opens_with_its_schema_and_the_cautions(path: Path) -> None:
    head = path.read_text(encoding="utf-8").split("\ncheck:")[0].split("\naircraft:")[0]
    first, *_ = head.splitlines()
    assert first.startswith("# yaml-language-server: $schema=")
    assert (path.parent / first.partition("=")[2]).is_file()
    words = " ".join(line.removeprefix("#").strip() for line in head.splitlines())
    assert "invented" in words
    assert "practice" in words
    assert "approved documents, the flight manual and local rules prevail" in words


# --- JSON Schema ---


@pytest.mark.parametrize("name", SCHEMAS)
def test_shipped_schema_is_current(name: str, tmp_path: Path) -> None:
    write_schemas(tmp_path)
    current = (tmp_path / name).read_text(encoding="utf-8")
    assert current == schema_text(name)
    assert (grammars_folder() / name).read_text(encoding="utf-8") == current, (
        "write it anew with voiceflow.checks.schema.write_schemas"
    )


def problems(name: str, path: Path) -> list[str]:
    # outside reference: jsonschema, an implementation of the standard by other people
    schema = json.loads(schema_text(name))
    jsonschema.Draft202012Validator.check_schema(schema)
    value = YAML(typ="safe").load(path)
    return [error.message for error in jsonschema.Draft202012Validator(schema).iter_errors(value)]


def test_schema_agrees_with_the_loader_on_sound_files() -> None:
    for path in (*shipped_checks(), DATA / "good.yaml"):
        loaded(path)
        assert problems("check.schema.json", path) == []
    for path in (*shipped_aircraft(), DATA / "aircraft.yaml"):
        load_aircraft(path)
        assert problems("aircraft.schema.json", path) == []


def test_schema_finds_what_a_shape_can_tell() -> None:
    assert len(problems("check.schema.json", DATA / "five-mistakes.yaml")) == 2  # expct, within
    assert len(problems("aircraft.schema.json", DATA / "broken-aircraft.yaml")) == 2
