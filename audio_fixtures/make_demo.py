"""Make the demo: one recorded cockpit preparation, and check that it runs as written.

Run it from the checkout, with flite on the machine, after ``make_fixtures.py``::

    python audio_fixtures/make_demo.py

The script says what is answered to what (demo/script.yaml). A scripted speaker
listens to the real session: when the tool has finished speaking it speaks its next
line, as a person would; what it says and the quiet room between are the recording.
Only this side is recorded. Nothing is forced: if a line is not understood as the
script says, making the demo fails with the place.
"""

import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import soundfile
from make_fixtures import HERE, Voice, room, speak
from ruamel.yaml import YAML

import voiceflow
from voiceflow.audio.frames import FRAME_SAMPLES, RATE_HZ, Frame, Samples
from voiceflow.checks.loader import load_check
from voiceflow.checks.shipped import find_check
from voiceflow.dialogue.actions import Step
from voiceflow.dialogue.events import Event, Heard
from voiceflow.dialogue.machine import begin
from voiceflow.dialogue.state import State
from voiceflow.journal.header import RunHeader
from voiceflow.journal.store import Journal
from voiceflow.languages.registry import language
from voiceflow.recognition.endpointing import Endpointer
from voiceflow.session.ears import Ears
from voiceflow.session.effects import Conversation, Effects
from voiceflow.session.engines import POCKETSPHINX, make_recogniser
from voiceflow.session.grammars import Grammars
from voiceflow.session.loop import AudioLoop
from voiceflow.session.voice import Timeline
from voiceflow.settings import Settings
from voiceflow.synthesis.cache import CachedSynthesiser
from voiceflow.synthesis.pyttsx3_wav import Pyttsx3Synthesiser

SCRIPT = HERE / "demo" / "script.yaml"
RECORDING = HERE / "demo" / "cockpit-preparation.flac"
#: How long a person waits after the tool has finished. Long enough that the voice of
#: another machine, a little slower than this one's, is not interrupted.
ANSWER_AFTER_S = 0.6
TAIL_S = 2.0
LONGEST_S = 600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of the script.

    Attributes:
        at: The item that is asked when it is said.
        say: Pieces of text, with pauses in seconds between.
        after_s: Silence before it.
        during_s: Interrupt the tool this long after it began to speak.
    """

    at: str
    say: tuple[str | float, ...]
    after_s: float
    during_s: float | None


class ScriptError(Exception):
    """The session did not go as the script says."""


class Speaker:
    """Somebody who follows the script: a source of sound, and a watcher of the session."""

    def __init__(self, lines: list[Line], voice: Voice, seed: int) -> None:
        self._lines = lines
        self._voice = voice
        self._next = 0
        self._room = room(int(LONGEST_S * RATE_HZ), seed)
        self._speech = np.zeros(0)
        self._waiting_for_answer = False
        self._silent_since_s = 0.0
        self._tool_since_s: float | None = None
        self.recorded: list[Samples] = []
        self.timeline: Timeline | None = None
        self.state: State | None = None

    # the source

    def frames(self) -> Iterator[Frame]:
        position = 0
        while position + FRAME_SAMPLES <= len(self._room):
            now_s = position / RATE_HZ
            self._listen(now_s)
            if not len(self._speech):
                self._maybe_speak(now_s)
            sound = self._room[position : position + FRAME_SAMPLES].copy()
            piece, self._speech = self._speech[:FRAME_SAMPLES], self._speech[FRAME_SAMPLES:]
            sound[: len(piece)] += piece
            samples = np.clip(np.round(sound * 32768), -32768, 32767).astype(np.int16)
            self.recorded.append(samples)
            yield Frame(samples=samples, start_s=now_s)
            position += FRAME_SAMPLES
        raise ScriptError(f"the check is not over after {LONGEST_S:.0f} s")

    def close(self) -> None:
        """Nothing to let go of."""

    def _listen(self, now_s: float) -> None:
        speaking = self.timeline is not None and self.timeline.next_end_s is not None
        if speaking:
            self._silent_since_s = now_s
            if self._tool_since_s is None:
                self._tool_since_s = now_s
        else:
            self._tool_since_s = None

    def _maybe_speak(self, now_s: float) -> None:
        if self._next >= len(self._lines) or self._waiting_for_answer:
            return
        line = self._lines[self._next]
        if line.during_s is not None:
            due = self._tool_since_s is not None and now_s - self._tool_since_s >= line.during_s
        else:
            due = self._tool_since_s is None and now_s - self._silent_since_s >= line.after_s
        if not due:
            return
        self._expect(line, now_s)
        pieces = [
            speak(self._voice, piece) if isinstance(piece, str) else np.zeros(int(piece * RATE_HZ))
            for piece in line.say
        ]
        self._speech = np.concatenate(pieces)
        self._next += 1
        self._waiting_for_answer = True

    def _expect(self, line: Line, now_s: float) -> None:
        asked = self.state.item_id if self.state else None
        if asked != line.at:
            before = self._lines[self._next - 1].say if self._next else "the start"
            msg = f"at {now_s:.1f} s, after {before}: the script is at {line.at}, the check at {asked}"
            raise ScriptError(msg)

    # the watcher

    def happened(self, seq: int, event: Event, step: Step) -> None:
        del seq
        self.state = step.state
        if isinstance(event, Heard):
            self._waiting_for_answer = False
            self._silent_since_s = event.at_s
            utterance = event.utterance
            print(f"{event.at_s:6.1f}  ← {utterance.text} [{utterance.confidence:.2f}]")

    def said(self, at_s: float, words: str) -> None:
        print(f"{at_s:6.1f}  → {words}")

    def moved(self, at_s: float) -> None:
        """Nothing to see."""

    def entered(self, run_id: str) -> None:
        """Nothing to see."""

    def told(self, sentence: str) -> None:
        """Nothing to see."""


def read_script(path: Path) -> tuple[str, Voice, list[Line], dict[str, object]]:
    """Read the script: check, voice, lines, how it is to end."""
    script = YAML(typ="safe").load(path)
    lines = []
    for entry in script["lines"]:
        pieces = entry["say"] if isinstance(entry["say"], list) else [entry["say"]]
        lines.append(
            Line(
                at=entry["at"],
                say=tuple(pieces),
                after_s=float(entry.get("after_s", ANSWER_AFTER_S)),
                during_s=entry.get("during_s"),
            )
        )
    voice = Voice(program="flite", name=script["voice"])
    return script["check"], voice, lines, script["ends"]


def main() -> None:
    check_name, voice_of_person, lines, ends = read_script(SCRIPT)
    check = load_check(find_check(check_name))
    pack = language(check.language)
    settings = Settings()
    speaker = Speaker(lines, voice_of_person, seed=7)
    voice = Timeline(CachedSynthesiser(Pyttsx3Synthesiser(pack)), settings.voice)
    speaker.timeline = voice
    ears = Ears(
        finder=Endpointer(settings.endpointing),
        recogniser=make_recogniser(pack, POCKETSPHINX),
        grammar=Grammars(check, pack).grammar,
        language=pack,
    )
    header = RunHeader(
        run_id="demo",
        program_version=voiceflow.__version__,
        started_at=datetime.now(UTC).isoformat(),
        check=check,
        settings=settings,
        engine="pocketsphinx",
    )
    with (
        tempfile.TemporaryDirectory() as folder,
        Journal.open(Path(folder) / "journal.sqlite") as journal,
    ):
        journal.begin(header)
        effects = Effects(
            store=journal,
            run_id="demo",
            language=pack,
            voice=voice,
            listen=ears.listen,
            watcher=speaker,
        )
        loop = AudioLoop(
            conversation=Conversation(begin(check, settings), effects),
            ears=ears,
            voice=voice,
            source=speaker,
            watcher=speaker,
        )
        state = loop.run()
    found = {
        "ending": state.ending.kind.value if state.ending else None,
        "discrepancies": [one.item_id for one in state.open_discrepancies],
        "open": list(state.ending.open_items) if state.ending else [],
    }
    if found != ends:
        raise ScriptError(f"the script ends with {ends}, the check with {found}")
    last_word = max(
        (index for index, one in enumerate(speaker.recorded) if np.abs(one).max() > 300), default=0
    )
    # the closing words are the tool's: the recording need not last through them
    kept = speaker.recorded[: last_word + int(TAIL_S * RATE_HZ / FRAME_SAMPLES)]
    samples = np.concatenate(kept)
    soundfile.write(
        RECORDING, samples, RATE_HZ, format="FLAC", subtype="PCM_16", compression_level=1.0
    )
    size = RECORDING.stat().st_size
    print(f"{RECORDING.name}: {len(samples) / RATE_HZ:.0f} s, {size / 1e6:.1f} MB")


if __name__ == "__main__":
    try:
        main()
    except ScriptError as error:
        sys.exit(f"make_demo: {error}")
