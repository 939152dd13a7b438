from dataclasses import replace

from tests.fakes import BeepingSynthesiser, ManualClock, MemoryJournal, NotingWatcher, ScriptedLines
from tests.session.rig import RUN, header, preparation
from voiceflow.dialogue.events import Event, Heard, InputEnded, Resumed, Spoken, TimePassed
from voiceflow.dialogue.state import ItemState, State
from voiceflow.grammar.meaning import NoMatch
from voiceflow.languages.registry import language
from voiceflow.phraseology.prompts import EndingKind
from voiceflow.recognition.engines.typed import TypedRecogniser
from voiceflow.session.effects import Conversation, Effects
from voiceflow.session.grammars import Grammars
from voiceflow.session.resumption import rebuild
from voiceflow.session.typed import Keyboard, TypedLoop
from voiceflow.session.voice import Timeline
from voiceflow.settings import Settings
from voiceflow.synthesis.synthesiser import Synthesiser


class Desk:
    """A keyboard session in memory."""

    def __init__(self) -> None:
        self.journal = MemoryJournal()
        self.watcher = NotingWatcher()
        self.clock = ManualClock()
        self.synthesiser: Synthesiser | None = None
        self.journal.begin(replace(header(preparation()), engine="typed", recording=None))

    def type(self, *lines: tuple[float, str]) -> State:
        check = preparation()
        pack = language(check.language)
        grammars = Grammars(check, pack)
        past = rebuild(self.journal.header(RUN), self.journal.events(RUN))
        keyboard = Keyboard(recogniser=TypedRecogniser(pack), grammars=grammars, language=pack)
        voice = Timeline(self.synthesiser, Settings().voice)
        effects = Effects(
            store=self.journal,
            run_id=RUN,
            language=pack,
            voice=voice,
            listen=keyboard.listen,
            watcher=self.watcher,
        )
        loop = TypedLoop(
            conversation=Conversation(past.state, effects),
            keyboard=keyboard,
            voice=voice,
            lines=ScriptedLines(self.clock, lines),
            clock=self.clock,
        )
        return loop.run(past)

    @property
    def events(self) -> tuple[Event, ...]:
        return self.journal.events(RUN)


def test_typed_answers_complete_a_check() -> None:
    desk = Desk()
    state = desk.type((2, "both removed"), (2, "1600"), (2, "out"), (2, "closed"))
    assert state.ending is not None
    assert state.ending.kind is EndingKind.COMPLETE
    assert [outcome.value for outcome in state.outcomes if outcome.value is not None] == [1600]


def test_what_is_printed_has_been_said() -> None:
    desk = Desk()
    desk.type((2, "both removed"))
    spoken = [event for event in desk.events if isinstance(event, Spoken)]
    printed = [words for _, words in desk.watcher.words]
    assert " ".join(event.words for event in spoken) == " ".join(printed)
    assert all(event.completed for event in spoken)


def test_the_end_of_the_lines_leaves_the_run_open() -> None:
    desk = Desk()
    state = desk.type((2, "both removed"))
    assert state.ending is None
    assert isinstance(desk.events[-1], InputEnded)


def test_empty_lines_say_nothing() -> None:
    desk = Desk()
    desk.type((1, ""), (1, "   "))
    assert not any(isinstance(event, Heard) for event in desk.events)


def test_a_wait_speaks_up_while_nobody_types() -> None:
    desk = Desk()
    state = desk.type((2, "both removed"), (2, "1600"), (15, "out"), (2, "closed"))
    passed = [event for event in desk.events if isinstance(event, TimePassed)]
    assert [event.at_s for event in passed] == [14.0]
    assert any("Gyro warning light?" in words for _, words in desk.watcher.words)
    late = state.outcome("warning")
    assert late is not None
    assert late.state is ItemState.LATE


def test_words_of_no_item_are_recorded_and_asked_about() -> None:
    desk = Desk()
    state = desk.type((2, "banana"))
    heard = next(event for event in desk.events if isinstance(event, Heard))
    assert isinstance(heard.utterance.meaning, NoMatch)
    assert state.outcomes == ()
    assert len(desk.watcher.words) == 2


def test_it_goes_on_later_where_it_was() -> None:
    desk = Desk()
    desk.type((2, "both removed"))
    desk.clock.pass_s(3600)
    state = desk.type((2, "1600"), (2, "out"), (2, "closed"))
    resumed = next(event for event in desk.events if isinstance(event, Resumed))
    assert resumed.at_s == 3602
    assert state.ending is not None
    assert state.ending.kind is EndingKind.COMPLETE


def test_with_a_voice_typing_cuts_it_short_and_the_end_is_waited_for() -> None:
    desk = Desk()
    desk.synthesiser = BeepingSynthesiser(seconds_a_word=0.5)
    state = desk.type((1, "both removed"), (9, "1600"), (9, "out"), (9, "closed"))
    assert state.ending is not None
    spoken = [event for event in desk.events if isinstance(event, Spoken)]
    assert not spoken[0].completed
    assert spoken[-1].completed
    assert spoken[-1] == desk.events[-1]
