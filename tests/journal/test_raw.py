"""What is written, as it is written: for who keeps a copy."""

import hashlib
import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.events import Event
from voiceflow.journal import codec, export
from voiceflow.journal.header import RunHeader
from voiceflow.journal.packing import Documents
from voiceflow.journal.store import Journal
from voiceflow.journal.tables import make_tables

Entries = list[tuple[Event, tuple[Record, ...]]]


def test_rows_come_as_they_were_written(path: Path, header: RunHeader, entries: Entries) -> None:
    with Journal.open(path) as journal:
        journal.begin(header)
        for entry in entries:
            journal.append(header.run_id, *entry)
        assert journal.raw_header(header.run_id) == codec.dump_header(header)
        raw = list(journal.raw_events(header.run_id))
        assert [(one.seq, one.at_s, one.kind) for one in raw] == [
            (seq, event.at_s, event.kind) for seq, (event, _) in enumerate(entries)
        ]
        assert [one.json for one in raw] == [codec.dump_event(event) for event, _ in entries]
        assert [one.records for one in raw] == [
            tuple((codec.record_kind(each), codec.dump_record(each)) for each in records)
            for _, records in entries
        ]
        assert list(journal.raw_events(header.run_id, from_seq=4)) == raw[4:]


def test_a_link_is_made_from_what_is_exported(
    path: Path, header: RunHeader, entries: Entries
) -> None:
    """Worked out here from the printed lines alone, as anybody can."""
    with Journal.open(path) as journal:
        journal.begin(header)
        for entry in entries:
            journal.append(header.run_id, *entry)
        lines = export.to_json_lines(header, journal.entries(header.run_id))
        links = [one.link for one in journal.raw_events(header.run_id)]
    link, worked_out = bytes(32), []
    for line in lines:
        link = hashlib.sha256(link + line.encode("utf-8")).digest()
        worked_out.append(link.hex())
    assert links == worked_out[1:]


JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=5),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.sampled_from(["kind", "item_id", "x", '"', ""]), inner, max_size=3)
    ),
    max_leaves=8,
)


@settings(max_examples=150, deadline=None)
@given(plain=st.dictionaries(st.text(max_size=3), JSON, max_size=4))
def test_any_object_is_packed_letter_for_letter(plain: codec.Json) -> None:
    with closing(sqlite3.connect(":memory:")) as connection:
        make_tables(connection)
        form, values = Documents(connection).pack(plain)
        # read by who has not written it
        again = Documents(connection).unpack(form, values)
    assert again == codec.to_text(plain)


def test_what_rows_share_is_stored_once(path: Path, header: RunHeader, entries: Entries) -> None:
    with Journal.open(path) as journal:
        for number in range(3):
            run_id = f"r{number}"
            journal.begin(replace(header, run_id=run_id))
            for entry in entries:
                journal.append(run_id, *entry)
        texts = [text for (text,) in journal._connection.execute("SELECT json FROM document")]
    # two items, the check, the settings; and the forms of started, heard, withdrawal, outcome
    assert len(texts) == len(set(texts)) == 8
    # a row's values are JSON that people can read
    with closing(sqlite3.connect(path)) as connection:
        (values,) = connection.execute("SELECT json FROM event WHERE seq = 1").fetchone()
    assert values == '[1.0,"sauerstoff fünfzehnhundert, 산소","1510",0.75,0.5,0.9]'
