"""The published number tables, row by row, through the grammar that listens in a run.

Format in tests/published/README.md.
"""

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML

from tests.numbers.listening import listening, understood
from voiceflow.grammar.meaning import NoMatch
from voiceflow.languages.english.numbers import read_number
from voiceflow.numbers.scale import Scale

FOLDER = Path(__file__).parent.parent / "published"
TABLES = ("annex10", "cap413", "us_aim", "us_orders", "group_form", "conflicts", "common_practice")

Row = dict[str, Any]


def load(table: str) -> dict[str, Any]:
    content = YAML(typ="safe").load(FOLDER / f"{table}.yaml")
    assert isinstance(content, dict)
    return content


def make_scale(entry: Row) -> Scale:
    return Scale(
        lowest=Decimal(str(entry["from"])),
        highest=Decimal(str(entry["to"])),
        step=Decimal(str(entry["step"])),
        digits=entry.get("digits", 1),
    )


CONTENT = {table: load(table) for table in TABLES}
SCALES = {
    (table, name): make_scale(entry)
    for table, content in CONTENT.items()
    for name, entry in content["scales"].items()
}
ROWS = [(table, row) for table in TABLES for row in CONTENT[table]["rows"]]
TESTED = [(table, row) for table, row in ROWS if "not_tested" not in row]
REFUSALS = [(table, row) for table in TABLES for row in CONTENT[table]["refusals"]]


def name(entry: object) -> str:
    if isinstance(entry, dict):
        written = entry.get("written") or f"{entry['spoken']} on {entry['scale']}"
        return str(written)
    return str(entry)


def spoken_of(row: Row) -> list[str]:
    spoken = row["spoken"]
    return spoken if isinstance(spoken, list) else [spoken]


@pytest.mark.parametrize(("table", "row"), TESTED, ids=name)
def test_published_words_mean_the_published_number(table: str, row: Row) -> None:
    scale = SCALES[table, row["scale"]]
    for spoken in spoken_of(row):
        assert understood(spoken.split(), scale) == (Decimal(row["value"]),)


@pytest.mark.parametrize(
    ("table", "row"), [(table, row) for table, row in TESTED if "readback" in row], ids=name
)
def test_readback_is_published_or_the_difference_is_explained(table: str, row: Row) -> None:
    read = read_number(Decimal(row["value"]), SCALES[table, row["scale"]])
    if row["readback"]:
        assert read == spoken_of(row)[0]
    else:
        assert read not in spoken_of(row)
        assert row["why"]


@pytest.mark.parametrize(("table", "row"), REFUSALS, ids=name)
def test_refused_words_mean_nothing(table: str, row: Row) -> None:
    assert row["why"]
    scale = SCALES[table, row["scale"]]
    assert listening(scale).meaning(row["spoken"].split()) == NoMatch()


@pytest.mark.parametrize(("table", "row"), ROWS, ids=name)
def test_row_says_where_it_is_from_and_how_far_it_was_verified(table: str, row: Row) -> None:
    assert row["source"]
    assert row["verified"] in {"V", "V2", "C", "M"}
    if row["verified"] == "M":
        assert "from memory" in row["not_tested"]
    assert ("not_tested" in row) != ("value" in row and "scale" in row) or row["verified"] == "M"


@pytest.mark.parametrize("table", TABLES)
def test_every_scale_of_a_table_is_used(table: str) -> None:
    used = {
        row["scale"]
        for row in (*CONTENT[table]["rows"], *CONTENT[table]["refusals"])
        if "scale" in row
    }
    assert used == set(CONTENT[table]["scales"])


def test_no_number_table_is_left_out() -> None:
    assert {path.stem for path in FOLDER.glob("*.yaml")} == {
        *TABLES,
        "cockpit_numbers",  # read by tests/limits
        "standard_words",
        "discipline",
        "pronunciation",
    }
