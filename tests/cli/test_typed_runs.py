import csv
import json
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tests.cli.conftest import GOOD, Voiceflow
from voiceflow.checks.loader import load_check
from voiceflow.checks.model import Item
from voiceflow.checks.shipped import find_aircraft, find_check, shipped_aircraft, shipped_checks
from voiceflow.dialogue.events import Resumed
from voiceflow.journal.store import Journal
from voiceflow.limits.computed import SOME_DAY, computing
from voiceflow.limits.judge import Verdict, judge
from voiceflow.settings import PAUSES, Care, settings_for

#: What ``SOME_DAY`` is on the command line.
SOME_DAY_OPTIONS = ("--temperature", "15", "--crew", "2", "--hours", "2", "--elevation", "0")


def test_a_complete_check_ends_with_0(voiceflow: Voiceflow) -> None:
    result = voiceflow("run", "small.yaml", "--typed", typed=GOOD)
    assert result.exit_code == 0
    assert "Small check complete." in result.stdout
    assert "1600 psi, within limits" in result.stdout
    # the cautions stand where work begins
    assert "not certified" in result.stderr


def test_a_check_with_a_finding_ends_with_1(voiceflow: Voiceflow) -> None:
    result = voiceflow("run", "small.yaml", "--typed", typed="removed\n1100\naffirm\n")
    assert result.exit_code == 1
    assert "outside limits: Crew oxygen 1100 psi. Call maintenance" in result.stdout


def test_input_that_ends_first_ends_with_1_and_says_how_to_go_on(
    voiceflow: Voiceflow, home: Path
) -> None:
    result = voiceflow("run", "small.yaml", "--typed", typed="removed\n")
    assert result.exit_code == 1
    with Journal.open(home / "journal.sqlite", create=False) as journal:
        run = journal.last_unfinished()
    assert run is not None
    assert f"voiceflow resume {run.run_id}" in result.stderr


def test_it_goes_on_at_the_item(voiceflow: Voiceflow, home: Path) -> None:
    voiceflow("run", "small.yaml", "--typed", typed="removed\n")
    result = voiceflow("resume", typed="1600\n")
    assert result.exit_code == 0
    assert "resumed" in result.stdout
    with Journal.open(home / "journal.sqlite", create=False) as journal:
        (run,) = journal.runs()
        state = [record.outcome for record in journal.records(run.run_id) if record.outcome]
    assert [outcome.item_id for outcome in state] == ["covers", "oxygen"]


def test_the_care_of_a_run_is_kept_when_it_goes_on(voiceflow: Voiceflow, home: Path) -> None:
    voiceflow("run", "small.yaml", "--typed", "--care", "strict", typed="removed\n")
    assert voiceflow("resume", typed="1600\n").exit_code == 0
    voiceflow("run", "small.yaml", "--typed", typed=GOOD)
    with Journal.open(home / "journal.sqlite", create=False) as journal:
        headers = [journal.header(run.run_id) for run in journal.runs()]
    assert {header.settings.policy.care for header in headers} == {Care.STRICT, Care.NORMAL}
    assert all(header.settings == settings_for(header.settings.policy.care) for header in headers)


def test_care_is_one_of_three(voiceflow: Voiceflow) -> None:
    for command in (["run", "small.yaml"], ["hear", "small.yaml", "covers", "a.wav"]):
        result = voiceflow(*command, "--care", "bold")
        assert result.exit_code == 2
        assert "'relaxed', 'normal', 'strict'" in result.stderr
    assert voiceflow("resume", "--care", "strict").exit_code == 2


def test_a_number_off_the_gauge_is_told_its_marks(voiceflow: Voiceflow) -> None:
    result = voiceflow("run", "small.yaml", "--typed", typed="removed\n9000\n1655\n")
    assert "crew oxygen goes from zero to two thousand p s i." in result.stdout
    assert "in steps of one zero." in result.stdout
    assert result.exit_code == 1


def test_it_goes_on_with_what_was_heard_last(voiceflow: Voiceflow, home: Path) -> None:
    soundfile.write(home / "quiet.wav", np.zeros(16_000, dtype=np.int16), 16_000)
    voiceflow("run", "small.yaml", "--audio", "quiet.wav", "--engine", "pocketsphinx")
    voiceflow("resume", "--typed", typed="removed\n")
    # not with the recording, of which the typed answer would be taken for a part
    result = voiceflow("resume", typed="1600\n")
    assert result.exit_code == 0
    assert "Small check complete." in result.stdout
    with Journal.open(home / "journal.sqlite", create=False) as journal:
        (run,) = journal.runs()
        resumed = [e for e in journal.events(run.run_id) if isinstance(e, Resumed)]
    assert [event.source for event in resumed] == ["typed", "typed"]
    for event in resumed:
        assert event.clock_at is not None
        assert abs(datetime.fromisoformat(event.clock_at) - datetime.now(UTC)) < timedelta(hours=1)


def test_a_recording_that_was_heard_last_to_its_end_is_told(
    voiceflow: Voiceflow, home: Path
) -> None:
    soundfile.write(home / "quiet.wav", np.zeros(16_000, dtype=np.int16), 16_000)
    voiceflow("run", "small.yaml", "--typed", typed="removed\n")
    voiceflow("resume", "--audio", "quiet.wav", "--engine", "pocketsphinx")
    result = voiceflow("resume")
    assert result.exit_code == 2
    assert f"has heard {home / 'quiet.wav'} to its end" in result.stderr


def test_a_run_that_has_ended_is_not_run_again(voiceflow: Voiceflow) -> None:
    voiceflow("run", "small.yaml", "--typed", typed=GOOD)
    result = voiceflow("resume", typed="")
    assert result.exit_code == 0
    assert "already ended" in result.stdout


def test_json_lines_are_those_of_the_journal(voiceflow: Voiceflow) -> None:
    result = voiceflow("run", "small.yaml", "--typed", "--json", typed=GOOD)
    lines = [json.loads(line) for line in result.stdout.splitlines()]
    run_id = lines[0]["run_id"]
    shown = voiceflow("journal", "show", run_id, "--json")
    head, *events = [json.loads(line) for line in shown.stdout.splitlines()]
    assert head["kind"] == "run"
    assert events == lines
    assert [line["seq"] for line in lines] == list(range(len(lines)))
    kinds = [line["kind"] for line in lines if line["kind"] == "heard"]
    assert len(kinds) == 2


def test_the_journal_is_listed_shown_exported_and_verified(
    voiceflow: Voiceflow, home: Path
) -> None:
    voiceflow("run", "small.yaml", "--typed", typed=GOOD)
    (listed,) = [
        json.loads(line) for line in voiceflow("journal", "list", "--json").stdout.splitlines()
    ]
    run_id = listed["run_id"]
    assert listed["ending"] == "complete"
    assert run_id in voiceflow("journal").stdout
    shown = voiceflow("journal", "show", run_id)
    assert "one six zero zero" in shown.stdout
    assert "Small check complete." in shown.stdout
    exported = voiceflow("journal", "export", run_id, "--csv", "--to", "run.csv")
    assert exported.exit_code == 0
    with (home / "run.csv").open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert len(rows) == listed["events"]
    verified = voiceflow("journal", "verify", run_id)
    assert verified.exit_code == 0
    assert "whole" in verified.stdout


def test_the_report_of_the_last_run_lies_beside_the_journal(
    voiceflow: Voiceflow, home: Path
) -> None:
    voiceflow("run", "small.yaml", "--typed", typed=GOOD)
    result = voiceflow("report")
    html, table = map(Path, result.stdout.splitlines())
    assert html.parent == table.parent == home
    assert "Crew oxygen" in html.read_text(encoding="utf-8")
    assert "1600" in table.read_text(encoding="utf-8")


def test_the_report_goes_where_it_is_wanted(voiceflow: Voiceflow, home: Path) -> None:
    voiceflow("run", "small.yaml", "--typed", typed=GOOD)
    result = voiceflow("report", "--html", "out/monday.html")
    assert result.stdout.strip() == str(home / "out" / "monday.html")
    assert not list(home.rglob("*.csv"))


def test_phrases_show_what_is_understood(voiceflow: Voiceflow) -> None:
    listed = voiceflow("phrases", "small.yaml")
    assert "oxygen" in listed.stdout
    shown = voiceflow("phrases", "small.yaml", "oxygen")
    assert "0 to 2000 psi by 10" in shown.stdout
    assert "say again" in shown.stdout


def test_lint_finds_nothing_in_the_shipped_checks(voiceflow: Voiceflow) -> None:
    result = voiceflow("lint", *(path.stem for path in shipped_checks()))
    assert result.exit_code == 0
    assert result.stderr.endswith("0 errors, 0 warnings\n")


def test_the_pauses_of_a_run_stand_in_its_header(voiceflow: Voiceflow, home: Path) -> None:
    for pauses in ("long", "usual"):
        voiceflow("run", "small.yaml", "--typed", "--pauses", pauses, typed="removed\n")
        with Journal.open(home / "journal.sqlite", create=False) as journal:
            run = journal.last_unfinished()
            assert run is not None
            settings = journal.header(run.run_id).settings
        assert settings.endpointing.pauses == PAUSES[pauses]


def test_a_recording_is_heard_on_with_the_pauses_it_was_begun_with(
    voiceflow: Voiceflow, home: Path
) -> None:
    soundfile.write(home / "quiet.wav", np.zeros(16_000, dtype=np.int16), 16_000)
    voiceflow("run", "small.yaml", "--typed", typed="removed\n")
    result = voiceflow("resume", "--audio", "quiet.wav", "--pauses", "long")
    assert result.exit_code == 2
    assert "Leave --pauses out" in result.stderr


def test_how_the_tool_speaks_stands_in_the_header_and_holds_when_resumed(
    voiceflow: Voiceflow, home: Path
) -> None:
    options = ("--wording", "terse", "--rate", "340", "--volume", "50", "--earcons")
    voiceflow("run", "small.yaml", "--typed", *options, typed="removed\n")
    with Journal.open(home / "journal.sqlite", create=False) as journal:
        run = journal.last_unfinished()
        assert run is not None
        voice = journal.header(run.run_id).settings.voice
    assert (voice.rate_wpm, voice.slower_wpm, voice.volume) == (340, 240, 0.5)
    assert voice.earcons
    result = voiceflow("resume", typed="one six zero zero\n")
    assert "One thousand six hundred p s i.\n" in result.stdout
    shown = voiceflow("journal", "show", run.run_id)
    assert "One thousand six hundred p s i.\n" in shown.stdout


#: Readings that belong together, at an airfield at sea level on a standard day, X-SKR7's
#: and X-SKR9's: 1000 L of 0.80 kg/L are 800 kg, and 29.92 inHg are 1013 hPa.
TOGETHER = {
    "x-skr7": {"qnh": "1013", "left-setting": "1013", "right-setting": "1013"},
    "x-skr9": {"qnh": "29.92", "left-setting": "29.92", "right-setting": "29.92"},
    "both": {
        "left-altimeter": "0",
        "right-altimeter": "10",
        "outside-air": "15",
        "left-clock": "512",
        "right-clock": "512",
        "fuel-before": "600",
        "uplift": "1000",
        "fuel-total": "1400",
        "left-fuel": "700",
        "right-fuel": "710",
    },
}


def good_answer(item: Item, tail: str) -> Iterator[str]:
    """Say of an item that all is well: its response, or a reading that is simply good."""
    if item.reading is None:
        yield item.expect[0]
    else:
        limit, values = item.reading.limit, list(item.reading.scale.values())
        good = [value for value in values if judge(value, limit) is Verdict.WITHIN]
        yield {**TOGETHER["both"], **TOGETHER[tail]}.get(item.id, str(good[len(good) // 2]))
    if item.critical:
        yield "affirm"


@pytest.mark.parametrize("tail", [path.stem for path in shipped_aircraft()])
@pytest.mark.parametrize("name", [path.stem for path in shipped_checks()])
def test_every_shipped_check_is_complete_when_all_is_well(
    voiceflow: Voiceflow, name: str, tail: str
) -> None:
    aircraft = find_aircraft(tail)
    check = load_check(find_check(name), aircraft, compute=computing(SOME_DAY))
    lines = "".join(f"{line}\n" for item in check.items for line in good_answer(item, tail))
    result = voiceflow("run", name, "--typed", "--aircraft", tail, *SOME_DAY_OPTIONS, typed=lines)
    assert result.exit_code == 0, result.output
    assert f"{check.title} complete." in result.stdout
