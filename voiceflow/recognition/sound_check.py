"""The sound check: a dozen known phrases in, a profile of the speaker out.

The phrases are aligned to the bundled model by the engine, the means are estimated
(``adaptation.py``), and every fourth phrase is held out: it is heard with and without
the adaptation, which is worth keeping only if it makes no more errors.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Final

import numpy as np
from rapidfuzz.distance import Levenshtein

from voiceflow.audio.frames import Samples
from voiceflow.errors import UsageError
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
    bundled_model,
    bundled_pronunciations,
    load_decoder,
    model_folder,
)
from voiceflow.recognition.profile import Adapted, SpeakerProfile

#: What to read out, in English: every digit four times or more, each before and after others.
PHRASES: Final = (
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
_HELD_OUT_EVERY: Final = 4
#: Fewer give too little of each digit, and too little to decide on.
LEAST_PHRASES: Final = 8
_ALIGNMENTS: Final = 2
_STEPS_AN_ALIGNMENT: Final = 2
_FINE_ROUNDS: Final = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Phrase:
    """A known phrase in the speaker's voice.

    Attributes:
        words: What was said.
        samples: int16 mono at 16 kHz, with some quiet around it.
    """

    words: tuple[str, ...]
    samples: Samples


@cache
def bundled_digest() -> str:
    """Give the SHA-256 of the bundled model's means, hexadecimal."""
    return sha256((model_folder() / "means").read_bytes()).hexdigest()


def learn(name: str, phrases: Sequence[Phrase], language: Language) -> SpeakerProfile:
    """Learn a speaker from known phrases.

    Args:
        name: What the speaker calls the profile.
        phrases: At least ``LEAST_PHRASES``, each said once.
        language: The pack that the words are of.

    Returns:
        A profile; ``helps`` tells whether to keep it.

    Raises:
        UsageError: If there are too few phrases in which the words can be found.
    """
    pairs = _pairs(phrases, language, suppress_noise=True)
    usable = [phrase for phrase, _ in pairs]
    if len(usable) < LEAST_PHRASES:
        what = f"the words were found in {len(usable)} of {len(phrases)} phrases only"
        remedy = "Say each phrase once, close to the microphone, in a quiet place."
        raise UsageError(what, remedy)
    held_out = usable[_HELD_OUT_EVERY - 1 :: _HELD_OUT_EVERY]
    others = [pair for number, pair in enumerate(pairs, 1) if number % _HELD_OUT_EVERY]
    tried = _adapted(others, language, suppress_noise=True)
    plain = _adapted(_pairs(usable, language, suppress_noise=False), language, suppress_noise=False)
    return SpeakerProfile(
        name=name,
        model_digest=bundled_digest(),
        phrases=len(usable),
        frames=sum(len(piece.senones) for _, piece in pairs),
        held_out_words=sum(len(phrase.words) for phrase in held_out),
        errors_before=_errors(held_out, usable, language, None),
        errors_after=_errors(held_out, usable, language, tried),
        suppressed=Adapted.of(_adapted(pairs, language, suppress_noise=True)),
        plain=Adapted.of(plain),
    )


def _pairs(
    phrases: Sequence[Phrase], language: Language, *, suppress_noise: bool
) -> list[tuple[Phrase, Aligned]]:
    """Align with the model as it comes; leave out phrases in which the words are not found."""
    with aligner(phrases, language, None, suppress_noise=suppress_noise) as align:
        found = [(phrase, align(phrase)) for phrase in phrases]
    return [(phrase, piece) for phrase, piece in found if piece is not None]


def _adapted(
    pairs: Sequence[tuple[Phrase, Aligned]], language: Language, *, suppress_noise: bool
) -> AcousticModel:
    """Estimate; the alignment gets better as the model does, and is made anew."""
    phrases = [phrase for phrase, _ in pairs]
    model, aligned = bundled_model(), together([piece for _, piece in pairs])
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
        found = [align(phrase) for phrase in phrases]
    return together([piece for piece in found if piece is not None])


class Aligner:
    """Finds the states of a model in the sound of known words.

    Made by ``aligner``.
    """

    def __init__(self, decoder: Any, folder: Path) -> None:
        """Take a decoder that writes its cepstra into a folder."""
        self._decoder = decoder
        self._folder = folder

    def __call__(self, phrase: Phrase) -> Aligned | None:
        """Give each frame its senone; none if the words cannot be found in the sound."""
        found = self.states(phrase)
        if found is None:
            return None
        cepstra, senones = found
        inside = senones >= 0
        return Aligned(features=features(without_mean(cepstra))[inside], senones=senones[inside])

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
) -> int:
    """Count the words that are heard wrong where any word may follow any other."""
    decoder = load_decoder(language, model)
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
