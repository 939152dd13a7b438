from collections.abc import Sequence
from pathlib import Path

import pytest
from typing_extensions import override

from tests.builders import expected, heard
from tests.fakes import MemoryJournal, NotingWatcher
from tests.session.rig import RUN, preparation
from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.events import Event, Started
from voiceflow.dialogue.machine import begin
from voiceflow.errors import JournalError
from voiceflow.languages.registry import language
from voiceflow.session.effects import Conversation, Effects, EventStore
from voiceflow.session.voice import Timeline
from voiceflow.settings import VoiceSettings


class Order:
    """Notes the order in which parts are called."""

    def __init__(self) -> None:
        self.calls: list[str] = []


class OrderStore(MemoryJournal):
    def __init__(self, order: Order) -> None:
        super().__init__()
        self._order = order

    @override
    def append(self, run_id: str, event: Event, records: Sequence[Record] = ()) -> int:
        self._order.calls.append(f"commit {event.kind} with {len(records)}")
        return super().append(run_id, event, records)


class FullStore(MemoryJournal):
    """A disk that takes one event and no more."""

    @override
    def append(self, run_id: str, event: Event, records: Sequence[Record] = ()) -> int:
        if self.events(run_id):
            raise JournalError(Path("journal"), "the disk is full", "Make room.")
        return super().append(run_id, event, records)


class OrderWatcher(NotingWatcher):
    def __init__(self, order: Order) -> None:
        super().__init__()
        self._order = order

    @override
    def said(self, at_s: float, words: str) -> None:
        super().said(at_s, words)
        self._order.calls.append("say")


def conversation(store: EventStore, watcher: NotingWatcher, order: Order) -> Conversation:
    effects = Effects(
        store=store,
        run_id=RUN,
        language=language("en"),
        voice=Timeline(None, VoiceSettings()),
        listen=lambda item_id, _, __: order.calls.append(f"listen {item_id}"),
        watcher=watcher,
    )
    return Conversation(begin(preparation()), effects)


def test_the_journal_comes_before_the_words() -> None:
    order = Order()
    one = conversation(OrderStore(order), OrderWatcher(order), order)
    one.take(Started(at_s=0.0))
    one.take(heard("covers", expected(), 3.0))
    assert order.calls == [
        "commit started with 0",
        "listen covers",
        "say",
        "commit heard with 1",
        "listen oxygen",
        "say",
    ]


def test_what_cannot_be_committed_is_not_acknowledged() -> None:
    order = Order()
    watcher = OrderWatcher(order)
    one = conversation(FullStore(), watcher, order)
    one.take(Started(at_s=0.0))
    before, calls = one.state, list(order.calls)
    with pytest.raises(JournalError):
        one.take(heard("covers", expected(), 3.0))
    assert one.state == before
    assert order.calls == calls
    assert len(watcher.noted) == 1
