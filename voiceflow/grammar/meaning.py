"""What the phrases of an item's grammar mean (semantic interpretation)."""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import Literal

from voiceflow.phraseology.commands import CommandName


class ResponseState(StrEnum):
    """What a response says of its item."""

    AS_EXPECTED = "as_expected"
    NOT_AS_EXPECTED = "not_as_expected"
    #: "set", "checked", "as required" where the item wants the actual setting:
    #: heard, understood, and no response.
    INSUFFICIENT = "insufficient"


@dataclass(frozen=True, slots=True, kw_only=True)
class Response:
    """One of the item's responses.

    Attributes:
        phrase: The response as the check file has it ("both removed").
        state: What it says of the item.
    """

    kind: Literal["response"] = "response"
    phrase: str
    state: ResponseState


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A number read from the item's gauge.

    Attributes:
        value: On the scale of the item.
        unit: The item's unit symbol; empty for a bare number.
    """

    kind: Literal["reading"] = "reading"
    value: Decimal
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Command:
    """A standing command."""

    kind: Literal["command"] = "command"
    name: CommandName


Answer = Response | Reading


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """The word "correction" followed by the right answer.

    Which item it corrects, the one being asked or the one answered last, depends
    on where the conversation stands, so both are given: the dialogue knows.

    Attributes:
        this: What it means at the item that is listening: none, one, or several
            where the words are ambiguous.
        previous: What it means at the item answered last.
    """

    kind: Literal["correction"] = "correction"
    this: tuple[Answer, ...] = ()
    previous: tuple[Answer, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Ambiguous:
    """Words with more than one meaning at this item: ask, never pick.

    Attributes:
        options: At least two.
    """

    kind: Literal["ambiguous"] = "ambiguous"
    options: tuple[Response | Reading | Command, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NoMatch:
    """Words, or a sound, that mean nothing at this item.

    Attributes:
        suggestion: The phrase of the item nearest to the words, for
            "did you mean"; none if nothing is near. Never taken as said.
        alternatives: Answers that the engine's other hypotheses would be, best first.
            Never taken as said either: they can only be asked about.
        off_scale: A number that was typed and is no mark of the item's gauge.
    """

    kind: Literal["no-match"] = "no-match"
    suggestion: str | None = None
    alternatives: tuple[Answer, ...] = ()
    off_scale: Decimal | None = None


Meaning = Response | Reading | Command | Correction | Ambiguous | NoMatch
