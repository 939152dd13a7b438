"""The program as it is, but for its microphone's clock: a signal moves that on by two minutes.

Two minutes without a word, as the loop, the journal and the conversation see them, while the
test waits for none.
"""

import signal
import sys
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from typing_extensions import override

from voiceflow.audio.frames import Frame
from voiceflow.audio.microphone import MicrophoneSource
from voiceflow.cli.main import main
from voiceflow.session import assembly

AWAY_S: Final = 120.0
_away = [0]


def _go_away(number: int, frame: object) -> None:
    del number, frame
    _away[0] += 1


class HastyMicrophone(MicrophoneSource):
    """A microphone after which time jumps, as often as the signal came."""

    @override
    def frames(self) -> Iterator[Frame]:
        before = _away[0]
        for frame in super().frames():
            yield replace(frame, start_s=frame.start_s + AWAY_S * (_away[0] - before))


if __name__ == "__main__":
    signal.signal(signal.SIGUSR1, _go_away)
    vars(assembly)["MicrophoneSource"] = HastyMicrophone
    sys.argv[0] = "voiceflow"
    main()
