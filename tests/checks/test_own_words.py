"""The personal file: located problems, what it adds, and what it can never do."""

import hashlib
import json
import re
import textwrap
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest
from ruamel.yaml import YAML

from voiceflow.checks.loader import load_check
from voiceflow.checks.model import Check, OwnPronunciation
from voiceflow.checks.own_words import PHONES, load_own_words
from voiceflow.checks.schema import schema_text
from voiceflow.errors import CheckFileError
from voiceflow.languages.english import phones as english_phones
from voiceflow.session.vocabulary import load_own_check

CHECK = """\
check: small
title: Small check
kind: flow
aircraft: Skerry 42
source: {document: Northmark Air Ferries OM-B (invented), revision: 4}
items:
  - id: covers
    challenge: Pitot covers
    expect: [removed]
    not_as_expected: [fitted]
    critical: true
  - id: oxygen
    challenge: Crew oxygen
    reading:
      names: [oxygen]
      unit: psi
      scale: {from: 0, to: 2000, step: 10}
      minimum: 1300
"""

GOOD = """\
checks:
  small:
    covers: {expect: [all off], not_as_expected: [one left on]}
    oxygen: {names: [bottle], not_as_expected: [hose chafed]}
  some-other-check:
    anything: {expect: [whatever]}
pronunciations:
  oxygen: [aa1 k s ih0 jh ah0 n]
"""


def write(folder: Path, own: str) -> tuple[Path, Path]:
    (folder / "small.yaml").write_text(CHECK, encoding="utf-8")
    (folder / "own-words.yaml").write_text(own, encoding="utf-8")
    return folder / "small.yaml", folder / "own-words.yaml"


def load(folder: Path, own: str) -> Check:
    check, words = write(folder, own)
    return load_own_check(check, None, load_own_words(words))


def problems(folder: Path, own: str) -> list[tuple[int, int, str, str]]:
    with pytest.raises(CheckFileError) as caught:
        load(folder, own)
    for problem in caught.value.problems:
        assert problem.path.name == "own-words.yaml"
        assert problem.remedy.endswith((".", "?"))
    return [(each.line, each.column, each.rule, each.what) for each in caught.value.problems]


def test_words_are_added_after_those_of_the_check(tmp_path: Path) -> None:
    check = load(tmp_path, GOOD)
    assert check.item("covers").expect == ("removed", "all off")
    assert check.item("covers").not_as_expected == ("fitted", "one left on")
    assert check.item("oxygen").not_as_expected == ("hose chafed",)
    reading = check.item("oxygen").reading
    assert reading is not None
    assert reading.names == ("oxygen", "bottle")
    assert check.own_pronunciations == (
        OwnPronunciation(word="oxygen", phones=("AA", "K", "S", "IH", "JH", "AH", "N")),
    )
    digest = hashlib.sha256((tmp_path / "own-words.yaml").read_bytes()).hexdigest()
    assert check.own_words_digest == digest


def test_everything_else_stays_as_it_was(tmp_path: Path) -> None:
    check = load(tmp_path, GOOD)
    plain = load_check(tmp_path / "small.yaml")
    assert plain.own_words_digest == ""
    for item, before in zip(check.items, plain.items, strict=True):
        undone = replace(
            item,
            expect=before.expect,
            not_as_expected=before.not_as_expected,
            reading=before.reading,
        )
        assert undone == before
        if item.reading is not None and before.reading is not None:
            assert replace(item.reading, names=before.reading.names) == before.reading


def test_words_for_other_checks_and_languages_count_for_nothing(tmp_path: Path) -> None:
    check = load(tmp_path, "language: ko\npronunciations: {two: [T UW]}\n")
    assert check.own_pronunciations == ()


#: personal file -> line, column, rule, words in the message
BAD = [
    # no key loosens anything
    ("checks: {small: {covers: {critical: false}}}", 1, 28, "unknown-key", "'critical'"),
    ("checks: {small: {oxygen: {minimum: 100}}}", 1, 28, "unknown-key", "'minimum'"),
    ("checks: {small: {oxygen: {reading: {minimum: 1}}}}", 1, 28, "unknown-key", "'reading'"),
    ("settings: {accept: 0}", 1, 1, "unknown-key", "'settings'"),
    # no words go round a limit, an opposite or a confirmation
    ("checks: {small: {oxygen: {expect: [plenty]}}}", 1, 35, "reading-wanted", "a reading"),
    ("checks: {small: {covers: {expect: [Fitted]}}}", 1, 36, "both-right-and-wrong", "not as"),
    ("checks: {small: {covers: {not_as_expected: [removed]}}}", 1, 45, "both-right-and-wrong", ""),
    ("checks: {small: {covers: {expect: [x], not_as_expected: [x]}}}", 1, 58,
     "both-right-and-wrong", "as expected already"),
    ("checks: {small: {covers: {expect: [affirm]}}}", 1, 36, "command-in-response", "affirm"),
    ("checks: {small: {covers: {expect: [covers, correction off]}}}", 1, 44,
     "command-in-response", "correction"),
    ("checks: {small: {covers: {expect: [checked]}}}", 1, 36, "empty-response", "no setting"),
    ("checks: {small: {covers: {expect: [uh]}}}", 1, 36, "empty-response", "no setting"),
    ("checks: {small: {covers: {expect: ['...']}}}", 1, 36, "empty-text", "no word"),
    ("checks: {small: {covers: {expect: [removed]}}}", 1, 36, "same-phrase", "already"),
    ("checks: {small: {oxygen: {names: [minus]}}}", 1, 35, "number-in-name", "'minus'"),
    ("checks: {small: {oxygen: {names: [bottle one]}}}", 1, 35, "number-in-name", "'one'"),
    ("checks: {small: {oxygen: {names: [bottle 2]}}}", 1, 35, "number-in-name", "'2'"),
    ("checks: {small: {covers: {names: [bottle]}}}", 1, 34, "no-reading", "no reading"),
    ("pronunciations: {bottle: [TH R IY]}", 1, 27, "same-sound", "'three'"),
    # slips
    ("checks: {small: {cover: {expect: [x]}}}", 1, 18, "unknown-item", "'cover'"),
    ("checks: {small: {covers: {expct: [x]}}}", 1, 27, "unknown-key", "'expct'"),
    ("checks: {small: {covers: {expect: x}}}", 1, 35, "wrong-type", "a list"),
    ("pronunciations: {gust: [G AH S QQ]}", 1, 25, "bad-pronunciation", "'QQ'"),
    ("pronunciations: {gust: [G AH ST]}", 1, 25, "bad-pronunciation", "'ST'"),
    ("pronunciations: {gust: ['']}", 1, 25, "bad-pronunciation", "sounds"),
    ("pronunciations: {gust lock: [G AH S T]}", 1, 29, "bad-word", "one word"),
    ("- covers", 1, 1, "wrong-type", "no list of keys"),
    ("checks: {small: {covers: {expect: [x]", 1, 1, "syntax", ""),
]  # fmt: skip


@pytest.mark.parametrize(("own", "line", "column", "rule", "words"), BAD)
def test_problem_stands_where_its_cause_does(
    own: str, line: int, column: int, rule: str, words: str, tmp_path: Path
) -> None:
    ((found_line, found_column, found_rule, what),) = problems(tmp_path, own)
    assert (found_line, found_rule) == (line, rule)
    assert words in what
    if rule != "syntax":
        assert abs(found_column - column) <= 1


def test_all_problems_come_at_once(tmp_path: Path) -> None:
    own = (
        "checks:\n  small:\n    covers: {expect: [checked, fitted]}\n    oxygen: {expect: [full]}\n"
    )
    assert [(line, rule) for line, _, rule, _ in problems(tmp_path, own)] == [
        (3, "empty-response"),
        (3, "both-right-and-wrong"),
        (4, "reading-wanted"),
    ]


def test_the_example_for_people_is_sound(tmp_path: Path) -> None:
    text = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    blocks = [textwrap.dedent(block) for block in re.findall(r"```yaml\n(.*?)```", text, re.DOTALL)]
    (check,) = [block for block in blocks if block.startswith("check:")]
    (own,) = [block for block in blocks if block.startswith("checks:")]
    (tmp_path / "check.yaml").write_text(check, encoding="utf-8")
    (tmp_path / "own.yaml").write_text(own, encoding="utf-8")
    loaded = load_own_check(tmp_path / "check.yaml", None, load_own_words(tmp_path / "own.yaml"))
    assert "all off" in loaded.item("covers").expect
    assert loaded.own_pronunciations


def test_no_such_file(tmp_path: Path) -> None:
    with pytest.raises(CheckFileError) as caught:
        load_own_words(tmp_path / "nothing.yaml")
    assert caught.value.problems[0].rule == "unreadable"


def test_phones_are_those_of_the_english_pack() -> None:
    assert set(PHONES) == set(english_phones.PHONES)


def test_schema_agrees_with_the_loader(tmp_path: Path) -> None:
    schema = json.loads(schema_text("own-words.schema.json"))
    validator = jsonschema.Draft202012Validator(schema)
    validator.check_schema(schema)
    assert not list(validator.iter_errors(YAML(typ="safe").load(GOOD)))
    for own in ("settings: {accept: 0}", "checks: {small: {covers: {critical: false}}}"):
        assert list(validator.iter_errors(YAML(typ="safe").load(own)))
