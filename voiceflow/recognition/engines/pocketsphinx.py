"""PocketSphinx with the US English model of its own wheel: works right after pip.

One decoder hears everything, because it carries what it learns of the microphone
(cepstral mean, noise) from utterance to utterance. Each grammar becomes one search
in it, made when first listened to and kept. Settings and their reasons:

- ``bestpath`` off: its lattice pass ignores the end of the grammar and returned half
  phrases ("closed and"); off, 98.9 instead of 95.1 % of words were right.
- ``compallsen`` on: scores are then measured from the best of the whole acoustic
  model, which is what the confidence compares with (``recognition/rejection.py``).
- No language model, other settings as they come: none made a difference.

Phrases with a word that nothing says how to pronounce are left out of the search: a
challenge that cannot be heard before its answer costs the answer nothing. An item is
refused only if one of its answers, or a command, could not be given at all.

A word hypothesis's score here is its mean loss a frame (``rejection.WordFit``).
"""

import math
import re
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from pathlib import Path
from tempfile import TemporaryDirectory
from time import process_time
from types import MappingProxyType
from typing import Any, Final

import pocketsphinx

from voiceflow.audio.frames import Frame
from voiceflow.errors import EngineError
from voiceflow.grammar.fsg import to_fsg
from voiceflow.grammar.hearable import item_words, lost_readings
from voiceflow.grammar.item_grammar import ItemGrammar
from voiceflow.phraseology.language import Language
from voiceflow.recognition.acoustic_model import (
    AcousticModel,
    gaussians_file,
    read_model,
    weight_steps,
    weights_file,
)
from voiceflow.recognition.noise_adaptation import NoiseTransform
from voiceflow.recognition.recogniser import Vocabulary
from voiceflow.recognition.rejection import WordFit, confidence
from voiceflow.settings import RejectionSettings
from voiceflow.understanding.hypothesis import Hypothesis, WordHypothesis

NAME: Final = "pocketsphinx"
_FRAMES_A_SECOND: Final = 100
# A search takes 1.5 MB on the average of the shipped checks, and 4 ms to make: kept are
# those of the items just before, which "go back", "correction" and withdrawing return to.
_SEARCHES_KEPT: Final = 4
# Short words creep in beside a person's own ("niner" after "five"); the engine's insertion
# penalty of 0.65 lets them. Three people's spliced digits, development recordings, adapted
# means and weights: 156 of 180 right with 0.65, 171 with 0.05 and with 0.005.
_ADAPTED_INSERTION: Final = 0.005
_VARIANT = re.compile(r"\(\d+\)$")
# the phones of the bundled acoustic model: ARPAbet as in the CMU dictionary
_PHONES: Final = frozenset(
    re.findall(
        r"\w+",
        "AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH "
        "UH UW V W Y Z ZH",
    )
)


def can_hear(language: Language) -> bool:
    """Tell whether the bundled model suits a language.

    It does where the language's pack brings pronunciations in the model's phones.
    """
    ways = language.pronunciations.values()
    return bool(ways) and all(_PHONES.issuperset(phones) for way in ways for phones in way)


def model_folder() -> Path:
    """Give the folder of the bundled acoustic model."""
    return Path(pocketsphinx.get_model_path("en-us/en-us"))


def refuse_unheard(language: Language) -> None:
    """Refuse a language that the bundled model does not suit.

    Raises:
        EngineError: If it does not.
    """
    if not can_hear(language):
        what = f"its built-in model does not know the language {language.code!r}"
        raise EngineError(NAME, what, "Use --engine vosk with a model for the language")


@cache
def dictionary() -> Mapping[str, str]:
    """Give the engine's own dictionary: 134 000 entries of US English.

    Returns:
        Entry -> phones parted by spaces; "word(2)" is a further way to say "word".
    """
    path = Path(pocketsphinx.get_model_path("en-us/cmudict-en-us.dict"))
    lines = path.read_text(encoding="utf-8").splitlines()
    # one line, one entry; 0.1 s for all, where a lookup in the text took 5 ms a word
    parted = (line.partition(" ") for line in lines)
    return MappingProxyType({entry: phones for entry, _, phones in parted})


def bundled_pronunciations(word: str) -> tuple[str, ...]:
    """Give the ways to say a word in the engine's own dictionary, phones parted by spaces."""
    entries = dictionary()
    found: list[str] = []
    head = word
    while head in entries:
        found.append(entries[head].strip())
        head = f"{word}({len(found) + 1})"
    return tuple(found)


@cache
def bundled_model() -> AcousticModel:
    """Read the bundled model."""
    return read_model(model_folder())


@cache
def bundled_digest() -> str:
    """Give the SHA-256 of the bundled model's means, hexadecimal."""
    return sha256((model_folder() / "means").read_bytes()).hexdigest()


@dataclass(frozen=True, slots=True, kw_only=True)
class Accustomed:
    """What a decoder brings of one speaker on one microphone.

    Attributes:
        model: The bundled model adapted to the speaker; None: as it comes.
        cepstral_mean: Where the running mean of the cepstra begins, 13 values in the
            engine's own features; None: as the engine has it.
    """

    model: AcousticModel | None = None
    cepstral_mean: tuple[float, ...] | None = None


#: A decoder that knows nobody.
STRANGER: Final = Accustomed()


class PocketSphinxRecogniser:
    """Hears the phrases of one item's grammar at a time."""

    name = NAME

    def __init__(
        self,
        language: Language,
        rejection: RejectionSettings | None = None,
        accustomed: Accustomed = STRANGER,
        *,
        suppress_noise: bool = True,
        noise: NoiseTransform | None = None,
    ) -> None:
        """Load the acoustic model.

        Args:
            language: Its pronunciations come before those of the engine's dictionary.
            rejection: How scores become confidence; as measured if none.
            accustomed: What is known of the speaker.
            suppress_noise: Take the noise off in the features, as the model expects.
            noise: What loud noise does to the model; none: it listens in quiet.

        Raises:
            EngineError: If the bundled model cannot hear the language.
        """
        refuse_unheard(language)
        self._language = language
        self._rejection = rejection or RejectionSettings()
        self._known: set[str] = set(language.pronunciations)
        self._decoder: Any = load_decoder(
            language, accustomed.model, suppress_noise=suppress_noise, noise=noise
        )
        if accustomed.cepstral_mean is not None:
            self._decoder.set_cmn(",".join(f"{one:.3f}" for one in accustomed.cepstral_mean))
        # least recently listened to first
        self._searches: OrderedDict[ItemGrammar, str] = OrderedDict()
        self._made = 0
        self._active: str | None = None
        self._in_utterance = False
        self._start_s = 0.0
        self._end_s = 0.0
        self._decode_s = 0.0

    def listen(self, grammar: ItemGrammar) -> None:
        """Switch to the grammar of an item; an utterance under way is dropped.

        Raises:
            EngineError: If an answer or a command has words without pronunciation in all
                the ways to say it.
        """
        self._end_utterance()
        name = self._searches.get(grammar)
        if name is None:
            name = self._make_search(grammar)
            self._searches[grammar] = name
        self._searches.move_to_end(grammar)
        if name != self._active:
            self._decoder.activate_search(name)
            self._active = name
        while len(self._searches) > _SEARCHES_KEPT:
            self._decoder.remove_search(self._searches.popitem(last=False)[1])

    def feed(self, frame: Frame) -> None:
        """Take one frame of an utterance; the first one begins it."""
        if self._active is None:
            raise EngineError(NAME, "sound came before any grammar", "Call listen first")
        began = process_time()
        if not self._in_utterance:
            self._decoder.start_utt()
            self._in_utterance = True
            self._start_s = frame.start_s
            self._decode_s = 0.0
        self._end_s = frame.end_s
        self._decoder.process_raw(frame.samples.tobytes())
        self._decode_s += process_time() - began

    def hear_silence(self, frame: Frame) -> None:
        """Learn nothing from it."""
        del frame

    def partial(self) -> tuple[str, ...]:
        """Give the words so far."""
        if not self._in_utterance:
            return ()
        hypothesis = self._decoder.hyp()
        return () if hypothesis is None else _words(hypothesis.hypstr)

    def agrees(self) -> bool:
        """Tell that nothing else listens."""
        return True

    def finish(self) -> Hypothesis:
        """End the utterance and give the final hypothesis."""
        if not self._in_utterance:
            return Hypothesis(
                engine=NAME, words=(), confidence=0.0, start_s=self._end_s, end_s=self._end_s
            )
        began = process_time()
        self._end_utterance()
        best = self._decoder.hyp()
        words = () if best is None else _words(best.hypstr)
        timed, fits = self._timed() if words else ([], [])
        self._decode_s += process_time() - began
        return Hypothesis(
            engine=NAME,
            words=words,
            confidence=confidence(fits, self._rejection),
            start_s=timed[0].start_s if timed else self._start_s,
            end_s=timed[-1].end_s if timed else self._end_s,
            timed_words=tuple(timed),
            decode_s=self._decode_s,
        )

    def unheard_words(self, grammar: Vocabulary) -> frozenset[str]:
        """Give the words that neither the pack nor the engine's dictionary can pronounce."""
        return frozenset(
            word
            for word in grammar.vocabulary
            if word not in self._known and not bundled_pronunciations(word)
        )

    def close(self) -> None:
        """Drop the utterance under way and every grammar; may be called twice."""
        self._end_utterance()
        self._searches.clear()

    def _end_utterance(self) -> None:
        if self._in_utterance:
            self._decoder.end_utt()
            self._in_utterance = False

    def _make_search(self, grammar: ItemGrammar) -> str:
        unheard = self.unheard_words(grammar)
        _refuse_if_lost(grammar, unheard)
        for word in sorted(grammar.vocabulary - self._known - unheard):
            # no search is to be brought up to date: the one that needs the word comes next
            for number, phones in enumerate(bundled_pronunciations(word), start=1):
                head = word if number == 1 else f"{word}({number})"
                self._decoder.add_word(head, phones, update=False)
            self._known.add(word)
        fsg = to_fsg(grammar, without=unheard)
        transitions = [
            (source, target, probability) if word is None else (source, target, probability, word)
            for source, target, probability, word in fsg.transitions
        ]
        self._made += 1
        name = f"grammar-{self._made}"
        try:
            compiled = self._decoder.create_fsg(name, fsg.start, fsg.final, transitions)
            self._decoder.add_fsg(name, compiled)
        except (RuntimeError, ValueError) as error:
            what = f"item {grammar.item_id}: it did not take the grammar ({error})"
            raise EngineError(NAME, what, "Please report this with the check file") from error
        return name

    def _timed(self) -> tuple[list[WordHypothesis], list[WordFit]]:
        timed: list[WordHypothesis] = []
        fits: list[WordFit] = []
        for segment in self._decoder.seg():
            if segment.word.startswith(("<", "[", "(", "+")):  # pauses, noises, null arcs
                continue
            frames = segment.end_frame - segment.start_frame + 1
            # scores come back as probabilities; the smallest float stands for none at all
            loss = -math.log(max(segment.ascore, 5e-324)) / frames
            fits.append(WordFit(loss=loss, frames=frames))
            timed.append(
                WordHypothesis(
                    word=_VARIANT.sub("", segment.word),
                    start_s=self._start_s + segment.start_frame / _FRAMES_A_SECOND,
                    end_s=self._start_s + (segment.end_frame + 1) / _FRAMES_A_SECOND,
                    score=loss,
                )
            )
        return timed, fits


def _refuse_if_lost(grammar: ItemGrammar, unheard: frozenset[str]) -> None:
    if not unheard:
        return
    item, language = grammar.item, grammar.language
    words = item_words(item, language)
    lost = [*words.lost_responses(unheard), *words.lost_commands(unheard)]
    if lost_readings(item, language, unheard):
        lost.append("some readings")
    if lost:
        unknown = ", ".join(sorted(unheard))
        what = f"item {item.id}: it knows no pronunciation of {unknown}, and so cannot hear "
        raise EngineError(NAME, what + ", ".join(lost), "Say it in other words in the check file")


def _words(text: str) -> tuple[str, ...]:
    return tuple(_VARIANT.sub("", word) for word in text.split())


def load_decoder(
    language: Language,
    adapted: AcousticModel | None = None,
    *,
    suppress_noise: bool = True,
    noise: NoiseTransform | None = None,
    cepstra_folder: Path | None = None,
) -> Any:
    """Load the bundled model with the words of a pack only.

    Args:
        language: The pack.
        adapted: The bundled model adapted to a speaker; none: as it comes.
        suppress_noise: Take the noise off in the features, as the model expects.
        noise: What loud noise does to the model; none: it listens in quiet.
        cepstra_folder: Where the decoder writes the cepstra of each utterance, for
            alignment; nowhere if none.

    Raises:
        EngineError: If the model does not load.
    """
    # The decoder starts with the pack's words only; others are added as grammars need
    # them. An entry cannot be replaced later, and the pack's are to replace the engine's.
    lines = [
        f"{word if number == 1 else f'{word}({number})'} {' '.join(phones)}"
        for word, ways in sorted(language.pronunciations.items())
        for number, phones in enumerate(ways, start=1)
    ]
    with TemporaryDirectory(prefix="voiceflow-") as name:
        folder = Path(name)
        path = folder / "pack.dict"
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        # alignment compares no scores, and is much quicker without all senones
        more: dict[str, str | bool | float] = {"compallsen": cepstra_folder is None}
        if cepstra_folder is not None:
            more["mfclogdir"] = str(cepstra_folder)
        if adapted is not None:
            more |= _adapted_files(adapted, folder)
        if noise is not None:
            more |= _noisy_files(noise.moved(adapted or bundled_model()), folder)
        if not suppress_noise:
            parameters = (model_folder() / "feat.params").read_text(encoding="ascii")
            more["featparams"] = str(folder / "feat.params")
            plain = parameters.replace("-remove_noise yes", "-remove_noise no")
            (folder / "feat.params").write_text(plain, encoding="ascii")
        try:
            return pocketsphinx.Decoder(
                hmm=str(model_folder()),
                dict=str(path),
                lm=None,
                bestpath=False,
                loglevel="FATAL",
                **more,
            )
        except (RuntimeError, ValueError) as error:
            what = f"its built-in model does not load ({error})"
            raise EngineError(NAME, what, "Reinstall with: pip install pocketsphinx") from error


def _noisy_files(model: AcousticModel, folder: Path) -> dict[str, str | bool | float]:
    """Write moved means and variances; give the settings that make a decoder take them."""
    means, variances = folder / "means", folder / "variances"
    means.write_bytes(gaussians_file(model.means))
    variances.write_bytes(gaussians_file(model.variances))
    return {"mean": str(means), "var": str(variances)}


def _adapted_files(adapted: AcousticModel, folder: Path) -> dict[str, str | bool | float]:
    """Write the model's files into a folder; give the settings that make a decoder take them."""
    means, weights = folder / "means", folder / "sendump"
    means.write_bytes(gaussians_file(adapted.means))
    original = (model_folder() / "sendump").read_bytes()
    weights.write_bytes(weights_file(original, weight_steps(adapted.log_weights)))
    return {"mean": str(means), "sendump": str(weights), "wip": _ADAPTED_INSERTION}
