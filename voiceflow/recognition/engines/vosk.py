"""Vosk (Kaldi) with a model of the user's: the engine for real use.

Vosk takes a list of phrases and makes word pairs of it, so it can put words together
that are no phrase: the item's automaton validates its text afterwards, as it does for
every engine. Words that the model does not know are left out:

- A phrase with such a word is left out of the list, and ``unheard_words`` names the
  word, so that lint can. The item can still be answered in the other phrases.
- If no phrase is left, the grammar is refused.

The model's own symbol for an unknown word is in the list too, so that other speech
need not be forced into a phrase; where it was heard, it is taken out of the words, and
counts against them.

Vosk's own ``conf`` of a word is often 1.00 on a wrong one. So every utterance is heard
twice by the same model, with the item's grammar and with every word of the model, and
confidence comes from how the two compare (``open_vocabulary.py``). Where what was heard
without the grammar is a phrase of the item too, it comes along as an alternative, and
understanding asks about both. A loop of the check's words instead of every word costs a
fifth (0.03 of real time on one core against 0.14), but parts right from wrong worse: over
183 right answers and 85 wrong ones of robotic Korean voices, the chance that the right one
of a pair is the one with fewer differing phones is 0.62 with the loop, 0.77 with all words
(other talk 0.75 and 0.81, misheard answers 0.56 and 0.75); by Vosk's lowest ``conf`` 0.65.
"""

import json
from collections import OrderedDict, deque
from dataclasses import replace
from pathlib import Path
from time import process_time
from typing import Any, Final

import numpy as np
import vosk
from numpy.typing import NDArray

from voiceflow.audio.frames import RATE_HZ, Frame
from voiceflow.errors import EngineError, ModelNotFoundError
from voiceflow.grammar.item_grammar import ItemGrammar
from voiceflow.grammar.meaning import Correction, Reading
from voiceflow.grammar.phrase_list import to_phrase_list
from voiceflow.phraseology.language import Language
from voiceflow.recognition.models import find_vosk_model
from voiceflow.recognition.open_vocabulary import (
    Comparison,
    ComparisonModel,
    compare,
    plain_words,
    shipped_model,
    with_rival,
)
from voiceflow.recognition.recogniser import Vocabulary
from voiceflow.understanding.hypothesis import Hypothesis, WordHypothesis
from voiceflow.understanding.interpret import interpret

NAME: Final = "vosk"
#: How models call a word that they do not know.
UNKNOWN_SYMBOLS: Final = ("[unk]", "<UNK>", "<unk>")
# of the items around, as many as grammars are kept: a list holds on to its grammar
_LISTS_KEPT: Final = 12
# 100 ms at a time: a call costs more than the sound of one frame
_FED_BYTES: Final = RATE_HZ // 10 * 2
#: Frames without speech, the last 2 s of them, that say how loud the noise is.
_NOISE_FRAMES: Final = 100
# rounding to whole samples alone has this power
_LEAST_POWER: Final = 1 / 12

_Word = dict[str, Any]


class _Decoder:
    """One of Vosk's recognisers, utterance by utterance.

    Vosk's times count from when its recogniser was made, through every utterance and
    change of grammar; here they count from the start of the utterance.
    """

    def __init__(self, recogniser: Any) -> None:
        self.vosk = recogniser
        self.vosk.SetWords(True)  # noqa: FBT003 - the library's signature
        self._results: list[dict[str, Any]] = []
        self._decoded_samples = 0
        self._began_s = 0.0

    def feed(self, sound: bytes) -> None:
        self._decoded_samples += len(sound) // 2
        if self.vosk.AcceptWaveform(sound):
            # Kaldi found a pause of its own; the utterance goes on until the endpointer says
            self._results.append(json.loads(self.vosk.Result()))

    def partial(self) -> list[str]:
        partial = str(json.loads(self.vosk.PartialResult()).get("partial", ""))
        return [*(word["word"] for word in self._words()), *partial.split()]

    def finish(self) -> list[_Word]:
        """Give words with "start" and "end" in seconds from the start, and "conf"."""
        self._results.append(json.loads(self.vosk.FinalResult()))
        words = [
            word | {"start": word["start"] - self._began_s, "end": word["end"] - self._began_s}
            for word in self._words()
        ]
        self.drop()
        return words

    def drop(self) -> None:
        self._results.clear()
        self.vosk.Reset()
        self._began_s = self._decoded_samples / RATE_HZ

    def _words(self) -> list[_Word]:
        return [word for result in self._results for word in result.get("result", ())]


class VoskRecogniser:
    """Hears the phrases of one item's grammar at a time.

    Attributes:
        last_comparison: What the confidence of the last hypothesis came from, for
            training; None if there were no words.
    """

    name = NAME

    def __init__(
        self,
        language: Language,
        model_dir: Path | None = None,
        weights: ComparisonModel | None = None,
    ) -> None:
        """Load the model; takes seconds.

        Args:
            language: Of the grammars.
            model_dir: The model's folder; searched for if none.
            weights: How a comparison becomes confidence; those that are shipped if none.

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
        self._weights = weights or shipped_model()
        self._unknown = next((word for word in UNKNOWN_SYMBOLS if self._has(word)), None)
        self._lists: OrderedDict[ItemGrammar, str] = OrderedDict()
        self._grammar: ItemGrammar | None = None
        self._bound: _Decoder | None = None
        self._free: _Decoder | None = None  # with every word of the model
        self._set: str | None = None
        self._waiting = bytearray()
        self._in_utterance = False
        self._start_s = 0.0
        self._end_s = 0.0
        self._decode_s = 0.0
        self._noise: deque[float] = deque(maxlen=_NOISE_FRAMES)
        self._powers: list[float] = []  # of each frame of the utterance, and its middle
        self._times_s: list[float] = []
        self.last_comparison: Comparison | None = None

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
        self._grammar = grammar
        if phrases == self._set:
            return
        if self._bound is None:
            self._bound = _Decoder(vosk.KaldiRecognizer(self._model, RATE_HZ, phrases))
            self._free = _Decoder(vosk.KaldiRecognizer(self._model, RATE_HZ))
        else:
            self._bound.vosk.SetGrammar(phrases)
        self._set = phrases

    def feed(self, frame: Frame) -> None:
        """Take one frame of an utterance; the first one begins it."""
        if self._bound is None:
            raise EngineError(NAME, "sound came before any grammar", "Call listen first")
        if not self._in_utterance:
            self._in_utterance = True
            self._start_s = frame.start_s
            self._decode_s = 0.0
            self._powers.clear()
            self._times_s.clear()
        self._end_s = frame.end_s
        self._powers.append(_power(frame))
        self._times_s.append((frame.start_s + frame.end_s) / 2)
        self._waiting += frame.samples.tobytes()
        if len(self._waiting) >= _FED_BYTES:
            self._decode()

    def hear_silence(self, frame: Frame) -> None:
        """Learn how loud the noise is from a frame in which nobody speaks."""
        self._noise.append(_power(frame))

    def partial(self) -> tuple[str, ...]:
        """Give the words so far."""
        if not self._in_utterance or self._bound is None:
            return ()
        return tuple(word for word in self._bound.partial() if word != self._unknown)

    def agrees(self) -> bool:
        """Tell that nothing else is asked: the open hearing may change its mind until the end."""
        return True

    def finish(self) -> Hypothesis:
        """End the utterance and give the final hypothesis.

        What was heard without the grammar, if it is another phrase of it, is its
        alternative.
        """
        if not self._in_utterance or self._bound is None or self._free is None:
            self.last_comparison = None
            return Hypothesis(
                engine=NAME, words=(), confidence=0.0, start_s=self._end_s, end_s=self._end_s
            )
        self._decode()
        began = process_time()
        heard = self._bound.finish()
        free = self._free.finish()
        self._decode_s += process_time() - began
        self._in_utterance = False
        words = tuple(
            WordHypothesis(
                word=word["word"],
                start_s=self._start_s + word["start"],
                end_s=self._start_s + word["end"],
                score=float(word["conf"]),
            )
            for word in heard
            if word["word"] != self._unknown
        )
        hypothesis = Hypothesis(
            engine=NAME,
            words=tuple(word.word for word in words),
            confidence=0.0,
            start_s=words[0].start_s if words else self._start_s,
            end_s=words[-1].end_s if words else self._end_s,
            timed_words=words,
            decode_s=self._decode_s,
        )
        unknown_s = sum(word["end"] - word["start"] for word in heard) - sum(
            word.end_s - word.start_s for word in words
        )
        return self._weigh(hypothesis, [word["word"] for word in free], unknown_s)

    def unheard_words(self, grammar: Vocabulary) -> frozenset[str]:
        """Give the words that the model does not know."""
        return frozenset(word for word in grammar.vocabulary if not self._has(word))

    def transcriber(self) -> "VoskTranscriber":
        """Give what writes down any words of the model, which the two then share."""
        return VoskTranscriber(self._model, self._unknown)

    def close(self) -> None:
        """Drop the utterance under way and the grammar; may be called twice."""
        self._bound = self._free = None
        self._set = None
        self._in_utterance = False
        self._waiting.clear()

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
        if not self._waiting or self._bound is None or self._free is None:
            return
        began = process_time()
        sound = bytes(self._waiting)
        self._waiting.clear()
        self._bound.feed(sound)
        self._free.feed(sound)
        self._decode_s += process_time() - began

    def _weigh(self, hypothesis: Hypothesis, free: list[str], unknown_s: float) -> Hypothesis:
        """Add the alternative and the confidence."""
        grammar = self._grammar
        if grammar is None or not hypothesis.words:
            self.last_comparison = None
            return hypothesis
        language = grammar.language
        said = plain_words(" ".join(word for word in free if word != self._unknown), language)
        heard, is_asked = with_rival(hypothesis, said, grammar)
        best = interpret(hypothesis, grammar, language)
        self.last_comparison = compare(
            hypothesis.timed_words,
            said,
            language,
            self._loudness(),
            np.array(self._times_s),
            unknown_s=unknown_s,
            is_reading=isinstance(best, Reading | Correction),
            is_asked=is_asked,
        )
        return replace(heard, confidence=self._weights.confidence(self.last_comparison))

    def _loudness(self) -> NDArray[np.float64]:
        """Give the power of each frame over that of the noise."""
        powers = np.array(self._powers)
        # without a pause before it, the quietest frame of the utterance is the noise
        noise = float(np.mean(self._noise)) if self._noise else float(np.min(powers))
        return powers / max(noise, _LEAST_POWER)

    def _drop(self) -> None:
        self._waiting.clear()
        if self._in_utterance and self._bound is not None and self._free is not None:
            self._in_utterance = False
            self._bound.drop()
            self._free.drop()


class VoskTranscriber:
    """Writes down what is said, with every word of the model.

    It is decoded while it is said, at 0.12 to 0.24 of real time on one core, so that
    nobody waits for it at the end.
    """

    name = NAME

    def __init__(self, model: Any, unknown: str | None) -> None:
        """Take a model that is loaded; nothing is made of it before the first frame.

        Args:
            model: Of the language.
            unknown: Its symbol for a word that it does not know, which is not written down.
        """
        self._model = model
        self._unknown = unknown
        self._decoder: _Decoder | None = None
        self._waiting = bytearray()

    def feed(self, frame: Frame) -> None:
        """Take one frame; the first one begins an utterance."""
        self._waiting += frame.samples.tobytes()
        if len(self._waiting) >= _FED_BYTES:
            self._decode()

    def finish(self) -> str:
        """End the utterance and give its words."""
        self._decode()
        if self._decoder is None:
            return ""
        words = self._decoder.finish()
        return " ".join(word["word"] for word in words if word["word"] != self._unknown)

    def _decode(self) -> None:
        if not self._waiting:
            return
        if self._decoder is None:
            self._decoder = _Decoder(vosk.KaldiRecognizer(self._model, RATE_HZ))
        self._decoder.feed(bytes(self._waiting))
        self._waiting.clear()


def _power(frame: Frame) -> float:
    """Give the mean square of the samples."""
    samples = frame.samples.astype(np.float64)
    return float(np.mean(samples**2)) if len(samples) else 0.0
