"""From a step to the world: the journal first, then everything else in order.

Record before speak is the order of one function here, ``Effects.perform``. What is
to be done is decided in the dialogue; when an event happened is decided by the
loops. Nothing here knows a clock.
"""

from collections import deque
from collections.abc import Callable, Sequence
from typing import Protocol, assert_never

from voiceflow.dialogue.actions import Finish, Ignored, Listen, Record, Say, Step, StopSpeaking
from voiceflow.dialogue.events import DeviceLost, Event
from voiceflow.dialogue.machine import handle
from voiceflow.dialogue.state import State
from voiceflow.phraseology.language import Language
from voiceflow.session.signals import earcon_of, tone_after
from voiceflow.session.voice import Timeline
from voiceflow.session.watcher import Watcher


class EventStore(Protocol):
    """What the session needs of a journal."""

    def append(self, run_id: str, event: Event, records: Sequence[Record] = ()) -> int:
        """Commit an event and its records in one transaction; give its place in the run.

        Raises:
            JournalError: If they could not be committed; nothing of them is kept.
        """
        ...

    def keep_sound(self, flac: bytes) -> str:
        """Keep a sound for good, under the SHA-256 of its bytes, which is given back.

        Raises:
            JournalError: If it could not be kept.
        """
        ...


class Effects:
    """Performs steps."""

    def __init__(
        self,
        *,
        store: EventStore,
        run_id: str,
        language: Language,
        voice: Timeline,
        listen: Callable[[str, str | None, str | None], None],
        watcher: Watcher,
    ) -> None:
        """Bring the parts together.

        Args:
            store: Where events are committed.
            run_id: The run they belong to.
            language: Gives the words of prompts.
            voice: Says them.
            listen: Switches to the grammar of an item, given the item answered last, or
                has the next words kept as a note on the third item.
            watcher: Looks on.
        """
        self._store = store
        self._run_id = run_id
        self._language = language
        self._voice = voice
        self._listen = listen
        self._watcher = watcher

    def perform(self, step: Step, event: Event) -> tuple[Event, ...]:
        """Commit the event with its records, then do the rest in order.

        Args:
            step: What the dialogue answered to the event.
            event: What happened.

        Returns:
            Events that this brought about at the same moment: speech that was cut,
            a device that failed.

        Raises:
            JournalError: If the event could not be committed. Then nothing has
                been said or done, and everything committed before is kept.
        """
        records = [action for action in step.actions if isinstance(action, Record)]
        seq = self._store.append(self._run_id, event, records)
        self._watcher.happened(seq, event, step)
        followed: list[Event] = []
        for action in step.actions:
            match action:
                case Record() | Ignored() | Finish():
                    pass  # committed above; nothing to do; the loop sees the state
                case StopSpeaking():
                    followed += self._voice.stop(event.at_s)
                case Say():
                    # one piece a prompt, in one breath: what was cut short is known prompt
                    # by prompt
                    pieces = []
                    for prompt in action.prompts:
                        words = self._language.wording(prompt)
                        pieces.append(words)
                        self._voice.say(
                            words,
                            slower=action.slower,
                            now_s=event.at_s,
                            earcon=earcon_of(prompt),
                            tone=tone_after(prompt),
                        )
                    # after, so that who looks on sees the words when they can be heard
                    self._watcher.said(event.at_s, " ".join(pieces))
                case Listen():
                    self._listen(action.item_id, action.previous_id, action.note_on)
                case _:
                    assert_never(action)
        while (device := self._voice.take_fault()) is not None:
            followed.append(DeviceLost(at_s=event.at_s, device=device))
        return tuple(followed)


class Conversation:
    """The dialogue's state, moved on by events.

    Attributes:
        state: Where the conversation stands; everything in it is committed.
    """

    def __init__(
        self, state: State, effects: Effects, moved: Callable[[State], None] | None = None
    ) -> None:
        """Stand where a run stands.

        Args:
            state: The state; everything in it is committed.
            effects: Performs the steps.
            moved: Told of each state that the conversation comes to rest in.
        """
        self.state = state
        self._effects = effects
        self._moved = moved

    def take(self, event: Event) -> None:
        """Take an event, and those that it brings about.

        Raises:
            JournalError: If one could not be committed; the state is as committed.
        """
        waiting = deque([event])
        while waiting:
            event = waiting.popleft()
            step = handle(self.state, event)
            waiting.extend(self._effects.perform(step, event))
            self.state = step.state
        if self._moved is not None:
            self._moved(self.state)

    @property
    def is_finished(self) -> bool:
        """Whether the check has ended."""
        return self.state.ending is not None
