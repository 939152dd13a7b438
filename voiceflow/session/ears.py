"""From frames to what was heard: endpointing, recognition and interpretation in a row.

The grammar of an utterance is the one that was wanted when it started; a new one
wanted meanwhile takes effect with the next utterance. No clock here: time is what
the frames carry.
"""

from collections import deque
from collections.abc import Callable
from typing import Final, Protocol

from voiceflow.audio.frames import Frame
from voiceflow.dialogue.events import Heard, NoteTaken, SpeechStarted, Utterance
from voiceflow.grammar.completeness import Completeness, completeness
from voiceflow.grammar.item_grammar import ItemGrammar
from voiceflow.grammar.meaning import Meaning, NoMatch
from voiceflow.phraseology.language import Language
from voiceflow.phraseology.prompts import NoteEnd
from voiceflow.recognition import endpointing
from voiceflow.recognition.endpointing import CHUNK_S
from voiceflow.recognition.recogniser import Recogniser
from voiceflow.session.notes import NoteTaker
from voiceflow.settings import Pauses
from voiceflow.understanding.hypothesis import Hypothesis
from voiceflow.understanding.interpret import interpret

# Sound is taken for silence once no utterance can reach back to it: a start is told at
# most 0.1 s late, and is found to within a chunk of 32 ms.
_SURELY_SILENT_S: Final = 0.2
# So much of an utterance over the tool's own voice makes it one: less is the last sound of a
# word that was being said, seconds.
_MIXED_S: Final = 0.1
# So often in a row the tool hears itself before that is told.
_OWN_TOLD_AT: Final = 2
# So long before an utterance the tool may have said what is taken for it, seconds.
_ECHO_S: Final = 1.0
# So long after a note is full its speaker may go on before that is taken for an answer, seconds.
_NOTICED_S: Final = 15.0

#: What ears bring about.
Perceived = SpeechStarted | Heard | NoteTaken

_NO_PHRASE: Final = frozenset({Completeness.INCOMPLETE, Completeness.BEGUN})


class SpeechFinder(Protocol):
    """Finds where speech starts and ends."""

    def feed(self, frame: Frame) -> tuple[endpointing.SpeechStarted | endpointing.SpeechEnded, ...]:
        """Take the next frame and give what it decided."""
        ...

    def flush(self) -> tuple[endpointing.SpeechStarted | endpointing.SpeechEnded, ...]:
        """End the source: an open utterance ends."""
        ...


class PatientFinder(SpeechFinder, Protocol):
    """What the ears need: a finder that can be told how long to wait."""

    @property
    def quiet_s(self) -> float:
        """For how long, within an utterance, nobody has spoken; 0 outside of one."""
        ...

    def allow(self, silence_s: float) -> None:
        """Let the silence under way last so long before the utterance ends, seconds."""
        ...

    def extend(self, longest_s: float) -> None:
        """Let the utterance under way last so long before it is ended, whatever is heard."""
        ...


class Waiting:
    """How long to wait in a silence, by the words so far.

    Words that have just changed are half a word, or a way the engine may yet leave: they
    count as incomplete until they have stood still for a chunk.
    """

    def __init__(self, pauses: Pauses) -> None:
        self._pauses = pauses
        self._quiet_s = 0.0
        self._words: tuple[str, ...] | None = None  # of this silence
        self._grammar: ItemGrammar | None = None
        self._completeness = Completeness.INCOMPLETE
        #: The words asked about last are a phrase, and were not asked about before.
        self.is_phrase_anew = False

    def is_news(self, quiet_s: float) -> bool:
        """Tell whether a silence has gone on since it was last asked about."""
        if quiet_s < self._quiet_s or not quiet_s:
            self._words = None
            self._quiet_s = 0.0
        return quiet_s > self._quiet_s

    def allowed_s(
        self,
        grammar: ItemGrammar,
        words: tuple[str, ...],
        quiet_s: float,
        *,
        is_agreed: bool = True,
    ) -> float:
        """Give how long the silence may last before the utterance ends, seconds.

        Args:
            grammar: What is listened with.
            words: What was heard so far.
            quiet_s: How long the silence has lasted.
            is_agreed: All that listens has heard the same so far. Else one of them may yet
                change its words, and nothing is ended in a hurry.
        """
        self._quiet_s = quiet_s
        if words != self._words or grammar is not self._grammar:
            self._words, self._grammar = words, grammar
            self._completeness = completeness(grammar, words)
            self.is_phrase_anew = self._completeness not in _NO_PHRASE
            return self._pauses.incomplete_s
        self.is_phrase_anew = False
        settled_s = self._pauses.settled_s
        if settled_s is None:
            settled_s = self._pauses.complete_s
        match self._completeness:
            case Completeness.COMPLETE:
                return self._pauses.complete_s if is_agreed else settled_s
            case Completeness.SETTLED:
                return settled_s
            case Completeness.EXTENDABLE:
                return self._pauses.extendable_s
            case Completeness.BEGUN:
                begun_s = self._pauses.begun_s
                return self._pauses.incomplete_s if begun_s is None else begun_s
            case Completeness.INCOMPLETE:
                return self._pauses.incomplete_s


class Ears:
    """Hears utterances.

    Attributes:
        last_hypothesis: Of the utterance heard last, for measuring; none before it.
        last_decided_s: Up to where sound was needed to tell that it was over.
    """

    def __init__(
        self,
        *,
        finder: PatientFinder,
        recogniser: Recogniser,
        grammar: Callable[[str, str | None], ItemGrammar],
        language: Language,
        pauses: Pauses | None = None,
        expected: Callable[[str, Meaning], None] | None = None,
        own_words: Callable[[float, float], str] | None = None,
        tell: Callable[[str], None] | None = None,
        notes: NoteTaker | None = None,
    ) -> None:
        """Bring the parts together; nothing is heard before the first ``listen``.

        Args:
            finder: Finds where speech starts and ends.
            recogniser: Gives the words.
            grammar: Gives the grammar of an item, given the item answered last.
            language: The pack of the check's language.
            pauses: How long a silence ends an utterance, by what could follow; none: the
                finder's own time does, whatever was said.
            expected: Told in a silence what the words so far mean at which item, where
                they could be all that is said.
            own_words: Tells what the tool said from one time to another; for utterances
                over its own voice.
            tell: Takes a remark for the person.
            notes: Takes voice notes; none: what is said for one is heard as all else is.
        """
        self._own_words = own_words
        self._tell = tell
        self._own_in_a_row = 0
        self._expected = expected
        self._finder = finder
        self._recogniser = recogniser
        self._grammar = grammar
        self._language = language
        self._waiting = None if pauses is None else Waiting(pauses)
        self._wanted: ItemGrammar | None = None
        self._set: ItemGrammar | None = None  # what the recogniser listens with
        self._open = False  # an utterance is being fed
        self._speech = False  # somebody speaks, heard or not
        self._start_s = 0.0
        self._mixed_s = 0.0  # of the utterance, over the tool's own voice
        self._mixed_until_s = 0.0
        self._now_s = 0.0
        self._quiet: deque[Frame] = deque()  # may yet turn out to be speech
        self._notes = notes
        self._note_on: str | None = None  # what is said next is a note on this item
        self._is_note = False  # the utterance that is being fed
        self.last_hypothesis: Hypothesis | None = None
        self.last_decided_s = 0.0

    def listen(self, item_id: str, previous_id: str | None, note_on: str | None = None) -> None:
        """Want the grammar of an item, from the next utterance on.

        Args:
            item_id: The item.
            previous_id: The item answered last.
            note_on: The next utterance is not understood but kept, as a note on this item.
        """
        self._wanted = self._grammar(item_id, previous_id)
        self._note_on = note_on

    def feed(self, frame: Frame) -> tuple[Perceived, ...]:
        """Take the next frame.

        Returns:
            What it brought, mostly nothing, all at the time of the frame's end.

        Raises:
            EngineError: If the engine cannot hear a grammar.
            JournalError: If a note cannot be kept.
        """
        self._now_s = frame.end_s
        found = self._finder.feed(frame)
        full: tuple[NoteTaken, ...] = ()
        if self._open and self._is_note:
            self._note_mixed(frame)
            full = self._add_to_note(frame)
        elif self._open:
            self._recogniser.feed(frame)
            self._note_mixed(frame)
            self._allow()
        elif not self._speech:
            self._quiet.append(frame)
            self._hear_silence(frame.end_s - _SURELY_SILENT_S)
        if not self._open and not found:
            # between utterances there is time to set up the next grammar
            self._tune()
        return (*full, *self._take(found))

    def flush(self) -> tuple[Perceived, ...]:
        """End the source; what was being said is understood as far as it was heard."""
        return self._take(self._finder.flush())

    def idle(self) -> None:
        """Time goes by in which nobody is listened to: set up what is wanted next."""
        if not self._open:
            self._tune()

    def drop(self) -> tuple[NoteTaken, ...]:
        """Forget what is being said: the sound broke off, and half a reading is none.

        Returns:
            Half a note is one: it is kept as far as it was heard.

        Raises:
            JournalError: If it cannot be kept.
        """
        taken: list[NoteTaken] = []
        for what in self._finder.flush():
            if isinstance(what, endpointing.SpeechEnded) and self._open and self._is_note:
                taken += self._note_of(what, NoteEnd.BROKEN_OFF)
        if self._open and not self._is_note:
            self._recogniser.finish()
        self._open = self._speech = False
        self._quiet.clear()
        return tuple(taken)

    def _tune(self) -> None:
        if self._wanted is not self._set and self._wanted is not None:
            self._recogniser.listen(self._wanted)
            self._set = self._wanted

    def _allow(self) -> None:
        """Tell the finder how long to wait; words are only asked for while it is quiet."""
        if self._waiting is None or self._set is None:
            return
        quiet_s = self._finder.quiet_s
        if self._waiting.is_news(quiet_s):
            words = self._recogniser.partial()
            is_agreed = self._recogniser.agrees()
            allowed_s = self._waiting.allowed_s(self._set, words, quiet_s, is_agreed=is_agreed)
            self._finder.allow(allowed_s)
            if self._expected is not None and self._waiting.is_phrase_anew:
                self._expected(self._set.item_id, self._set.meaning(words))

    def _hear_silence(self, until_s: float) -> None:
        while self._quiet and self._quiet[0].end_s <= until_s:
            frame = self._quiet.popleft()
            if not frame.over_own_voice:
                self._recogniser.hear_silence(frame)

    def _note_mixed(self, frame: Frame) -> None:
        if frame.over_own_voice and frame.end_s > self._start_s:
            self._mixed_s += frame.end_s - max(frame.start_s, self._start_s)
            self._mixed_until_s = frame.end_s

    def _take(
        self, found: tuple[endpointing.SpeechStarted | endpointing.SpeechEnded, ...]
    ) -> tuple[Perceived, ...]:
        events: list[Perceived] = []
        for what in found:
            match what:
                case endpointing.SpeechStarted():
                    self._tune()
                    self._speech = True
                    self._hear_silence(what.start_s - CHUNK_S)
                    self._quiet.clear()
                    if self._set is None:
                        continue
                    self._open = True
                    self._start_s = what.start_s
                    self._mixed_s = 0.0
                    self._begin_note(what.start_s)
                    feed = self._notes.feed if self._is_note and self._notes else None
                    for kept in what.preroll:
                        (feed or self._recogniser.feed)(kept)
                        self._note_mixed(kept)
                    events.append(SpeechStarted(at_s=self._now_s))
                case endpointing.SpeechEnded():
                    self._speech = False
                    if self._set is not None and self._open:
                        self._open = False
                        if self._is_note:
                            events += self._note_ended(self._set, what)
                        else:
                            events.append(self._heard(self._set, what))
        return tuple(events)

    def _begin_note(self, start_s: float) -> None:
        self._is_note = self._note_on is not None and self._notes is not None
        if self._note_on is not None and self._notes is not None:
            self._notes.begin(self._note_on, start_s)
            # as long as it may be, and then until the person has noticed that it is full
            self._finder.extend(self._notes.longest_s + _NOTICED_S)

    def _add_to_note(self, frame: Frame) -> tuple[NoteTaken, ...]:
        """Take a frame of a note; what is said after it is full is heard by nobody."""
        notes = self._notes
        if notes is None or not notes.is_open:
            return ()
        self._finder.allow(notes.pause_s)
        notes.feed(frame)
        if not notes.is_full:
            return ()
        taken = notes.finish(self._now_s, self._now_s, NoteEnd.BOUND)
        return () if taken is None else (taken,)

    def _note_of(self, ended: endpointing.SpeechEnded, how: NoteEnd) -> tuple[NoteTaken, ...]:
        """End the note that is open; none if it is full already, or no note at all."""
        if self._notes is None or not self._notes.is_open:
            return ()
        is_mixed = self._mixed_s >= _MIXED_S
        # it ends with the tool's own voice: the person was told to speak after that
        is_own = is_mixed and ended.end_s <= self._mixed_until_s + _MIXED_S
        self._tell_own(is_own=is_own)
        if is_own:
            self._notes.drop()
            return ()
        taken = self._notes.finish(self._now_s, ended.end_s, how)
        return () if taken is None else (taken,)

    def _note_ended(
        self, grammar: ItemGrammar, ended: endpointing.SpeechEnded
    ) -> tuple[Heard | NoteTaken, ...]:
        if self._notes is None or not self._notes.is_open:
            return ()
        taken = self._note_of(ended, NoteEnd.PAUSE)
        if taken:
            return taken
        # a cough, or the tool itself: the note is still waited for
        utterance = Utterance(
            text="",
            meaning=NoMatch(),
            confidence=0.0,
            engine=self._recogniser.name,
            speech_start_s=self._start_s,
            speech_end_s=ended.end_s,
            over_own_voice=self._mixed_s >= _MIXED_S,
        )
        return (Heard(at_s=self._now_s, item_id=grammar.item_id, utterance=utterance),)

    def _heard(self, grammar: ItemGrammar, ended: endpointing.SpeechEnded) -> Heard:
        hypothesis = self._recogniser.finish()
        self.last_hypothesis = hypothesis
        self.last_decided_s = ended.decided_s
        is_mixed = self._mixed_s >= _MIXED_S
        is_own = is_mixed and self._is_own(hypothesis.words, ended.end_s)
        self._tell_own(is_own=is_own)
        utterance = Utterance(
            text=hypothesis.text,
            meaning=NoMatch() if is_own else interpret(hypothesis, grammar, self._language),
            confidence=0.0 if is_own else hypothesis.confidence,
            engine=hypothesis.engine,
            speech_start_s=self._start_s,
            speech_end_s=ended.end_s,
            over_own_voice=is_mixed,
        )
        return Heard(at_s=self._now_s, item_id=grammar.item_id, utterance=utterance)

    def _is_own(self, words: tuple[str, ...], end_s: float) -> bool:
        """Tell whether nothing was heard but what the tool was saying.

        Its voice ends with its sound: whoever is still heard afterwards is a person, who may
        well say a word that the tool has just said ("affirm or negative?").
        """
        if self._own_words is None or end_s > self._mixed_until_s + _MIXED_S:
            return False
        said = self._language.tokenise(self._own_words(self._start_s - _ECHO_S, end_s))
        idle = {word for way in self._language.hesitations for word in self._language.tokenise(way)}
        heard = set(words) - idle
        return bool(heard) and heard <= set(said)

    def _tell_own(self, *, is_own: bool) -> None:
        """Tell the person when the tool hears itself again and again, each time once."""
        self._own_in_a_row = self._own_in_a_row + 1 if is_own else 0
        if self._own_in_a_row == _OWN_TOLD_AT and self._tell is not None:
            self._tell(
                "It hears its own voice. Turn the speakers down, move the microphone away "
                "from them, or use a headset."
            )
