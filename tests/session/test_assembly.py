from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import ClassVar

import numpy as np
import pytest
from typing_extensions import override

from tests.fakes import BeepingSynthesiser, NotingWatcher
from tests.session.rig import RUN, header, preparation, rig
from voiceflow.audio.devices import Device
from voiceflow.audio.frames import RATE_HZ
from voiceflow.audio.wav import RecordingSource, write_wav
from voiceflow.dialogue.state import State
from voiceflow.journal.store import Journal
from voiceflow.languages.registry import language
from voiceflow.session import assembly
from voiceflow.session.ahead import Ahead
from voiceflow.session.assembly import Session, Ways, elapsed_s, retell
from voiceflow.session.sinks import TrackSink
from voiceflow.synthesis.cache import CachedSynthesiser


def test_what_was_said_before_can_be_laid_on_a_track_again(tmp_path: Path) -> None:
    # in a hurry, so that some of it was cut short
    one = rig(None, ["both removed", "one six zero zero", "out", "closed"], 0.5, 1.0, 1.0, 1.0)
    one.run()
    track = TrackSink()
    retell(
        one.journal.header(RUN),
        one.journal.events(RUN),
        language("en"),
        CachedSynthesiser(BeepingSynthesiser()),
        track,
    )
    one.track.track.write(tmp_path / "live.wav")
    track.track.write(tmp_path / "retold.wav")
    assert (tmp_path / "retold.wav").read_bytes() == (tmp_path / "live.wav").read_bytes()


def test_a_clock_that_was_set_back_gives_no_negative_time() -> None:
    now = datetime.now(UTC)
    later = now + timedelta(days=1)
    assert elapsed_s(replace(header(preparation()), started_at=later.isoformat()), now) == 0
    earlier = now - timedelta(days=1)
    assert elapsed_s(replace(header(preparation()), started_at=earlier.isoformat()), now) >= 86_400


class NotingAhead(Ahead):
    """Notes what it was told of, and whether it was let go."""

    states: ClassVar[list[State]] = []
    closed: ClassVar[int] = 0

    @override
    def moved(self, state: State) -> None:
        NotingAhead.states.append(state)
        super().moved(state)

    @override
    def close(self) -> None:
        NotingAhead.closed += 1
        super().close()


class OpenMicrophone(RecordingSource):
    """A microphone that is closed when its recording is over."""

    name = "mic"
    overruns = 0
    has_sound = True


@pytest.mark.parametrize("live", [True, False])
def test_with_a_microphone_only_things_are_made_ready(
    live: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    quiet = np.zeros(RATE_HZ, dtype=np.int16)
    write_wav(tmp_path / "quiet.wav", quiet)
    device = Device(index=0, name="mic", host=0, channels=1, rate_hz=RATE_HZ, is_default=True)
    monkeypatch.setattr(assembly, "find_device", lambda name, direction: device)
    monkeypatch.setattr(assembly, "MicrophoneSource", lambda name: OpenMicrophone(quiet))
    monkeypatch.setattr(assembly, "Ahead", NotingAhead)
    monkeypatch.setattr(NotingAhead, "states", [])
    monkeypatch.setattr(NotingAhead, "closed", 0)
    ways = Ways(
        recording=None if live else tmp_path / "quiet.wav",
        engine="pocketsphinx",
        voice=str(tmp_path / "voice.wav"),
    )
    with Journal.open(tmp_path / "journal.sqlite") as journal:
        result = Session(journal, preparation(), ways, NotingWatcher()).run()
    assert NotingAhead.closed == int(live)
    assert NotingAhead.states[-1:] == ([result.state] if live else [])
