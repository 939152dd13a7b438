"""A conversation in a test: says what is meant, keeps the state, remembers the actions."""

from tests.builders import command, heard
from voiceflow.checks.model import Check
from voiceflow.dialogue.actions import Action, Finish, Ignored, Listen, Record, Say, StopSpeaking
from voiceflow.dialogue.brief import Brief
from voiceflow.dialogue.events import Event, SpeechStarted, Spoken, Started, TimePassed
from voiceflow.dialogue.machine import begin, handle, next_deadline_s
from voiceflow.dialogue.state import RunningWait, State
from voiceflow.grammar.meaning import Meaning
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.prompts import Prompt


class Conversation:
    """Runs the real dialogue; every Say is heard out at once unless told otherwise."""

    def __init__(self, check: Check, *, hear_out: bool = True, brief: Brief | None = None) -> None:
        self.state: State = begin(check, brief=brief)
        self.events: list[Event] = []
        self.actions: tuple[Action, ...] = ()
        self.at_s = 0.0
        self._hear_out = hear_out

    def event(self, event: Event) -> tuple[Action, ...]:
        step = handle(self.state, event)
        self.events.append(event)
        self.state = step.state
        self.actions = step.actions
        said = [action for action in step.actions if isinstance(action, Say)]
        if self._hear_out:
            for action in said:
                for _ in action.prompts:
                    self._spoken()
        return self.actions

    def _spoken(self) -> None:
        event = Spoken(at_s=self.at_s, words="", completed=True)
        self.events.append(event)
        self.state = handle(self.state, event).state

    def start(self) -> "Conversation":
        self.event(Started(at_s=self.at_s))
        return self

    def say(
        self,
        meaning: Meaning | CommandName,
        *,
        confidence: float = 1.0,
        after_s: float = 2.0,
        text: str = "words as said",
        item_id: str | None = None,
    ) -> tuple[Action, ...]:
        self.at_s += after_s
        meant = command(meaning) if isinstance(meaning, CommandName) else meaning
        listening = item_id or self.state.item_id or "none"
        return self.event(heard(listening, meant, self.at_s, confidence=confidence, text=text))

    def speak_up(self) -> tuple[Action, ...]:
        return self.event(SpeechStarted(at_s=self.at_s))

    def wait(self) -> tuple[Action, ...]:
        """Let time pass to the next deadline."""
        due_s = next_deadline_s(self.state)
        assert due_s is not None
        self.at_s = max(self.at_s, due_s)
        return self.event(TimePassed(at_s=self.at_s))

    def prompts(self) -> tuple[Prompt, ...]:
        """What the last event made the tool say."""
        return tuple(
            prompt
            for action in self.actions
            if isinstance(action, Say)
            for prompt in action.prompts
        )

    def kinds(self) -> tuple[str, ...]:
        """The kinds of what the last event made the tool say."""
        return tuple(prompt.kind for prompt in self.prompts())

    def records(self) -> tuple[Record, ...]:
        return tuple(action for action in self.actions if isinstance(action, Record))

    def listens(self) -> tuple[Listen, ...]:
        return tuple(action for action in self.actions if isinstance(action, Listen))

    def waits(self) -> tuple[RunningWait, ...]:
        return self.state.waits

    @property
    def finishes(self) -> bool:
        return any(isinstance(action, Finish) for action in self.actions)

    @property
    def stops(self) -> bool:
        return any(isinstance(action, StopSpeaking) for action in self.actions)

    @property
    def ignored(self) -> bool:
        return any(isinstance(action, Ignored) for action in self.actions)
