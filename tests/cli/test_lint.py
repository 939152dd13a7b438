"""The linter's command: own words, and what --listen needs and prints."""

from hashlib import sha256
from pathlib import Path

import pytest

from tests.cli.conftest import Voiceflow
from voiceflow.journal.store import Journal

OWN = """\
checks:
  small:
    covers: {expect: [all off], not_as_expected: [still on]}
"""


def test_own_words_are_linted(home: Path, voiceflow: Voiceflow) -> None:
    (home / "mine.yaml").write_text(OWN, encoding="utf-8")
    result = voiceflow("lint", "small.yaml", "--own-words", "mine.yaml")
    assert result.exit_code == 0
    assert result.stdout == ""
    (home / "mine.yaml").write_text(OWN.replace("still on", "remove it"), encoding="utf-8")
    result = voiceflow("lint", "small.yaml", "--own-words", "mine.yaml")
    assert result.exit_code == 0
    assert result.stdout.startswith("mine.yaml:3:")
    assert "sounds-alike" in result.stdout


def test_own_words_that_cannot_be_stop_a_run_and_say_where(
    home: Path, voiceflow: Voiceflow
) -> None:
    (home / "mine.yaml").write_text(
        "checks: {small: {oxygen: {expect: [plenty]}}}\n", encoding="utf-8"
    )
    for command in (["run", "small.yaml", "--typed"], ["phrases", "small.yaml"]):
        result = voiceflow(*command, "--own-words", "mine.yaml")
        assert result.exit_code == 2
        assert "mine.yaml:1:35: error: the item 'oxygen'" in result.stderr
    result = voiceflow("lint", "small.yaml", "--own-words", "mine.yaml")
    assert result.exit_code == 2
    result = voiceflow("run", "small.yaml", "--own-words", "none.yaml")
    assert "none.yaml:1:1: error: there is no such file" in result.stderr


def test_own_words_answer_and_are_told_in_the_journal_and_the_report(
    home: Path, voiceflow: Voiceflow, monkeypatch: pytest.MonkeyPatch
) -> None:
    (home / "mine.yaml").write_text(OWN, encoding="utf-8")
    answers = "all off\none six zero zero\n"
    assert voiceflow("run", "small.yaml", "--typed", typed=answers).exit_code != 0
    monkeypatch.setenv("VOICEFLOW_OWN_WORDS", "mine.yaml")
    assert "all off" in voiceflow("phrases", "small.yaml", "covers").stdout
    result = voiceflow("run", "small.yaml", "--typed", typed=answers)
    assert result.exit_code == 0, result.output
    with Journal.open(home / "journal.sqlite") as journal:
        check = journal.header(journal.runs()[-1].run_id).check
    digest = sha256((home / "mine.yaml").read_bytes()).hexdigest()
    assert check.own_words_digest == digest
    assert check.item("covers").expect == ("removed", "all off")
    assert voiceflow("report", "--html", "report.html").exit_code == 0
    assert digest in (home / "report.html").read_text(encoding="utf-8")


def test_what_listening_cannot_do_is_said_at_once(home: Path, voiceflow: Voiceflow) -> None:
    result = voiceflow("lint", "small.yaml", "--picture", "a.svg")
    assert result.exit_code == 2
    assert "Add --listen" in result.stderr
    result = voiceflow("lint", "small.yaml", "before-start", "--listen", "--picture", "a.svg")
    assert result.exit_code == 2
    assert "one check at a time" in result.stderr
    result = voiceflow("lint", "small.yaml", "--listen", "--item", "oxigen")
    assert result.exit_code == 2
    assert "Did you mean oxygen" in result.stderr
    (home / "bad.yaml").write_text("check: bad\n", encoding="utf-8")
    result = voiceflow("lint", "bad.yaml", "--listen")
    assert result.exit_code == 2
    assert "put the errors right first" in result.stderr


@pytest.mark.speech
@pytest.mark.slow
def test_listening_prints_figures_and_draws(home: Path, voiceflow: Voiceflow) -> None:
    result = voiceflow(
        "lint", "small.yaml", "--listen", "--item", "covers", "--voice", "gmw/en-us",
        "--snr", "30", "--workers", "1", "--engine", "pocketsphinx", "--picture", "a.svg",
    )  # fmt: skip
    assert result.exit_code == 0, result.output
    assert "Synthetic speech, 2 sayings" in result.stdout
    assert (home / "a.svg").is_file()
