"""What is to be done. Names are imperative; the session performs them in order."""

from dataclasses import dataclass
from typing import Literal

from voiceflow.dialogue.state import (
    AgreesAgain,
    Discrepancy,
    Ending,
    Hold,
    Note,
    Outcome,
    PartEnding,
    SignOff,
    State,
)
from voiceflow.phraseology.prompts import Prompt


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """Write a fact down: committed with its event before anything is said.

    Exactly one of them is set; ``withdrawn_item`` takes back the outcome of
    an item (kept in the journal, gone from the result).
    """

    kind: Literal["record"] = "record"
    outcome: Outcome | None = None
    discrepancy: Discrepancy | None = None
    hold: Hold | None = None
    ending: Ending | None = None
    withdrawn_item: str | None = None
    part: PartEnding | None = None
    sign_off: SignOff | None = None
    agrees_again: AgreesAgain | None = None
    note: Note | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Say:
    """Speak, in one breath; anything still being said is said first.

    Each prompt comes back as one Spoken.

    Attributes:
        prompts: What to say.
        slower: At the slower rate.
    """

    kind: Literal["say"] = "say"
    prompts: tuple[Prompt, ...]
    slower: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class StopSpeaking:
    """The person spoke: be quiet."""

    kind: Literal["stop-speaking"] = "stop-speaking"


@dataclass(frozen=True, slots=True, kw_only=True)
class Listen:
    """Listen with the grammar of an item.

    Attributes:
        item_id: The item.
        previous_id: The item answered last, which a correction may be about.
        note_on: What is said next is not understood but kept, as a note on this item; None:
            it is understood.
    """

    kind: Literal["listen"] = "listen"
    item_id: str
    previous_id: str | None
    note_on: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Finish:
    """The check has ended; say what is left to say and stop."""

    kind: Literal["finish"] = "finish"


@dataclass(frozen=True, slots=True, kw_only=True)
class Ignored:
    """Nothing is to be done, and why."""

    kind: Literal["ignored"] = "ignored"
    reason: str


Action = Record | Say | StopSpeaking | Listen | Finish | Ignored


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """The new state and what is to be done, in order.

    Records come first: the session commits them with the event before the rest.
    """

    state: State
    actions: tuple[Action, ...]
