"""What the program tells the shell. Scripts rely on these numbers."""

from typing import Final

from voiceflow.dialogue.state import State
from voiceflow.phraseology.prompts import EndingKind

#: The check is complete, or the command did what it was asked for.
DONE: Final = 0
#: The check ended with something open, or did not end.
OPEN: Final = 1
#: What was given cannot be used; a message is on stderr.
UNUSABLE: Final = 2
#: Interrupted; the journal is whole and the run can be resumed.
INTERRUPTED: Final = 130


def status_of(state: State) -> int:
    """Give the status for a run that stands here."""
    is_complete = state.ending is not None and state.ending.kind is EndingKind.COMPLETE
    return DONE if is_complete else OPEN
