"""What will probably be said next, made ready before it is wanted.

The dialogue is pure: it is asked what it would say to each likely answer, and the speech
and the grammars that it would need are made on a thread of their own while the tool
speaks or the person thinks. Nothing of what it says here is taken: a state that is tried
is thrown away. Everything made is made again, at the price of a delay, if it is missing,
so that a failure here changes nothing.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from queue import Empty, SimpleQueue
from threading import Thread
from typing import NamedTuple

from voiceflow.checks.model import Item
from voiceflow.dialogue.actions import Listen, Say
from voiceflow.dialogue.events import Heard, Utterance
from voiceflow.dialogue.machine import handle
from voiceflow.dialogue.state import Phase, State
from voiceflow.errors import VoiceflowError
from voiceflow.grammar.meaning import Command, Meaning, NoMatch, Response, ResponseState
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.language import Language
from voiceflow.session.voice import rate_of
from voiceflow.settings import VoiceSettings

#: Commands whose answer depends on the place alone and is asked for most.
_LIKELY = (CommandName.AFFIRM, CommandName.NEGATIVE, CommandName.STAND_BY)
#: Stands for what would have been said; without words an utterance counts for nothing.
_SOME_WORDS = "-"


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """What an answer would call for.

    Attributes:
        words: Speech, as (words, slower), in the order it would be said.
        listens: Grammars, as (item, item answered last).
    """

    words: tuple[tuple[str, bool], ...]
    listens: tuple[tuple[str, str | None], ...]


def need(state: State, meaning: Meaning, language: Language, *, confidence: float = 1.0) -> Need:
    """Give what would be said and listened with if this were heard now.

    Args:
        state: Where the conversation stands; it is not changed.
        meaning: What an utterance would mean at the current item.
        language: Gives the words.
        confidence: Of that utterance, 0 to 1.
    """
    if state.item_id is None:
        return Need(words=(), listens=())
    heard = Heard(
        at_s=state.at_s,
        item_id=state.item_id,
        utterance=Utterance(
            text=_SOME_WORDS,
            meaning=meaning,
            confidence=confidence,
            engine="",
            speech_start_s=state.at_s,
            speech_end_s=state.at_s,
        ),
    )
    actions = handle(state, heard).actions
    return Need(
        words=tuple(
            (language.wording(prompt), action.slower)
            for action in actions
            if isinstance(action, Say)
            for prompt in action.prompts
        ),
        listens=tuple(
            (action.item_id, action.previous_id) for action in actions if isinstance(action, Listen)
        ),
    )


def likely(state: State) -> Iterator[Meaning]:
    """Give what the person will probably say, likeliest first.

    Numbers are not among it: a gauge has hundreds. What follows a reading is made ready
    when its words stand (``Ahead.expect``).
    """
    silent = {Phase.NOT_STARTED, Phase.NOTING, Phase.FINISHED}
    if state.phase in silent or state.item_id is None:
        return
    if state.phase is Phase.HOLDING:
        yield Command(name=CommandName.CONTINUE)
        return
    commands = [Command(name=name) for name in _LIKELY]
    if state.pending is None:
        yield from _responses(state.check.item(state.item_id))
        yield NoMatch()
        yield from commands
    else:
        yield from commands
        yield NoMatch()


def _responses(item: Item) -> Iterator[Response]:
    # every response as expected is answered alike, and so are those that are not
    for state, phrases in (
        (ResponseState.AS_EXPECTED, item.expect),
        (ResponseState.NOT_AS_EXPECTED, item.not_as_expected),
    ):
        for phrase in phrases[:1]:
            yield Response(phrase=phrase, state=state)


class _Wish(NamedTuple):
    """What might be heard in a state, each with its confidence, likeliest first."""

    state: State
    heard: tuple[tuple[Meaning, float], ...]


class Ahead:
    """Makes ready what will probably be wanted, on a thread of its own.

    The newest wish counts: what was not made when the conversation went on is dropped.
    """

    def __init__(
        self,
        *,
        language: Language,
        voice: VoiceSettings,
        speak: Callable[[str, int], object] | None,
        compile_grammar: Callable[[str, str | None], object],
    ) -> None:
        """Start the thread; it waits.

        Args:
            language: Gives the words of prompts.
            voice: How fast it will be spoken.
            speak: Makes the speech of words at a rate in words a minute, and keeps it; may
                be called from any thread. None: speech is not made ahead.
            compile_grammar: Makes the grammar of an item, given the item answered last,
                and keeps it; may be called from any thread.
        """
        self._language = language
        self._voice = voice
        self._speak = speak
        self._compile = compile_grammar
        self._wishes: SimpleQueue[_Wish | None] = SimpleQueue()
        self._state: State | None = None
        self._thread = Thread(target=self._work, name="voiceflow-ahead", daemon=True)
        self._thread.start()

    def moved(self, state: State) -> None:
        """Take note that the conversation stands elsewhere."""
        if state is not self._state:
            self._state = state
            self._wishes.put(_Wish(state, tuple((meaning, 1.0) for meaning in likely(state))))

    def expect(self, item_id: str, meaning: Meaning) -> None:
        """Take note of what the person seems to be saying; it may still change.

        Args:
            item_id: The item that listens.
            meaning: What the words so far mean there.
        """
        state = self._state
        if state is not None and state.item_id == item_id:
            # taken at once, or asked about: how sure it is will be known only at the end
            policy = state.settings.policy
            self._wishes.put(_Wish(state, ((meaning, 1.0), (meaning, policy.confirm))))

    def close(self) -> None:
        """Let the thread end with what it is making; may be called twice."""
        self._wishes.put(None)
        self._thread.join()

    def _work(self) -> None:
        wish = self._wishes.get()
        while wish is not None:
            for meaning, confidence in wish.heard:
                self._make(need(wish.state, meaning, self._language, confidence=confidence))
                if not self._wishes.empty():
                    break
            wish = self._newest()

    def _newest(self) -> _Wish | None:
        wish = self._wishes.get()
        while wish is not None:
            try:
                wish = self._wishes.get_nowait()
            except Empty:
                break
        return wish

    def _make(self, wanted: Need) -> None:
        try:
            for words, slower in wanted.words:
                if self._speak is not None:
                    self._speak(words, rate_of(self._voice, slower=slower))
            for item_id, previous_id in wanted.listens:
                self._compile(item_id, previous_id)
        except VoiceflowError:
            # it will fail again where it is wanted, and there it is told
            self._speak = None
