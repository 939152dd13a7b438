"""From settings and wishes to running parts: the one place that wires them.

Everything that can be refused (a recording, a model, a voice) is refused before the
run is entered in the journal.
"""

import os
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from voiceflow import __version__
from voiceflow.audio.devices import Direction, find_device, look_anew
from voiceflow.audio.frames import Samples
from voiceflow.audio.microphone import MicrophoneSource
from voiceflow.audio.own_voice import CallSuppressor, Loopback, OwnVoiceFilter
from voiceflow.audio.player import SpeakerPlayer
from voiceflow.audio.source import AudioSource
from voiceflow.audio.wav import RecordingSource, read_recording
from voiceflow.checks.model import Check
from voiceflow.dialogue.actions import Say, StopSpeaking
from voiceflow.dialogue.brief import Brief
from voiceflow.dialogue.events import SPEAKERS, Event, ProfileUsed
from voiceflow.dialogue.machine import handle
from voiceflow.dialogue.state import State
from voiceflow.errors import UsageError
from voiceflow.journal.header import MICROPHONE, TYPED, RunHeader, make_run_id
from voiceflow.journal.store import Journal
from voiceflow.phraseology.language import Language, worded
from voiceflow.recognition.endpointing import Endpointer
from voiceflow.recognition.engines.typed import TypedRecogniser
from voiceflow.recognition.recogniser import Recogniser
from voiceflow.session.ahead import Ahead
from voiceflow.session.briefing import Briefing
from voiceflow.session.clock import Clock, MonotonicClock
from voiceflow.session.ears import Ears
from voiceflow.session.effects import Conversation, Effects
from voiceflow.session.engines import choose_engine, deafness, transcriber_of
from voiceflow.session.filtered import FilteredSource
from voiceflow.session.grammars import Grammars
from voiceflow.session.keyed import KeyedEars, TalkKey
from voiceflow.session.lines import Lines
from voiceflow.session.loop import AudioLoop, Beside
from voiceflow.session.notes import NoteTaker
from voiceflow.session.overruns import TellingSource
from voiceflow.session.resumption import Past, rebuild
from voiceflow.session.returning import Reopening, ReturningMicrophone
from voiceflow.session.signals import earcon_of, tone_after
from voiceflow.session.sinks import SpeakerSink, TrackSink
from voiceflow.session.typed import Keyboard, TypedLoop
from voiceflow.session.vocabulary import language_of
from voiceflow.session.voice import Timeline
from voiceflow.session.watcher import Watcher
from voiceflow.settings import Settings
from voiceflow.synthesis.cache import CachedSynthesiser
from voiceflow.synthesis.pyttsx3_wav import Pyttsx3Synthesiser, speaks_from_any_thread

SILENT: Final = "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class Ways:
    """How the person is heard and how the tool speaks.

    Attributes:
        recording: The person is heard in this file instead of a microphone.
        lines: The person types these lines; no sound is listened to.
        beside: Lines that may be typed beside what the microphone hears; not with
            ``talk_key``, which reads the same terminal.
        engine: "auto", "vosk" or "pocketsphinx".
        model: Folder of a Vosk model; none: the usual places are searched.
        profile: Name of the speaker's profile, for PocketSphinx; None or "none": none.
        voice: "speakers", "none", or the path of a WAV file to be written.
        microphone: Name of the microphone or part of it; none: the system's default.
        speakers: Name of the speakers or part of it; none: the system's default.
        talk_key: The microphone is listened to only while this says so; none: always.
        hears_itself: The microphone hears the speakers, as it does without a headset.
        clock: Tells the time of a typed run; none: the computer's clock does.
    """

    recording: Path | None = None
    lines: Lines | None = None
    beside: Lines | None = None
    engine: str = "auto"
    model: Path | None = None
    profile: str | None = None
    voice: str = SILENT
    microphone: str | None = None
    speakers: str | None = None
    talk_key: TalkKey | None = None
    hears_itself: bool = False
    clock: Clock | None = None

    @property
    def is_live(self) -> bool:
        """Whether a microphone is listened to."""
        return self.recording is None and self.lines is None


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """How a run came out.

    Attributes:
        run_id: Its name in the journal.
        state: The last state; its ending is None if the input ended first.
    """

    run_id: str
    state: State


def enter_run(
    journal: Journal,
    check: Check,
    ways: Ways,
    engine_name: str,
    settings: Settings,
    profile: ProfileUsed | None = None,
    *,
    briefing: Briefing | None = None,
    starts_at: datetime | None = None,
) -> RunHeader:
    """Enter a new run in the journal.

    Args:
        journal: Where.
        check: What is run.
        ways: How to hear and speak.
        engine_name: What listens.
        settings: The thresholds.
        profile: Of the speaker.
        briefing: Gathers what is known before it begins; none: nothing is.
        starts_at: Clock time of its second 0; none: now.
    """
    now = datetime.now(UTC).astimezone()
    begins = starts_at or now
    header = RunHeader(
        run_id=make_run_id(now, os.urandom(2)),
        program_version=__version__,
        started_at=begins.isoformat(),
        check=check,
        settings=settings,
        engine=engine_name,
        recording=None if ways.recording is None else str(ways.recording.absolute()),
        model=None if ways.model is None else str(ways.model.absolute()),
        voice=ways.voice,
        profile=profile,
        hears_itself=ways.hears_itself,
        brief=Brief() if briefing is None else briefing.brief(begins),
        clock_given=starts_at is not None,
    )
    journal.begin(header)
    return header


class Session:
    """One run with its parts: made, run once, closed."""

    def __init__(
        self,
        journal: Journal,
        check: Check,
        ways: Ways,
        watcher: Watcher,
        settings: Settings | None = None,
        *,
        briefing: Briefing | None = None,
        starts_at: datetime | None = None,
    ) -> None:
        """Get everything ready; nothing is entered in the journal yet.

        Args:
            journal: Where the run is, or will be.
            check: What is run.
            ways: How to hear and speak.
            watcher: Looks on.
            settings: The thresholds, and how the tool speaks; the usual ones if none. A
                run that is resumed keeps those of its header.
            briefing: Gathers what is known before a new run begins; none: nothing is.
            starts_at: Clock time at which a new run begins; none: now.

        Raises:
            AudioFileError: If the recording cannot be read.
            AudioDeviceError: If there is no such microphone, or there are no such speakers.
            ModelNotFoundError, EngineError: If no engine can listen.
            SynthesisError: If there is no voice.
            LanguageError: If there is no pack for the check's language.
            UsageError: If the wishes contradict each other, or the voice's file will not do.
        """
        if ways.recording is not None and ways.lines is not None:
            what = "a run hears either a recording or the keyboard"
            raise UsageError(what, "Give --audio or --typed, not both.")
        self._journal = journal
        self._check = check
        self._ways = ways
        self._watcher = watcher
        self._settings = settings or Settings()
        self._briefing = briefing
        self._starts_at = starts_at
        self._language = worded(language_of(check), self._settings.voice.wording)
        # before anything that takes its time, such as loading an engine
        if ways.is_live:
            find_device(ways.microphone, Direction.INPUT)
        if ways.voice == SPEAKERS:
            find_device(ways.speakers, Direction.OUTPUT)
        self._player: SpeakerPlayer | None = None
        self._loopback: Loopback | None = None
        self._suppressor: CallSuppressor | None = None
        if ways.hears_itself and ways.is_live and ways.voice == SPEAKERS:
            self._loopback, self._suppressor = Loopback(), CallSuppressor()
        self._samples: Samples | None = None
        if ways.recording is not None:
            self._samples = read_recording(ways.recording)
        self._recogniser: Recogniser | None = None
        self._profile: ProfileUsed | None = None
        if ways.lines is None:
            engine = choose_engine(self._language, ways.engine, ways.model, ways.profile)
            watcher.told(engine.sentence)
            self._recogniser = engine.load()
            self._profile = engine.profile
            self._tell_deafness(self._recogniser)
        if self._track_path is not None:
            _refuse_unusable(self._track_path)
        self._synthesiser: CachedSynthesiser | None = None
        if ways.voice != SILENT:
            self._synthesiser = CachedSynthesiser(
                Pyttsx3Synthesiser(self._language, self._settings.voice.name)
            )
        self._track = TrackSink()

    @property
    def engine_name(self) -> str:
        """The engine's name for the run's header."""
        return TYPED if self._recogniser is None else self._recogniser.name

    def run(self) -> Result:
        """Run the check from its start.

        Raises:
            JournalError: If an event could not be committed; all before it is kept.
            AudioDeviceError: If a device does not open; a run whose device stops working
                holds and goes on.
            EngineError: If the engine cannot hear the grammar of an item.
        """
        settings = self._settings
        with self._source() as source, self._voice(settings) as voice:
            header = enter_run(
                self._journal,
                self._check,
                self._ways,
                self.engine_name,
                settings,
                self._profile,
                briefing=self._briefing,
                starts_at=self._starts_at,
            )
            return self._go(header, rebuild(header, ()), voice, source, is_new=True)

    def resume(self, header: RunHeader, events: Iterable[Event]) -> Result:
        """Go on with a run at the very place where it stopped.

        Args:
            header: The head of the run.
            events: What is committed of it.

        Raises:
            As ``run``.
        """
        events = tuple(events)
        if self._synthesiser is not None and self._track_path is not None:
            retell(header, events, self._language, self._synthesiser, self._track)
        with self._source() as source, self._voice(header.settings) as voice:
            return self._go(header, rebuild(header, events), voice, source, is_new=False)

    def _tell_deafness(self, recogniser: Recogniser) -> None:
        deaf = deafness(recogniser, self._check, self._language)
        if deaf is None:
            return
        told = (
            f"It cannot hear {', '.join(deaf.words)} "
            f"(at {', '.join(deaf.items)}): answer without these words."
        )
        if deaf.commands:
            told += f" No way is left to say: {', '.join(deaf.commands)}."
        self._watcher.told(told)

    @property
    def _track_path(self) -> Path | None:
        return None if self._ways.voice in (SILENT, SPEAKERS) else Path(self._ways.voice)

    def _go(
        self,
        header: RunHeader,
        past: Past,
        voice: Timeline,
        source: AudioSource | None,
        *,
        is_new: bool,
    ) -> Result:
        self._watcher.entered(header.run_id)
        grammars = Grammars(self._check, self._language)
        if self._ways.lines is not None:
            state = self._type(header, past, grammars, voice, self._ways.lines, is_new=is_new)
        elif source is not None and self._recogniser is not None:
            with closing(self._recogniser) as recogniser, self._ahead(header, grammars) as ahead:
                state = self._listen(
                    header, past, grammars, voice, source, recogniser, ahead, is_new=is_new
                )
        else:
            msg = "nothing to listen to, and nobody types"
            raise RuntimeError(msg)
        return Result(run_id=header.run_id, state=state)

    @contextmanager
    def _source(self) -> Iterator[AudioSource | None]:
        if self._ways.lines is not None:
            yield None
            return
        source: AudioSource
        if self._samples is None:
            first = MicrophoneSource(self._ways.microphone)
            told = f"Microphone: {first.name}."
            if self._ways.voice == SPEAKERS:
                told += f" Speakers: {find_device(self._ways.speakers, Direction.OUTPUT).name}."
            self._watcher.told(told)
            reopening = Reopening(MicrophoneSource, self._ways.microphone, self._look_anew)
            live = ReturningMicrophone(first, reopening, MonotonicClock(), self._watcher.told)
            source = TellingSource(live, self._watcher.told)
            if self._loopback is not None and self._suppressor is not None:
                own_voice = OwnVoiceFilter(self._loopback, self._suppressor)
                source = FilteredSource(source, own_voice)
                self._watcher.told("Beside speakers: its own voice is taken off what it hears.")
        else:
            source = RecordingSource(self._samples)
        with closing(source):
            yield source

    @contextmanager
    def _telling_underruns(self, player: SpeakerPlayer) -> Iterator[None]:
        try:
            yield
        finally:
            if player.underruns:
                times = "once" if player.underruns == 1 else f"{player.underruns} times"
                self._watcher.told(f"Speech stuttered {times}: the computer was too busy.")

    def _look_anew(self) -> None:
        """Have the devices listed anew, unless something is being said."""
        if self._player is not None:
            if self._player.is_sounding:
                return
            self._player.rest()
        look_anew()

    @contextmanager
    def _voice(self, settings: Settings) -> Iterator[Timeline]:
        if self._synthesiser is None:
            yield Timeline(None, settings.voice)
        elif self._track_path is None:
            copy = None if self._loopback is None else self._loopback.give
            player = SpeakerPlayer(self._ways.speakers, copy)
            if self._loopback is not None:
                self._loopback.latency_s = player.latency_s
            with closing(player), self._telling_underruns(player):
                self._player = player
                yield Timeline(self._synthesiser, settings.voice, (SpeakerSink(player),))
        else:
            try:
                yield Timeline(self._synthesiser, settings.voice, (self._track,))
            finally:
                # also of a run that was interrupted
                self._track.track.write(self._track_path, self._samples)

    @contextmanager
    def _ahead(self, header: RunHeader, grammars: Grammars) -> Iterator[Ahead | None]:
        """Give what makes speech and grammars ready; none where nobody waits for them."""
        if self._samples is not None:
            yield None
            return
        speech = self._synthesiser if speaks_from_any_thread() else None
        ahead = Ahead(
            language=self._language,
            voice=header.settings.voice,
            speak=None if speech is None else speech.synthesise,
            compile_grammar=grammars.grammar,
        )
        with closing(ahead):
            yield ahead

    def _listen(
        self,
        header: RunHeader,
        past: Past,
        grammars: Grammars,
        voice: Timeline,
        source: AudioSource,
        recogniser: Recogniser,
        ahead: Ahead | None,
        *,
        is_new: bool,
    ) -> State:
        key = self._ways.talk_key
        notes = header.settings.notes
        ears = Ears(
            finder=Endpointer(header.settings.endpointing),
            recogniser=recogniser,
            grammar=grammars.grammar,
            language=self._language,
            pauses=header.settings.endpointing.pauses,
            expected=None if ahead is None else ahead.expect,
            own_words=voice.said_between,
            tell=self._watcher.told,
            notes=NoteTaker(
                keep=self._journal.keep_sound,
                settings=notes,
                transcriber=transcriber_of(recogniser),
                # who holds a key says with it when a note is over
                pause_s=None if key is None else notes.longest_s,
            ),
        )
        beside: Beside | None = None
        moved = None if ahead is None else ahead.moved
        listen = ears.listen
        if self._ways.beside is not None and self._ways.recording is None:
            keyboard = self._keyboard(grammars)
            beside = Beside(keyboard=keyboard, lines=self._ways.beside)

            def listen(item_id: str, previous_id: str | None, note_on: str | None = None) -> None:
                ears.listen(item_id, previous_id, note_on)
                keyboard.listen(item_id, previous_id, note_on)

        loop = AudioLoop(
            conversation=self._conversation(header, past, voice, listen, moved),
            ears=ears if key is None else KeyedEars(ears, key, self._watcher.told),
            voice=voice,
            source=source,
            watcher=self._watcher,
            beside=beside,
            profile=self._profile,
        )
        if is_new:
            return loop.run()
        now = datetime.now(UTC).astimezone()
        recording = self._ways.recording
        if recording is None:
            at_s = max(past.at_s, elapsed_s(header, now))
            return loop.resume_live(past, at_s, source=MICROPHONE, clock_at=now.isoformat())
        heard = str(recording.absolute())
        if heard == past.source:
            return loop.resume_recording(past, now.isoformat())
        return loop.resume_live(past, past.at_s, source=heard, clock_at=now.isoformat())

    def _type(
        self,
        header: RunHeader,
        past: Past,
        grammars: Grammars,
        voice: Timeline,
        lines: Lines,
        *,
        is_new: bool,
    ) -> State:
        keyboard = self._keyboard(grammars)
        now = datetime.now(UTC).astimezone()
        from_s = 0.0 if is_new else max(past.at_s, elapsed_s(header, now))
        loop = TypedLoop(
            conversation=self._conversation(header, past, voice, keyboard.listen),
            keyboard=keyboard,
            voice=voice,
            lines=lines,
            clock=self._ways.clock or MonotonicClock(from_s),
        )
        return loop.run(past, now.isoformat())

    def _keyboard(self, grammars: Grammars) -> Keyboard:
        return Keyboard(
            recogniser=TypedRecogniser(self._language),
            grammars=grammars,
            language=self._language,
        )

    def _conversation(
        self,
        header: RunHeader,
        past: Past,
        voice: Timeline,
        listen: Callable[[str, str | None, str | None], None],
        moved: Callable[[State], None] | None = None,
    ) -> Conversation:
        effects = Effects(
            store=self._journal,
            run_id=header.run_id,
            language=self._language,
            voice=voice,
            listen=listen,
            watcher=self._watcher,
        )
        return Conversation(past.state, effects, moved)


def _refuse_unusable(track: Path) -> None:
    """Refuse a file for the voice that will not do, before an hour is spoken into it.

    Raises:
        UsageError: If it is no WAV file by its name, or has no folder that it can be in.
    """
    if track.suffix.lower() != ".wav":
        what = f"the voice cannot speak into {str(track)!r}: that is no name of a WAV file"
        raise UsageError(what, "Give --voice speakers, none, or a file that ends in .wav.")
    folder = track.absolute().parent
    if track.is_dir():
        what = f"{track} is a folder"
    elif not folder.is_dir():
        what = f"there is no folder {folder}"
    elif not os.access(folder, os.W_OK):
        what = f"nothing can be written into {folder}"
    else:
        return
    raise UsageError(what, "Give --voice another file.")


def elapsed_s(header: RunHeader, now: datetime) -> float:
    """Give the seconds on the wall since a run began; 0 if the clock was set back.

    Where somebody said when it begins, the wall does not tell: 0.
    """
    if header.clock_given:
        return 0.0
    started = datetime.fromisoformat(header.started_at)
    return max(0.0, (now - started).total_seconds())


def retell(
    header: RunHeader,
    events: Iterable[Event],
    language: Language,
    synthesiser: CachedSynthesiser,
    track: TrackSink,
) -> None:
    """Lay on a track what the tool had said before the program stopped."""
    voice = Timeline(synthesiser, header.settings.voice, (track,))
    state = header.begin()
    at_s = 0.0
    for event in events:
        at_s = event.at_s
        while voice.take_ended(at_s) is not None:
            pass
        step = handle(state, event)
        state = step.state
        for action in step.actions:
            match action:
                case Say():
                    for prompt in action.prompts:
                        words = language.wording(prompt)
                        earcon = earcon_of(prompt)
                        tone = tone_after(prompt)
                        voice.say(words, slower=action.slower, now_s=at_s, earcon=earcon, tone=tone)
                case StopSpeaking():
                    voice.stop(at_s)
                case _:
                    pass
    voice.stop(at_s)


__all__ = [
    "SILENT",
    "SPEAKERS",
    "Result",
    "Session",
    "Ways",
    "elapsed_s",
    "enter_run",
    "retell",
]
