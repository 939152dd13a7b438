"""The sound check: known phrases in, a profile of the speaker out.

The phrases are aligned to the bundled model by the engine, and the means and weights of
each decoder's model are estimated (``adaptation.py``), from the sound as that decoder
gets it: with the noise taken off by its own filter. Every phrase is held out once, in
three turns: it is heard with the bundled model and with one adapted to the other
phrases. That decides whether the adaptation is kept, decoder by decoder. What both
together hear of the held-out numbers, at a gauge that has them and at gauges that do not,
sets how sure a reading of this voice must be.
"""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, field, replace
from decimal import Decimal
from pathlib import Path
from statistics import fmean, pstdev
from tempfile import TemporaryDirectory
from typing import Any, Final

import numpy as np
from rapidfuzz.distance import Levenshtein

from voiceflow.audio.frames import RATE_HZ, Samples
from voiceflow.audio.wav import RecordingSource
from voiceflow.checks.model import Item, Limit, ReadingSpec
from voiceflow.errors import UsageError
from voiceflow.grammar.item_grammar import ItemGrammar, compile_item
from voiceflow.grammar.meaning import Reading
from voiceflow.numbers.scale import Scale
from voiceflow.phraseology.language import Language
from voiceflow.recognition.acoustic_model import (
    AcousticModel,
    Floats,
    Integers,
    features,
    read_cepstra,
    without_mean,
)
from voiceflow.recognition.adaptation import Aligned, own_means, own_weights, together, transformed
from voiceflow.recognition.engines.pocketsphinx import (
    Accustomed,
    bundled_digest,
    bundled_model,
    bundled_pronunciations,
    load_decoder,
)
from voiceflow.recognition.evidence import shipped_model
from voiceflow.recognition.levels import measure
from voiceflow.recognition.noise_suppression import NoiseSpectrum
from voiceflow.recognition.profile import (
    USUAL_LOG_ODDS,
    Adapted,
    FrontEnd,
    SpeakerProfile,
    Sureness,
)
from voiceflow.recognition.two_front_ends import QUIET_DB, TwoFrontEnds, new_filters
from voiceflow.understanding.interpret import interpret

#: What to read out, in English. Digits: every one four times or more, each before and after
#: others. Then words of answers and commands, for sounds that digits do not have: with
#: digits alone voice en-gb-scotland+m5 of espeak-ng came from 25 of 31 responses and
#: commands down to 20, with these to 27; readings from 29 of 60 to 53, and to 55.
DIGIT_PHRASES: Final = (
    "one four seven zero",
    "eight two five three",
    "six nine one eight",
    "three zero four six",
    "five seven two nine",
    "nine one six two",
    "zero eight three five",
    "four six nine seven",
    "two three eight one",
    "seven five zero four",
    "one nine three zero",
    "six eight five two",
    "four one seven nine",
    "three two zero eight",
)
WORD_PHRASES: Final = (
    "affirm correction",
    "negative say again",
    "stand by continue",
    "closed removed checked",
)
PHRASES: Final = DIGIT_PHRASES + WORD_PHRASES
_TURNS: Final = 3
#: Fewer give too little of each digit, and too little to decide on.
LEAST_PHRASES: Final = 8
#: Fewer right or wrong ones say too little of how sure a reading must be.
LEAST_READINGS: Final = 6
#: A reading is sure from so many standard deviations below the mean of the right ones, or
#: already from so many above the mean of the wrong ones, whichever is lower: about one
#: right one in six is doubted at most. Three people's spliced digits, 300 strings of
#: development recordings, adapted: of 277 heard right 15 %, 9 %, 4 % are asked about and
#: of 11 heard wrong alike by both decoders 3, 4, 5 are taken with 0.67, 1.0, 1.5
#: deviations; with the usual bound for everybody 1 % and 11.
RIGHT_DEVIATIONS: Final = 1.0
WRONG_DEVIATIONS: Final = 1.64  # 95 % of a normal distribution lie below
_ALIGNMENTS: Final = 2
_STEPS_AN_ALIGNMENT: Final = 2
_FINE_ROUNDS: Final = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Phrase:
    """A known phrase in the speaker's voice.

    Attributes:
        words: What was said.
        samples: int16 mono at 16 kHz, with some quiet around it.
        quiet: What was heard just before, while nobody spoke; may be empty, and then
            nothing is known of the noise.
    """

    words: tuple[str, ...]
    samples: Samples
    quiet: Samples = field(default_factory=lambda: np.zeros(0, dtype=np.int16))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Piece:
    """A phrase as one decoder gets it, aligned with the model as it comes."""

    phrase: Phrase
    aligned: Aligned
    cepstra: Floats


def learn(name: str, phrases: Sequence[Phrase], language: Language) -> SpeakerProfile:
    """Learn a speaker from known phrases.

    Args:
        name: What the speaker calls the profile.
        phrases: At least ``LEAST_PHRASES``, each said once.
        language: The pack that the words are of.

    Raises:
        UsageError: If there are too few phrases in which the words can be found.
    """
    learners = [
        _Learner(
            [_filtered(phrase, place) for phrase in phrases], language, suppress_noise=suppress
        )
        for place, suppress in enumerate((True, False))
    ]
    usable = [
        number
        for number in range(len(phrases))
        if all(learner.pieces[number] is not None for learner in learners)
    ]
    if len(usable) < LEAST_PHRASES:
        what = f"the words were found in {len(usable)} of {len(phrases)} phrases only"
        remedy = "Say each phrase once, close to the microphone, in a quiet place."
        raise UsageError(what, remedy)
    fronts = [learner.front_end(usable) for learner in learners]
    used = [phrases[number] for number in usable]
    return SpeakerProfile(
        name=name,
        model_digest=bundled_digest(),
        phrases=len(usable),
        sound_s=round(sum(len(phrase.samples) for phrase in used) / RATE_HZ, 1),
        held_out_words=sum(len(phrase.words) for phrase in used),
        levels=measure([(phrase.samples, phrase.quiet) for phrase in used]),
        sureness=_sureness(phrases, usable, learners, fronts, language),
        suppressed=fronts[0],
        plain=fronts[1],
    )


class _Learner:
    """One of the two decoders: what it gets of the phrases, and models for it."""

    def __init__(
        self, phrases: Sequence[Phrase], language: Language, *, suppress_noise: bool
    ) -> None:
        self._language = language
        self._suppress_noise = suppress_noise
        with aligner(phrases, language, None, suppress_noise=suppress_noise) as align:
            self.pieces = [_aligned(align, phrase) for phrase in phrases]
        self._held_out: dict[int, AcousticModel] = {}

    def front_end(self, usable: Sequence[int]) -> FrontEnd:
        """Decide, and estimate from all phrases that can be used."""
        pieces = {number: self._piece(number) for number in usable}
        before = after = 0
        for turn in range(_TURNS):
            held_out = [pieces[number].phrase for number in usable[turn::_TURNS]]
            others = [pieces[one] for place, one in enumerate(usable) if place % _TURNS != turn]
            model = self._adapted(others)
            before += self._errors(held_out, pieces.values(), None)
            after += self._errors(held_out, pieces.values(), model)
            self._held_out[turn] = model
        cepstra = np.concatenate([piece.cepstra for piece in pieces.values()])
        # the engine leaves out frames without energy, and so must its running mean
        mean = cepstra[cepstra[:, 0] >= 0].mean(axis=0)
        adapted = Adapted.of(self._adapted(list(pieces.values()))) if after <= before else None
        return FrontEnd(
            cepstral_mean=tuple(round(float(value), 3) for value in mean),
            errors_before=before,
            errors_after=after,
            adapted=adapted,
        )

    def accustomed(self, turn: int, front: FrontEnd) -> Accustomed:
        """Give what knows the speaker by other phrases than those held out in a turn."""
        model = None if front.adapted is None else self._held_out[turn]
        return Accustomed(model=model, cepstral_mean=front.cepstral_mean)

    def _piece(self, number: int) -> _Piece:
        piece = self.pieces[number]
        if piece is None:
            msg = f"phrase {number} was not aligned"
            raise ValueError(msg)
        return piece

    def _adapted(self, pieces: Sequence[_Piece]) -> AcousticModel:
        return _adapted(pieces, self._language, suppress_noise=self._suppress_noise)

    def _errors(
        self, held_out: Sequence[Phrase], pieces: Iterable[_Piece], model: AcousticModel | None
    ) -> int:
        phrases = [piece.phrase for piece in pieces]
        return _errors(
            held_out, phrases, self._language, model, suppress_noise=self._suppress_noise
        )


def _filtered(phrase: Phrase, place: int) -> Phrase:
    """Take the noise off as the front end does that has this place."""
    noise = NoiseSpectrum()
    noise.hear(phrase.quiet)
    if noise.power is None:
        return phrase
    probe = new_filters(noise.power, is_quiet=True)[place]
    probe.feed(phrase.samples)
    probe.flush()
    heard = new_filters(noise.power, is_quiet=probe.snr_db >= QUIET_DB)[place]
    samples = np.concatenate((heard.feed(phrase.samples), heard.flush()))
    return replace(phrase, samples=samples)


def sure_enough(right: Sequence[float], wrong: Sequence[float]) -> Sureness | None:
    """Choose how sure a reading of a voice must be.

    Args:
        right: Log odds of held-out readings that were heard right.
        wrong: Of those that were heard wrong.

    Returns:
        None if there are too few of either.
    """
    if min(len(right), len(wrong)) < LEAST_READINGS:
        return None
    right_mean, right_deviation = fmean(right), pstdev(right)
    wrong_mean, wrong_deviation = fmean(wrong), pstdev(wrong)
    by_right = right_mean - RIGHT_DEVIATIONS * right_deviation
    by_wrong = wrong_mean + WRONG_DEVIATIONS * wrong_deviation
    chosen = max(min(by_right, by_wrong), USUAL_LOG_ODDS)
    return Sureness(
        sure_log_odds=round(chosen, 2),
        right_count=len(right),
        right_mean=round(right_mean, 2),
        right_deviation=round(right_deviation, 2),
        wrong_count=len(wrong),
        wrong_mean=round(wrong_mean, 2),
        wrong_deviation=round(wrong_deviation, 2),
    )


def _sureness(
    phrases: Sequence[Phrase],
    usable: Sequence[int],
    learners: Sequence[_Learner],
    fronts: Sequence[FrontEnd],
    language: Language,
) -> Sureness | None:
    """Hear the held-out numbers at a gauge that has them, and at some that do not."""
    right: list[float] = []
    wrong: list[float] = []
    whole = _gauge(language, 0, 9999, 1)
    for turn in range(_TURNS):
        one, other = (
            learner.accustomed(turn, front) for learner, front in zip(learners, fronts, strict=True)
        )
        with closing(TwoFrontEnds(language, shipped_model(), (one, other))) as ears:
            for number in usable[turn::_TURNS]:
                phrase = phrases[number]
                said = whole.meaning(phrase.words)
                if not isinstance(said, Reading):
                    continue
                for grammar in (whole, *_without(said.value, language)):
                    is_right, log_odds = _hear(ears, phrase, grammar, said)
                    if log_odds is not None:
                        (right if is_right else wrong).append(log_odds)
    return sure_enough(right, wrong)


def _without(value: Decimal, language: Language) -> Iterator[ItemGrammar]:
    """Give gauges without a value, that force its last or its first digit to be misheard."""
    yield _gauge(language, 1 - int(value) % 2, 9999 - int(value) % 2, 2)
    yield _gauge(language, 5000, 9999, 1) if value < 5000 else _gauge(language, 0, 4999, 1)


def _gauge(language: Language, lowest: int, highest: int, step: int) -> ItemGrammar:
    scale = Scale(lowest=Decimal(lowest), highest=Decimal(highest), step=Decimal(step))
    reading = ReadingSpec(names=(), unit="", scale=scale, limit=Limit())
    return compile_item(Item(id="gauge", challenge="Gauge", reading=reading), language)


def _hear(
    ears: TwoFrontEnds, phrase: Phrase, grammar: ItemGrammar, said: Reading
) -> tuple[bool, float | None]:
    """Tell whether a reading came out right, and its log odds; none where it is asked anyhow."""
    ears.listen(grammar)
    for frame in RecordingSource(phrase.quiet).frames():
        ears.hear_silence(frame)
    for frame in RecordingSource(phrase.samples).frames():
        ears.feed(frame)
    meaning = interpret(ears.finish(), grammar, grammar.language)
    evidence = ears.last_evidence
    if evidence is None or not isinstance(meaning, Reading):
        return False, None
    return meaning == said, shipped_model().log_odds(evidence)


def _adapted(
    pieces: Sequence[_Piece], language: Language, *, suppress_noise: bool
) -> AcousticModel:
    """Estimate; the alignment gets better as the model does, and is made anew."""
    phrases = [piece.phrase for piece in pieces]
    model, aligned = bundled_model(), together([piece.aligned for piece in pieces])
    for number in range(_ALIGNMENTS):
        if number:
            aligned = _align(phrases, language, model, suppress_noise=suppress_noise)
        for _ in range(_STEPS_AN_ALIGNMENT):
            model = transformed(model, aligned)
    for number in range(_FINE_ROUNDS):
        if number:
            aligned = _align(phrases, language, model, suppress_noise=suppress_noise)
        model = own_means(model, aligned)
    aligned = _align(phrases, language, model, suppress_noise=suppress_noise)
    return own_weights(model, aligned)


def _align(
    phrases: Sequence[Phrase], language: Language, model: AcousticModel, *, suppress_noise: bool
) -> Aligned:
    with aligner(phrases, language, model, suppress_noise=suppress_noise) as align:
        found = [_aligned(align, phrase) for phrase in phrases]
    return together([piece.aligned for piece in found if piece is not None])


class Aligner:
    """Finds the states of a model in the sound of known words.

    Made by ``aligner``.
    """

    def __init__(self, decoder: Any, folder: Path) -> None:
        """Take a decoder that writes its cepstra into a folder."""
        self._decoder = decoder
        self._folder = folder

    def states(self, phrase: Phrase) -> tuple[Floats, Integers] | None:
        """Give the cepstra of a phrase and the senone of each frame, -1 where there is none.

        Returns:
            Shapes (frames, 13) and (frames,); None if the words cannot be found.
        """
        decoder = self._decoder
        try:
            decoder.set_align_text(" ".join(phrase.words))
            self._hear(phrase.samples)
            # the first pass finds the words, the second the states within them
            decoder.set_alignment()
            self._hear(phrase.samples)
            alignment = decoder.get_alignment()
        except (RuntimeError, ValueError):
            return None
        if alignment is None:
            return None
        cepstra = self._written()
        senones = np.full(len(cepstra), -1, dtype=np.int64)
        for word in alignment.words():
            for phone in word:
                for state in phone:
                    senones[state.start : state.start + state.duration] = int(state.name)
        return (cepstra, senones) if (senones >= 0).any() else None

    def cepstra(self, words: Sequence[str], samples: Samples) -> Floats:
        """Give the cepstra of a sound as the decoder makes them, shape (frames, 13).

        Args:
            words: Some words that it may align; the cepstra do not depend on them.
            samples: int16 mono at 16 kHz.
        """
        self._decoder.set_align_text(" ".join(words))
        with suppress(RuntimeError, ValueError):  # words that are not found: cepstra are there
            self._hear(samples)
        return self._written()

    def _written(self) -> Floats:
        logs = sorted(self._folder.iterdir())
        cepstra = read_cepstra(logs[-1].read_bytes())
        for log in logs:
            log.unlink()
        return cepstra

    def _hear(self, samples: Samples) -> None:
        self._decoder.start_utt()
        try:
            self._decoder.process_raw(samples.tobytes(), full_utt=True)
        finally:
            self._decoder.end_utt()


def _aligned(align: Aligner, phrase: Phrase) -> _Piece | None:
    """Give each frame its senone; none if the words cannot be found in the sound."""
    found = align.states(phrase)
    if found is None:
        return None
    cepstra, senones = found
    inside = senones >= 0
    streams = features(without_mean(cepstra))
    aligned = Aligned(features=streams[inside], senones=senones[inside])
    return _Piece(phrase=phrase, aligned=aligned, cepstra=cepstra)


@contextmanager
def aligner(
    phrases: Sequence[Phrase],
    language: Language,
    model: AcousticModel | None,
    *,
    suppress_noise: bool,
) -> Iterator[Aligner]:
    """Load a decoder that aligns, with the words of these phrases.

    Raises:
        UsageError: If the engine knows no pronunciation of a word.
    """
    with TemporaryDirectory(prefix="voiceflow-") as folder:
        decoder = load_decoder(
            language, model, suppress_noise=suppress_noise, cepstra_folder=Path(folder)
        )
        _add_words(decoder, phrases, language)
        yield Aligner(decoder, Path(folder))


def _errors(
    held_out: Sequence[Phrase],
    phrases: Sequence[Phrase],
    language: Language,
    model: AcousticModel | None,
    *,
    suppress_noise: bool,
) -> int:
    """Count the words that are heard wrong where any word may follow any other."""
    decoder = load_decoder(language, model, suppress_noise=suppress_noise)
    _add_words(decoder, phrases, language)
    words = sorted({word for phrase in phrases for word in phrase.words})
    arcs = [(0, 0, 1.0, word) for word in words]
    decoder.add_fsg("any", decoder.create_fsg("any", 0, 0, arcs))
    decoder.activate_search("any")
    errors = 0
    for phrase in held_out:
        decoder.start_utt()
        decoder.process_raw(phrase.samples.tobytes(), full_utt=True)
        decoder.end_utt()
        best = decoder.hyp()
        heard = () if best is None else tuple(best.hypstr.split())
        errors += Levenshtein.distance(heard, phrase.words)
    return errors


def _add_words(decoder: Any, phrases: Sequence[Phrase], language: Language) -> None:
    words = {word for phrase in phrases for word in phrase.words}
    for word in sorted(words - set(language.pronunciations)):
        ways = bundled_pronunciations(word)
        if not ways:
            what = f"the engine knows no pronunciation of {word!r}"
            raise UsageError(what, "Use other words in the sound check.")
        for number, phones in enumerate(ways, start=1):
            decoder.add_word(word if number == 1 else f"{word}({number})", phones, update=False)
