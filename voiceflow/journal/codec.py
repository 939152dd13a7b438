"""Events, records and headers as JSON text, and back, without loss.

The dialogue's plain dataclasses are the format: each field under its own name,
unions told apart by their ``kind``, Decimals as text so that 29.90 stays 29.90,
times as numbers. Nothing here knows a single event: a new class in the union is
carried without a change (tests/journal/test_codec.py walks the unions).
"""

import json
from dataclasses import fields
from typing import Annotated, Any, TypeVar

from pydantic import Field, TypeAdapter

from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.events import Event
from voiceflow.journal.header import RunHeader

Json = dict[str, Any]
T = TypeVar("T")

_TEXT = json.JSONEncoder(ensure_ascii=False, allow_nan=False, separators=(",", ":"))
_EVENT: TypeAdapter[Event] = TypeAdapter(Annotated[Event, Field(discriminator="kind")])
_RECORD: TypeAdapter[Record] = TypeAdapter(Record)
_HEADER: TypeAdapter[RunHeader] = TypeAdapter(RunHeader)

#: The one fact that is not called as its field is.
_WITHDRAWAL = {"withdrawn_item": "withdrawal"}


def to_plain(adapter: TypeAdapter[T], value: T) -> Json:
    """Give a value as JSON's own types: dict, list, text, number, true, null.

    Raises:
        ValueError: If the value holds something that its type does not allow.
    """
    # warnings="error": a wrong type must fail now, not when the run is replayed
    plain: Json = adapter.dump_python(value, mode="json", warnings="error")
    return plain


def to_text(plain: object) -> str:
    """Give one line of compact JSON.

    Raises:
        ValueError: For infinities and not-a-number, which JSON does not have.
    """
    return _TEXT.encode(plain)


def plain_event(event: Event) -> Json:
    """Give an event as JSON's own types."""
    return to_plain(_EVENT, event)


def plain_record(record: Record) -> Json:
    """Give a record as JSON's own types."""
    return to_plain(_RECORD, record)


def plain_header(header: RunHeader) -> Json:
    """Give a run's header as JSON's own types."""
    return to_plain(_HEADER, header)


def dump_event(event: Event) -> str:
    """Give an event as one line of JSON."""
    return to_text(plain_event(event))


def load_event(text: str) -> Event:
    """Read an event.

    Raises:
        ValueError: If the text is not the JSON of an event of this version.
    """
    return _EVENT.validate_json(text)


def dump_record(record: Record) -> str:
    """Give a record as one line of JSON."""
    return to_text(plain_record(record))


def load_record(text: str) -> Record:
    """Read a record.

    Raises:
        ValueError: If the text is not the JSON of a record of this version.
    """
    return _RECORD.validate_json(text)


def dump_header(header: RunHeader) -> str:
    """Give a run's header as one line of JSON."""
    return to_text(plain_header(header))


def load_header(text: str) -> RunHeader:
    """Read a run's header.

    Raises:
        ValueError: If the text is not the JSON of a header of this version.
    """
    return _HEADER.validate_json(text)


def record_kind(record: Record) -> str:
    """Name the fact that a record holds: outcome, discrepancy, hold, sign-off, withdrawal ..."""
    return plain_kind({field.name: getattr(record, field.name) for field in fields(record)})


def plain_kind(record: Json) -> str:
    """Name the fact that a record holds, given as JSON's own types: exactly one is set."""
    for name, fact in record.items():
        if name != "kind" and fact is not None:
            return _WITHDRAWAL.get(name, name.replace("_", "-"))
    return "nothing"
