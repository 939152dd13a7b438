"""Who looks on while a run goes: a terminal, a progress bar.

A watcher hears of everything after it has been committed and can change nothing.
"""

from typing import Protocol

from voiceflow.dialogue.actions import Step
from voiceflow.dialogue.events import Event


class Watcher(Protocol):
    """Somebody who looks on."""

    def entered(self, run_id: str) -> None:
        """See that a run is in the journal and about to begin or to go on."""
        ...

    def happened(self, seq: int, event: Event, step: Step) -> None:
        """See event ``seq`` of the run and what it led to; both are in the journal by now."""
        ...

    def said(self, at_s: float, words: str) -> None:
        """See words that the tool begins to say, or will once it has finished others."""
        ...

    def told(self, remark: str) -> None:
        """See a remark about the run itself: which engine listens, that it goes on."""
        ...

    def moved(self, at_s: float) -> None:
        """See the audio clock move on; called at each frame."""
        ...
