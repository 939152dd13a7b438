"""How large a journal of years is, and how soon it gives the readings of a gauge.

Run it as::

    python -m voiceflow.evaluation.journal_bench [--runs 5000]

It makes runs of forty items (``journal_runs.py``), writes them through the journal's own
code into a temporary folder, many to a transaction, and prints bytes and times.
"""

import sys
from argparse import ArgumentParser
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from time import perf_counter
from typing import Final

from voiceflow.evaluation.journal_runs import READINGS, RESPONSES, TAILS, MadeRun, make_runs
from voiceflow.evaluation.trend_bench import tell_trends
from voiceflow.journal.store import Journal

#: Runs that go into one transaction.
_TOGETHER: Final = 100
_SERIES: Final = "left-oil"
_TIMES: Final = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """A journal that was made.

    Attributes:
        runs: How many runs it has.
        events: How many events.
        records: How many records.
        size: Bytes of the file.
    """

    runs: int
    events: int
    records: int
    size: int

    @property
    def bytes_a_run(self) -> float:
        """Bytes of the file, for each run."""
        return self.size / self.runs


def write(path: Path, runs: Iterable[MadeRun]) -> Written:
    """Write runs into a journal, as ``append`` does but for the commits."""
    count = events = records = 0
    waiting = iter(runs)
    with Journal.open(path) as journal:
        while some := list(islice(waiting, _TOGETHER)):
            with journal.together():
                for run in some:
                    journal.begin(run.header)
                    for event, facts in run.steps:
                        journal.append(run.header.run_id, event, facts)
                        records += len(facts)
                    events += len(run.steps)
            count += len(some)
    # closed, so that the log has gone into the file
    return Written(runs=count, events=events, records=records, size=path.stat().st_size)


def timed_ms(ask: Callable[[], Sequence[object]]) -> tuple[int, float]:
    """Give how many were found, and the median of some times, milliseconds."""
    times = []
    found = 0
    for _ in range(_TIMES):
        begun = perf_counter()
        found = len(ask())
        times.append((perf_counter() - begun) * 1000)
    return found, median(times)


def _tell(line: str) -> None:
    sys.stdout.write(f"{line}\n")


def main(arguments: Sequence[str] | None = None) -> int:
    """Make a journal and print its figures."""
    parser = ArgumentParser(prog="python -m voiceflow.evaluation.journal_bench")
    parser.add_argument("--runs", type=int, default=5000, help="how many (default 5000)")
    parser.add_argument("--one-tail", action="store_true", help="all of one aircraft")
    given = parser.parse_args(arguments)
    tails = TAILS[:1] if given.one_tail else TAILS
    with TemporaryDirectory() as folder:
        path = Path(folder) / "journal.sqlite"
        begun = perf_counter()
        made = write(path, make_runs(given.runs, tails=tails))
        took_s = perf_counter() - begun
        _tell(
            f"{made.runs} runs of {READINGS + RESPONSES} items ({READINGS} readings): "
            f"{made.events / made.runs:.0f} events and {made.records / made.runs:.0f} records a run"
        )
        _tell(f"{made.size} bytes, {made.bytes_a_run:.0f} a run; written in {took_s:.0f} s")
        begun = perf_counter()
        with Journal.open_to_read(path) as journal:
            _tell(f"opened to read in {(perf_counter() - begun) * 1000:.0f} ms")
            tail = tails[0]
            asked: tuple[tuple[str, Callable[[], Sequence[object]]], ...] = (
                (f"readings of {_SERIES}", lambda: journal.answers(tail, series=_SERIES)),
                ("all readings", lambda: journal.answers(tail, readings=True)),
                ("all answers", lambda: journal.answers(tail)),
                ("open findings", lambda: journal.open_findings(tail)),
                ("runs listed", journal.runs),
            )
            for what, ask in asked:
                found, median_ms = timed_ms(ask)
                _tell(f"{what} of {tail}: {found} in {median_ms:.0f} ms (median of {_TIMES})")
            for line in tell_trends(journal, tail, path):
                _tell(line)
    return 0


if __name__ == "__main__":
    sys.exit(main())
