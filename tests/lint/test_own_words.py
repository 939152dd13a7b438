"""Own words are linted with the check that they are laid over."""

from pathlib import Path

import pytest

from tests.lint.dictionary import engine_phones
from tests.lint.test_rules import lint
from voiceflow.checks.shipped import shipped_checks
from voiceflow.lint.registry import lint_check

ITEMS = """\
- id: door
  challenge: Cabin door
  expect: [locked]
  not_as_expected: [standing open]
- id: oil
  challenge: Oil
  reading: {names: [oil], unit: qt, scale: {from: 0, to: 9, step: 1}, minimum: 5}
"""


@pytest.mark.parametrize(
    ("own", "rule", "column", "words"),
    [
        ("checks: {snippet: {door: {not_as_expected: [blocked]}}}", "sounds-alike", 45, "'locked'"),
        ("checks: {snippet: {door: {expect: [rodger]}}}", "command-homophone", 36, "roger"),
        ("checks: {snippet: {door: {expect: [zzyzzx]}}}", "unhearable-word", 36, "zzyzzx"),
        ("checks: {snippet: {oil: {names: [zzyzzx]}}}", "unhearable-word", 34, "zzyzzx"),
        (
            "checks: {snippet: {oil: {names: [sump], not_as_expected: [sump two]}}}",
            "ambiguous-number",
            59,
            "reading 2",
        ),
        ("pronunciations: {open: [W IH L K OW D]}", "own-pronunciation", 25, "'wilco'"),
        ("pronunciations: {open: [F AO R T IY M]}", "own-pronunciation", 25, "'forty'"),
    ],
)
def test_finding_stands_in_the_personal_file(
    own: str, rule: str, column: int, words: str, tmp_path: Path
) -> None:
    (problem,) = lint(tmp_path, ITEMS, own)
    assert (problem.path.name, problem.line, problem.column) == ("own-words.yaml", 1, column)
    assert problem.rule == rule
    assert words in problem.what


def test_own_pronunciation_makes_a_word_hearable(tmp_path: Path) -> None:
    own = "checks: {snippet: {door: {expect: [zzyzzx]}}}\npronunciations: {zzyzzx: [Z IH Z IH K S]}"
    assert lint(tmp_path, ITEMS, own) == []


def test_what_cannot_be_added_is_an_error_of_lint_too(tmp_path: Path) -> None:
    problems = lint(tmp_path, ITEMS, "checks: {snippet: {oil: {expect: [plenty]}}}")
    assert [(each.rule, each.severity.value) for each in problems] == [("reading-wanted", "error")]


@pytest.mark.parametrize("path", shipped_checks(), ids=lambda path: path.stem)
def test_shipped_checks_stay_without_findings(path: Path) -> None:
    assert lint_check(path, phones=engine_phones) == []
