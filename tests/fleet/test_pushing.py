"""What is pushed comes once, whole and in order, whatever cuts it off and whoever else pushes."""

import shutil
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from threading import Barrier

import pytest

from tests.fleet.server import Server
from tests.journal.conftest import make_entries, make_found, make_header, make_step
from tests.journal.test_chain import tamper
from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.events import Started, TimePassed
from voiceflow.dialogue.state import Ending
from voiceflow.errors import JournalError, StoreError
from voiceflow.fleet.pushing import Pushed, push
from voiceflow.fleet.store import Store
from voiceflow.journal.store import Journal
from voiceflow.phraseology.prompts import EndingKind

FLAC = b"fLaC, as far as a journal cares"
#: Two heads, 6 events, 1 with a discrepancy, 1 of the other run; a step, a sound.
ROWS = 2 + 6 + 1 + 1 + 1 + 1


def fill(journal: Journal, run_id: str = "a") -> None:
    """Two runs, one with a discrepancy, what was done about it, and a sound."""
    journal.begin(make_header(run_id))
    for entry in make_entries():
        journal.append(run_id, *entry)
    journal.append(run_id, TimePassed(at_s=6.0), [Record(discrepancy=make_found())])
    journal.note_finding(make_step(run_id))
    journal.keep_sound(FLAC)
    journal.begin(make_header(f"{run_id}-2"))
    journal.append(f"{run_id}-2", Started(at_s=0.0))


@pytest.fixture
def journal(path: Path) -> Iterator[Journal]:
    with Journal.open(path) as opened:
        fill(opened)
        yield opened


def same(journal: Journal, store: Store) -> bool:
    """Whether the store has every run of a journal as the journal has it, and is whole."""
    assert store.verify_chain().misfit is None
    return all(
        store.raw_header(run.run_id) == journal.raw_header(run.run_id)
        and list(store.raw_events(run.run_id)) == list(journal.raw_events(run.run_id))
        for run in journal.runs()
    )


def test_a_second_push_pushes_nothing(journal: Journal, store: Store) -> None:
    first = push(journal, store)
    assert first == Pushed(
        runs=2, events=8, steps=1, sounds=1, has=ROWS, aside=(), aside_before=0, ahead=0
    )
    assert first.rows == ROWS
    assert first.agrees
    again = push(journal, store)
    assert (again.rows, again.has, again.agrees) == (0, ROWS, True)
    assert same(journal, store)


def test_an_empty_journal_is_nothing_to_push(path: Path, store: Store) -> None:
    with Journal.open(path) as empty:
        pushed = push(empty, store)
    assert (pushed.rows, pushed.has, pushed.agrees) == (0, 0, True)


@pytest.mark.parametrize("batch_rows", [1, 2, 5, 100])
def test_batches_make_no_difference(journal: Journal, store: Store, batch_rows: int) -> None:
    assert push(journal, store, batch_rows=batch_rows).rows == ROWS
    assert same(journal, store)


def test_a_run_that_goes_on_is_completed_later(path: Path, store: Store) -> None:
    with Journal.open(path) as journal:
        journal.begin(make_header("a"))
        entries = make_entries()
        for entry in entries[:3]:
            journal.append("a", *entry)
        assert push(journal, store).events == 3
        (begun,) = store.runs()
        assert (begun.events, begun.finished) == (3, False)
        for entry in entries[3:]:
            journal.append("a", *entry)
        ending = Record(
            ending=Ending(
                kind=EndingKind.ABANDONED, at_item="covers", open_items=("covers",), at_s=7.0
            )
        )
        journal.append("a", TimePassed(at_s=7.0), [ending])
        assert push(journal, store).events == 4
        assert same(journal, store)
        assert store.answers("X-SKR7") == journal.answers("X-SKR7")
        (ended,) = store.runs()
        assert replace(ended, source="") == journal.runs()[0]
        assert ended.ending is EndingKind.ABANDONED


BREAK = """
CREATE FUNCTION break_off() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN PERFORM pg_terminate_backend(pg_backend_pid()); RETURN NEW; END $$;
CREATE TRIGGER break_off BEFORE INSERT ON voiceflow.event
FOR EACH ROW WHEN (NEW.run_id = 'a' AND NEW.seq = 4) EXECUTE FUNCTION break_off();
"""


def test_a_push_that_is_cut_off_goes_on_where_it_was(
    journal: Journal, store: Store, server: Server, database: str
) -> None:
    with server.connect(database) as outsider:
        outsider.execute(BREAK.encode())
        reached: list[int] = []
        with pytest.raises(StoreError) as cut_off:
            # rows 1 to 3 are the head and two events; 4 to 6 hold the one that breaks it off
            push(journal, store, batch_rows=3, moved=lambda done, _: reached.append(done))
        assert "connection" in cut_off.value.what
        assert "goes on from there" in cut_off.value.remedy
        assert reached == [3]
        counted = outsider.execute("SELECT count(*) FROM voiceflow.link").fetchone()
        assert counted == (3,)
        assert len(list(store.raw_events("a"))) == 2
        outsider.execute("DROP TRIGGER break_off ON voiceflow.event")
    assert push(journal, store, batch_rows=3).rows == ROWS - 3
    assert same(journal, store)


def test_a_connection_cut_between_two_batches(
    journal: Journal, store: Store, server: Server, database: str
) -> None:
    def cut(done: int, total: int) -> None:
        with server.connect(database) as outsider:
            outsider.execute(
                "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
                " WHERE datname = current_database() AND pid <> pg_backend_pid()"
            )

    with pytest.raises(StoreError, match="push again, and it goes on from there"):
        push(journal, store, batch_rows=5, moved=cut)
    assert push(journal, store).rows == ROWS - 5
    assert same(journal, store)


def test_another_push_of_the_same_journal_in_between(
    journal: Journal, store: Store, url: str, path: Path
) -> None:
    others: list[Pushed] = []

    def meanwhile(done: int, total: int) -> None:
        if not others:
            with Store.open(url) as second, Journal.open_to_read(path) as file:
                others.append(push(file, second))

    first = push(journal, store, batch_rows=4, moved=meanwhile)
    assert (first.rows, others[0].rows) == (4, ROWS - 4)
    assert first.agrees
    assert same(journal, store)


def test_pushes_at_the_same_time(journal: Journal, url: str, tmp_path: Path, path: Path) -> None:
    """Three of one journal, and two of journals of their own with what all share."""
    paths = [path, path, path]
    for name in ("b", "c"):
        paths.append(tmp_path / f"{name}.sqlite")
        with Journal.open(paths[-1]) as own:
            fill(own, name)
    together = Barrier(len(paths))

    def one(of: Path) -> Pushed:
        with Journal.open_to_read(of) as file:
            together.wait(timeout=60)
            # the tables are not there yet: all make them
            with Store.open(url, make=True) as store:
                return push(file, store, batch_rows=2)

    with ThreadPoolExecutor(len(paths)) as pool:
        pushed = list(pool.map(one, paths))
    assert all(each.agrees for each in pushed)
    assert sum(each.rows for each in pushed[:3]) == ROWS
    assert [each.rows for each in pushed[3:]] == [ROWS, ROWS]
    with Store.open(url) as store:
        assert len({run.source for run in store.runs()}) == 3
        assert same(journal, store)
        for each in paths[3:]:
            with Journal.open_to_read(each) as file:
                assert same(file, store)


@pytest.fixture
def two_copies(path: Path, tmp_path: Path) -> tuple[Path, Path]:
    """A journal that was copied while a run went on; both copies went on, and began another."""
    entries = make_entries()
    with Journal.open(path) as journal:
        journal.begin(make_header("a"))
        for entry in entries[:3]:
            journal.append("a", *entry)
    copy = tmp_path / "copy.sqlite"
    shutil.copy(path, copy)
    for number, each in enumerate((path, copy)):
        with Journal.open(each) as journal:
            journal.append("a", TimePassed(at_s=3.5 + number))
            for entry in entries[4:]:
                journal.append("a", *entry)
            journal.begin(make_header(f"own-{number}"))
            journal.append(f"own-{number}", Started(at_s=0.0))
    return path, copy


def test_what_does_not_go_together_is_set_aside(
    two_copies: tuple[Path, Path], store: Store
) -> None:
    original, copy = two_copies
    with Journal.open_to_read(original) as journal, Journal.open_to_read(copy) as other:
        assert push(journal, store).agrees
        before = list(store.raw_events("a"))
        pushed = push(other, store)
        # from its event 3 on; not one of these is mixed into the run of the first
        assert [row.written.seq for row in pushed.aside] == [3, 4, 5]  # type: ignore[union-attr]
        assert (pushed.runs, pushed.events, pushed.has) == (1, 1, 9)
        # what the first has after the place of the copy
        assert pushed.ahead == 5
        assert not pushed.agrees
        assert list(store.raw_events("a")) == before == list(journal.raw_events("a"))
        assert list(store.raw_events("own-1")) == list(other.raw_events("own-1"))
        for each in (journal, other):
            again = push(each, store)
            assert (again.rows, again.aside, again.aside_before) == (0, (), 3)
            assert not again.agrees
    assert store.verify_chain().misfit is None
    assert store.verify_chain().links == 4 + 5 + 5


def test_what_follows_on_what_is_set_aside_is_too(
    two_copies: tuple[Path, Path], store: Store
) -> None:
    """The run of the copy goes on further than the first one's, in a later push."""
    original, copy = two_copies
    with Journal.open_to_read(original) as journal:
        push(journal, store)
        before = list(store.raw_events("a"))
    with Journal.open(copy) as other:
        push(other, store, batch_rows=1)
        other.append("a", TimePassed(at_s=9.0))
        pushed = push(other, store)
    assert [row.written.seq for row in pushed.aside] == [6]  # type: ignore[union-attr]
    assert (pushed.rows, pushed.aside_before) == (1, 3)
    assert list(store.raw_events("a")) == before


def test_two_runs_of_one_name(path: Path, tmp_path: Path, store: Store) -> None:
    """Two machines gave two runs the same name."""
    with Journal.open(path) as journal, Journal.open(tmp_path / "b.sqlite") as other:
        fill(journal)
        push(journal, store)
        other.begin(replace(make_header("a"), program_version="0.1.1"))
        for entry in [*make_entries(), (TimePassed(at_s=6.5), ()), (TimePassed(at_s=8.0), ())]:
            other.append("a", *entry)
        fill(other, "b")
        pushed = push(other, store)
        # its head, and every event: those, too, that the other run has word for word
        assert len(pushed.aside) == 1 + 8
        assert (pushed.runs, pushed.events, pushed.ahead) == (2, 8, 0)
        assert same(journal, store)
        assert list(store.raw_events("b")) == list(other.raw_events("b"))


def test_the_same_run_in_two_journals_is_one(path: Path, tmp_path: Path, store: Store) -> None:
    with Journal.open(path) as journal, Journal.open(tmp_path / "b.sqlite") as other:
        fill(journal)
        # other links: something else was there first
        other.keep_sound(b"another sound")
        fill(other)
        push(journal, store)
        pushed = push(other, store)
        assert pushed.agrees
        assert same(journal, store)
        assert store.answers("X-SKR7") == journal.answers("X-SKR7")


def test_a_journal_whose_end_was_cut_off(journal: Journal, path: Path, store: Store) -> None:
    push(journal, store)
    journal.close()
    tamper(path, "DELETE FROM event WHERE place = 12; DELETE FROM run WHERE place = 11")
    with Journal.open(path) as cut:
        assert cut.verify_chain().misfit is None
        told = push(cut, store)
        assert (told.rows, told.ahead, told.agrees) == (0, 2, False)
        # and it goes on from there with another run
        cut.begin(make_header("c"))
        assert push(cut, store).runs == 1
    assert {run.run_id for run in store.runs()} == {"a", "a-2", "c"}
    assert store.verify_chain().misfit is None


def test_what_is_not_as_it_was_written_is_not_pushed(
    journal: Journal, path: Path, store: Store
) -> None:
    journal.close()
    tamper(path, "UPDATE record SET json = replace(json, '1530', '1590') WHERE place = 5")
    with (
        Journal.open_to_read(path) as changed,
        pytest.raises(JournalError, match="what stands at place 5 is not what was written"),
    ):
        push(changed, store, batch_rows=4)
    assert store.verify_chain().links == 4


@pytest.mark.parametrize("batch_rows", [1, 100])
def test_a_row_that_is_missing_is_told(
    journal: Journal, path: Path, store: Store, batch_rows: int
) -> None:
    journal.close()
    tamper(path, "DELETE FROM finding_step")
    with (
        Journal.open_to_read(path) as changed,
        pytest.raises(JournalError, match="row at place 9 is missing"),
    ):
        push(changed, store)


def test_a_sound_that_was_changed_is_not_pushed(journal: Journal, path: Path, store: Store) -> None:
    journal.close()
    tamper(path, "UPDATE sound SET flac = x'00'")
    with (
        Journal.open_to_read(path) as changed,
        pytest.raises(JournalError, match="what stands at place 10 is not"),
    ):
        push(changed, store)


@pytest.mark.parametrize(
    ("table", "does", "told"),
    [
        (
            "record",
            "NEW.json := replace(NEW.json, '1530', '1590'); RETURN NEW;",
            "run a, event 3: as the store keeps it, it is not what was written",
        ),
        (
            "link",
            "IF NEW.seq = 2 THEN RETURN NULL; END IF; RETURN NEW;",
            "place 4: as the store keeps it, it is missing",
        ),
        (
            "link",
            "NEW.place := NEW.place + 1; RETURN NEW;",
            "run a, its head: as the store keeps it, it is not what was written",
        ),
        ("answer", "RETURN NULL;", "the answers listed for it do not follow"),
        ("event", "RAISE EXCEPTION 'not today';", r"the server says: not today .*\(P0001\)"),
    ],
)
def test_a_server_that_keeps_something_else(
    journal: Journal,
    store: Store,
    server: Server,
    database: str,
    table: str,
    does: str,
    told: str,
) -> None:
    """What came in is read back before it is committed."""
    with server.connect(database) as outsider:
        outsider.execute(
            f"CREATE FUNCTION garble() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN {does} END $$;"
            f"CREATE TRIGGER garble BEFORE INSERT ON voiceflow.{table}"
            " FOR EACH ROW EXECUTE FUNCTION garble()".encode()
        )
    with pytest.raises(StoreError, match=told):
        push(journal, store)
    assert store.runs() == ()


def test_a_journal_of_version_1_and_the_same_brought_over(old: Path, store: Store) -> None:
    with Journal.open_to_read(old) as journal:
        has = push(journal, store).rows
        assert has == journal.verify_chain().links
    with Journal.open(old) as journal:
        journal.append("b", TimePassed(at_s=6.0))
        pushed = push(journal, store)
        assert (pushed.rows, pushed.has, pushed.agrees) == (1, has + 1, True)
        assert same(journal, store)


def test_a_large_sound_goes_alone(path: Path, store: Store) -> None:
    with Journal.open(path) as journal:
        journal.keep_sound(bytes(3_000_000))
        journal.keep_sound(bytes(3_000_001))
        digest = journal.keep_sound(b"small")
        reached: list[int] = []
        push(journal, store, moved=lambda done, _: reached.append(done))
        assert reached == [2, 3]
    assert store.sound(digest) == b"small"
