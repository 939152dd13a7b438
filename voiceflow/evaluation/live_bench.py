"""From a wish to a live run: the script, the room, the run, and nothing left behind."""

import signal
import tempfile
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import numpy as np

from voiceflow.evaluation.live import LiveRun, Wishes, run_live
from voiceflow.evaluation.live_lines import Script, from_demo, from_manifest
from voiceflow.evaluation.live_room import open_room, require_room
from voiceflow.evaluation.manifest import Row
from voiceflow.languages.registry import language
from voiceflow.settings import VoiceSettings
from voiceflow.synthesis.pyttsx3_wav import Pyttsx3Synthesiser


def tool_rms(script: Script) -> float:
    """Give how loud the tool's voice is while it speaks, in steps of int16.

    Raises:
        SynthesisError: If there is no voice.
    """
    voice = Pyttsx3Synthesiser(language(script.check.language))
    said = [item.challenge for item in script.check.items[:5]]
    sound = np.concatenate([voice.synthesise(words, VoiceSettings().rate_wpm) for words in said])
    return float(np.sqrt(np.mean(sound.astype(np.float64) ** 2)))


@contextmanager
def _cleaning_up() -> Iterator[None]:
    """Let a polite end of this process end those that it has started, too."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return

    def stop(number: int, frame: object) -> None:
        del number, frame
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGTERM, stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


@contextmanager
def measure_live(
    rows: Sequence[Row],
    demo: Path | None,
    turns: int,
    wishes: Wishes,
    on_said: Callable[[int], None] | None = None,
) -> Iterator[LiveRun]:
    """Do a live run; its journal is there until the block ends.

    Args:
        rows: A whole manifest.
        demo: Folder of the recorded demo: its check is done, with its lines. None: a
            check is made of the rows.
        turns: How many lines that count are said at least, where a check is made.
        wishes: How the bench is to be.
        on_said: Told after every line how many that count have been said.

    Raises:
        UsageError: If PulseAudio is missing, or the program under test fails.
    """
    require_room()
    with _cleaning_up(), tempfile.TemporaryDirectory(prefix="voiceflow-live-") as name:
        folder = Path(name)
        if demo is None:
            script = from_manifest(rows, folder, turns, wishes.seed)
        else:
            script = from_demo(demo, others=rows)
        loud = None if wishes.echo_db is None else tool_rms(script)
        with open_room() as room:
            run = run_live(script, room, folder, wishes, tool_rms=loud, on_said=on_said)
        yield run
