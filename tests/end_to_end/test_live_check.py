"""A whole check, live: from its first word to its report, with all that may come between.

The real program in a process of its own, virtual devices, a scripted speaker; the tool is as
loud in the microphone as the person, so that it must not listen to itself. Thirty-nine items,
a challenge talked over, somebody at the door for two minutes, a microphone that is pulled out
and put back. Synthetic speech.
"""

import signal
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from tests.end_to_end.live_program import AWAY_S
from voiceflow.dialogue.events import Spoken
from voiceflow.dialogue.policy import Decision
from voiceflow.evaluation.live import LiveRun, Program, Wishes, run_live
from voiceflow.evaluation.live_bench import tool_rms
from voiceflow.evaluation.live_lines import Manner, Script, from_demo
from voiceflow.evaluation.live_room import open_room
from voiceflow.evaluation.live_tables import own_voice_taken
from voiceflow.evaluation.manifest import load_manifest
from voiceflow.evaluation.metrics import Result
from voiceflow.grammar.meaning import Correction, Reading, Response
from voiceflow.journal.replay import replay, verify
from voiceflow.journal.store import Journal
from voiceflow.phraseology.prompts import EndingKind

pytestmark = [pytest.mark.device, pytest.mark.speech, pytest.mark.slow]

FIXTURES = Path(__file__).parents[2] / "audio_fixtures"
OPTIONS = (
    "--engine=pocketsphinx",
    "--listening=speakers",
    "--rate=260",
    "--wording=terse",
)
#: Answered over their challenge, which is long, because the area is said: two responses and a
#: reading; the demo has a command besides.
TALKED_OVER = ("gust-locks", "right-fuel-drain", "battery-volts")


def be_away(program: Program) -> None:
    """Let two minutes go by while the check holds: its next sound comes so much later."""
    program.process.send_signal(signal.SIGUSR1)


@pytest.fixture(scope="module")
def script() -> Script:
    others = load_manifest(FIXTURES / "manifest.csv")
    return from_demo(FIXTURES / "demo", barging=TALKED_OVER, others=others)


@pytest.fixture(scope="module")
def run(script: Script, tmp_path_factory: pytest.TempPathFactory) -> Iterator[LiveRun]:
    folder = tmp_path_factory.mktemp("live")
    wishes = Wishes(
        echo_db=0.0, waiting_s=0.0, unplug_at="first-aid-kit", unplugged_s=3.0, options=OPTIONS
    )
    journal = folder / "journal.sqlite"
    command = [sys.executable, "-m", "tests.end_to_end.live_program", "run", str(script.path)]
    command += ["--json", "--journal", str(journal), *OPTIONS]
    with open_room() as room:
        yield run_live(
            script,
            room,
            folder,
            wishes,
            tool_rms=tool_rms(script),
            command=command,
            on_hold=be_away,
        )


def test_every_item_is_answered_with_what_was_said(run: LiveRun, script: Script) -> None:
    assert run.status == 1  # the crew's oxygen is below its minimum
    assert run.state.ending is not None
    assert run.state.ending.kind is EndingKind.COMPLETE_EXCEPT
    assert len(script.check.items) >= 30
    assert {one.item_id for one in run.state.outcomes} == {item.id for item in script.check.items}
    found = [one for one in run.state.discrepancies if not one.withdrawn]
    assert [one.item_id for one in found] == ["crew-oxygen"]
    meant = {}
    for item, lines in script.lines.items():
        for line in lines:
            if isinstance(line.meaning, Reading):
                meant[item] = line.meaning.value
    (corrected,) = (
        line.meaning
        for lines in script.lines.values()
        for line in lines
        if isinstance(line.meaning, Correction)
    )
    (previous,) = corrected.previous
    assert isinstance(previous, Reading)
    meant["right-oil"] = previous.value
    taken = {one.item_id: one.value for one in run.state.outcomes if one.value is not None}
    assert taken == meant


def test_the_tool_never_takes_its_own_voice(run: LiveRun) -> None:
    assert run.tool_db is not None
    assert run.tool_db == pytest.approx(0.0, abs=1.5)
    assert own_voice_taken(run) == 0
    assert not [one for one in run.said if one.result is Result.WRONG_ACCEPTED]


def test_a_challenge_that_is_talked_over_stops_and_the_words_are_heard(run: LiveRun) -> None:
    over = [one for one in run.said if one.line.manner is Manner.BARGING]
    assert {one.item for one in over} >= set(TALKED_OVER)
    cut = [one for one in over if one.exchange is not None and one.exchange.stopped_s is not None]
    assert len(cut) >= len(TALKED_OVER) - 1
    # at the first saying
    heard = [one for one in over if one.item in TALKED_OVER]
    assert sum(one.result is Result.RIGHT for one in heard) >= len(TALKED_OVER) - 1
    # what was said over the tool was asked about
    answers = [
        decision
        for one in cut
        for meaning, decision in one.heard
        if isinstance(meaning, Reading | Response)
    ]
    assert answers
    assert Decision.ACCEPT not in answers


def test_two_minutes_away_are_held_and_offered_to_be_gone_back_over(run: LiveRun) -> None:
    (hold,) = (one for one in run.state.holds if one.item_id == "hand-lamps")
    assert hold.until_s is not None
    assert hold.until_s - hold.from_s >= AWAY_S
    with Journal.open(run.journal, create=False) as journal:
        said = [event.words for event in journal.events(run.run_id) if isinstance(event, Spoken)]
    assert [words for words in said if "go back two" in words]


def test_the_microphone_is_lost_and_comes_back(run: LiveRun) -> None:
    assert run.lost >= 1
    assert run.returned == run.lost


def test_the_journal_repeats_the_run_and_makes_its_report(run: LiveRun, tmp_path: Path) -> None:
    with Journal.open(run.journal, create=False) as journal:
        assert verify(journal, run.run_id) == ()
        again = replay(journal.header(run.run_id), journal.events(run.run_id))
    # the bench follows with the usual settings, and knows nothing of runs before: these
    # speak faster and shorter, and have the times that items usually take
    assert replace(again, settings=run.state.settings, brief=run.state.brief) == run.state
    report = tmp_path / "report.html"
    command = [sys.executable, "-m", "voiceflow", "report", run.run_id]
    command += ["--journal", str(run.journal), "--html", str(report)]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    page = report.read_text(encoding="utf-8")
    assert "crew-oxygen" in page or "Crew oxygen" in page
