"""A session on a scripted ear: real dialogue, real grammar, real journal, no models."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from tests.builders import make_check, make_gauge, make_item
from tests.fakes import (
    BeepingSynthesiser,
    LoudFinder,
    MemoryJournal,
    NotingWatcher,
    ScriptedRecogniser,
    spoken,
)
from voiceflow.audio.frames import Samples
from voiceflow.audio.source import AudioSource
from voiceflow.audio.wav import RecordingSource
from voiceflow.checks.model import Check, Wait
from voiceflow.dialogue.events import ProfileUsed
from voiceflow.dialogue.state import State
from voiceflow.journal.header import RunHeader
from voiceflow.journal.store import Journal
from voiceflow.languages.registry import language
from voiceflow.recognition.engines.typed import TypedRecogniser
from voiceflow.session.ears import Ears
from voiceflow.session.effects import Conversation, Effects
from voiceflow.session.grammars import Grammars
from voiceflow.session.lines import Lines
from voiceflow.session.loop import AudioLoop, Beside
from voiceflow.session.notes import NoteTaker
from voiceflow.session.resumption import Past, rebuild
from voiceflow.session.sinks import TrackSink
from voiceflow.session.typed import Keyboard
from voiceflow.session.voice import Sink, Timeline
from voiceflow.settings import NoteSettings, Settings
from voiceflow.synthesis.synthesiser import Synthesiser

RUN = "run-1"


def preparation() -> Check:
    """Four items: a response, a gauge, a timed one, a door."""
    return make_check(
        make_item(),
        make_gauge(),
        make_item(
            "warning",
            "Gyro warning light",
            expect=("out",),
            not_as_expected=("on",),
            wait=Wait(within_s=10.0),
        ),
        make_item("door", "Cabin door", expect=("closed",), not_as_expected=("open",)),
    )


def header(check: Check) -> RunHeader:
    return RunHeader(
        run_id=RUN,
        program_version="0",
        started_at="2026-11-25T09:30:00+00:00",
        check=check,
        settings=Settings(),
        engine="scripted",
        recording="/recording.wav",
    )


@dataclass(slots=True)
class Rig:
    """One session in a journal: its parts, to run and to look at."""

    journal: Journal | MemoryJournal
    script: Sequence[str]
    samples: Samples
    check: Check = field(default_factory=preparation)
    synthesiser: Synthesiser | None = field(default_factory=BeepingSynthesiser)
    source: AudioSource | None = None
    sinks: tuple[Sink, ...] = ()
    typed: Lines | None = None
    notes: NoteSettings = field(default_factory=NoteSettings)
    watcher: NotingWatcher = field(default_factory=NotingWatcher)
    track: TrackSink = field(default_factory=TrackSink)

    def loop(self, past: Past, profile: ProfileUsed | None = None) -> AudioLoop:
        pack = language(self.check.language)
        voice = Timeline(self.synthesiser, Settings().voice, (self.track, *self.sinks))
        self.recogniser = ScriptedRecogniser(self.script)
        ears = Ears(
            finder=LoudFinder(),
            recogniser=self.recogniser,
            grammar=Grammars(self.check, pack).grammar,
            language=pack,
            notes=NoteTaker(keep=self.journal.keep_sound, settings=self.notes),
        )
        grammars = Grammars(self.check, pack)
        keyboard = Keyboard(recogniser=TypedRecogniser(pack), grammars=grammars, language=pack)

        def listen(item_id: str, previous_id: str | None, note_on: str | None = None) -> None:
            ears.listen(item_id, previous_id, note_on)
            keyboard.listen(item_id, previous_id, note_on)

        effects = Effects(
            store=self.journal,
            run_id=RUN,
            language=pack,
            voice=voice,
            listen=listen,
            watcher=self.watcher,
        )
        return AudioLoop(
            conversation=Conversation(past.state, effects),
            ears=ears,
            voice=voice,
            source=self.source or RecordingSource(self.samples),
            watcher=self.watcher,
            beside=None if self.typed is None else Beside(keyboard=keyboard, lines=self.typed),
            profile=profile,
        )

    def run(self) -> State:
        """Enter the run and do it from its start."""
        self.journal.begin(header(self.check))
        return self.loop(self.past()).run()

    def past(self) -> Past:
        return rebuild(self.journal.header(RUN), self.journal.events(RUN))

    def resume(self) -> State:
        """Go on with the recording."""
        past = self.past()
        return self.loop(past).resume_recording(past)

    recogniser: ScriptedRecogniser = field(init=False)


def rig(path: Path | None, script: Sequence[str], *pauses_s: float, tail_s: float = 8.0) -> Rig:
    """Make a rig whose person says these texts, after a pause each (default 6 s).

    Args:
        path: Where the journal is; None: in memory.
        script: What is heard of each utterance.
        pauses_s: Silence before each.
        tail_s: Silence after the last.
    """
    pauses_s = pauses_s or (6.0,) * len(script)
    journal = MemoryJournal() if path is None else Journal.open(path)
    return Rig(journal=journal, script=script, samples=spoken(*pauses_s, tail_s=tail_s))
