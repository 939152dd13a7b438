"""The loop with sound: frames in, events to the conversation, driven by the audio clock.

Time is where the sound has got to. A recording runs as fast as it can be decoded, a
microphone in real time, and the loop does not know which. At each frame, in this
order: speech of the tool that has ended, speech of the person, a typed line, a deadline.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Protocol

from voiceflow.audio.frames import Frame
from voiceflow.audio.source import AudioSource, Change, Gap
from voiceflow.dialogue.events import (
    MICROPHONE,
    DeviceLost,
    DeviceReturned,
    Event,
    InputEnded,
    NoteTaken,
    ProfileUsed,
    Resumed,
    SpeechStarted,
    Started,
    TimePassed,
)
from voiceflow.dialogue.machine import next_deadline_s
from voiceflow.dialogue.state import State
from voiceflow.errors import AudioDeviceError
from voiceflow.session.ears import Perceived
from voiceflow.session.effects import Conversation
from voiceflow.session.lines import Lines, NoLine
from voiceflow.session.resumption import Past
from voiceflow.session.typed import Keyboard
from voiceflow.session.voice import Timeline
from voiceflow.session.watcher import Watcher


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """Lines that are typed beside the voice.

    Attributes:
        keyboard: Understands them.
        lines: Gives them; asked once a frame, so they must not be waited for.
    """

    keyboard: Keyboard
    lines: Lines


class Hearing(Protocol):
    """What the loop needs of ears."""

    def listen(self, item_id: str, previous_id: str | None, note_on: str | None = None) -> None:
        """Want the grammar of an item, or a note, from the next utterance on."""
        ...

    def feed(self, frame: Frame) -> tuple[Perceived, ...]:
        """Take the next frame; give what it brought."""
        ...

    def flush(self) -> tuple[Perceived, ...]:
        """End the source; what was being said is understood as far as it was heard."""
        ...

    def drop(self) -> tuple[NoteTaken, ...]:
        """Forget what is being said; give half a note."""
        ...


class AudioLoop:
    """Runs one check on one source of sound."""

    def __init__(
        self,
        *,
        conversation: Conversation,
        ears: Hearing,
        voice: Timeline,
        source: AudioSource,
        watcher: Watcher,
        beside: Beside | None = None,
        profile: ProfileUsed | None = None,
    ) -> None:
        """Bring the parts together.

        Args:
            conversation: The dialogue.
            ears: Hear what is said.
            voice: Says what the tool says.
            source: Where the sound comes from.
            watcher: Looks on.
            beside: What is typed beside the voice; not with a recording, which is heard
                again from its start when the run goes on.
            profile: Of the speaker, that the ears listen with.
        """
        self._conversation = conversation
        self._ears = ears
        self._voice = voice
        self._source = source
        self._watcher = watcher
        self._beside = beside
        self._profile = profile  # that the ears listen with
        self._now_s = 0.0
        self._deadline_of: State | None = None
        self._deadline_s: float | None = None

    def run(self) -> State:
        """Run a check from its start until it or the sound ends.

        Returns:
            The last state; its ending is None if the sound ended first.

        Raises:
            JournalError: If an event could not be committed.
            AudioDeviceError: If the source stops working for good; that is recorded first.
            EngineError: If the engine cannot hear the grammar of an item.
        """
        self._conversation.take(Started(at_s=0.0, keyboard=self._has_keyboard))
        return self._go_on(self._source.frames())

    def resume_recording(self, past: Past, clock_at: str | None = None) -> State:
        """Go on with the recording that was heard last.

        The recording is heard again from its start, because what the engine has
        learnt of voice and noise comes from there; what is committed of it is not
        taken a second time, and what had begun but not ended is heard to its end.

        Args:
            past: Where the run stood.
            clock_at: The clock time, ISO 8601 with UTC offset.

        Raises:
            As ``run``.
        """
        if not past.has_begun and self._profile == past.profile:
            return self.run()
        self._now_s = past.source_from_s
        frames = _later(self._source.frames(), past.source_from_s)
        missed = self._catch_up(frames, past)
        self._now_s = max(self._now_s, past.at_s)
        self._conversation.take(
            Resumed(
                at_s=past.at_s,
                clock_at=clock_at,
                source=past.source,
                profile=self._profile,
                goes_on=True,
            )
        )
        self._take_all(missed)
        self._check_deadline()
        return self._go_on(frames)

    def resume_live(
        self, past: Past, at_s: float, *, source: str, clock_at: str | None = None
    ) -> State:
        """Go on with new sound: a microphone, or another recording.

        Args:
            past: Where the run stood.
            at_s: Time of the run at which the new sound begins, not before ``past.at_s``.
            source: What is heard, as in ``RunHeader.source``.
            clock_at: The clock time, ISO 8601 with UTC offset.

        Raises:
            As ``run``.
        """
        self._now_s = at_s
        is_as_begun = source == past.source and self._profile == past.profile
        if past.has_begun or not is_as_begun:
            resumed = Resumed(
                at_s=at_s,
                clock_at=clock_at,
                source=source,
                keyboard=self._has_keyboard,
                profile=self._profile,
            )
            self._conversation.take(resumed)
        else:
            self._conversation.take(Started(at_s=at_s, keyboard=self._has_keyboard))
        return self._go_on(_later(self._source.frames(), at_s))

    def _go_on(self, frames: Iterator[Frame | Gap]) -> State:
        try:
            for frame in frames:
                if self._conversation.is_finished:
                    break
                self._now_s = frame.end_s
                self._watcher.moved(self._now_s)
                self._regain_voice()
                self._end_speech()
                if isinstance(frame, Frame):
                    self._take_all(self._ears.feed(frame))
                else:
                    self._notice(frame)
                self._take_typed()
                self._check_deadline()
            else:
                self._take_all(self._ears.flush())
            self._say_the_rest(frames)
        except AudioDeviceError:
            if self._conversation.is_finished:
                return self._conversation.state
            self._take_all(self._ears.drop())
            self._conversation.take(DeviceLost(at_s=self._now_s, device=MICROPHONE))
            raise
        if not self._conversation.is_finished:
            self._conversation.take(InputEnded(at_s=self._now_s))
            # it may have ended a check of which all was answered
            self._say_the_rest(frames)
        return self._conversation.state

    def _notice(self, gap: Gap) -> None:
        match gap.change:
            case Change.LOST:
                self._take_all(self._ears.drop())
                self._conversation.take(DeviceLost(at_s=self._now_s, device=MICROPHONE))
            case Change.RETURNED:
                self._conversation.take(DeviceReturned(at_s=self._now_s, device=MICROPHONE))
            case None:
                pass

    def _regain_voice(self) -> None:
        while (device := self._voice.take_returned(self._now_s)) is not None:
            self._conversation.take(DeviceReturned(at_s=self._now_s, device=device))

    def _take_all(self, events: Iterable[Event]) -> None:
        for event in events:
            if not self._conversation.is_finished:
                self._conversation.take(event)

    @property
    def _has_keyboard(self) -> bool:
        return self._beside is not None

    def _take_typed(self) -> None:
        """Take a line that has been typed by now, as if it had been said."""
        if self._beside is None or self._conversation.is_finished:
            return
        line = self._beside.lines.next(0)
        if isinstance(line, NoLine) or not line.strip():
            return
        heard = self._beside.keyboard.hear(line, self._now_s)
        if heard is None:
            return
        if self._voice.next_end_s is not None:
            # the tool is quiet, as when somebody begins to speak
            self._conversation.take(SpeechStarted(at_s=self._now_s))
        self._conversation.take(heard)

    def _end_speech(self) -> None:
        while (spoken := self._voice.take_ended(self._now_s)) is not None:
            self._conversation.take(spoken)

    def _check_deadline(self) -> None:
        state = self._conversation.state
        if state is not self._deadline_of:
            # asked fifty times a second, and it only depends on the state
            self._deadline_of, self._deadline_s = state, next_deadline_s(state)
        due_s = self._deadline_s
        if due_s is not None and due_s <= self._now_s:
            self._conversation.take(TimePassed(at_s=self._now_s))

    def _say_the_rest(self, frames: Iterator[Frame | Gap]) -> None:
        """Let what is being said come to its end, on the clock of the source while it runs."""
        while (end_s := self._voice.next_end_s) is not None:
            frame = next(frames, None)
            self._now_s = max(self._now_s, end_s if frame is None else frame.end_s)
            self._watcher.moved(self._now_s)
            self._end_speech()
            self._check_deadline()

    def _catch_up(self, frames: Iterator[Frame | Gap], past: Past) -> list[Event]:
        """Hear again what led to the committed events; give what is not committed of it."""
        started = heard = 0
        missed: list[Event] = []
        while self._now_s < past.at_s and not missed:
            listening = past.started[started] if started < len(past.started) else past.listening
            if listening is not None:
                self._ears.listen(*listening)
            frame = next(frames, None)
            if frame is not None:
                self._now_s = frame.end_s
                self._watcher.moved(self._now_s)
            # a recording, which has no gaps
            heard_now = self._ears.feed(frame) if isinstance(frame, Frame) else self._ears.flush()
            for event in heard_now:
                if isinstance(event, SpeechStarted):
                    started += 1
                    is_done = started <= len(past.started)
                else:
                    heard += 1
                    is_done = heard <= past.heard
                if not is_done:
                    missed.append(event)
            if frame is None:
                break
        return missed


def _later(frames: Iterator[Frame | Gap], by_s: float) -> Iterator[Frame | Gap]:
    for frame in frames:
        if isinstance(frame, Frame):
            yield replace(frame, start_s=frame.start_s + by_s)
        else:
            yield Gap(end_s=frame.end_s + by_s, change=frame.change)
