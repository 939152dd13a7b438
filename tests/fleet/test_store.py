"""A store answers as the journals do that were pushed to it, and lets nothing be changed."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import psycopg
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.fleet.server import Server
from tests.fleet.test_pushing import fill, same
from tests.journal.conftest import make_entries, make_found, make_header, make_step
from tests.journal.test_raw import JSON
from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.brief import FindingState
from voiceflow.dialogue.events import TimePassed
from voiceflow.errors import StoreError, VoiceflowError
from voiceflow.evaluation.journal_runs import TAILS, make_runs
from voiceflow.fleet import heads, tables
from voiceflow.fleet.order import in_order, moment
from voiceflow.fleet.pushing import push
from voiceflow.fleet.store import Store
from voiceflow.fleet.verifying import Verifier
from voiceflow.journal import codec
from voiceflow.journal.asking import RunReader
from voiceflow.journal.store import Journal

RUNS = 4


@pytest.fixture(scope="module")
def made(
    server: Server, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[Journal, Store]]:
    """Whole sectors of two tails, with corrections and findings, and their store."""
    server.make_database("made")
    path = tmp_path_factory.mktemp("made") / "journal.sqlite"
    with Journal.open(path) as journal, Store.open(server.url("made"), make=True) as store:
        for run in make_runs(RUNS):
            with journal.together():
                journal.begin(run.header)
                for event, records in run.steps:
                    journal.append(run.header.run_id, event, records)
        (last, item) = (run.header.run_id, run.header.check.items[0].id)
        found = Record(discrepancy=make_found(item))
        journal.append(last, TimePassed(at_s=run.steps[-1][0].at_s), [found])
        for state, reference in ((FindingState.DEFERRED, "35-1"), (FindingState.ACCEPTED, "")):
            journal.note_finding(make_step(last, item, state=state, reference=reference))
        push(journal, store)
        yield journal, store


def test_runs_are_those_of_the_journal(made: tuple[Journal, Store]) -> None:
    journal, store = made
    with journal.rows() as rows:
        first = rows.link(1)
    assert first is not None
    assert {run.source for run in store.runs()} == {first.hex()}
    assert tuple(replace(run, source="") for run in store.runs()) == journal.runs()
    assert store.tails() == journal.tails()
    assert store.size() > sum(len(journal.raw_header(run.run_id)) for run in journal.runs()[:1])
    for run in journal.runs():
        assert store.find(run.run_id).run_id == run.run_id


def test_what_happened_is_word_for_word(made: tuple[Journal, Store]) -> None:
    journal, store = made
    for run_id in (run.run_id for run in journal.runs()):
        assert store.raw_header(run_id) == journal.raw_header(run_id)
        assert store.header(run_id) == journal.header(run_id)
        assert store.entries(run_id) == journal.entries(run_id)
        assert store.events(run_id) == journal.events(run_id)
        assert list(store.raw_events(run_id)) == list(journal.raw_events(run_id))
        assert list(store.raw_events(run_id, 50)) == list(journal.raw_events(run_id, 50))


def test_answers_are_those_of_the_journal(made: tuple[Journal, Store]) -> None:
    journal, store = made
    series = sorted({answer.series for answer in journal.answers(TAILS[0])})
    assert len(series) > 5
    later = datetime.fromisoformat(journal.runs()[1].started_at)
    asked: list[dict[str, Any]] = [
        {},
        {"readings": True},
        {"check_id": "walk-round"},
        {"check_id": "no-such"},
        {"since": later.isoformat()},
        {"since": (later + timedelta(seconds=1)).isoformat()},
        {"since": later.astimezone(UTC).replace(tzinfo=None).isoformat()},
        *({"series": name} for name in series),
        {"series": series[-1], "readings": True, "check_id": "before-start"},
    ]
    for tail in (*TAILS, "X-NONE"):
        for each in asked:
            expected = journal.answers(tail, **each)
            assert store.answers(tail, **each) == expected
            # 29.90 stays 29.90
            assert repr(store.answers(tail, **each)) == repr(expected)
    with pytest.raises(ValueError, match="isoformat"):
        store.answers(TAILS[0], since="yesterday")


def test_what_was_done_about_findings(made: tuple[Journal, Store]) -> None:
    journal, store = made
    steps = journal.finding_steps()
    assert len(steps) == 2
    assert store.finding_steps() == steps
    assert store.finding_steps(steps[0].finding_id) == steps
    assert store.finding_steps("x/y") == ()


def test_both_can_be_asked(made: tuple[Journal, Store]) -> None:
    journal, store = made
    readers: tuple[RunReader, ...] = (journal, store)
    assert [reader.name for reader in readers] == [str(journal.path), store.name]


def test_what_is_not_there(made: tuple[Journal, Store]) -> None:
    _, store = made
    with pytest.raises(StoreError, match=r"no run 'x'. List the runs with: .* --store URL"):
        store.header("x")
    with pytest.raises(StoreError, match="no run 'x'"):
        list(store.raw_events("x"))
    with pytest.raises(StoreError, match="runs begin with '2'"):
        store.find("2")
    with pytest.raises(StoreError, match="no run 'nothing-like-it'"):
        store.find("nothing-like-it")
    with pytest.raises(StoreError, match="no sound 00"):
        store.sound("00")


def test_an_answer_taken_back_does_not_stand(path: Path, store: Store) -> None:
    with Journal.open(path) as journal:
        journal.begin(make_header("a"))
        for entry in make_entries():
            journal.append("a", *entry)
        journal.append("a", TimePassed(at_s=6.0), [Record(withdrawn_item="crew-oxygen")])
        push(journal, store)
        assert store.answers("X-SKR7") == journal.answers("X-SKR7") == ()


def test_several_journals_are_put_together_by_time(tmp_path: Path, store: Store) -> None:
    hours = {"a": (0, 4, 2), "b": (1, 3, 5)}  # a's clock was set back before its third run
    for name, began in hours.items():
        with Journal.open(tmp_path / f"{name}.sqlite") as journal:
            for number, hour in enumerate(began):
                run_id = f"{name}{number}"
                at = f"2026-11-25T{hour:02}:30:00+00:00"
                journal.begin(replace(make_header(run_id), started_at=at))
                for entry in make_entries():
                    journal.append(run_id, *entry)
                found = Record(discrepancy=make_found())
                journal.append(run_id, TimePassed(at_s=6.0), [found])
                journal.note_finding(replace(make_step(run_id), at=at))
            push(journal, store)
    in_time = ["a0", "b0", "b1", "a1", "a2", "b2"]
    assert [run.run_id for run in store.runs()] == in_time
    assert [answer.run_id for answer in store.answers("X-SKR7")] == in_time
    assert [step.finding_id.partition("/")[0] for step in store.finding_steps()] == in_time


def test_order_of_what_has_no_time() -> None:
    rows = [
        (1, "2026-11-25T09:00:00"),
        (1, "nonsense"),
        (2, "2026-11-25T08:00:00+00:00"),
        (2, "2026-11-25T10:00:00+00:00"),
    ]
    found = in_order(rows, lambda row: row[0], lambda row: moment(row[1]))
    # without an offset it is UTC; what has no time comes at once after what it followed
    assert found == [rows[2], rows[0], rows[1], rows[3]]


TABLES = [table.name for table in tables.metadata.sorted_tables]


@pytest.fixture(scope="module")
def pushed(server: Server, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """A small journal's store, for tests that leave it as it is."""
    server.make_database("pushed")
    path = tmp_path_factory.mktemp("pushed") / "journal.sqlite"
    with Journal.open(path) as journal, Store.open(server.url("pushed"), make=True) as store:
        fill(journal)
        push(journal, store)
        assert same(journal, store)
        yield store


@pytest.mark.parametrize("table", TABLES)
def test_nothing_can_be_changed(pushed: Store, server: Server, table: str) -> None:
    column = tables.metadata.tables[f"voiceflow.{table}"].columns.keys()[-1]
    with server.connect("pushed") as owner:
        for statement in (
            f"UPDATE voiceflow.{table} SET {column} = {column}",
            f"DELETE FROM voiceflow.{table}",
            f"TRUNCATE voiceflow.{table} CASCADE",
        ):
            with pytest.raises(psycopg.errors.RaiseException, match="append-only"):
                owner.execute(statement.encode())


#: What somebody changes who may take the triggers away -> what is told.
TAMPERED = {
    "a reading": (
        "UPDATE event SET json = replace(json, '1530', '1590') WHERE run_id = 'a' AND seq = 3",
        ("a", 3),
    ),
    "when it happened": ("UPDATE event SET at_s = 1.5 WHERE run_id = 'a' AND seq = 1", ("a", 1)),
    "the kind of an event": (
        "UPDATE event SET kind = 'x' WHERE run_id = 'a' AND seq = 1",
        ("a", 1),
    ),
    "a record": (
        "UPDATE record SET json = replace(json, '1530', '1590') WHERE run_id = 'a' AND seq = 3",
        ("a", 3),
    ),
    "the kind of a record": (
        "UPDATE record SET kind = 'hold' WHERE run_id = 'a' AND seq = 3 AND n = 0",
        ("a", 3),
    ),
    "a record away": (
        """DELETE FROM answer WHERE run_id = 'a' AND seq = 3;
        DELETE FROM record WHERE run_id = 'a' AND seq = 3 AND n = 1""",
        ("a", 3),
    ),
    "an answer": ("UPDATE answer SET value = 1590 WHERE run_id = 'a' AND seq = 3", ("a", 3)),
    "an answer away": ("DELETE FROM answer WHERE run_id = 'a' AND seq = 3", ("a", 3)),
    "an event away": (
        """DELETE FROM answer WHERE run_id = 'a' AND seq = 5;
        DELETE FROM record WHERE run_id = 'a' AND seq = 5;
        DELETE FROM event WHERE run_id = 'a' AND seq = 5""",
        ("a", 5),
    ),
    "an event put in": (
        "INSERT INTO event VALUES ('a-2', 1, 1, 'x', '{\"kind\":\"x\",\"at_s\":1}')",
        ("a-2", 1),
    ),
    "a link away": ("DELETE FROM link WHERE run_id = 'a' AND seq = 2", ("a", 3)),
    "the first link away": ("DELETE FROM link WHERE place = 1", ("a", 0)),
    "a head": ("UPDATE run SET header = replace(header, '0.1.0', '0.1.1')", ("a", None)),
    "a registration": ("UPDATE run SET tail = 'X-SKR9' WHERE run_id = 'a-2'", ("a-2", None)),
    "a temperature": ("UPDATE run SET temperature_c = 3 WHERE run_id = 'a-2'", ("a-2", None)),
    "an item of a check": ("UPDATE document SET json = replace(json, '1500', '100')", ("a", None)),
    "no JSON": ("UPDATE event SET json = 'x' WHERE run_id = 'a' AND seq = 1", ("a", 1)),
    "a document away": ("DELETE FROM document", ("a", None)),
    "a head put in": (
        """INSERT INTO run SELECT 'x', source, place, tail, started_at, started, signer, NULL, NULL,
        check_id, check_title, header FROM run LIMIT 1""",
        ("x", None),
    ),
    "who deferred": ("UPDATE finding_step SET by_whom = 'Ada Norberg'", (None, None)),
    "a step away": ("DELETE FROM finding_step", (None, None)),
    "a step put in": (
        """INSERT INTO finding_step SELECT link, 'a/covers', 'accepted', 'x', '', '' FROM link
        WHERE seq = 1""",
        (None, None),
    ),
    "a sound": ("UPDATE sound SET flac = 'x'", (None, None)),
}


@pytest.mark.parametrize("what", TAMPERED)
def test_what_the_owner_changed_is_told(pushed: Store, what: str) -> None:
    statements, place = TAMPERED[what]
    with pushed.engine.connect() as owner:
        owner.exec_driver_sql("SET LOCAL search_path = voiceflow")
        for table in TABLES:
            owner.exec_driver_sql(f"DROP TRIGGER append_only ON {table}")
        for statement in statements.split(";"):
            owner.exec_driver_sql(statement)
        misfit = Verifier().whole(owner).misfit
        owner.rollback()
    assert misfit is not None
    assert (misfit.run_id, misfit.seq) == place
    assert pushed.verify_chain().misfit is None


def test_what_cannot_be_read_is_told(
    path: Path, store: Store, server: Server, database: str
) -> None:
    with Journal.open(path) as journal:
        fill(journal)
        push(journal, store)
    with server.connect(database) as owner:
        for table in TABLES:
            owner.execute(f"DROP TRIGGER append_only ON voiceflow.{table}".encode())
        owner.execute(b'UPDATE voiceflow.event SET json = \'{"kind":"unheard-of"}\'')
        owner.execute(b"UPDATE voiceflow.record SET json = '{}'")
        owner.execute(b"UPDATE voiceflow.finding_step SET state = 'unheard-of'")
        owner.execute(b"DELETE FROM voiceflow.document")
    asked = (
        lambda: store.events("a"),
        lambda: store.header("a"),
        lambda: store.finding_steps(),
    )
    for ask in asked:
        with pytest.raises(VoiceflowError, match="cannot be read by this version"):
            ask()


PARTS = st.one_of(
    JSON,
    st.fixed_dictionaries(
        {"id": st.text(max_size=3), "items": st.lists(st.dictionaries(st.text(max_size=3), JSON))}
    ),
)


@settings(max_examples=150, deadline=None)
@example(check={"items": ["id"]}, brief=None, part=None)
@example(check={"items": []}, brief=None, part=None)
@given(check=st.dictionaries(st.sampled_from(["id", "items", "x"]), PARTS), brief=JSON, part=JSON)
def test_any_head_is_put_together_letter_for_letter(
    check: dict[str, object], brief: object, part: object
) -> None:
    plain = {"run_id": "a", "check": check, "settings": {"x": part}, "brief": brief}
    text = codec.to_text(plain)
    stored, documents = heads.split(text)
    assert heads.join(stored, lambda wanted: {each: documents[each] for each in wanted}) == text
