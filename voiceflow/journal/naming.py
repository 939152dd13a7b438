"""Which run is meant: a name, or as much of it as no other run begins with."""

from collections.abc import Callable, Sequence
from typing import Protocol, TypeVar

from rapidfuzz import process

from voiceflow.errors import VoiceflowError


class Named(Protocol):
    """Something with the name of a run."""

    @property
    def run_id(self) -> str:
        """The run's name."""
        ...


R = TypeVar("R", bound=Named)


def find_run(runs: Sequence[R], text: str, failure: Callable[[str, str], VoiceflowError]) -> R:
    """Give the run of that name, or the only one whose name begins so.

    Args:
        runs: Those there are.
        text: The name, or its beginning.
        failure: Makes the error of what is wrong and what to do.

    Raises:
        VoiceflowError: If there is none, naming the nearest, or several.
    """
    found = [run for run in runs if run.run_id == text]
    if not found and text:
        found = [run for run in runs if run.run_id.startswith(text)]
    if len(found) == 1:
        return found[0]
    if found:
        names = ", ".join(run.run_id for run in found[-3:])
        what = f"{len(found)} runs begin with {text!r}, the last of them {names}"
        raise failure(what, "Give more of the name.")
    if not runs:
        what = f"no run {text!r}: the journal is empty"
        raise failure(what, "Begin one: voiceflow run")
    near = process.extract(text, [run.run_id for run in runs], limit=3, score_cutoff=60)
    meant = f" Did you mean {', '.join(name for name, _, _ in near)}?" if near else ""
    what, remedy = f"no run {text!r}", f"List the runs with: voiceflow journal.{meant}"
    raise failure(what, remedy)
