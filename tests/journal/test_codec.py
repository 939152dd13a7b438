"""Every event, action and meaning goes through JSON and comes back the same.

The classes are taken from the unions and their fields from the type hints, so a
new class or field is walked without a change here.
"""

import enum
import json
import types
import typing
from dataclasses import fields, is_dataclass, replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.builders import make_check
from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.events import Event, Heard, ProfileUsed, Resumed, Started, Utterance
from voiceflow.dialogue.state import Note
from voiceflow.grammar.meaning import Meaning, Reading, Response, ResponseState
from voiceflow.journal import codec
from voiceflow.journal.header import RunHeader
from voiceflow.numbers.scale import Scale
from voiceflow.phraseology.prompts import NoteEnd
from voiceflow.settings import POLICIES, Care, Settings, settings_for

FINITE = st.floats(allow_nan=False, allow_infinity=False)
DECIMALS = st.decimals(allow_nan=False, allow_infinity=False)
each_care = pytest.mark.parametrize("care", Care)


def values_of(hint: typing.Any) -> st.SearchStrategy[typing.Any]:
    """Give any value of a type, by its hints alone."""
    origin = typing.get_origin(hint)
    if origin in (typing.Union, types.UnionType):
        return st.one_of(*(values_of(choice) for choice in typing.get_args(hint)))
    if origin is typing.Literal:
        return st.sampled_from(typing.get_args(hint))
    if origin is tuple:
        inner, rest = typing.get_args(hint)
        assert rest is Ellipsis
        return st.lists(values_of(inner), max_size=2).map(tuple)
    if hint is Scale:
        return st.builds(
            lambda lowest, span, step: Scale(lowest=lowest, highest=lowest + span, step=step),
            st.decimals(-1000, 1000, places=2),
            st.decimals(0, 1000, places=2),
            st.decimals("0.01", 100, places=2),
        )
    if isinstance(hint, type) and is_dataclass(hint):
        hints = typing.get_type_hints(hint)
        return st.builds(hint, **{f.name: values_of(hints[f.name]) for f in fields(hint)})
    if issubclass(hint, enum.Enum):
        return st.sampled_from(hint)
    plain: dict[type, st.SearchStrategy[typing.Any]] = {
        Decimal: DECIMALS,
        float: FINITE,
        str: st.text(max_size=8),
        bool: st.booleans(),
        int: st.integers(-(10**9), 10**9),
        type(None): st.none(),
    }
    return plain[hint]


def test_events_have_unlike_kinds() -> None:
    kinds = [choice.kind for choice in typing.get_args(Event)]
    assert len(set(kinds)) == len(kinds)


@pytest.mark.parametrize("kind", typing.get_args(Event))
@settings(max_examples=25, deadline=None)
@given(data=st.data())
def test_event_comes_back(kind: type, data: st.DataObject) -> None:
    event = data.draw(values_of(kind))
    line = codec.dump_event(event)
    again = codec.load_event(line)
    assert again == event
    assert type(again) is kind
    assert "\n" not in line


@pytest.mark.parametrize("kind", typing.get_args(Meaning))
@settings(max_examples=40, deadline=None)
@given(data=st.data())
def test_meaning_comes_back_inside_an_event(kind: type, data: st.DataObject) -> None:
    meaning = data.draw(values_of(kind))
    event = Heard(
        at_s=1.0,
        item_id="x",
        utterance=Utterance(
            text="x",
            meaning=meaning,
            confidence=0.5,
            engine="typed",
            speech_start_s=0.0,
            speech_end_s=1.0,
        ),
    )
    again = codec.load_event(codec.dump_event(event))
    assert isinstance(again, Heard)
    assert again.utterance.meaning == meaning
    assert type(again.utterance.meaning) is kind


@settings(max_examples=40, deadline=None)
@given(record=values_of(Record))
def test_record_comes_back(record: Record) -> None:
    assert codec.load_record(codec.dump_record(record)) == record


@settings(max_examples=15, deadline=None)
@given(header=values_of(RunHeader))
def test_header_comes_back(header: RunHeader) -> None:
    assert codec.load_header(codec.dump_header(header)) == header


@pytest.mark.parametrize("digits", ["29.90", "0.00", "1E+3", "-0.0", "12345678901234567890.12345"])
def test_decimal_keeps_its_digits(digits: str) -> None:
    outcome = codec.dump_event(_reading(Decimal(digits)))
    again = codec.load_event(outcome)
    assert isinstance(again, Heard)
    assert isinstance(again.utterance.meaning, Reading)
    assert str(again.utterance.meaning.value) == digits
    # text in the JSON, so that a reader with binary floats cannot spoil it
    assert json.loads(outcome)["utterance"]["meaning"]["value"] == digits


@pytest.mark.parametrize(
    "text",
    ["", "{}", "[]", '{"kind":"nothing","at_s":1}', '{"kind":"started"}', '{"at_s":1.0}', "null"],
)
def test_other_json_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"."):
        codec.load_event(text)


@pytest.mark.parametrize("at_s", [float("nan"), float("inf")])
def test_time_that_json_lacks_is_refused(at_s: float) -> None:
    with pytest.raises(ValueError, match="JSON"):
        codec.dump_event(Started(at_s=at_s))


def test_wrong_type_is_refused_when_written_not_when_replayed() -> None:
    wrong = Response(phrase=3, state=ResponseState.AS_EXPECTED)  # type: ignore[arg-type]
    event = _reading(Decimal(1))
    utterance = Utterance(
        text="x",
        meaning=wrong,
        confidence=1.0,
        engine="typed",
        speech_start_s=0.0,
        speech_end_s=0.0,
    )
    with pytest.raises(ValueError, match="phrase"):
        codec.dump_event(Heard(at_s=event.at_s, item_id="x", utterance=utterance))


def _reading(value: Decimal) -> Heard:
    return Heard(
        at_s=1.0,
        item_id="x",
        utterance=Utterance(
            text="x",
            meaning=Reading(value=value, unit="psi"),
            confidence=1.0,
            engine="typed",
            speech_start_s=0.0,
            speech_end_s=1.0,
        ),
    )


def test_a_header_from_before_there_was_care_still_loads() -> None:
    header = RunHeader(
        run_id="r",
        program_version="0.1.0",
        started_at="2026-11-25T09:30:00+00:00",
        check=make_check(),
        settings=Settings(),
        engine="typed",
    )
    plain = codec.plain_header(header)
    policy = plain["settings"]["policy"]
    del policy["care"], policy["accept_command"]
    assert codec.load_header(codec.to_text(plain)) == header


@each_care
def test_the_care_of_a_run_is_kept_with_it(care: Care) -> None:
    header = RunHeader(
        run_id="r",
        program_version="0.1.0",
        started_at="2026-11-25T09:30:00+00:00",
        check=make_check(),
        settings=settings_for(care),
        engine="typed",
    )
    assert codec.load_header(codec.dump_header(header)).settings.policy == POLICIES[care]


@pytest.mark.parametrize(
    ("line", "event"),
    [
        ('{"kind":"started","at_s":0.0}', Started(at_s=0.0)),
        ('{"kind":"resumed","at_s":2.0,"source":"typed"}', Resumed(at_s=2.0, source="typed")),
    ],
)
def test_events_from_before_the_keyboard_still_load(line: str, event: Event) -> None:
    assert codec.load_event(line) == event


def test_a_header_and_a_resumption_from_before_profiles_are_read(header: RunHeader) -> None:
    plain = codec.plain_header(header)
    del plain["profile"]
    assert codec.load_header(codec.to_text(plain)) == header
    assert codec.load_event('{"kind":"resumed","at_s":3.0,"source":"typed"}') == Resumed(
        at_s=3.0, source="typed"
    )


def test_the_profile_comes_back(header: RunHeader) -> None:
    used = replace(header, profile=ProfileUsed(name="ann", digest="ab" * 32))
    assert codec.load_header(codec.dump_header(used)) == used


def test_a_header_from_before_there_were_pauses_loads(header: RunHeader) -> None:
    plain = codec.plain_header(header)
    assert plain["settings"]["endpointing"].pop("pauses") is not None
    loaded = codec.load_header(json.dumps(plain))
    # it is heard as it was begun: by one pause, whatever was said
    assert loaded.settings.endpointing.pauses is None
    assert loaded.settings.endpointing.end_silence_s == 0.5


def test_a_header_and_events_from_before_there_were_notes_load(header: RunHeader) -> None:
    plain = codec.plain_header(header)
    del plain["settings"]["notes"]
    assert codec.load_header(codec.to_text(plain)) == header
    resumed = codec.load_event('{"kind":"resumed","at_s":2.0,"source":"/a.wav"}')
    assert isinstance(resumed, Resumed)
    assert not resumed.goes_on


def test_a_note_is_a_record_of_its_own() -> None:
    note = Note(
        item_id="covers",
        at_s=4.0,
        digest="ab" * 32,
        length_s=2.5,
        text="",
        engine="",
        ended=NoteEnd.PAUSE,
    )
    record = Record(note=note)
    assert codec.record_kind(record) == "note"
    assert codec.load_record(codec.dump_record(record)) == record
