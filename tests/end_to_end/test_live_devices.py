"""A live run on virtual devices, whose microphone is pulled out and put back."""

import json
import os
import queue
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.audio.virtual import MICROPHONE, SPEAKERS, VirtualSound, virtual_sound
from voiceflow.audio.frames import RATE_HZ
from voiceflow.audio.wav import read_recording
from voiceflow.journal.replay import verify
from voiceflow.journal.store import Journal

pytestmark = [pytest.mark.device, pytest.mark.speech, pytest.mark.slow]

FIXTURES = Path(__file__).parents[2] / "audio_fixtures"
CHECK = """\
check: short
title: Short check
kind: challenge-response
language: en
aircraft: Skerry 42
source: {document: Northmark Air Ferries OM-B (invented), revision: 4}
items:
  - id: chocks
    challenge: Wheel chocks
    expect: [removed]
    not_as_expected: [in place]
  - id: controls
    challenge: Flight controls
    expect: [full and free]
    not_as_expected: [stiff]
"""
#: So long does the program have for what it does next, with much else to do.
TIMEOUT_S = 120


class LiveRun:
    """A run in a process of its own, followed event by event."""

    def __init__(self, process: "subprocess.Popen[str]", sound: VirtualSound) -> None:
        self.process = process
        self.events: list[dict[str, Any]] = []
        self._sound = sound
        self._lines: queue.SimpleQueue[str | None] = queue.SimpleQueue()
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self._lines.put(line)
        self._lines.put(None)

    def wait_for(self, *signs: str, timeout_s: float = TIMEOUT_S) -> bool:
        """Wait for an event in whose JSON all of these stand; false if it does not come."""
        while True:
            try:
                line = self._lines.get(timeout=timeout_s)
            except queue.Empty:
                return False
            if line is None:
                return False
            self.events.append(json.loads(line))
            if all(sign in line for sign in signs):
                return True

    def answer(self, item: str, recording: str) -> bool:
        """Say it until it is taken, as people do; tell whether it was."""
        margin = np.zeros(RATE_HZ // 2, dtype=np.int16)
        samples = read_recording(FIXTURES / recording)
        for _ in range(4):
            self._sound.say(np.concatenate([margin, samples, margin]))
            if not self.wait_for('"heard"', timeout_s=20):
                continue
            if any(
                record.get("outcome", {}) and record["outcome"]["item_id"] == item
                for record in self.events[-1]["records"]
            ):
                return True
            self.wait_for('"spoken"')  # it was asked about
        return False


@pytest.fixture
def sound() -> Iterator[VirtualSound]:
    with virtual_sound() as virtual:
        yield virtual


@contextmanager
def live_run(sound: VirtualSound, folder: Path) -> Iterator[LiveRun]:
    check = folder / "short.yaml"
    check.write_text(CHECK, encoding="utf-8")
    command = [sys.executable, "-m", "voiceflow", "run", str(check), "--json"]
    command += ["--engine", "pocketsphinx", "--journal", str(folder / "journal.sqlite")]
    command += ["--microphone", MICROPHONE, "--speakers", SPEAKERS]
    environment = os.environ | sound.environment | {"HOME": str(folder)}
    with (
        (folder / "stderr").open("w") as stderr,
        subprocess.Popen(
            command, stdout=subprocess.PIPE, stderr=stderr, text=True, env=environment
        ) as process,
    ):
        try:
            yield LiveRun(process, sound)
        finally:
            process.kill()


def test_a_check_goes_on_when_its_microphone_is_back(sound: VirtualSound, tmp_path: Path) -> None:
    with live_run(sound, tmp_path) as run:
        assert run.wait_for('"spoken"', "Wheel chocks")
        assert run.answer("chocks", "responses/032-chocks-rms.flac")
        assert run.wait_for('"spoken"', "Flight controls")
        sound.unplug(MICROPHONE)
        assert run.wait_for('"device-lost"', '"microphone"')
        with sound.recording() as recorded:
            assert run.wait_for('"spoken"', "Microphone lost")
        # it is said, not only shown
        assert np.abs(recorded[0]).max() > 1_000
        sound.plug(MICROPHONE, rate_hz=44_100)
        assert run.wait_for('"device-returned"', '"microphone"')
        assert run.wait_for('"spoken"', "Flight controls")
        assert run.answer("controls", "responses/010-controls-slt.flac")
        while run.wait_for(""):
            pass
        assert run.process.wait(TIMEOUT_S) == 0
    told = (tmp_path / "stderr").read_text()
    assert "it is waited for" in told
    assert f"Listening again, with {MICROPHONE}." in told
    with Journal.open(tmp_path / "journal.sqlite", create=False) as journal:
        (entered,) = journal.runs()
        assert verify(journal, entered.run_id) == ()


def test_ctrl_c_works_while_the_microphone_is_gone(sound: VirtualSound, tmp_path: Path) -> None:
    with live_run(sound, tmp_path) as run:
        assert run.wait_for('"started"')
        sound.unplug(MICROPHONE)
        assert run.wait_for('"device-lost"', '"microphone"')
        run.process.send_signal(signal.SIGINT)
        assert run.process.wait(TIMEOUT_S) == 130
    assert "voiceflow resume" in (tmp_path / "stderr").read_text()
