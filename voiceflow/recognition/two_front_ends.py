"""PocketSphinx hearing through two front ends that must agree.

Both take steady noise off with the running Wiener filter. The first then leaves the rest
to the engine's own noise removal, as its model expects; the second filters deeper and
has that removal turned off. They make different mistakes, so what both hear is seldom
wrong; where they understand different things, the second's words come along as an
alternative, and understanding asks. Each has a decoder of its own: a decoder carries
what it learns of the sound from utterance to utterance.

Measured on voices slt and rms, 40 readings each, pink noise, right of 40 without filter,
first, second: 20 dB 33, 39, 39; 15 dB 25, 36, 35; 10 dB 6, 28, 31; clean 40 each. Both
alike and wrong: 1, 4, 4, 0. A suppressor of WebRTC (level 3) in front instead: 38, 36, 30,
and alike and wrong with the first 1, 4, 6.
"""

from dataclasses import replace
from functools import cached_property
from time import process_time
from typing import Final

import numpy as np
from numpy.typing import NDArray

from voiceflow.audio.frames import RATE_HZ, Frame, Samples
from voiceflow.grammar.item_grammar import ItemGrammar
from voiceflow.grammar.meaning import Ambiguous, Correction, Reading
from voiceflow.phraseology.language import Language
from voiceflow.recognition.engines.pocketsphinx import (
    STRANGER,
    Accustomed,
    PocketSphinxRecogniser,
)
from voiceflow.recognition.evidence import Evidence, Model, gather, shipped_model
from voiceflow.recognition.noise_adaptation import shipped_transforms
from voiceflow.recognition.noise_suppression import NoiseSpectrum, WienerFilter
from voiceflow.recognition.recogniser import Vocabulary
from voiceflow.understanding.hypothesis import Hypothesis
from voiceflow.understanding.interpret import interpret

#: Least gain of each filter, in noise and where there is hardly any: then what a filter
#: does to soft sounds is worse than what it takes off.
FLOORS: Final = (0.2, 0.1)
_IN_QUIET: Final = (1.0, 1.0)
#: Speech so much above the noise, in decibels as of ``WienerFilter.snr_db``, is speech in
#: quiet; below the other it is loud noise, where decoders listen whose model knows noise.
#: Of 120 readings of slt and rms, each heard with what was learnt of other voices only,
#: both front ends were right without and with it, in pink noise: 20 dB 111, 102 (about 16
#: dB here); 15 dB 101, 103 (11); 10 dB 74, 90 (7). Three people's spliced digits at 10 dB,
#: after a sound check: 14, 29 of 120.
QUIET_DB: Final = 30.0
_LOUD_DB: Final = 9.5
#: How much of the level of speech is that of the last utterance.
_NEWEST: Final = 0.5


_Pair = tuple[PocketSphinxRecogniser, PocketSphinxRecogniser]


def new_filters(
    power: NDArray[np.float64] | None, *, is_quiet: bool
) -> tuple[WienerFilter, WienerFilter]:
    """Give what takes the noise off for the leading and the other decoder, for one utterance.

    Args:
        power: Of the noise, as of ``NoiseSpectrum``; None: unknown.
        is_quiet: The speech is so far above the noise that it is left as it is.
    """
    lead, other = _IN_QUIET if is_quiet else FLOORS
    return WienerFilter(power, lead), WienerFilter(power, other)


class TwoFrontEnds:
    """Hears every utterance twice.

    Attributes:
        last_evidence: What the confidence of the last hypothesis came from, for
            training; None if there were no words.
    """

    def __init__(
        self,
        language: Language,
        model: Model | None = None,
        accustomed: tuple[Accustomed, Accustomed] = (STRANGER, STRANGER),
    ) -> None:
        """Load the first; the second is loaded when it first has to listen.

        Args:
            language: Its pronunciations come before those of the engine's dictionary.
            model: How evidence becomes confidence; the one that is shipped if none.
            accustomed: What the leading and the other decoder know of the speaker.

        Raises:
            EngineError: If the bundled model cannot hear the language.
        """
        self._language = language
        self._lead = PocketSphinxRecogniser(language, accustomed=accustomed[0])
        self._accustomed = accustomed
        self._model = model or shipped_model()
        self._grammar: ItemGrammar | None = None
        self._noise = NoiseSpectrum()
        self._engines: _Pair | None = None  # those that hear the utterance under way
        self._filters: tuple[WienerFilter, ...] = ()  # of the utterance under way
        self._given = [0.0, 0.0]  # seconds up to which each engine was fed
        self._start_s = 0.0
        self._filter_s = 0.0
        self._speech_db: float | None = None  # level of the utterance before
        self.last_evidence: Evidence | None = None

    @cached_property
    def _in_quiet(self) -> _Pair:
        # the second is loaded when there is something to hear: the first words need not wait
        second = PocketSphinxRecogniser(
            self._language, accustomed=self._accustomed[1], suppress_noise=False
        )
        return (self._lead, second)

    @cached_property
    def _in_noise(self) -> _Pair:
        # loaded when it first gets loud: most cockpits never do
        first, second = shipped_transforms()
        lead, other = self._accustomed
        return (
            PocketSphinxRecogniser(self._language, accustomed=lead, noise=first),
            PocketSphinxRecogniser(
                self._language, accustomed=other, suppress_noise=False, noise=second
            ),
        )

    @property
    def name(self) -> str:
        """Name of the engine."""
        return self._lead.name

    def listen(self, grammar: ItemGrammar) -> None:
        """Switch both to the grammar of an item; an utterance under way is dropped.

        Raises:
            EngineError: If a word of the grammar has no pronunciation.
        """
        self._filters = ()
        self._grammar = grammar
        self._engines = self._in_noise if self._is_loud else self._in_quiet
        for engine in self._engines:
            engine.listen(grammar)

    def feed(self, frame: Frame) -> None:
        """Take one frame of an utterance; the first one begins it."""
        began = process_time()
        if not self._filters:
            self._noise.interrupt()
            self._choose()
            self._filters = new_filters(self._noise.power, is_quiet=self._is_quiet)
            self._given = [frame.start_s] * len(FLOORS)
            self._start_s = frame.start_s
            self._filter_s = 0.0
        ready = [one.feed(frame.samples) for one in self._filters]
        self._filter_s += process_time() - began
        self._give(ready)

    def hear_silence(self, frame: Frame) -> None:
        """Learn the noise from a frame in which nobody speaks."""
        self._noise.hear(frame.samples)

    def partial(self) -> tuple[str, ...]:
        """Give the words so far, by the leading front end."""
        return self._ears[0].partial()

    def agrees(self) -> bool:
        """Tell whether both front ends give the same words so far."""
        first, second = self._ears
        return first.partial() == second.partial()

    def finish(self) -> Hypothesis:
        """End the utterance and give the final hypothesis of the leading front end.

        What the other heard, if it is different, is its alternative.
        """
        filters, self._filters = self._filters, ()
        began = process_time()
        rest = [one.flush() for one in filters]
        self._filter_s += process_time() - began
        self._give(rest)
        lead, second = (engine.finish() for engine in self._ears)
        if not filters:
            self.last_evidence = None
            return lead
        is_other = bool(second.words) and second.words != lead.words
        heard = replace(
            lead,
            alternatives=(second.words,) if is_other else (),
            decode_s=lead.decode_s + second.decode_s + self._filter_s,
        )
        self.last_evidence = self._evidence(lead, second, filters[0])
        level_db = self._noise.level_db
        if lead.words and level_db is not None:
            now_db = level_db + filters[0].snr_db
            before_db = now_db if self._speech_db is None else self._speech_db
            self._speech_db = before_db + _NEWEST * (now_db - before_db)
        return replace(heard, confidence=self._confidence(heard))

    def _confidence(self, heard: Hypothesis) -> float:
        evidence, grammar = self.last_evidence, self._grammar
        if evidence is None or grammar is None:
            return 0.0
        best = interpret(replace(heard, alternatives=()), grammar, grammar.language)
        both = interpret(heard, grammar, grammar.language)
        if both != best and isinstance(both, Ambiguous | Correction):
            # both are asked about, whichever it was: that they differ counts no more
            evidence = replace(evidence, disagreement=0.0)
        return self._model.confidence(evidence)

    @property
    def _ears(self) -> _Pair:
        return self._engines or self._in_quiet

    @property
    def _ratio_db(self) -> float | None:
        """How far above the noise the person will be, if as loud as before; None: unknown."""
        level_db = self._noise.level_db
        if level_db is None or self._speech_db is None:
            return None
        return self._speech_db - level_db

    @property
    def _is_quiet(self) -> bool:
        ratio_db = self._ratio_db
        return ratio_db is not None and ratio_db >= QUIET_DB

    @property
    def _is_loud(self) -> bool:
        ratio_db = self._ratio_db
        return ratio_db is not None and ratio_db < _LOUD_DB

    def _choose(self) -> None:
        """Let those listen that suit the noise there is now."""
        suited = self._in_noise if self._is_loud else self._in_quiet
        if suited is not self._engines and self._grammar is not None:
            self._engines = suited
            for engine in suited:
                engine.listen(self._grammar)

    def _evidence(
        self, lead: Hypothesis, second: Hypothesis, heard: WienerFilter
    ) -> Evidence | None:
        grammar = self._grammar
        if grammar is None:
            return None
        meaning = interpret(lead, grammar, grammar.language)
        return gather(
            lead,
            second,
            grammar.hesitations,
            heard.loudness,
            self._start_s,
            heard.snr_db,
            is_reading=isinstance(meaning, Reading | Correction),
            is_loud=self._engines is self.__dict__.get("_in_noise"),
        )

    def unheard_words(self, grammar: Vocabulary) -> frozenset[str]:
        """Give the words that neither the pack nor the engine's dictionary can pronounce."""
        return self._lead.unheard_words(grammar)

    def close(self) -> None:
        """Close both; may be called twice."""
        self._filters = ()
        self._lead.close()
        for name in ("_in_quiet", "_in_noise"):
            for engine in self.__dict__.get(name, ()):
                engine.close()

    def _give(self, ready: list[Samples]) -> None:
        for number, samples in enumerate(ready):
            if len(samples):
                start_s = self._given[number]
                self._ears[number].feed(Frame(samples=samples, start_s=start_s))
                self._given[number] += len(samples) / RATE_HZ
