"""What is known of a run before its first event.

The whole check is kept with the run, so that a run can be replayed, resumed and
reported after its file has changed. No clock and no random source here: the
caller gives both.
"""

from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Final

from voiceflow.checks.model import Check
from voiceflow.dialogue.brief import Brief
from voiceflow.dialogue.events import ProfileUsed
from voiceflow.dialogue.machine import begin
from voiceflow.dialogue.state import State
from voiceflow.settings import Settings

#: Sources of what the person says; a recording is named by its absolute path.
MICROPHONE: Final = "microphone"
TYPED: Final = "typed"


@dataclass(frozen=True, slots=True, kw_only=True)
class RunHeader:
    """The head of one run in the journal.

    Attributes:
        run_id: Unique in the journal; see ``make_run_id``.
        program_version: Version of Voiceflow that began the run.
        started_at: Clock time of second 0 of the run, ISO 8601 with UTC offset.
        check: The check as it was loaded, items, limits and digests included.
        settings: The thresholds that the run decides with.
        engine: The recogniser's name ("typed" for the keyboard).
        recording: Absolute path of the recording that is played instead of a
            microphone, as text; None for a microphone or the keyboard.
        model: Absolute path of the model folder that was asked for, as text; None: none
            was, or that was not written down.
        voice: How the tool speaks: "speakers", "none" or the path of a WAV file;
            None where that was not written down.
        profile: The speaker profile that the run was begun with; None: none was, or that
            was not written down.
        hears_itself: The microphone heard the speakers.
        brief: What was known before the run began.
        clock_given: Somebody said at which clock time the run begins: ``started_at`` is
            that, and not when the program was started.
    """

    run_id: str
    program_version: str
    started_at: str
    check: Check
    settings: Settings
    engine: str
    recording: str | None = None
    model: str | None = None
    voice: str | None = None
    profile: ProfileUsed | None = None
    hears_itself: bool = False
    brief: Brief = field(default_factory=Brief)
    clock_given: bool = False

    def begin(self) -> State:
        """Give the state before the first event."""
        return begin(self.check, self.settings, self.brief)

    @property
    def source(self) -> str:
        """What it was begun with: ``MICROPHONE``, ``TYPED`` or the recording's path."""
        if self.recording is not None:
            return self.recording
        return TYPED if self.engine == TYPED else MICROPHONE


def make_run_id(started_at: datetime, entropy: bytes) -> str:
    """Give a short name for a run that sorts by time: ``20261125-093012-7f3a``.

    Args:
        started_at: When the run begins, with a UTC offset.
        entropy: Two random bytes or more; the first two keep runs of one second apart.

    Returns:
        UTC date, UTC time and four hexadecimal digits.

    Raises:
        ValueError: If the time has no offset or there are fewer than two bytes.
    """
    if started_at.tzinfo is None:
        msg = "the time of a run needs a UTC offset"
        raise ValueError(msg)
    if len(entropy) < 2:
        msg = f"two random bytes are needed, not {len(entropy)}"
        raise ValueError(msg)
    return f"{started_at.astimezone(UTC):%Y%m%d-%H%M%S}-{entropy[:2].hex()}"
