"""A room made of virtual devices, in which the real program is spoken to and recorded.

A PulseAudio server of its own, in a folder of its own, with null sinks: nobody's sound
server is touched, and no sound card is needed. All that sounds goes through one null
sink of three channels, so it is recorded on one clock, sample by sample:

* ``PERSON``: what the person says, and nothing else;
* ``TOOL``: what comes out of the program's loudspeaker;
* ``MICROPHONE``: what its microphone takes in: the person, the noise of the room, and
  the loudspeaker where the room has an echo.

The servers' own tools (pactl, pacat, parec) do the work, because they are there
wherever PulseAudio is.
"""

import os
import shutil
import subprocess
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from voiceflow.audio.frames import RATE_HZ, Samples
from voiceflow.audio.wav import write_wav
from voiceflow.errors import UsageError
from voiceflow.evaluation.noise import Noise, coloured

PERSON, TOOL, MICROPHONE = range(3)
_CHANNELS: Final = ("front-left", "front-right", "front-center")
_NEEDED: Final = ("pulseaudio", "pactl", "pacat", "parec")
_START_S: Final = 10.0
#: Listening must be quick; what is played must not run dry on a busy machine.
_RECORD_MS: Final = 10
_PLAY_MS: Final = 2000
#: What is said last, in the server's memory.
_LINE: Final = "line"
_BLOCK: Final = RATE_HZ // 100
_FULL_SCALE: Final = 32_768.0
#: A loop of noise so long repeats too seldom to be learnt.
_NOISE_S: Final = 37

Recording = NDArray[np.int16]


def require_room() -> None:
    """See that virtual devices can be made here.

    Raises:
        UsageError: If a part of PulseAudio is missing.
    """
    missing = [name for name in _NEEDED if shutil.which(name) is None]
    if missing:
        what = f"virtual sound devices need PulseAudio, and {', '.join(missing)} is not here"
        remedy = (
            "Install it (on Debian and Ubuntu: pulseaudio, pulseaudio-utils, libasound2-plugins)."
        )
        raise UsageError(what, remedy)


class Room:
    """The room while the bench runs; made by ``open_room``."""

    def __init__(self, folder: Path, environment: dict[str, str]) -> None:
        self._folder = folder
        self.environment = environment
        self._loudspeaker = ""
        self._stopping = threading.Event()
        self._processes: list[subprocess.Popen[bytes]] = []
        self._threads: list[threading.Thread] = []
        self._recorded = 0
        self._track = folder / "room.raw"

    # --- devices

    def _control(self, *words: str) -> str:
        done = subprocess.run(
            ["pactl", *words], env=self.environment, capture_output=True, text=True, check=False
        )
        if done.returncode:
            what = f"PulseAudio refused {' '.join(words)}: {done.stderr.strip()}"
            raise UsageError(what, "See that it is whole: pulseaudio --version.")
        return done.stdout.strip()

    def _remap(self, name: str, channels: tuple[int, ...]) -> str:
        own = ",".join(_CHANNELS[: len(channels)]) if len(channels) > 1 else "mono"
        theirs = ",".join(_CHANNELS[channel] for channel in channels)
        return self._control(
            "load-module",
            "module-remap-sink",
            f"sink_name={name}",
            "master=room",
            f"channels={len(channels)}",
            f"channel_map={own}",
            f"master_channel_map={theirs}",
            "remix=no",
        )

    def furnish(self) -> None:
        """Make the devices."""
        self._control(
            "load-module",
            "module-null-sink",
            "sink_name=room",
            f"rate={RATE_HZ}",
            "channels=3",
            f"channel_map={','.join(_CHANNELS)}",
        )
        self._remap("person", (PERSON, MICROPHONE))
        self._loudspeaker = self._remap("speakers", (TOOL, MICROPHONE))
        self.echo(0.0)
        self._remap("around", (MICROPHONE,))
        self._control("set-default-sink", "speakers")
        self._control(
            "load-module",
            "module-remap-source",
            "source_name=microphone",
            "master=room.monitor",
            "channels=1",
            "channel_map=mono",
            f"master_channel_map={_CHANNELS[MICROPHONE]}",
            "remix=no",
        )
        self._control("set-default-source", "microphone")

    def plug_microphone(self) -> None:
        """Let the microphone give sound again."""
        self._control("suspend-source", "microphone", "0")

    def unplug_microphone(self) -> None:
        """Let the microphone give no more sound.

        If it were taken away, the server would give its listeners another one.
        """
        self._control("suspend-source", "microphone", "1")

    # --- sound

    @property
    def recorded(self) -> int:
        """How many samples of each channel have been recorded so far."""
        return self._recorded

    def record(self) -> None:
        """Record everything from now on."""
        recorder = self._start(
            [
                "parec",
                "--device=room.monitor",
                f"--channels={len(_CHANNELS)}",
                f"--channel-map={','.join(_CHANNELS)}",
            ],
            _RECORD_MS,
            reads=True,
        )
        self._thread(lambda: self._keep(recorder))
        deadline = time.monotonic() + _START_S
        while not self._recorded:
            if recorder.poll() is not None or time.monotonic() > deadline:
                what = "the virtual devices cannot be recorded: parec gives no sound"
                raise UsageError(what, "See that PulseAudio is whole: pulseaudio --version.")
            time.sleep(0.01)

    def echo(self, gain: float) -> None:
        """Let the microphone hear the loudspeaker.

        Args:
            gain: How loud, against how it is recorded on the track of the tool.
        """
        inputs = self._control("list", "short", "sink-inputs").splitlines()
        for line in inputs:
            number = line.split("\t")[0]
            details = self._control("list", "sink-inputs").split(f"Sink Input #{number}\n")[1]
            if f"Owner Module: {self._loudspeaker}\n" in details.split("Sink Input #")[0]:
                # linear volumes: pactl's percent are cubes
                self._control("set-sink-input-volume", number, "1.0", f"{gain:.4f}")
                return
        what = "PulseAudio does not show the loudspeaker that it was told to make"
        raise UsageError(what, "See that it is whole: pulseaudio --version.")

    def prepare(self, samples: Samples) -> None:
        """Take in what the person will say next.

        The server plays it out of its own memory, so a busy machine makes no holes in it.

        Args:
            samples: int16 mono at 16 kHz.
        """
        path = self._folder / f"{_LINE}.wav"
        write_wav(path, samples)
        self._control("upload-sample", str(path), _LINE)

    def say(self) -> None:
        """Let the person say what was prepared, at once."""
        self._control("play-sample", _LINE, "person")

    def fill(self, rms: float, seed: int) -> None:
        """Fill the room with pink noise, from now on, and the loudspeaker with silence.

        A virtual device that runs dry pauses for 2 s, which a real one does not.

        Args:
            rms: How loud, in steps of int16.
            seed: Where chance comes from.
        """
        noise = coloured(Noise.PINK, _NOISE_S * RATE_HZ, np.random.default_rng(seed)) * rms
        sound = np.clip(np.rint(noise), -_FULL_SCALE, _FULL_SCALE - 1).astype(np.int16).tobytes()
        self._flow("around", sound)
        self._flow("speakers", bytes(2 * RATE_HZ))

    def _flow(self, sink: str, sound: bytes) -> None:
        player = self._player(sink)

        def flow() -> None:
            while not self._stopping.is_set() and _pour(player, sound):
                pass

        self._thread(flow)

    def recording(self) -> Recording:
        """Give what was recorded, shape (samples, 3)."""
        flat = np.memmap(self._track, dtype=np.int16, mode="r")
        count = len(flat) // len(_CHANNELS)
        return np.asarray(flat[: count * len(_CHANNELS)]).reshape(count, len(_CHANNELS))

    def _player(self, sink: str) -> subprocess.Popen[bytes]:
        command = ["pacat", "-p", "-d", sink, "--channels=1"]
        return self._start(command, _PLAY_MS, reads=False)

    def _start(
        self, command: list[str], latency_ms: int, *, reads: bool
    ) -> subprocess.Popen[bytes]:
        sound = ["--raw", "--format=s16le", f"--rate={RATE_HZ}", f"--latency-msec={latency_ms}"]
        process = subprocess.Popen(
            command + sound,
            env=self.environment,
            stdin=None if reads else subprocess.PIPE,
            stdout=subprocess.PIPE if reads else None,
            stderr=subprocess.DEVNULL,
        )
        self._processes = [one for one in self._processes if one.poll() is None] + [process]
        return process

    def _thread(self, work: Callable[[], object]) -> None:
        thread = threading.Thread(target=work, daemon=True)
        self._threads = [one for one in self._threads if one.is_alive()] + [thread]
        thread.start()

    def _keep(self, recorder: subprocess.Popen[bytes]) -> None:
        wanted = _BLOCK * len(_CHANNELS) * 2
        with self._track.open("wb") as track:
            while recorder.stdout is not None and (block := recorder.stdout.read(wanted)):
                if len(block) < wanted:
                    return  # the room is being closed
                track.write(block)
                track.flush()
                self._recorded += _BLOCK

    def close(self) -> None:
        """Stop all that sounds and records."""
        self._stopping.set()
        for process in self._processes:
            if process.poll() is None:
                process.terminate()
        for process in self._processes:
            with suppress(subprocess.TimeoutExpired):
                process.wait(5)
        for thread in self._threads:
            thread.join(5)
        for process in self._processes:
            for pipe in (process.stdin, process.stdout):
                if pipe is not None:
                    with suppress(OSError):
                        pipe.close()


def _pour(player: subprocess.Popen[bytes], sound: bytes) -> bool:
    if player.stdin is None:
        return False
    try:
        player.stdin.write(sound)
        player.stdin.flush()
    except (OSError, ValueError):
        return False  # the room was closed meanwhile
    return True


@contextmanager
def open_room() -> Iterator[Room]:
    """Give a room; server, devices and files are gone afterwards.

    Raises:
        UsageError: If PulseAudio is missing or does not start.
    """
    require_room()
    with tempfile.TemporaryDirectory(prefix="voiceflow-room-") as name:
        folder = Path(name)
        socket = folder / "native"
        environment = {
            key: value for key, value in os.environ.items() if not key.startswith("PULSE_")
        }
        environment |= {
            "XDG_RUNTIME_DIR": name,
            "PULSE_RUNTIME_PATH": str(folder / "pulse"),
            "PULSE_STATE_PATH": str(folder / "state"),
            "PULSE_COOKIE": str(folder / "cookie"),
            "PULSE_SERVER": f"unix:{socket}",
            # no session bus: nobody is to be asked for priority, nor for devices
            "DBUS_SESSION_BUS_ADDRESS": f"unix:path={folder / 'no-bus'}",
        }
        errors = folder / "server.txt"
        with errors.open("wb") as error_stream:
            server = subprocess.Popen(
                [
                    "pulseaudio",
                    "-n",
                    "--daemonize=no",
                    "--use-pid-file=no",
                    "--exit-idle-time=-1",
                    "--disable-shm=yes",
                    "--log-level=error",
                    # as on any desktop, where they are granted
                    "--high-priority=yes",
                    "--realtime=yes",
                    f"--load=module-native-protocol-unix socket={socket} auth-anonymous=1",
                ],
                env=environment,
                stdout=subprocess.DEVNULL,
                stderr=error_stream,
            )
        room = Room(folder, environment)
        try:
            _wait_for(socket, server, errors)
            room.furnish()
            yield room
        finally:
            room.close()
            server.terminate()
            try:
                server.wait(5)
            except subprocess.TimeoutExpired:
                server.kill()
                server.wait()


def _wait_for(socket: Path, server: subprocess.Popen[bytes], errors: Path) -> None:
    deadline = time.monotonic() + _START_S
    while not socket.exists():
        if server.poll() is not None or time.monotonic() > deadline:
            lines = errors.read_text(encoding="utf-8", errors="replace").strip().splitlines()
            what = f"PulseAudio did not start: {lines[-1] if lines else 'it said nothing'}"
            raise UsageError(what, "See that it is whole: pulseaudio --version.")
        time.sleep(0.02)
