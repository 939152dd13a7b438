"""One turn: collects what an event does to the state and what is to be done.

A turn lives inside one call of ``handle`` and never leaves it: the mutation is
local, the dialogue stays a function.
"""

from dataclasses import replace

from voiceflow.checks.model import Item
from voiceflow.dialogue.actions import (
    Action,
    Finish,
    Ignored,
    Listen,
    Record,
    Say,
    Step,
    StopSpeaking,
)
from voiceflow.dialogue.state import Phase, State
from voiceflow.phraseology.prompts import (
    FindingRecorded,
    FindingWithdrawn,
    Prompt,
    ReadBack,
    TimeShort,
    TrendRemark,
    WaitDue,
)

#: A readback that nobody heard is none: these are said again, first of all, if they
#: were cut short. Not what only concerns the moment: a challenge, a time that is over.
MUST_BE_HEARD = ReadBack | FindingRecorded | FindingWithdrawn | WaitDue | TrendRemark | TimeShort


class Turn:
    """The state as it changes, and the actions in the order they are performed.

    Attributes:
        state: The state so far.
    """

    def __init__(self, state: State, at_s: float) -> None:
        self._before = state
        self.state = replace(state, at_s=at_s)
        self._records: list[Record] = []
        self._says: list[Say] = []
        self._stop = False
        self._finish = False
        self._ignored: str | None = None
        self._relisten = False
        self._news: tuple[Prompt, ...] = ()

    @property
    def at_s(self) -> float:
        """The time of the event."""
        return self.state.at_s

    @property
    def before_s(self) -> float:
        """The time of the event before."""
        return self._before.at_s

    @property
    def item(self) -> Item:
        """The current item.

        Raises:
            RuntimeError: If there is none; the table of the machine rules this out.
        """
        if self.state.item_id is None:
            msg = f"no current item in phase {self.state.phase}"
            raise RuntimeError(msg)
        return self.state.check.item(self.state.item_id)

    def set(self, **changes: object) -> None:
        """Change fields of the state."""
        self.state = replace(self.state, **changes)  # type: ignore[arg-type]

    def record(self, record: Record) -> None:
        """Write a fact down, before anything is said."""
        self._records.append(record)

    def tell(self, prompt: Prompt) -> None:
        """Have something said first when this turn speaks next: it came about on the way."""
        if prompt not in self._news:
            self._news += (prompt,)

    def say(self, *prompts: Prompt, question: bool = True) -> None:
        """Speak, in one breath, whatever was owed first.

        Args:
            prompts: What to say.
            question: "Say again" repeats this; false for remarks beside the check.
        """
        owed = tuple(
            prompt
            for prompt in self.state.cut_short
            if isinstance(prompt, MUST_BE_HEARD) and prompt not in prompts
        )
        together = owed + self._news + prompts
        self._news = ()
        self._says.append(Say(prompts=together, slower=self.state.slower))
        self.set(pieces=self.state.pieces + together, cut_short=())
        if question:
            self.set(last_said=prompts)

    def stop_speaking(self) -> None:
        """Be quiet: the person speaks. What was cut short comes back as Spoken."""
        self._stop = True

    def break_off(self) -> None:
        """Nobody knows how much of what was being said was heard: none of it counts."""
        state = self.state
        self.set(pieces=(), cut_short=state.cut_short + state.pieces, person_speaking=False)

    def listen_anew(self) -> None:
        """Have the ear set up even though the item did not change (after a restart)."""
        self._relisten = True

    def finish(self) -> None:
        """Let the session stop after the last words."""
        self._finish = True

    def ignore(self, reason: str) -> None:
        """Nothing is to be done, and why."""
        self._ignored = reason

    def step(self) -> Step:
        """Give the new state and the actions: records first."""
        actions: list[Action] = [*self._records]
        if self._stop:
            actions.append(StopSpeaking())
        after = self.state
        moved = (after.item_id, after.previous_id, after.noting) != (
            self._before.item_id,
            self._before.previous_id,
            self._before.noting,
        )
        if (moved or self._relisten) and after.item_id and after.phase is not Phase.FINISHED:
            actions.append(
                Listen(
                    item_id=after.item_id,
                    previous_id=after.previous_id,
                    note_on=None if after.noting is None else after.noting.item_id,
                )
            )
        actions.extend(self._says)
        if self._finish:
            actions.append(Finish())
        if self._ignored is not None:
            actions.append(Ignored(reason=self._ignored))
        return Step(state=after, actions=tuple(actions))
