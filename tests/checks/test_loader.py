"""What a sound check file becomes, and that no file of any kind does worse than be refused."""

import hashlib
from contextlib import suppress
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from voiceflow.checks.loader import load_aircraft, load_check, read_check
from voiceflow.checks.model import (
    CheckKind,
    InterruptedPolicy,
    Limit,
    Remedy,
    RemedyAction,
    Source,
    Wait,
)
from voiceflow.checks.yaml_tree import LARGEST_BYTES, MOST_VALUES, Place, Tree, read_tree
from voiceflow.errors import CheckFileError
from voiceflow.numbers.scale import Scale

DATA = Path(__file__).parent.parent / "data" / "checks"
HEAD = """\
check: c
title: T
kind: flow
aircraft: Skerry 42
source: {document: D, revision: 1}
items:
"""


def rules(error: CheckFileError) -> list[tuple[int, int, str]]:
    return [(each.line, each.column, each.rule) for each in error.problems]


def test_header() -> None:
    check = load_check(DATA / "good.yaml")
    assert (check.id, check.title) == ("good", "Everything that can be written")
    assert check.kind is CheckKind.CHALLENGE_RESPONSE
    assert check.interrupted is InterruptedPolicy.RESTART
    assert (check.language, check.aircraft, check.tail) == ("en", "skerry 42", "X-SKR7")
    assert check.source == Source(document="A book (invented)", revision="4.10")
    assert check.check_digest == hashlib.sha256((DATA / "good.yaml").read_bytes()).hexdigest()
    aircraft = (DATA / "aircraft.yaml").read_bytes()
    assert check.aircraft_digest == hashlib.sha256(aircraft).hexdigest()


def test_items() -> None:
    check = load_check(DATA / "good.yaml")
    # "old-recorder" is for tails whose recorder is automatic
    assert [item.id for item in check.items] == [
        "covers", "oxygen", "volts", "gyro", "heat", "recorder",
    ]  # fmt: skip
    covers = check.item("covers")
    assert covers.expect == ("removed", "both removed")
    assert covers.not_as_expected == ("still fitted",)
    assert covers.critical
    assert covers.outside == Remedy(action=RemedyAction.CAPTAIN, say="Take them off")
    assert (covers.area, covers.line) == ("nose", 10)
    oxygen = check.item("oxygen").reading
    assert oxygen is not None
    assert oxygen.names == ("oxygen",)
    assert oxygen.unit == "psi"  # the gauge's, where the check does not say
    assert oxygen.scale == Scale(lowest=Decimal(0), highest=Decimal(2000), step=Decimal(10))
    assert oxygen.limit == Limit(
        minimum=Decimal(1300),
        maximum=Decimal(1900),
        caution_below=Decimal(1400),
        caution_above=Decimal("1800.5"),
    )
    volts = check.item("volts").reading
    assert volts is not None
    assert (volts.unit, volts.scale.step, volts.limit) == ("V", Decimal("0.1"), Limit())
    gyro = check.item("gyro")
    assert gyro.expect == ("out",)  # what the wait ends with answers the item
    assert gyro.wait == Wait(within_s=10.0, late=Remedy(action=RemedyAction.MAINTENANCE))
    assert check.item("heat").wait == Wait(ready_in_s=90.0, say="Heat is ready")
    assert check.item("recorder").expect == ("on",)  # text, although YAML 1.1 has true


def test_an_item_and_its_place_are_found_by_name() -> None:
    check = load_check(DATA / "good.yaml")
    assert check.position("covers") == 0
    assert check.items[check.position("heat")] is check.item("heat")
    with pytest.raises(KeyError):
        check.item("old-recorder")
    with pytest.raises(KeyError):
        check.position("old-recorder")


def test_aircraft_file_with_a_name_that_no_file_can_have(tmp_path: Path) -> None:
    path = tmp_path / "check.yaml"
    head = HEAD.replace("source:", f"aircraft_file: {'x' * 299}\nsource:")
    path.write_text(head + "  - {id: a, challenge: A, expect: [b]}\n")
    with pytest.raises(CheckFileError) as caught:
        load_check(path)
    assert rules(caught.value) == [(5, 16, "no-aircraft-file")]


def test_items_of_other_tails_are_read_too() -> None:
    read = read_check(DATA / "good.yaml")
    assert [each.is_fitted for each in read.items] == [True] * 6 + [False]


def test_named_aircraft_file_goes_before_the_one_in_the_check(tmp_path: Path) -> None:
    other = tmp_path / "other.yaml"
    text = (
        (DATA / "aircraft.yaml")
        .read_text()
        .replace("X-SKR7", "X-SKR8")
        .replace("manual", "automatic")
    )
    other.write_text(text)
    check = load_check(DATA / "good.yaml", other)
    assert check.tail == "X-SKR8"
    assert [item.id for item in check.items][-1] == "old-recorder"


def test_check_without_an_aircraft_file(tmp_path: Path) -> None:
    path = tmp_path / "check.yaml"
    path.write_text(HEAD + "  - {id: a, challenge: A, expect: [b]}\n")
    check = load_check(path)
    assert (check.tail, check.aircraft_digest) == ("", "")
    assert check.interrupted is InterruptedPolicy.RESUME


def test_durations(tmp_path: Path) -> None:
    path = tmp_path / "check.yaml"
    for text, seconds in [
        ("0.5 s", 0.5),
        ("10s", 10.0),
        ("7 min", 420.0),
        ("1 h 30 min", 5400.0),
        ("24 h", 86400.0),
    ]:
        path.write_text(
            HEAD + f"  - {{id: a, challenge: A, expect: [b], wait: {{ready_in: {text}}}}}\n"
        )
        wait = load_check(path).item("a").wait
        assert wait is not None
        assert wait.ready_in_s == seconds


def test_aircraft() -> None:
    aircraft = load_aircraft(DATA / "aircraft.yaml")
    assert (aircraft.type, aircraft.tail, aircraft.operator) == ("Skerry 42", "X-SKR7", "")
    assert aircraft.equipment == {"recorder": "manual"}
    assert aircraft.gauges["trim"].unit == ""
    assert aircraft.gauges["oxygen"].scale.highest == 2000
    assert aircraft.limits["oxygen-minimum"].value == 1300


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("- a\n", [(1, 1, "wrong-type")]),
        ("aircraft: A\n", [(1, 1, "missing-key")]),
        ("aircraft: A\ntail: B\ngauges: 7\n", [(3, 9, "wrong-type")]),
        ("", [(1, 1, "empty-file")]),
    ],
)
def test_aircraft_problems(text: str, expected: list[tuple[int, int, str]], tmp_path: Path) -> None:
    path = tmp_path / "aircraft.yaml"
    path.write_text(text)
    with pytest.raises(CheckFileError) as caught:
        load_aircraft(path)
    assert rules(caught.value) == expected


def test_aircraft_file_that_is_none_leaves_its_names_alone(tmp_path: Path) -> None:
    (tmp_path / "aircraft.yaml").write_text("- a\n")
    path = tmp_path / "check.yaml"
    path.write_text(HEAD + "  - {id: a, challenge: A, expect: [b], when: {recorder: manual}}\n")
    with pytest.raises(CheckFileError) as caught:
        load_check(path, tmp_path / "aircraft.yaml")
    (problem,) = caught.value.problems
    assert (problem.path.name, problem.rule) == ("aircraft.yaml", "wrong-type")


# --- files that are no check files ---


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (b"", (1, 1, "empty-file")),
        (b"check: c\ntitle: caf\xe9\n", (2, 11, "not-utf-8")),
        ("check: c\n".encode("utf-16"), (1, 1, "not-utf-8")),
        (b"check: c\nt\0", (2, 2, "not-utf-8")),
        (b"#" * (LARGEST_BYTES + 1), (1, 1, "too-large")),
        (b"[" * 200, (1, 51, "syntax")),
        (b'check: "\\UFFFFFFFF"\n', (1, 1, "syntax")),
    ],
)
def test_unusable_bytes(data: bytes, expected: tuple[int, int, str], tmp_path: Path) -> None:
    path = tmp_path / "check.yaml"
    path.write_bytes(data)
    with pytest.raises(CheckFileError) as caught:
        load_check(path)
    assert rules(caught.value) == [expected]


def test_missing_file_folder_and_impossible_name(tmp_path: Path) -> None:
    for path in (tmp_path / "none.yaml", tmp_path, Path("a\0b"), tmp_path / ("x" * 300)):
        with pytest.raises(CheckFileError) as caught:
            load_check(path)
        assert rules(caught.value) == [(1, 1, "unreadable")]


def test_byte_order_mark_is_passed_over(tmp_path: Path) -> None:
    path = tmp_path / "check.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + (HEAD + "  - {id: a, challenge: A, expect: [b]}\n").encode())
    assert load_check(path).id == "c"


def test_aliases_that_multiply_are_stopped(tmp_path: Path) -> None:
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 10)}]" for n in range(1, 9)]
    path = tmp_path / "check.yaml"
    path.write_text("\n".join(lines))
    tree = read_tree(path)
    assert [problem.rule for problem in tree.problems] == ["too-large"]
    assert len(tree.values_at) <= MOST_VALUES * 3


def test_place_of_what_is_not_there_is_that_of_what_is_around_it(tmp_path: Path) -> None:
    tree = Tree(path=tmp_path, values_at={(): Place(), ("a",): Place(line=3, column=4)})
    assert tree.place(("a", "b", 7)) == Place(line=3, column=4)
    assert Tree(path=tmp_path).place(("a",), of_key=True) == Place()


# --- whatever stands in the file ---

_scalars = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(10**14), 10**14).map(str),
    st.decimals(allow_nan=True, allow_infinity=True, places=3).map(str),
    st.sampled_from(
        [
            "flow",
            "removed",
            "10 s",
            "crew-oxygen",
            "manual",
            "aircraft.yaml",
            '"on"',
            "off",
            "~",
            "*a",
            "&a b",
            "!t x",
        ]
    ),
)
_keys = st.sampled_from(
    ["check", "title", "kind", "language", "aircraft", "aircraft_file", "source", "document", "revision", "interrupted", "items", "id", "area", "challenge", "expect", "not_as_expected", "reading", "names", "unit", "scale", "from", "to", "step", "minimum", "maximum", "caution", "below", "above", "compute", "wait", "until", "within", "late", "ready_in", "say", "when", "critical", "outside", "action", "recorder", "ScaleMarks", "1"]
)  # fmt: skip
_trees = st.recursive(
    _scalars,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(_keys, inner, max_size=6),
    max_leaves=25,
)


def flow_yaml(value: object) -> str:
    match value:
        case dict():
            return (
                "{" + ", ".join(f"{key}: {flow_yaml(inner)}" for key, inner in value.items()) + "}"
            )
        case list():
            return "[" + ", ".join(map(flow_yaml, value)) + "]"
        case None:
            return "null"
        case _:
            return str(value)


def load_or_refuse(path: Path, data: bytes) -> None:
    path.write_bytes(data)
    with suppress(CheckFileError):
        load_aircraft(path)
    read = read_check(path)
    assert (read.check is None) == bool(read.problems)
    assert all(problem.line >= 1 and problem.column >= 1 for problem in read.problems)


FUZZ = settings(
    deadline=None, max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


@FUZZ
@given(value=st.dictionaries(_keys, _trees, max_size=8))
def test_any_values_are_loaded_or_refused(value: dict[str, object], tmp_path: Path) -> None:
    load_or_refuse(tmp_path / "check.yaml", flow_yaml(value).encode())


@FUZZ
@given(value=st.dictionaries(_keys, _trees, max_size=8))
def test_any_item_is_loaded_or_refused(value: dict[str, object], tmp_path: Path) -> None:
    text = f"{HEAD}  - {flow_yaml({'id': 'a', 'challenge': 'b', **value})}\n"
    load_or_refuse(tmp_path / "check.yaml", text.encode())


@FUZZ
@given(text=st.text(alphabet=st.sampled_from("ab:-[]{}&*!|>%@'\"#? \n\t,0.~<=\u00e9\ufeff\x85")))
def test_any_text_is_loaded_or_refused(text: str, tmp_path: Path) -> None:
    load_or_refuse(tmp_path / "check.yaml", text.encode())


@FUZZ
@given(data=st.binary(max_size=60))
def test_any_bytes_are_loaded_or_refused(data: bytes, tmp_path: Path) -> None:
    load_or_refuse(tmp_path / "check.yaml", data)


@FUZZ
@given(data=st.data())
def test_a_damaged_file_is_loaded_or_refused(data: st.DataObject, tmp_path: Path) -> None:
    text = (DATA / "good.yaml").read_text()
    start = data.draw(st.integers(0, len(text)))
    end = data.draw(st.integers(start, min(len(text), start + 12)))
    put = data.draw(st.text(alphabet="ab:-[]{}&*!'\"#? \n0.", max_size=4))
    load_or_refuse(tmp_path / "check.yaml", (text[:start] + put + text[end:]).encode())
