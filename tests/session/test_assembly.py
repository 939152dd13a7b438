from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from tests.fakes import BeepingSynthesiser
from tests.session.rig import RUN, header, preparation, rig
from voiceflow.languages.registry import language
from voiceflow.session.assembly import elapsed_s, retell
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
