"""What is made ready is what the dialogue then says; and nothing else comes of it."""

from collections.abc import Callable
from threading import Event as Signal

import pytest

from tests.builders import (
    command,
    expected,
    heard,
    make_check,
    make_gauge,
    make_item,
    reading,
    wrong,
)
from voiceflow.checks.model import Check
from voiceflow.dialogue.actions import Listen, Say
from voiceflow.dialogue.events import Started
from voiceflow.dialogue.machine import begin, handle
from voiceflow.dialogue.state import State
from voiceflow.errors import SynthesisError
from voiceflow.grammar.meaning import Meaning, NoMatch
from voiceflow.languages.registry import language
from voiceflow.phraseology.commands import CommandName
from voiceflow.session.ahead import Ahead, Need, likely, need
from voiceflow.settings import VoiceSettings

ENGLISH = language("en")
CHECK = make_check()
VOICE = VoiceSettings()
WAIT_S = 10.0


def started(check: Check = CHECK) -> State:
    return handle(begin(check), Started(at_s=0.0)).state


def then(state: State, item_id: str, meaning: Meaning, at_s: float = 5.0) -> Need:
    """What the dialogue really does."""
    actions = handle(state, heard(item_id, meaning, at_s)).actions
    return Need(
        words=tuple(
            (ENGLISH.wording(prompt), action.slower)
            for action in actions
            if isinstance(action, Say)
            for prompt in action.prompts
        ),
        listens=tuple(
            (action.item_id, action.previous_id) for action in actions if isinstance(action, Listen)
        ),
    )


@pytest.mark.parametrize(
    "meaning",
    [expected(), wrong(), NoMatch(), command(CommandName.STAND_BY)],
    ids=repr,
)
def test_what_is_needed_is_what_the_dialogue_then_does(meaning: Meaning) -> None:
    state = started()
    assert meaning in likely(state)
    found = need(state, meaning, ENGLISH)
    assert found.words
    assert found == then(state, "covers", meaning)


def test_a_reading_brings_its_readback_and_the_next_challenge() -> None:
    state = handle(started(), heard("covers", expected(), 2.0)).state
    assert need(state, reading(1600), ENGLISH) == Need(
        words=(
            ("One thousand six hundred p s i, within limits.", False),
            ("Cabin door.", False),
        ),
        listens=(("door", "oxygen"),),
    )
    asked = need(state, reading(1600), ENGLISH, confidence=state.settings.policy.confirm)
    assert asked.words == (("Crew oxygen, one thousand six hundred p s i. Confirm?", False),)


def test_nothing_is_likely_before_the_start_and_after_the_end() -> None:
    assert not tuple(likely(begin(CHECK)))
    assert need(begin(CHECK), expected(), ENGLISH) == Need(words=(), listens=())


class Workshop:
    """Notes what is made; can be waited for, and can be held up."""

    def __init__(self) -> None:
        self.spoken: list[str] = []
        self.compiled: list[tuple[str, str | None]] = []
        self._awaited: dict[object, Signal] = {}

    def speak(self, words: str, rate_wpm: int) -> None:
        assert rate_wpm == VOICE.rate_wpm
        self.spoken.append(words)
        self._tell(words)

    def compile(self, item_id: str, previous_id: str | None) -> None:
        self.compiled.append((item_id, previous_id))
        self._tell((item_id, previous_id))

    def has_made(self, what: object) -> bool:
        return self._awaited.setdefault(what, Signal()).wait(WAIT_S)

    def _tell(self, what: object) -> None:
        self._awaited.setdefault(what, Signal()).set()


def ahead(workshop: Workshop, speak: Callable[[str, int], object] | None = None) -> Ahead:
    return Ahead(
        language=ENGLISH,
        voice=VOICE,
        speak=speak or workshop.speak,
        compile_grammar=workshop.compile,
    )


def test_the_next_challenge_and_its_grammar_are_made() -> None:
    workshop = Workshop()
    maker = ahead(workshop)
    maker.moved(started())
    assert workshop.has_made("Crew oxygen.")
    assert workshop.has_made(("oxygen", "covers"))
    assert workshop.has_made("Holding at pitot covers. Say continue to go on.")
    maker.close()


def test_the_readback_of_what_is_being_said_is_made() -> None:
    workshop = Workshop()
    maker = ahead(workshop)
    oxygen = handle(started(), heard("covers", expected(), 2.0)).state
    maker.moved(oxygen)
    maker.expect("oxygen", reading(900))
    assert workshop.has_made(
        "Crew oxygen, niner hundred p s i. Below minimum one thousand two hundred. Confirm?"
    )
    maker.moved(handle(oxygen, heard("oxygen", reading(900), 9.0)).state)
    assert workshop.has_made("Discrepancy recorded. Call maintenance.")
    maker.close()
    # of an item that is not asked any more, nothing is made
    count = len(workshop.spoken)
    maker.expect("covers", expected())
    maker.close()
    assert len(workshop.spoken) == count


def test_a_voice_that_fails_does_not_end_it() -> None:
    workshop = Workshop()

    def fail(words: str, rate_wpm: int) -> None:
        del words, rate_wpm
        raise SynthesisError("it is hoarse", "Wait")

    maker = ahead(workshop, fail)
    maker.moved(started())
    # the grammar is still made when the second answer is looked at
    maker.moved(handle(started(), heard("covers", expected(), 2.0)).state)
    maker.expect("oxygen", reading(1600))
    assert workshop.has_made(("door", "oxygen"))
    maker.close()


def test_gauges_and_responses_of_every_kind_can_be_tried() -> None:
    check = make_check(make_gauge(), make_item(not_as_expected=()))
    state = started(check)
    for meaning in likely(state):
        assert need(state, meaning, ENGLISH).words or meaning == command(CommandName.AFFIRM)


def test_nothing_is_made_ready_for_a_note() -> None:
    state = handle(started(), heard("covers", command(CommandName.NOTE), 3.0)).state
    assert state.noting is not None
    assert tuple(likely(state)) == ()
    # asked all the same, it says what the dialogue then does: nothing is taken for an answer
    assert need(state, expected(), ENGLISH).listens == ()


def test_the_words_that_ask_for_a_note_can_be_made_ready() -> None:
    found = need(started(), command(CommandName.NOTE), ENGLISH)
    assert found == then(started(), "covers", command(CommandName.NOTE))
    assert "Note on pitot covers. Speak now." in [words for words, _ in found.words]
