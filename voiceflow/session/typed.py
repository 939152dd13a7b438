"""The loop without sound: words are printed, answers are typed.

The effects are those of every run; only the ends differ. Time comes from a clock
given in from outside, and a deadline that comes while nobody types speaks up.
"""

from voiceflow.dialogue.events import (
    Heard,
    InputEnded,
    NoteTaken,
    Resumed,
    SpeechStarted,
    Started,
    TimePassed,
    Utterance,
)
from voiceflow.dialogue.machine import next_deadline_s
from voiceflow.dialogue.state import State
from voiceflow.journal.header import TYPED
from voiceflow.phraseology.language import Language
from voiceflow.recognition.engines.typed import TypedRecogniser
from voiceflow.session.clock import Clock
from voiceflow.session.effects import Conversation
from voiceflow.session.grammars import Grammars
from voiceflow.session.lines import Lines, NoLine
from voiceflow.session.resumption import Listening, Past
from voiceflow.session.voice import Timeline
from voiceflow.understanding.interpret import interpret


class Keyboard:
    """Hears typed lines with the grammar that is wanted when they come."""

    def __init__(
        self, *, recogniser: TypedRecogniser, grammars: Grammars, language: Language
    ) -> None:
        self._recogniser = recogniser
        self._grammars = grammars
        self._language = language
        self._listening: Listening | None = None

    def listen(self, item_id: str, previous_id: str | None, note_on: str | None = None) -> None:
        """Want the grammar of an item, or a note."""
        self._listening = (item_id, previous_id, note_on)

    def hear(self, line: str, at_s: float) -> Heard | NoteTaken | None:
        """Understand a line, or keep it as a note; None if nothing is listened for yet."""
        if self._listening is None:
            return None
        item_id, previous_id, note_on = self._listening
        if note_on is not None:
            return NoteTaken(
                at_s=at_s,
                item_id=note_on,
                digest="",
                length_s=0.0,
                text=line.strip(),
                engine=TYPED,
            )
        grammar = self._grammars.grammar(item_id, previous_id)
        self._recogniser.listen(grammar)
        self._recogniser.type(line)
        hypothesis = self._recogniser.finish()
        utterance = Utterance(
            text=hypothesis.text,
            meaning=interpret(hypothesis, grammar, self._language),
            confidence=hypothesis.confidence,
            engine=hypothesis.engine,
            speech_start_s=at_s,
            speech_end_s=at_s,
        )
        return Heard(at_s=at_s, item_id=grammar.item_id, utterance=utterance)


class TypedLoop:
    """Runs one check at a keyboard."""

    def __init__(
        self,
        *,
        conversation: Conversation,
        keyboard: Keyboard,
        voice: Timeline,
        lines: Lines,
        clock: Clock,
    ) -> None:
        self._conversation = conversation
        self._keyboard = keyboard
        self._voice = voice
        voice.is_shown = True
        self._lines = lines
        self._clock = clock

    def run(self, past: Past | None = None, clock_at: str | None = None) -> State:
        """Run a check until it or the lines end.

        Args:
            past: Where the run stood, if it goes on.
            clock_at: The clock time then, ISO 8601 with UTC offset.

        Returns:
            The last state; its ending is None if the lines ended first.

        Raises:
            JournalError: If an event could not be committed.
        """
        now_s = self._clock.now_s()
        if past is not None and (past.has_begun or past.source != TYPED):
            at_s = max(now_s, past.at_s)
            self._conversation.take(Resumed(at_s=at_s, clock_at=clock_at, source=TYPED))
        else:
            self._conversation.take(Started(at_s=now_s))
        passed_s: float | None = None  # a deadline that is told is not told again
        while not self._conversation.is_finished:
            self._end_speech()
            due_s = next_deadline_s(self._conversation.state)
            if due_s == passed_s:
                due_s = None
            line = self._lines.next(self._wait_s(due_s, self._voice.next_end_s))
            now_s = self._clock.now_s()
            if line is NoLine.ENDED:
                self._conversation.take(InputEnded(at_s=now_s))
                break
            if isinstance(line, NoLine):
                if due_s is not None and due_s <= now_s:
                    passed_s = due_s
                    self._conversation.take(TimePassed(at_s=now_s))
            elif line.strip():
                self._hear(line, now_s)
        while (end_s := self._voice.next_end_s) is not None:
            self._clock.wait_until(end_s)
            self._end_speech()
        return self._conversation.state

    def _hear(self, line: str, now_s: float) -> None:
        heard = self._keyboard.hear(line, now_s)
        if heard is None:
            return
        if self._voice.next_end_s is not None:
            # whoever types has read what is being said
            self._conversation.take(SpeechStarted(at_s=now_s))
        self._conversation.take(heard)

    def _end_speech(self) -> None:
        now_s = self._clock.now_s()
        while (spoken := self._voice.take_ended(now_s)) is not None:
            self._conversation.take(spoken)

    def _wait_s(self, *moments: float | None) -> float | None:
        """Give how long until the first of these; None if there is none."""
        known = [moment for moment in moments if moment is not None]
        return max(0.0, min(known) - self._clock.now_s()) if known else None
