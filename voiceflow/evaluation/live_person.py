"""The scripted speaker: what a person would say now, and when.

It follows the conversation by the events that the program prints, which is how it knows
what it is being asked. That is for driving only: no figure is taken from them but what
was understood. What is to be said next is decided without sound, threads or clock.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from voiceflow.dialogue.state import PendingAnswer, Phase, State
from voiceflow.evaluation.live_lines import Line, Manner, Script
from voiceflow.evaluation.metrics import is_same
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.prompts import Challenge

#: People answer each other after 0.2 s on the average over ten languages (T. Stivers et
#: al., PNAS 106 (2009), 10587-10592); a third of that as deviation is chosen.
_ANSWER_S: Final = 0.2
_DEVIATION_S: Final = 0.07
#: To find a word takes 0.6 s at least, a short phrase 1.5 s (of the same work, as reported).
_HESITATION_S: Final = 1.5
#: Into the challenge, before it is talked over: whoever knows the check knows it by then.
_INTO_CHALLENGE_S: Final = 0.5
#: So long a list is not heard out.
_LONGEST_LISTENING_S: Final = 8.0
_REPEATS: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """What to say now.

    Attributes:
        line: The line.
        wait_s: Seconds to wait first: from the end of what the tool says, or, where the
            challenge is talked over, from its beginning.
    """

    line: Line
    wait_s: float


@dataclass(slots=True)
class _Progress:
    """How far one item has got."""

    said: int = 0
    repeats: int = 0


@dataclass(slots=True)
class Person:
    """Follows a script through a conversation.

    Attributes:
        script: What can be said.
        seed: Where chance comes from.
    """

    script: Script
    seed: int
    _items: dict[str, _Progress] = field(default_factory=dict)
    _used: dict[CommandName, int] = field(default_factory=dict)
    _dice: np.random.Generator = field(init=False)

    def __post_init__(self) -> None:
        self._dice = np.random.default_rng(self.seed)

    def over_speech(self, state: State, since_s: float) -> Turn | None:
        """Give what to say while the tool speaks, if anything.

        Args:
            state: The conversation.
            since_s: Seconds since it began with what it is saying.
        """
        if state.phase is Phase.ASKING and isinstance(state.pieces[0], Challenge):
            line = self._next_line(state)
            if line is not None and line.manner is Manner.BARGING:
                self._note(state)
                return Turn(line=line, wait_s=max(0.0, _INTO_CHALLENGE_S - since_s))
        if since_s > _LONGEST_LISTENING_S and state.phase is Phase.ASKING:
            turn = self._answer(state)
            return (
                None
                if turn is None
                else replace(turn, line=replace(turn.line, manner=Manner.BARGING))
            )
        return None

    def in_silence(self, state: State) -> Turn | None:
        """Give what to say now that the tool is silent; None: nothing."""
        match state.phase:
            case Phase.ASKING:
                return self._answer(state)
            case Phase.CONFIRMING:
                return self._confirm(state)
            case Phase.HOLDING:
                return self._command(CommandName.CONTINUE)
            case _:
                return None

    def _next_line(self, state: State) -> Line | None:
        item_id = state.item_id or ""
        lines = self.script.lines.get(item_id, ())
        said = self._items.setdefault(item_id, _Progress()).said
        return lines[said] if said < len(lines) else None

    def _note(self, state: State) -> None:
        self._items[state.item_id or ""].said += 1

    def _answer(self, state: State) -> Turn | None:
        line = self._next_line(state)
        progress = self._items[state.item_id or ""]
        if line is not None:
            self._note(state)
            return Turn(line=line, wait_s=self._wait_s(line))
        lines = self.script.lines.get(state.item_id or "", ())
        if not lines or progress.repeats >= _REPEATS:
            # it is not understood: what a person would do
            progress.repeats = 0
            return self._command(CommandName.LEAVE_FOR_LATER)
        progress.repeats += 1
        again = replace(lines[-1], counts=False, manner=Manner.PLAIN)
        return Turn(line=again, wait_s=self._wait_s(again))

    def _confirm(self, state: State) -> Turn | None:
        pending = state.pending
        meant = self.script.lines.get(state.item_id or "", ())
        said = self._items.setdefault(state.item_id or "", _Progress()).said
        # what was taken from talk to others is not what was meant, even if it is the same
        is_right = (
            isinstance(pending, PendingAnswer)
            and bool(meant)
            and said >= len(meant)
            and is_same(meant[-1].meaning, pending.answer)
        )
        return self._command(CommandName.AFFIRM if is_right else CommandName.NEGATIVE)

    def _command(self, name: CommandName) -> Turn | None:
        known = self.script.commands.get(name, ())
        if not known:
            return None
        number = self._used.get(name, 0)
        self._used[name] = number + 1
        line = replace(known[number % len(known)], counts=False)
        return Turn(line=line, wait_s=self._wait_s(line))

    def _wait_s(self, line: Line) -> float:
        wait_s = max(0.05, float(self._dice.normal(_ANSWER_S, _DEVIATION_S)))
        return wait_s + (_HESITATION_S if line.manner is Manner.HESITANT else 0.0)


def unanswerable(script: Script) -> Mapping[str, str]:
    """Give the items to which nothing can be said, with their challenges."""
    return {item.id: item.challenge for item in script.check.items if item.id not in script.lines}
