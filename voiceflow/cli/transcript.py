"""A run as people read it: time, who, words, and what became of them."""

from collections.abc import Callable
from typing import Final

import click
from typing_extensions import override

from voiceflow.checks.model import Check
from voiceflow.dialogue.actions import Ignored, Record, Step
from voiceflow.dialogue.events import (
    DeviceLost,
    DeviceReturned,
    Event,
    Heard,
    InputEnded,
    NoteTaken,
    Resumed,
    Spoken,
)
from voiceflow.dialogue.state import ItemState, Note, Outcome, State
from voiceflow.journal import export
from voiceflow.phraseology.prompts import EndingKind, FindingReason

_STATES: Final = {
    ItemState.AS_EXPECTED: ("as expected", "green"),
    ItemState.WITHIN_LIMITS: ("within limits", "green"),
    ItemState.CAUTION: ("CAUTION", "yellow"),
    ItemState.OUTSIDE_LIMITS: ("OUTSIDE LIMITS", "red"),
    ItemState.NOT_AS_EXPECTED: ("NOT AS EXPECTED", "red"),
    ItemState.UNABLE: ("UNABLE", "red"),
    ItemState.LATE: ("LATE", "red"),
}
_REASONS: Final = {
    FindingReason.NOT_AS_EXPECTED: "not as expected",
    FindingReason.OUTSIDE_LIMITS: "outside limits",
    FindingReason.CAUTION: "caution",
    FindingReason.UNABLE: "unable",
    FindingReason.LATE: "late",
    FindingReason.DISAGREES: "disagrees",
}
_TOOL: Final = "tool"
_PERSON: Final = "you"
_WHO_WIDTH: Final = 5


class Transcript:
    """Writes a line for whatever is said, as it is said.

    Attributes:
        run_id: The run looked at; None before it is in the journal.
    """

    def __init__(
        self,
        emit: Callable[[str], None] = click.echo,
        moved: Callable[[float], None] | None = None,
    ) -> None:
        """Begin a transcript.

        Args:
            emit: Takes each line; colours are in it as ANSI codes.
            moved: Is told where the audio clock is.
        """
        self._emit = emit
        self._moved = moved
        self.run_id: str | None = None

    def entered(self, run_id: str) -> None:
        """Remember which run it is."""
        self.run_id = run_id

    def happened(self, seq: int, event: Event, step: Step) -> None:
        """Write what the person said, and what became of it."""
        del seq
        match event:
            case Heard():
                words = event.utterance.text or "(no words)"
                verdict = _verdict(step)
                self._line(event.at_s, _PERSON, f"{words}{verdict}", colour="bright_white")
            case NoteTaken():
                words = event.text or "(sound only)"
                length = f", {event.length_s:.1f} s" if event.digest else ""
                noted = click.style(f"(note{length})", dim=True)
                self._line(event.at_s, _PERSON, f"{words}  {noted}", colour="bright_white")
            case Spoken() if not event.completed:
                self._remark(event.at_s, "(cut short)")
            case DeviceLost():
                self._remark(event.at_s, f"{event.device} stopped working")
            case DeviceReturned():
                self._remark(event.at_s, f"{event.device} works again")
            case InputEnded():
                self._remark(event.at_s, "nothing more to hear; the check is not finished")
            case Resumed():
                profile = event.profile
                with_profile = "" if profile is None else f", heard with the profile {profile.name}"
                self._remark(event.at_s, f"the run goes on here{with_profile}")
            case _:
                pass

    def said(self, at_s: float, words: str) -> None:
        """Write what the tool says."""
        self._line(at_s, _TOOL, words, colour="cyan")

    def told(self, remark: str) -> None:
        """Write a remark, beside the transcript."""
        click.echo(remark, err=True)

    def moved(self, at_s: float) -> None:
        """Pass the clock on."""
        if self._moved is not None:
            self._moved(at_s)

    def _line(self, at_s: float, who: str, text: str, *, colour: str) -> None:
        self._emit(f"{clock(at_s)}  {click.style(f'{who:<{_WHO_WIDTH}}', fg=colour)} {text}")

    def _remark(self, at_s: float, text: str) -> None:
        self._emit(f"{clock(at_s)}  {'':<{_WHO_WIDTH}} {click.style(text, dim=True)}")


class JsonLines:
    """Writes each event as one line, in the journal's own JSON.

    Attributes:
        run_id: The run looked at; None before it is in the journal.
    """

    def __init__(self) -> None:
        self.run_id: str | None = None

    def entered(self, run_id: str) -> None:
        """Remember which run it is."""
        self.run_id = run_id

    def happened(self, seq: int, event: Event, step: Step) -> None:
        """Write the event."""
        records = [action for action in step.actions if isinstance(action, Record)]
        click.echo(export.json_line(self.run_id or "", seq, event, records))

    def said(self, at_s: float, words: str) -> None:
        """Write nothing: the journal has it as spoken once it has been said."""

    def told(self, remark: str) -> None:
        """Write a remark where it does not disturb the lines."""
        click.echo(remark, err=True)

    def moved(self, at_s: float) -> None:
        """Write nothing."""


class Typescript(Transcript):
    """A transcript for the keyboard: the tool's words and a prompt; the rest is on the screen."""

    @override
    def happened(self, seq: int, event: Event, step: Step) -> None:
        """Write what became of a typed line."""
        if isinstance(event, Heard):
            verdict = _verdict(step)
            if verdict:
                self._emit(f" {verdict}")
        elif not isinstance(event, NoteTaken):
            super().happened(seq, event, step)

    @override
    def said(self, at_s: float, words: str) -> None:
        """Write what the tool says."""
        del at_s
        self._emit(click.style(words, fg="cyan"))


def clock(at_s: float) -> str:
    """Give a time of the run as minutes and seconds."""
    minutes, seconds = divmod(int(at_s), 60)
    return f"{minutes:3d}:{seconds:02d}"


def _verdict(step: Step) -> str:
    for action in step.actions:
        if isinstance(action, Record) and action.outcome is not None:
            text, colour = _STATES[action.outcome.state]
            if _disagrees(step, action.outcome.item_id):
                text, colour = "DISAGREES", "red"
            return f"  -> {_value(action.outcome)}{click.style(text, fg=colour)}"
        if isinstance(action, Ignored):
            return click.style(f"  ({action.reason})", dim=True)
    return ""


def _disagrees(step: Step, item_id: str) -> bool:
    found = (action.discrepancy for action in step.actions if isinstance(action, Record))
    return any(
        each is not None and each.item_id == item_id and each.reason is FindingReason.DISAGREES
        for each in found
    )


def _value(outcome: Outcome) -> str:
    if outcome.value is None:
        return ""
    return f"{outcome.value} {outcome.unit}".strip() + ", "


def closing_lines(state: State) -> list[str]:
    """Give how a run came out, for the end of a transcript."""
    check = state.check
    notes = [_note_line(check, note) for note in state.notes]
    if state.ending is None:
        count = len(state.open_items)
        return [f"Not finished: {count} of {len(check.items)} items are open.", *notes]
    lines = {
        EndingKind.COMPLETE: f"{check.title} complete.",
        EndingKind.COMPLETE_EXCEPT: f"{check.title} complete except:",
        EndingKind.ABANDONED: f"{check.title} abandoned.",
    }
    told = [lines[state.ending.kind]]
    told += [f"  open: {check.item(item_id).challenge}" for item_id in state.ending.open_items]
    for found in state.open_discrepancies:
        value = f" {found.value} {found.unit}".rstrip() if found.value is not None else ""
        said = f" {found.phrase}" if found.phrase else ""
        todo = f". {found.say}" if found.say else ""
        challenge = check.item(found.item_id).challenge
        told.append(f"  {_REASONS[found.reason]}: {challenge}{value}{said}{todo}")
    return told + notes


def _note_line(check: Check, note: Note) -> str:
    length = f", {note.length_s:.1f} s" if note.digest else ""
    return f"  note: {check.item(note.item_id).challenge}{length}: {note.text or 'sound only'}"
