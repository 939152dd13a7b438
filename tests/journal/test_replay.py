"""The events of a run, with the meanings stored then, give its state and its records again."""

from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.builders import command, expected, heard, make_check, reading, wrong
from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.events import Event, Resumed, Spoken, Started, TimePassed
from voiceflow.dialogue.machine import begin, handle
from voiceflow.dialogue.state import State
from voiceflow.grammar.meaning import Meaning, NoMatch
from voiceflow.journal.header import RunHeader
from voiceflow.journal.replay import replay, verify
from voiceflow.journal.store import Journal
from voiceflow.phraseology.commands import CommandName
from voiceflow.settings import PolicySettings, Settings

#: Settings that are not the usual ones, so that a replay with those would be seen.
STRICT = Settings(policy=PolicySettings(accept=0.95, confirm=0.3))
HEADER = RunHeader(
    run_id="20261125-093012-7f3a",
    program_version="0.1.0",
    started_at="2026-11-25T09:30:12+00:00",
    check=make_check(),
    settings=STRICT,
    engine="typed",
)
MEANINGS: st.SearchStrategy[Meaning] = st.one_of(
    st.sampled_from(CommandName).map(command),
    st.sampled_from([expected(), wrong(), expected("closed"), NoMatch()]),
    st.integers(0, 200).map(lambda tens: reading(10 * tens)),
)
Maker = Callable[[float, str], Event]


def _hears(meaning: Meaning, confidence: float) -> Maker:
    return lambda at_s, item_id: heard(item_id, meaning, at_s, confidence=confidence)


MAKERS: st.SearchStrategy[Maker] = st.one_of(
    st.builds(_hears, MEANINGS, st.sampled_from([0.1, 0.5, 0.9, 1.0])),
    st.sampled_from(
        [
            lambda at_s, _: TimePassed(at_s=at_s),
            lambda at_s, _: Resumed(at_s=at_s),
            lambda at_s, _: Spoken(at_s=at_s, words="x", completed=True),
        ]
    ),
)


def run(path: Path, makers: list[Maker], header: RunHeader = HEADER) -> State:
    """Run as a session does: event and records into the journal, then on."""
    state = begin(header.check, header.settings)
    with Journal.open(path) as journal:
        journal.begin(header)
        for place, maker in enumerate([lambda at_s, _: Started(at_s=at_s), *makers]):
            event = maker(place * 2.0, state.item_id or "covers")
            step = handle(state, event)
            records = [action for action in step.actions if isinstance(action, Record)]
            journal.append(header.run_id, event, records)
            state = step.state
    return state


@settings(max_examples=40)
@given(makers=st.lists(MAKERS, max_size=20))
def test_replay_equals_state_and_the_record_is_whole(makers: list[Maker]) -> None:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "journal.sqlite"
        state = run(path, makers)
        with Journal.open(path, create=False) as journal:
            header = journal.header(HEADER.run_id)
            assert replay(header, journal.events(HEADER.run_id)) == state
            assert verify(journal, HEADER.run_id) == ()


ANSWERS: list[Maker] = [
    _hears(expected(), 1.0),
    _hears(reading(1600), 1.0),
    _hears(expected("closed"), 1.0),
]


def test_missing_and_foreign_records_are_found(path: Path) -> None:
    state = run(path, ANSWERS[:1])
    with Journal.open(path) as journal:
        # the outcome of the reading is not written, another is
        stray = Record(withdrawn_item="covers")
        event = ANSWERS[1](9.0, "oxygen")
        journal.events(HEADER.run_id)
        journal.append(HEADER.run_id, event, [stray])
        (found,) = verify(journal, HEADER.run_id)
        assert (found.seq, found.n, found.stored) == (2, 0, stray)
        derived = [action for action in handle(state, event).actions if isinstance(action, Record)]
        assert [found.derived] == derived
        journal.append(HEADER.run_id, TimePassed(at_s=10.0), [stray])
        assert [
            (found.seq, found.stored, found.derived) for found in verify(journal, HEADER.run_id)
        ][1:] == [(3, stray, None)]


def test_missing_event_is_found(path: Path) -> None:
    run(path, ANSWERS)
    with Journal.open(path) as journal:
        # only with the triggers taken away, as somebody might who wants to
        journal._connection.execute("PRAGMA foreign_keys = OFF")
        journal._connection.execute("DROP TRIGGER event_DELETE")
        journal._connection.execute("DELETE FROM event WHERE seq = 1")
        (found,) = verify(journal, HEADER.run_id)
        assert (found.seq, found.n) == (1, None)
