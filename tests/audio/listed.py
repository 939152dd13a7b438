"""A stand-in for PortAudio where no device is wanted."""

from typing import Any


class ListedAudio:
    """A stand-in for PortAudio: a list of devices, and streams that refuse some forms."""

    class PortAudioError(Exception):
        pass

    def __init__(self, *names: str, default: int = 0, hosts: tuple[int, ...] = ()) -> None:
        self._names = names
        self._hosts = hosts or (0,) * len(names)
        self.default = type("Default", (), {"device": (default, default)})

    def query_devices(self) -> list[dict[str, Any]]:
        return [
            {
                "index": number,
                "name": name,
                "hostapi": host,
                "max_input_channels": 2,
                "max_output_channels": 0,
                "default_samplerate": 44_100.0,
            }
            for number, (name, host) in enumerate(zip(self._names, self._hosts, strict=True))
        ]
