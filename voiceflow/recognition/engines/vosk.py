"""Vosk (Kaldi) with a model of the user's: the engine for real use.

Vosk takes a list of phrases and makes word pairs of it, so it can put words together
that are no phrase: the item's automaton validates its text afterwards, as it does for
every engine. Words that the model does not know are left out:

- A phrase with such a word is left out of the list, and ``unheard_words`` names the
  word, so that lint can. The item can still be answered in the other phrases.
- If no phrase is left, the grammar is refused.

The model's own symbol for an unknown word is in the list too, so that other speech
need not be forced into a phrase; where it was heard, it is taken out of the words and
confidence goes down with the share of the words it had.

Confidence comes from Vosk's ``conf`` of each word. It was 1.00 on some wrong words:
trust readings only with their readback.
"""

import json
from collections import OrderedDict
from pathlib import Path
from time import process_time
from typing import Any, Final

import vosk

from voiceflow.audio.frames import RATE_HZ, Frame
from voiceflow.errors import EngineError, ModelNotFoundError
from voiceflow.grammar.item_grammar import ItemGrammar
from voiceflow.grammar.phrase_list import to_phrase_list
from voiceflow.phraseology.language import Language
from voiceflow.recognition.models import find_vosk_model
from voiceflow.recognition.recogniser import Vocabulary
from voiceflow.understanding.hypothesis import Hypothesis

NAME: Final = "vosk"
#: How models call a word that they do not know.
UNKNOWN_SYMBOLS: Final = ("[unk]", "<UNK>", "<unk>")
_LISTS_KEPT: Final = 128
# 100 ms at a time: a call costs more than the sound of one frame
_FED_BYTES: Final = RATE_HZ // 10 * 2


class VoskRecogniser:
    """Hears the phrases of one item's grammar at a time."""

    name = NAME

    def __init__(self, language: Language, model_dir: Path | None = None) -> None:
        """Load the model; takes seconds.

        Args:
            language: Of the grammars.
            model_dir: The model's folder; searched for if none.

        Raises:
            ModelNotFoundError: If there is no model, or Vosk cannot load it.
        """
        folder = find_vosk_model(language, model_dir)
        vosk.SetLogLevel(-1)
        try:
            self._model: Any = vosk.Model(str(folder))
        except Exception as error:  # Vosk raises no other class
            remedy = "It seems damaged, or made for another version: unpack it again"
            raise ModelNotFoundError(NAME, [str(folder)], remedy) from error
        self._unknown = next((word for word in UNKNOWN_SYMBOLS if self._has(word)), None)
        self._lists: OrderedDict[ItemGrammar, str] = OrderedDict()
        self._recogniser: Any = None
        self._set: str | None = None
        self._waiting = bytearray()
        self._results: list[dict[str, Any]] = []
        self._in_utterance = False
        self._start_s = 0.0
        self._end_s = 0.0
        self._decode_s = 0.0
        # Vosk's times count from when its recogniser was made, through every utterance
        # and change of grammar: this is where the utterance began on that clock
        self._decoded_samples = 0
        self._began_s = 0.0

    def listen(self, grammar: ItemGrammar) -> None:
        """Switch to the grammar of an item; an utterance under way is dropped.

        Raises:
            EngineError: If the model does not know enough words for any phrase.
        """
        self._drop()
        phrases = self._lists.get(grammar) or self._phrases(grammar)
        self._lists[grammar] = phrases
        self._lists.move_to_end(grammar)
        while len(self._lists) > _LISTS_KEPT:
            self._lists.popitem(last=False)
        if phrases == self._set:
            return
        if self._recogniser is None:
            self._recogniser = vosk.KaldiRecognizer(self._model, RATE_HZ, phrases)
            self._decoded_samples = 0
            self._recogniser.SetWords(True)  # noqa: FBT003 - the library's signature
        else:
            self._recogniser.SetGrammar(phrases)
        self._set = phrases

    def feed(self, frame: Frame) -> None:
        """Take one frame of an utterance; the first one begins it."""
        if self._recogniser is None:
            raise EngineError(NAME, "sound came before any grammar", "Call listen first")
        if not self._in_utterance:
            self._in_utterance = True
            self._start_s = frame.start_s
            self._began_s = self._decoded_samples / RATE_HZ
            self._decode_s = 0.0
        self._end_s = frame.end_s
        self._waiting += frame.samples.tobytes()
        if len(self._waiting) >= _FED_BYTES:
            self._decode()

    def hear_silence(self, frame: Frame) -> None:
        """Learn nothing from it."""
        del frame

    def partial(self) -> tuple[str, ...]:
        """Give the words so far."""
        if not self._in_utterance:
            return ()
        partial = str(json.loads(self._recogniser.PartialResult()).get("partial", ""))
        earlier = [word["word"] for result in self._results for word in result.get("result", ())]
        return tuple(word for word in (*earlier, *partial.split()) if word != self._unknown)

    def finish(self) -> Hypothesis:
        """End the utterance and give the final hypothesis."""
        if not self._in_utterance:
            return Hypothesis(
                engine=NAME, words=(), confidence=0.0, start_s=self._end_s, end_s=self._end_s
            )
        self._decode()
        began = process_time()
        self._results.append(json.loads(self._recogniser.FinalResult()))
        self._decode_s += process_time() - began
        heard = [word for result in self._results for word in result.get("result", ())]
        known = [word for word in heard if word["word"] != self._unknown]
        # from Vosk's clock to that of the source
        later_s = self._start_s - self._began_s
        hypothesis = Hypothesis(
            engine=NAME,
            words=tuple(word["word"] for word in known),
            confidence=self._confidence(known, len(heard)),
            start_s=known[0]["start"] + later_s if known else self._start_s,
            end_s=known[-1]["end"] + later_s if known else self._end_s,
            decode_s=self._decode_s,
        )
        self._drop()
        return hypothesis

    def unheard_words(self, grammar: Vocabulary) -> frozenset[str]:
        """Give the words that the model does not know."""
        return frozenset(word for word in grammar.vocabulary if not self._has(word))

    def close(self) -> None:
        """Drop the utterance under way and the grammar; may be called twice."""
        self._recogniser = None
        self._set = None
        self._in_utterance = False
        self._waiting.clear()
        self._results.clear()

    def _has(self, word: str) -> bool:
        return int(self._model.vosk_model_find_word(word)) >= 0

    def _phrases(self, grammar: ItemGrammar) -> str:
        unheard = self.unheard_words(grammar)
        kept = to_phrase_list(grammar, without=unheard)
        if not kept:
            words = ", ".join(sorted(unheard))
            what = f"item {grammar.item_id}: the model knows none of its phrases ({words})"
            raise EngineError(NAME, what, "Use a model for the language of the check file")
        return json.dumps([*kept, *([self._unknown] if self._unknown else [])], ensure_ascii=False)

    def _decode(self) -> None:
        if not self._waiting:
            return
        began = process_time()
        sound = bytes(self._waiting)
        self._waiting.clear()
        self._decoded_samples += len(sound) // 2
        if self._recogniser.AcceptWaveform(sound):
            # Kaldi found a pause of its own; the utterance goes on until the endpointer says
            self._results.append(json.loads(self._recogniser.Result()))
        self._decode_s += process_time() - began

    def _confidence(self, known: list[dict[str, Any]], heard: int) -> float:
        if not known:
            return 0.0
        worst = min(float(word["conf"]) for word in known)
        return max(0.0, min(1.0, worst)) * len(known) / heard

    def _drop(self) -> None:
        self._waiting.clear()
        self._results.clear()
        if self._in_utterance:
            self._in_utterance = False
            self._recogniser.Reset()
