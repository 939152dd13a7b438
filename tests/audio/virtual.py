"""Virtual sound devices: PulseAudio null sinks, each on a server of its own.

On one server a stream of a device that goes would be moved to another device, as on a
desktop; with a server each, a device that is unplugged is gone.
"""

import fcntl
import os
import queue
import shutil
import subprocess
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import numpy as np
import pytest

from voiceflow.audio.frames import RATE_HZ, Samples

MICROPHONE = "cockpit_microphone"
SPEAKERS = "cockpit_speakers"
_SINKS = {MICROPHONE: "room", SPEAKERS: "cone"}
_ALSA = """\
pcm.{name} {{ type pulse
  server "unix:{socket}"
  device "{device}"
}}
"""
#: Long enough for a machine with much else to do.
TIMEOUT_S = 60


class _Room:
    """Sound that never ends, as in a room: silence, and what is said.

    A null sink that runs dry pauses for 2 s.
    """

    def __init__(self, socket: Path) -> None:
        pacat = ["pacat", "--playback", "-s", f"unix:{socket}", "--raw", f"--rate={RATE_HZ}"]
        pacat += ["--channels=1", "--format=s16le", "--latency-msec=200"]
        self._process = subprocess.Popen(pacat, stdin=subprocess.PIPE, stderr=subprocess.DEVNULL)
        assert self._process.stdin is not None
        self._pipe = self._process.stdin
        fcntl.fcntl(self._pipe, fcntl.F_SETPIPE_SZ, 4096)  # 0.13 s
        self._said: queue.SimpleQueue[tuple[bytes, threading.Event]] = queue.SimpleQueue()
        self._closed = False
        self._thread = threading.Thread(target=self._sound, daemon=True)
        self._thread.start()

    def _sound(self) -> None:
        with suppress(OSError, ValueError):  # the device has gone
            while not self._closed:
                try:
                    sound, done = self._said.get_nowait()
                except queue.Empty:
                    self._pipe.write(bytes(640))
                    self._pipe.flush()
                else:
                    self._pipe.write(sound)
                    self._pipe.flush()
                    done.set()

    def say(self, samples: Samples) -> None:
        done = threading.Event()
        self._said.put((samples.tobytes(), done))
        assert done.wait(TIMEOUT_S)

    def close(self) -> None:
        self._closed = True
        self._process.kill()
        self._process.wait(TIMEOUT_S)
        self._thread.join(TIMEOUT_S)
        with suppress(OSError):
            self._pipe.close()


class VirtualSound:
    """A microphone into which sound can be played, and speakers that can be recorded."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._servers: list[int] = []
        self._room: _Room | None = None
        config = ["</usr/share/alsa/alsa.conf>\n"]
        for name, sink in _SINKS.items():
            device = f"{sink}.monitor" if name == MICROPHONE else sink
            config.append(_ALSA.format(name=name, socket=self._socket(name), device=device))
        (folder / "alsa.conf").write_text("".join(config), encoding="ascii")
        #: What a program needs to see these devices, and no others.
        self.environment = {"ALSA_CONFIG_PATH": str(folder / "alsa.conf")}
        for name in _SINKS:
            self._serve(name)

    def _socket(self, name: str) -> Path:
        return self._folder / f"{name}.socket"

    def _serve(self, name: str) -> None:
        own = self._folder / name
        own.mkdir()
        load = f"module-native-protocol-unix socket={self._socket(name)} auth-anonymous=1"
        server = ["pulseaudio", "-n", "--daemonize=yes", "--exit-idle-time=-1"]
        server += ["--disable-shm=yes", "--log-target=null", f"--load={load}"]
        places = {"PULSE_RUNTIME_PATH": str(own), "PULSE_STATE_PATH": str(own), "HOME": str(own)}
        subprocess.run(
            server, env=os.environ | places, check=True, capture_output=True, timeout=TIMEOUT_S
        )
        self._servers.append(int((own / "pid").read_text(encoding="ascii")))

    def _control(self, name: str, *command: str) -> None:
        pactl = ["pactl", "-s", f"unix:{self._socket(name)}", *command]
        subprocess.run(pactl, check=True, capture_output=True, timeout=TIMEOUT_S)

    def plug(self, name: str, rate_hz: int = 48_000, channels: int = 2) -> None:
        """Make a device appear."""
        form = (f"rate={rate_hz}", f"channels={channels}")
        self._control(name, "load-module", "module-null-sink", f"sink_name={_SINKS[name]}", *form)
        if name == MICROPHONE:
            self._room = _Room(self._socket(MICROPHONE))

    def unplug(self, name: str) -> None:
        """Make it go."""
        self._control(name, "unload-module", "module-null-sink")
        if name == MICROPHONE:
            self._close_room()

    def _close_room(self) -> None:
        room, self._room = self._room, None
        if room is not None:
            room.close()

    def suspend(self, name: str, *, is_on: bool) -> None:
        """Make it stall: it is still there, and no sound moves."""
        self._control(name, "suspend-sink", _SINKS[name], "1" if is_on else "0")

    def say(self, samples: Samples) -> None:
        """Play sound into the microphone; comes back when it has been taken."""
        assert self._room is not None
        self._room.say(samples)

    @contextmanager
    def recording(self) -> Iterator[list[Samples]]:
        """Record the speakers meanwhile; the list holds the sound afterwards."""
        parec = ["pacat", "--record", "-s", f"unix:{self._socket(SPEAKERS)}", "--raw"]
        parec += ["-d", f"{_SINKS[SPEAKERS]}.monitor", f"--rate={RATE_HZ}", "--channels=1"]
        parec += ["--format=s16le", "--latency-msec=20"]
        path = self._folder / "recorded.raw"
        sound: list[Samples] = []
        with path.open("wb") as stream, subprocess.Popen(parec, stdout=stream) as process:
            try:
                yield sound
            finally:
                process.terminate()
        sound.append(np.fromfile(path, dtype=np.int16))

    def close(self) -> None:
        self._close_room()
        for server in self._servers:
            with suppress(ProcessLookupError):
                os.kill(server, 15)


@contextmanager
def virtual_sound() -> Iterator[VirtualSound]:
    """Give virtual devices, both plugged in; skip the test where PulseAudio is missing."""
    if shutil.which("pulseaudio") is None or shutil.which("pacat") is None:
        pytest.skip("there is no PulseAudio here (.ci/run installs it)")
    # a short path: that of a socket has 107 characters at most
    with tempfile.TemporaryDirectory(prefix="vf-", ignore_cleanup_errors=True) as folder:
        sound = VirtualSound(Path(folder))
        try:
            for name in _SINKS:
                sound.plug(name)
            yield sound
        finally:
            sound.close()
