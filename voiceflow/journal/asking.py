"""What is asked of records of runs, wherever they are kept: in a file, in a fleet's store."""

from collections.abc import Iterator
from typing import Protocol

from voiceflow.dialogue.events import Event
from voiceflow.journal.answers import Answer
from voiceflow.journal.header import RunHeader
from voiceflow.journal.ledger import FindingStep
from voiceflow.journal.reading import Entry, RawEvent, RunSummary


class RunReader(Protocol):
    """Answers questions about runs; ``Journal`` says what each gives and raises."""

    @property
    def name(self) -> str:
        """Where the records are, for messages."""
        ...

    def runs(self) -> tuple[RunSummary, ...]:
        """Give every run, in the order they were begun."""
        ...

    def find(self, text: str) -> RunSummary:
        """Give the run of that name, or the only one whose name begins so."""
        ...

    def raw_header(self, run_id: str) -> str:
        """Give the head of a run as it is written: one line of JSON."""
        ...

    def header(self, run_id: str) -> RunHeader:
        """Give the head of a run."""
        ...

    def raw_events(self, run_id: str, from_seq: int = 0) -> Iterator[RawEvent]:
        """Give the events of a run as they are written, in order."""
        ...

    def events(self, run_id: str) -> tuple[Event, ...]:
        """Give every event of a run, in order."""
        ...

    def entries(self, run_id: str) -> tuple[Entry, ...]:
        """Give every event of a run with its records, in order."""
        ...

    def answers(
        self,
        tail: str,
        *,
        since: str | None = None,
        series: str | None = None,
        check_id: str | None = None,
        readings: bool = False,
    ) -> tuple[Answer, ...]:
        """Give the answers that stand in all runs of an aircraft, in journal order."""
        ...

    def finding_steps(self, finding_id: str | None = None) -> tuple[FindingStep, ...]:
        """Give what people did about a discrepancy, or about all of them, in that order."""
        ...

    def tails(self) -> tuple[str, ...]:
        """Give every registration that a run was begun with, sorted."""
        ...
