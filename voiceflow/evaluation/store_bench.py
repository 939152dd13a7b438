"""How fast a journal of years is pushed to a store, and how soon that gives answers.

Run it as::

    python -m voiceflow.evaluation.store_bench URL [--runs 500]

It makes a journal as ``journal_bench`` does and pushes it to the store at URL. Name a
database that is there for this alone: what is in a store cannot be taken out again.
"""

import sys
from argparse import ArgumentParser
from collections.abc import Callable, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter

from voiceflow.evaluation.journal_bench import timed_ms, write
from voiceflow.evaluation.journal_runs import TAILS, make_runs
from voiceflow.fleet import requirement
from voiceflow.journal.store import Journal


def main(arguments: Sequence[str] | None = None) -> int:
    """Push a made journal and print the figures."""
    parser = ArgumentParser(prog="python -m voiceflow.evaluation.store_bench")
    parser.add_argument("url", help="of a database made for this")
    parser.add_argument("--runs", type=int, default=500, help="how many (default 500)")
    given = parser.parse_args(arguments)
    requirement.require()
    from voiceflow.fleet.pushing import push
    from voiceflow.fleet.store import Store

    with TemporaryDirectory() as folder:
        path = Path(folder) / "journal.sqlite"
        made = write(path, make_runs(given.runs, tails=TAILS))
        tail = TAILS[0]
        with Journal.open_to_read(path) as journal, Store.open(given.url, make=True) as store:
            _tell(f"{made.runs} runs, {made.events} events, {made.size} bytes as a journal")
            for what in ("pushed", "pushed again"):
                begun = perf_counter()
                pushed = push(journal, store)
                took_s = perf_counter() - begun
                rate = f", {pushed.rows / took_s:.0f} rows a second" if pushed.rows else ""
                _tell(f"{what}: {pushed.rows} rows in {took_s:.2f} s{rate}")
            _tell(f"{store.size()} bytes as a store")
            begun = perf_counter()
            found = store.verify_chain()
            _tell(f"{found.links} links verified in {perf_counter() - begun:.1f} s")
            asked: tuple[tuple[str, Callable[[], Sequence[object]]], ...] = (
                ("readings of left-oil", lambda: store.answers(tail, series="left-oil")),
                ("all readings", lambda: store.answers(tail, readings=True)),
                ("runs listed", store.runs),
            )
            for what, ask in asked:
                count, median_ms = timed_ms(ask)
                _tell(f"{what} of {tail}: {count} in {median_ms:.0f} ms")
    return 0


def _tell(line: str) -> None:
    sys.stdout.write(f"{line}\n")


if __name__ == "__main__":
    sys.exit(main())
