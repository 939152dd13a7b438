"""A journal of made runs: live-like, whole, and small. Times are printed, never asserted."""

from collections import Counter
from pathlib import Path

import pytest

from voiceflow.dialogue.state import ItemState
from voiceflow.evaluation.journal_bench import main, write
from voiceflow.evaluation.journal_runs import READINGS, RESPONSES, TAILS, MadeRun, make_runs
from voiceflow.journal.replay import verify
from voiceflow.journal.store import Journal
from voiceflow.phraseology.prompts import EndingKind

RUNS = 60


@pytest.fixture(scope="module")
def runs() -> tuple[MadeRun, ...]:
    return tuple(make_runs(RUNS))


def test_a_made_run_is_as_a_live_one(runs: tuple[MadeRun, ...]) -> None:
    """Compared with the demo heard live: 51 times heard, 51 begun to speak, 71 pieces spoken."""
    kinds = Counter(event.kind for run in runs for event, _ in run.steps)
    items = RUNS * (READINGS + RESPONSES)
    assert kinds["speech-started"] == kinds["heard"] >= items
    assert items < kinds["spoken"] < 2.5 * items
    assert kinds["time-passed"] > 0
    check = runs[0].header.check
    assert len(check.items) == READINGS + RESPONSES
    assert sum(item.reading is not None for item in check.items) == READINGS
    assert [sum(run.header.check.tail == tail for run in runs) for tail in TAILS] == [30, 30]
    for run in runs:
        times = [event.at_s for event, _ in run.steps]
        assert times == sorted(times)
        (ending,) = [one.ending for _, records in run.steps for one in records if one.ending]
        assert ending.kind is not EndingKind.ABANDONED
        assert ending.open_items == ()


def test_a_run_takes_less_than_thirty_kilobytes(tmp_path: Path, runs: tuple[MadeRun, ...]) -> None:
    """What is promised for 5,000 runs is 150 MB; the few documents weigh more on sixty."""
    path = tmp_path / "journal.sqlite"
    made = write(path, runs)
    assert made.runs == RUNS
    with Journal.open_to_read(path) as journal:
        documents = journal._connection.execute(
            "SELECT sum(length(CAST(json AS BLOB)) + length(digest)) FROM document"
        ).fetchone()[0]
        assert (made.size - documents) / RUNS < 30_000
        # each of them is shared: they hardly grow with the runs
        assert documents < 500_000
        assert journal.verify_chain().misfit is None
        for run in runs[:3]:
            assert verify(journal, run.header.run_id) == ()
            assert journal.header(run.header.run_id) == run.header
            assert [(one.event, one.records) for one in journal.entries(run.header.run_id)] == list(
                run.steps
            )


def test_the_answers_are_those_that_stand(tmp_path: Path, runs: tuple[MadeRun, ...]) -> None:
    path = tmp_path / "journal.sqlite"
    write(path, runs)
    for tail in TAILS:
        standing = []
        for run in runs:
            if run.header.check.tail != tail:
                continue
            state = {}
            for _, records in run.steps:
                for record in records:
                    if record.outcome is not None:
                        state[record.outcome.item_id] = record.outcome
                    elif record.withdrawn_item is not None:
                        del state[record.withdrawn_item]
            for item_id, outcome in state.items():
                part, _, bare = item_id.partition(".")
                standing.append((run.header.run_id, part, bare, outcome.value, outcome.answered_s))
        with Journal.open_to_read(path) as journal:
            found = journal.answers(tail)
        assert sorted(map(str, standing)) == sorted(
            str((one.run_id, one.check_id, one.item_id, one.value, one.answered_s)) for one in found
        )
        assert {one.state for one in found} > {ItemState.AS_EXPECTED, ItemState.WITHIN_LIMITS}
        # what they took adds up to the run, but for the pauses and the words before the first
        for run in runs:
            took = [one.took_s for one in found if one.run_id == run.header.run_id]
            assert all(each is not None and each > 0 for each in took)


def test_the_bench_prints_bytes_and_times(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--runs", "2"]) == 0
    told = capsys.readouterr().out
    assert "2 runs of 40 items (15 readings)" in told
    assert "a run; written in" in told
    assert "readings of left-oil of X-SKR7: 1 in" in told
