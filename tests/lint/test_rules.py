"""Each rule's manual is true: what it says passes does, and what it says fails does."""

import importlib
import re
import textwrap
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import pytest

import voiceflow.lint
from tests.lint.dictionary import DICTIONARY, engine_phones
from voiceflow.checks.loader import read_check
from voiceflow.checks.own_words import load_own_words
from voiceflow.checks.problem import Problem, Severity
from voiceflow.checks.shipped import shipped_checks
from voiceflow.errors import CheckFileError
from voiceflow.languages.registry import language
from voiceflow.lint.registry import RULES, lint_check
from voiceflow.lint.subject import Subject
from voiceflow.session.vocabulary import load_own_check

HEAD = """\
check: snippet
title: Snippet
kind: flow
aircraft: Skerry 42
source: {document: A book (invented), revision: 1}
items:
"""
FIRST_LINE = HEAD.count("\n") + 1


def module_of(rule: str) -> ModuleType:
    return importlib.import_module(f"voiceflow.lint.{rule.replace('-', '_')}")


def snippets(rule: str, word: str) -> list[str]:
    """Give the items under each "Passes::" or "Fails::" of a rule's manual."""
    manual = module_of(rule).__doc__ or ""
    blocks = re.findall(rf"^{word}::\n\n((?:    .*\n|\n)+)", manual + "\n", re.MULTILINE)
    return [textwrap.dedent(block) for block in blocks]


def lint(folder: Path, items: str, own_text: str | None = None) -> list[Problem]:
    path = folder / "check.yaml"
    path.write_text(HEAD + textwrap.indent(items, "  "), encoding="utf-8")
    own = None
    if own_text is not None:
        (folder / "own-words.yaml").write_text(own_text, encoding="utf-8")
        own = load_own_words(folder / "own-words.yaml")
    return lint_check(path, phones=engine_phones, own=own)


def own_words_of(rule: str) -> str | None:
    """Give the personal file that a rule's manual goes with, if it does."""
    return next(iter(snippets(rule, "With the personal file")), None)


def test_every_rule_module_is_registered_under_its_name() -> None:
    folder = Path(voiceflow.lint.__file__).parent
    others = {"__init__", "registry", "subject", "likeness"}
    modules = {path.stem for path in folder.glob("*.py")} - others
    assert {rule.replace("-", "_") for rule in RULES} == modules
    for rule in RULES:
        assert rule == module_of(rule).RULE
        assert (module_of(rule).__doc__ or "").startswith(f"{rule}: ")


@pytest.mark.parametrize("rule", RULES)
def test_manual_passes(rule: str, tmp_path: Path) -> None:
    found = snippets(rule, "Passes")
    assert found
    for items in found:
        assert lint(tmp_path, items, own_words_of(rule)) == []


@pytest.mark.parametrize("rule", RULES)
def test_manual_fails(rule: str, tmp_path: Path) -> None:
    found = snippets(rule, "Fails")
    assert found
    for items in found:
        problems = lint(tmp_path, items, own_words_of(rule))
        assert {problem.rule for problem in problems} == {rule}
        assert {problem.severity for problem in problems} == {Severity.WARNING}


#: items -> rule, line in the items, column, words in the message
FINDINGS = [
    ("- {id: a, challenge: A, expect: [switched on], not_as_expected: [zzyzzx]}",
     "unhearable-word", 1, 68, "'zzyzzx'"),
    ("- {id: a, challenge: A, reading: {names: [zzyzzx], scale: {from: 0, to: 9, step: 1}, minimum: 5}}",
     "unhearable-word", 1, 45, "'zzyzzx'"),
    ("- {id: a, challenge: A zzyzzx cover, expect: [switched on], not_as_expected: [flat]}",
     "unhearable-word", 1, 24, "an answer with the challenge before it will not be heard"),
    ("- {id: a, challenge: Engine 1 oil, expect: [flaps 15], not_as_expected: [flat]}",
     None, 0, 0, ""),
    ("- {id: a, challenge: A, reading: {unit: furlong, scale: {from: 0, to: 9, step: 1}, minimum: 5}}",
     "unit-without-words", 1, 43, "'furlong'"),
    ("- {id: a, challenge: A, expect: [removed, Checked.], not_as_expected: [flat]}",
     "bare-acknowledgement", 1, 45, "Checked"),
    ("- {id: a, challenge: A, expect: [as required], not_as_expected: [flat]}",
     "bare-acknowledgement", 1, 36, "as required"),
    ("- {id: a, challenge: A, reading: {scale: {from: 0, to: 9, step: 1}}}",
     "no-way-to-say-wrong", 1, 5, "no way"),
    ("- id: a\n  challenge: Engine off\n  area: off\n  expect: [flat]\n  not_as_expected: [loose]",
     "unquoted-boolean", 3, 11, "off"),
    (("- {id: a, challenge: A, reading: {names: [oil], unit: qt, scale: {from: 0, to: 9, step: 1}, minimum: 5},"
     " not_as_expected: [oil two quarts]}"),
     "ambiguous-number", 1, 126, "reading 2"),
    (("- {id: a, challenge: A, reading: {names: [oil], scale: {from: 0, to: 9, step: 1}, minimum: 5},"
     " expect: [niner]}"),
     "ambiguous-number", 1, 107, "reading 9"),
    ("- {id: a, challenge: A, reading: {scale: {from: 0, to: 9, step: 1}, minimum: 0}}",
     "scale-contradicts-limits", 1, 80, "never be broken"),
    ("- {id: a, challenge: A, reading: {scale: {from: 0, to: 9, step: 1}, maximum: 9}}",
     "scale-contradicts-limits", 1, 80, "never be broken"),
    ("- {id: a, challenge: A, reading: {scale: {from: 0, to: 9, step: 1}, minimum: 3, caution: {below: 4.5}}}",
     "scale-contradicts-limits", 1, 100, "between two marks"),
    ("- {id: a, challenge: A, reading: {scale: {from: 0, to: 9, step: 1}, minimum: 3, caution: {below: 5, above: 5}}}",
     None, 0, 0, ""),
    ("- {id: a, challenge: A, reading: {scale: {from: 0, to: 9, step: 1}, minimum: 3, maximum: 6, caution: {above: 3}}}",
     None, 0, 0, ""),
    ("- {id: a, challenge: A, expect: [latched], not_as_expected: [not latched]}",
     "sounds-alike", 1, 64, "an end is lost"),
    ("- {id: a, challenge: A, expect: [locked], not_as_expected: [unlocked]}",
     "sounds-alike", 1, 63, "an end is lost"),
    ('- {id: a, challenge: A, expect: ["on"], not_as_expected: ["off"]}',
     "sounds-alike", 1, 61, "the opposite"),
    ("- {id: a, challenge: A, wait: {until: three, within: 5 s}, not_as_expected: [free]}",
     "sounds-alike", 1, 80, "'three'"),
    ("- {id: a, challenge: A, expect: [forty], not_as_expected: [fourteen]}",
     "sounds-alike", 1, 62, "an end is lost"),
    ("- {id: a, challenge: A, expect: [standby], not_as_expected: [dark]}",
     "command-homophone", 1, 36, "sounds like"),
    ("- {id: a, challenge: A, wait: {until: stand by, within: 5 s}, not_as_expected: [dark]}",
     "response-is-command", 1, 41, "is the"),
    ("- {id: a, challenge: A, expect: [Stand by.], not_as_expected: [dark]}",
     "response-is-command", 1, 36, "'Stand by.' is the standing command 'stand by'"),
    ("- {id: a, challenge: A, expect: [rodger], not_as_expected: [dark]}",
     "command-homophone", 1, 36, "roger"),
    ("- {id: a, challenge: A, expect: [flat], not_as_expected: [unable to feather]}",
     "command-homophone", 1, 61, "begins like"),
    # the same words in two items are two findings
    (("- {id: a, challenge: A, expect: [flat], not_as_expected: [dark]}\n"
     "- {id: b, challenge: B, expect: [flat], not_as_expected: [wilco]}"),
     "response-is-command", 2, 61, "wilco"),
    # far enough apart
    ("- {id: a, challenge: A, expect: [open], not_as_expected: [closed]}", None, 0, 0, ""),
    ("- {id: a, challenge: A, expect: [up], not_as_expected: [down]}", None, 0, 0, ""),
    ("- {id: a, challenge: A, expect: [removed], not_as_expected: [released]}", None, 0, 0, ""),
    # two expected responses may sound alike
    ("- {id: a, challenge: A, expect: [three, free], not_as_expected: [dark]}", None, 0, 0, ""),
]  # fmt: skip


@pytest.mark.parametrize(("items", "rule", "line", "column", "words"), FINDINGS)
def test_finding_stands_where_its_cause_does(
    items: str, rule: str | None, line: int, column: int, words: str, tmp_path: Path
) -> None:
    problems = lint(tmp_path, items)
    if rule is None:
        assert problems == []
        return
    (problem,) = problems
    assert (problem.rule, problem.line, problem.column) == (rule, FIRST_LINE - 1 + line, column)
    assert words in problem.what
    assert problem.remedy.endswith(".")


@pytest.mark.parametrize(
    ("item", "rule"),
    [
        ("expect: [stand by], not_as_expected: [dark]", "response-is-command"),
        ("expect: [lit], not_as_expected: [unable]", "response-is-command"),
        (
            "reading: {unit: furlong, scale: {from: 0, to: 9, step: 1}, minimum: 5}",
            "unit-without-words",
        ),
    ],
)
def test_what_cannot_be_answered_stops_the_file(item: str, rule: str, tmp_path: Path) -> None:
    path = tmp_path / "check.yaml"
    path.write_text(HEAD + f"  - {{id: a, challenge: A, {item}}}\n", encoding="utf-8")
    assert {each.severity for each in lint_check(path)} == {Severity.ERROR}
    with pytest.raises(CheckFileError) as caught:
        load_own_check(path, None, None)
    (problem,) = caught.value.problems
    assert (problem.rule, problem.line, problem.item) == (rule, FIRST_LINE, "a")


def test_a_unit_of_the_aircraft_file_without_words_stops_the_check(tmp_path: Path) -> None:
    (tmp_path / "aircraft.yaml").write_text(
        "aircraft: Skerry 42\ntail: X-SKR7\n"
        "gauges:\n  oil: {unit: furlong, scale: {from: 0, to: 9, step: 1}}\n"
    )
    path = tmp_path / "check.yaml"
    head = HEAD.replace("items:", "aircraft_file: aircraft.yaml\nitems:")
    path.write_text(
        head + "  - {id: a, challenge: A, reading: {scale: {aircraft: oil}, minimum: 5}}\n"
    )
    (problem,) = lint_check(path)
    assert (problem.rule, problem.line) == ("unit-without-words", FIRST_LINE + 1)
    assert "aircraft file" in problem.remedy


def test_a_limit_of_the_day_is_worked_out_and_may_lie_between_marks(tmp_path: Path) -> None:
    (tmp_path / "aircraft.yaml").write_text(
        "aircraft: Skerry 42\ntail: X-SKR7\n"
        "oil: {minimum: {value: 9, unit: qt}, consumption: {value: 0.45, unit: qt}}\n"
    )
    path = tmp_path / "check.yaml"
    head = HEAD.replace("items:", "aircraft_file: aircraft.yaml\nitems:")
    item = "  - {{id: a, challenge: A, reading: {{unit: qt, scale: {}, minimum: {}}}}}\n"
    marks = "{from: 0, to: 16, step: 2}"
    path.write_text(head + item.format(marks, "{compute: engine-oil}"))
    assert lint_check(path) == []
    path.write_text(head + item.format(marks, "9.9"))
    assert [each.rule for each in lint_check(path)] == ["scale-contradicts-limits"]
    # off the gauge it is no more use than a written one
    path.write_text(head + item.format("{from: 0, to: 8, step: 2}", "{compute: engine-oil}"))
    assert "limit-off-scale" in [each.rule for each in lint_check(path)]


def test_two_marks_in_the_same_words(tmp_path: Path) -> None:
    # no pack of ours says two marks alike: a pack that leaves out decimal marks would
    path = tmp_path / "check.yaml"
    item = "reading: {scale: {from: 0, to: 20, step: 0.5}, minimum: 5}"
    path.write_text(
        HEAD + f"  - {{id: a, challenge: A, {item}}}\n  - {{id: b, challenge: B, {item}}}\n"
    )
    english = language("en")
    subject = Subject(
        read=read_check(path),
        language=replace(
            english,
            spoken_forms=lambda value, _: (
                (str(value).replace(".0", "").replace(".", "").lstrip("0"),),
            ),
        ),
    )
    found = list(RULES["ambiguous-number"](subject))
    assert [problem.item for problem in found] == ["a", "b"]
    assert "'5' can mean 0.5 or 5.0" in found[0].what


@pytest.mark.parametrize(
    ("limits", "words"),
    [
        ("minimum: 4, maximum: 5", ["between two marks", "between two marks", "no mark"]),
        ("minimum: 3, caution: {below: 10}", ["in the caution band"]),
        ("maximum: 6, caution: {below: 9}", []),  # caution-outside-limits, an error
    ],
)
def test_no_reading_can_be_good(limits: str, words: list[str], tmp_path: Path) -> None:
    problems = lint(
        tmp_path,
        f"- {{id: a, challenge: A, reading: {{scale: {{from: 0, to: 9, step: 3}}, {limits}}}}}",
    )
    found = [each for each in problems if each.severity is Severity.WARNING]
    assert len(found) == len(words)
    for text in words:
        assert any(text in problem.what for problem in found)


def test_without_a_recogniser_unknown_words_are_not_judged(tmp_path: Path) -> None:
    path = tmp_path / "check.yaml"
    path.write_text(
        HEAD + "  - {id: a, challenge: A, expect: [zzyzzx], not_as_expected: [zzyzzy]}\n"
    )
    assert lint_check(path) == []
    assert [each.rule for each in lint_check(path, phones=engine_phones)] == ["unhearable-word"] * 2


def test_errors_and_warnings_come_together_by_place(tmp_path: Path) -> None:
    problems = lint(
        tmp_path,
        "- {id: a, challenge: A, expect: [set], not_as_expected: [dark]}\n"
        "- {id: b, challenge: B, expct: [off]}\n"
        "- {id: c, challenge: C, expect: [flat]}\n",
    )
    assert [(each.line - FIRST_LINE + 1, each.rule, each.severity.value) for each in problems] == [
        (1, "bare-acknowledgement", "warning"),
        (2, "unknown-key", "error"),
        (2, "unquoted-boolean", "warning"),
        (3, "no-way-to-say-wrong", "warning"),
    ]


def test_unknown_language_is_an_error_and_stops_the_rules(tmp_path: Path) -> None:
    path = tmp_path / "check.yaml"
    path.write_text(
        HEAD.replace("kind:", "language: tlh\nkind:") + "  - {id: a, challenge: A, expect: [set]}\n"
    )
    assert [each.rule for each in lint_check(path)] == ["unknown-language"]


def test_file_that_is_none(tmp_path: Path) -> None:
    assert [each.rule for each in lint_check(tmp_path / "nothing.yaml")] == ["unreadable"]


@pytest.mark.parametrize("path", shipped_checks(), ids=lambda path: path.stem)
def test_shipped_checks_have_no_findings(path: Path) -> None:
    assert lint_check(path, phones=engine_phones) == []


def test_dictionary_is_the_recognisers() -> None:
    assert len(DICTIONARY) > 100_000
