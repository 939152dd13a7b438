"""From recorded speech through the real recogniser to the report, killed or not."""

import signal
import time
from decimal import Decimal
from pathlib import Path

import pytest
import soundfile
from ruamel.yaml import YAML

from tests.end_to_end.demo_run import (
    JOURNAL,
    ROOT,
    events_so_far,
    finish,
    page_but_for_times,
    table_but_for_times,
    voiceflow,
)
from voiceflow.dialogue.state import State
from voiceflow.journal.replay import replay, verify
from voiceflow.journal.store import Journal

pytestmark = [pytest.mark.speech, pytest.mark.slow]

SCRIPT = YAML(typ="safe").load((ROOT / "audio_fixtures" / "demo" / "script.yaml").read_text())


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo, run to its end without a break."""
    folder = tmp_path_factory.mktemp("whole")
    status, output, errors = finish(voiceflow(folder, "demo"))
    assert status == 0, errors
    assert "report.html" in output
    return folder


def state_of(folder: Path) -> State:
    with Journal.open(folder / JOURNAL, create=False) as journal:
        (run,) = journal.runs()
        assert not verify(journal, run.run_id)
        return replay(journal.header(run.run_id), journal.events(run.run_id))


def plain(words: str) -> list[str]:
    """Drop hesitations, heard as more or fewer; the letters of a unit are its name."""
    return [
        word for word in words.replace("p s i", "psi").split() if word not in {"uh", "um", "er"}
    ]


def test_every_line_of_the_script_was_heard(whole: Path) -> None:
    with Journal.open(whole / JOURNAL, create=False) as journal:
        (run,) = journal.runs()
        heard = [event for event in journal.events(run.run_id) if event.kind == "heard"]
    said = [
        "".join(part if isinstance(part, str) else " " for part in say)
        if isinstance(say := line["say"], list)
        else say
        for line in SCRIPT["lines"]
    ]
    assert [event.item_id for event in heard] == [line["at"] for line in SCRIPT["lines"]]
    for event, words in zip(heard, said, strict=True):
        assert plain(event.utterance.text) == plain(words)


def test_it_ends_as_the_script_says(whole: Path) -> None:
    ending = state_of(whole).ending
    assert ending is not None
    assert ending.kind == SCRIPT["ends"]["ending"]
    assert list(ending.open_items) == SCRIPT["ends"]["open"]


def test_what_was_recorded(whole: Path) -> None:
    state = state_of(whole)
    found = [(one.item_id, one.value, one.minimum) for one in state.open_discrepancies]
    assert found == [("crew-oxygen", Decimal(1250), Decimal(1300))]
    corrected = state.outcome("right-oil")
    assert corrected is not None
    assert corrected.value == Decimal("13.5")
    (hold,) = state.holds
    assert hold.item_id == "hand-lamps"
    assert hold.until_s is not None
    came_back = state.outcome("deicing-boots")
    assert came_back is not None
    assert came_back.from_left
    light = state.outcome("gyro-warning")
    assert light is not None
    assert light.phrase in {"out", "light out"}


def test_both_sides_can_be_listened_to(whole: Path) -> None:
    sound, rate = soundfile.read(whole / "voiceflow-demo" / "both-sides.wav")
    assert (sound.shape[1], rate) == (2, 16_000)
    assert all(abs(sound[:, side]).max() > 0.1 for side in range(2))


@pytest.fixture(params=[0.02, 0.47, 0.93])
def killed(request: pytest.FixtureRequest, whole: Path, tmp_path: Path) -> Path:
    """The demo, killed as soon as such a share of its events is on disk."""
    enough = events_so_far(whole) * request.param
    process = voiceflow(tmp_path, "demo")
    while events_so_far(tmp_path) < enough and process.poll() is None:
        # not a wait for a result: the kill may fall anywhere
        time.sleep(0.002)
    process.send_signal(signal.SIGKILL)
    status, _, _ = finish(process)
    assert status == -signal.SIGKILL
    return tmp_path


def test_killed_and_resumed_ends_with_the_same_report(whole: Path, killed: Path) -> None:
    before = events_so_far(killed)
    status, _, errors = finish(voiceflow(killed, "resume"))
    # 1: the check ended with a discrepancy open
    assert status == 1, errors
    assert events_so_far(killed) > before
    assert table_but_for_times(killed) == table_but_for_times(whole)
    assert page_but_for_times(killed) == page_but_for_times(whole)
    state_of(killed)
