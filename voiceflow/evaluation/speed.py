"""How fast and how big: measured from outside, on real processes.

What lives here: starting processes and watching them. A figure taken inside the
program would leave out starting Python and loading its parts.
"""

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from voiceflow.audio.frames import RATE_HZ
from voiceflow.audio.wav import write_wav
from voiceflow.errors import UsageError
from voiceflow.evaluation.first_word import SOUNDS

#: ru_maxrss counts KiB on Linux, bytes on macOS (getrusage(2) of each).
_RSS_UNIT = 1 if sys.platform == "darwin" else 1024
#: The machine may be busy with other things: the quickest start of so many is the program's.
_STARTS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Speed:
    """A check on a recording.

    Attributes:
        first_word_s: From starting a process to its first word, the quickest of three.
        wall_s: From starting a process to the end of the whole check.
        cpu_s: Processor time of the whole check.
        peak_mb: Most memory that process ever held, megabytes (10^6 bytes).
    """

    first_word_s: float
    wall_s: float
    cpu_s: float
    peak_mb: float


def measure(
    check: str,
    recording: Path,
    engine: str,
    model: Path | None = None,
    front_end: Sequence[str] = (),
) -> Speed:
    """Run a check on a recording, with the voice, and watch it.

    Args:
        check: Shipped name or path.
        recording: What is said; the run may end before or after it does.
        engine: As on the command line.
        model: Model folder, for engines that need one.
        front_end: Modules that the front end loads before a run.

    Raises:
        UsageError: If a process fails or never speaks.
    """
    first_word_s = min(_first_word_s(check, engine, model, front_end) for _ in range(_STARTS))
    with tempfile.TemporaryDirectory(prefix="voiceflow-") as folder:
        command = [sys.executable, "-m", "voiceflow", "run", check]
        command += ["--audio", str(recording), "--engine", engine, "--json"]
        command += ["--voice", str(Path(folder) / "voice.wav")]
        command += ["--journal", str(Path(folder) / "journal.sqlite")]
        if model is not None:
            command += ["--model", str(model)]
        errors = Path(folder) / "errors.txt"
        with errors.open("wb") as error_stream:
            started = time.perf_counter()
            process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=error_stream)
            # wait4 and not wait: it gives what this one process used
            _, status, usage = os.wait4(process.pid, 0)
            wall_s = time.perf_counter() - started
            process.returncode = os.waitstatus_to_exitcode(status)
        if process.returncode not in {0, 1}:
            raise _cannot(check, recording, errors)
    return Speed(
        first_word_s=first_word_s,
        wall_s=wall_s,
        cpu_s=usage.ru_utime + usage.ru_stime,
        peak_mb=usage.ru_maxrss * _RSS_UNIT / 1e6,
    )


def _first_word_s(check: str, engine: str, model: Path | None, front_end: Sequence[str]) -> float:
    with tempfile.TemporaryDirectory(prefix="voiceflow-") as folder:
        silence = Path(folder) / "silence.wav"
        write_wav(silence, np.zeros(RATE_HZ // 10, dtype=np.int16))
        command = [sys.executable, "-m", "voiceflow.evaluation.first_word", check, engine]
        command += [str(model or ""), folder, *front_end]
        errors = Path(folder) / "errors.txt"
        with errors.open("wb") as error_stream:
            started = time.perf_counter()
            with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=error_stream) as process:
                line = process.stdout.readline() if process.stdout else b""
                first_word_s = time.perf_counter() - started
                process.communicate()
        if line != SOUNDS or process.returncode:
            raise _cannot(check, silence, errors)
        return first_word_s


def _cannot(check: str, recording: Path, errors: Path) -> UsageError:
    lines = errors.read_text(encoding="utf-8", errors="replace").strip().splitlines()
    why = lines[-1] if lines else "it said nothing"
    what = f"the speed of {check} on {recording} cannot be measured: {why}"
    return UsageError(what, f"Try it by hand: voiceflow run {check} --audio {recording}.")
