"""A whole run whose microphone goes and comes back: it holds, goes on, and replays."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.builders import make_check, make_item
from tests.session.rig import RUN, Rig, rig
from voiceflow.audio.frames import Frame, Samples
from voiceflow.audio.source import Change, Gap
from voiceflow.audio.wav import RecordingSource
from voiceflow.checks.model import Wait
from voiceflow.dialogue.events import DeviceLost, DeviceReturned, Heard, TimePassed
from voiceflow.dialogue.state import HoldCause
from voiceflow.journal.replay import replay, verify
from voiceflow.journal.store import Journal

GOOD = ["both removed", "one six zero zero", "out", "closed"]


@dataclass(slots=True)
class _Interrupted:
    """A recording with a time in it during which the microphone is gone."""

    samples: Samples
    after_s: float
    gone_s: float

    def frames(self) -> Iterator[Frame | Gap]:
        late_s = 0.0
        for frame in RecordingSource(self.samples).frames():
            if not late_s and frame.start_s >= self.after_s:
                yield Gap(end_s=frame.start_s, change=Change.LOST)
                while late_s < self.gone_s:
                    late_s += 0.1
                    yield Gap(end_s=frame.start_s + late_s)
                yield Gap(end_s=frame.start_s + late_s, change=Change.RETURNED)
            yield Frame(samples=frame.samples, start_s=frame.start_s + late_s)

    def close(self) -> None:
        pass


def interrupted(
    path: Path | None, script: list[str], *pauses_s: float, after_s: float, gone_s: float
) -> Rig:
    one = rig(path, script, *pauses_s)
    one.source = _Interrupted(one.samples, after_s, gone_s)
    return one


def test_the_run_holds_and_goes_on_at_the_item(tmp_path: Path) -> None:
    one = interrupted(tmp_path / "journal.sqlite", GOOD, after_s=9.0, gone_s=125.0)
    state = one.run()
    assert state.ending is not None
    assert [outcome.item_id for outcome in state.outcomes] == [
        "covers",
        "oxygen",
        "warning",
        "door",
    ]
    (hold,) = state.holds
    assert (hold.item_id, hold.cause) == ("oxygen", HoldCause.DEVICE)
    assert hold.until_s is not None
    assert 124 < hold.until_s - hold.from_s < 126
    events = one.journal.events(RUN)
    assert [event.at_s for event in events] == sorted(event.at_s for event in events)
    assert sum(isinstance(event, DeviceLost) for event in events) == 1
    assert sum(isinstance(event, DeviceReturned) for event in events) == 1
    said = [words for _, words in one.watcher.words]
    assert any("Microphone lost. Holding at" in words for words in said)
    back = next(words for words in said if "Microphone is back" in words)
    assert "Crew oxygen" in back
    # nothing is said against silence that the tool itself cannot hear
    assert not any(isinstance(event, TimePassed) for event in events)
    assert isinstance(one.journal, Journal)
    assert replay(one.journal.header(RUN), events) == state
    assert verify(one.journal, RUN) == ()


def test_half_a_reading_is_none() -> None:
    # gone in the midst of the second utterance, of which the rest comes afterwards
    one = interrupted(None, ["both removed", "one six", "continue"], after_s=12.9, gone_s=5.0)
    state = one.run()
    assert "oxygen" not in [outcome.item_id for outcome in state.outcomes]
    lost = next(e.at_s for e in one.journal.events(RUN) if isinstance(e, DeviceLost))
    assert not [e for e in one.journal.events(RUN) if isinstance(e, Heard) and 7 < e.at_s <= lost]


def test_a_wait_that_is_over_meanwhile_is_told_meanwhile() -> None:
    one = interrupted(None, ["on", "closed"], after_s=9.0, gone_s=60.0)
    one.check = make_check(
        make_item(
            "heat",
            "Window heat",
            expect=("on",),
            not_as_expected=("off",),
            wait=Wait(ready_in_s=30.0, say="Windows are warm"),
        ),
        make_item("door", "Cabin door", expect=("closed",), not_as_expected=("open",)),
    )
    state = one.run()
    assert state.ending is not None
    told_s = next(at_s for at_s, words in one.watcher.words if "Windows are warm" in words)
    events = one.journal.events(RUN)
    lost = next(event.at_s for event in events if isinstance(event, DeviceLost))
    returned = next(event.at_s for event in events if isinstance(event, DeviceReturned))
    assert lost < told_s < returned
    answered_s = state.outcomes[0].answered_s
    assert told_s - answered_s == pytest.approx(30.0, abs=0.2)
