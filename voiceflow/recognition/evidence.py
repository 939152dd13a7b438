"""What speaks for and against a phrase that two front ends heard, and how far to trust it.

A decoder with a grammar forces any sound into a phrase of it, and in noise it hears one
phrase for another. Nothing gives both away alone, so several measures are weighed
together by a logistic model; its weights are data (``confidence.json``), fitted by
``python -m voiceflow.evaluation.training``, which is where its figures are from.
Plain arithmetic; no engine.
"""

import json
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields
from functools import cache
from importlib.resources import files
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from voiceflow.audio.frames import RATE_HZ
from voiceflow.recognition.noise_suppression import HOP
from voiceflow.understanding.hypothesis import Hypothesis, WordHypothesis

#: Sound this much below the loudest, in decibels, is still speech that words must cover.
_SPEECH_BELOW_DB = 25.0
#: ... and it is speech only if it is this many times as loud as the noise.
_SPEECH_ABOVE_NOISE = 4.0
#: Sounds that are no word of the item are soon taken for hesitations: a number of one or two
#: words beside so much of the time in them is at most so sure, which is not enough to take
#: it unasked.
_HESITANT = 0.1
_FEW_WORDS = 2
_MOST_IF_HESITANT = 0.8
#: A reading that is only as sure as this is asked about, neither taken nor passed over.
_QUESTION = 0.5
#: What a profile asks for in quiet is hardly ever reached in noise, and so wanes, to nothing
#: at so many tens of decibels below 30 dB. Three people's spliced digits, development
#: recordings, pink noise at 20 dB, 40 strings each: of 78 heard right and 9 heard wrong
#: alike, taken without a question if it wanes by 20 dB: 70 and 6, by 15 dB: 51 and 4, by
#: 10 dB: 29 and 2; if it does not wane: 5 and 0.
_OFFSET_UP_TO = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """Measures of one utterance. "Loss" is in thousandths of ``WordFit.loss``.

    Attributes:
        mean_loss: Of the words of the leading front end, mean over their frames.
        worst_loss: Of the worst of its words.
        second_loss: As ``mean_loss``, of the other front end.
        second_worst: As ``worst_loss``, of the other front end.
        disagreement: 1 where the front ends heard different words, hesitations aside,
            else 0.
        brevity: 1 / words, hesitations aside: other talk fits few words easily.
        shortness: Natural log of the mean seconds a word lasts, below 0.3 s; else 0.
        hesitation: Part of the time of all words that goes to hesitations, 0 to 1.
        uncovered: Part of the speech that lies in no word, 0 to 1.
        noise: How far the speech is from 30 dB above the noise, in tens of decibels; 0 above.
        reading: 1 if the words are a number (or hold one, after "correction"), else 0.
        noisy_reading: ``noise`` where ``reading`` is 1, else 0: numbers are much easier
            misheard in noise than phrases.
        loud: 1 if those decoders listened whose model knows noise, else 0: their losses
            are smaller.
        loud_loss: ``mean_loss`` where ``loud`` is 1, else 0.
    """

    mean_loss: float
    worst_loss: float
    second_loss: float
    second_worst: float
    disagreement: float
    brevity: float
    shortness: float
    hesitation: float
    uncovered: float
    noise: float
    reading: float
    noisy_reading: float
    loud: float
    loud_loss: float


MEASURES = tuple(field.name for field in fields(Evidence))


def gather(
    lead: Hypothesis,
    second: Hypothesis,
    hesitations: Iterable[tuple[str, ...]],
    loudness: NDArray[np.float64],
    begin_s: float,
    snr_db: float,
    *,
    is_reading: bool,
    is_loud: bool = False,
) -> Evidence | None:
    """Measure an utterance.

    Args:
        lead: What the leading front end heard, with timed words whose scores are losses.
        second: What the other heard.
        hesitations: Words of the language that mean nothing ("uh").
        loudness: Power over the noise of each hop, as ``WienerFilter.loudness``.
        begin_s: Time of the first sample fed, seconds on the audio clock.
        snr_db: Speech over noise, as ``WienerFilter.snr_db``.
        is_reading: Whether the leading words are or hold a number.
        is_loud: Whether decoders listened whose model knows noise.

    Returns:
        None if the leading front end heard no words that last.
    """
    empty = {word for hesitation in hesitations for word in hesitation}
    said = [word for word in lead.timed_words if word.word not in empty]
    if not said:
        return None
    spoken_s = _seconds(said)
    all_s = _seconds(lead.timed_words)
    other = [word.word for word in second.timed_words if word.word not in empty]
    noise = max(0.0, 30.0 - snr_db) / 10
    mean, worst = _losses(lead.timed_words)
    second_mean, second_worst = _losses(second.timed_words)
    return Evidence(
        mean_loss=mean,
        worst_loss=worst,
        second_loss=second_mean,
        second_worst=second_worst,
        disagreement=float([word.word for word in said] != other),
        brevity=1 / len(said),
        shortness=math.log(min(1.0, max(0.05, spoken_s / len(said)) / 0.3)),
        hesitation=1 - spoken_s / all_s if all_s > 0 else 0.0,
        uncovered=uncovered(
            lead.timed_words,
            loudness,
            begin_s + (np.arange(len(loudness)) - 1) * HOP / RATE_HZ,
        ),
        noise=noise,
        reading=float(is_reading),
        noisy_reading=noise if is_reading else 0.0,
        loud=float(is_loud),
        loud_loss=mean if is_loud else 0.0,
    )


def _seconds(words: Iterable[WordHypothesis]) -> float:
    return sum(word.end_s - word.start_s for word in words)


def _losses(words: Sequence[WordHypothesis]) -> tuple[float, float]:
    """Mean over the time, and worst; what was not heard at all fits as badly as other talk."""
    scored = [(1000 * (word.score or 0.0), word.end_s - word.start_s) for word in words]
    seconds = sum(length for _, length in scored)
    if seconds <= 0:
        return _NOT_HEARD, _NOT_HEARD
    return sum(loss * length for loss, length in scored) / seconds, max(loss for loss, _ in scored)


# about the median of other talk
_NOT_HEARD = 10.0


def uncovered(
    words: Iterable[WordHypothesis], loudness: NDArray[np.float64], times_s: NDArray[np.float64]
) -> float:
    """Give the part of the speech that lies in no word, 0 to 1; 0 if there is no speech.

    Args:
        words: With times.
        loudness: Power over the noise of each piece of the sound, a ratio.
        times_s: The middle of each piece, seconds on the clock of the words; same shape.
    """
    if not len(loudness):
        return 0.0
    least = max(_SPEECH_ABOVE_NOISE, float(np.max(loudness)) * 10 ** (-_SPEECH_BELOW_DB / 10))
    speech = loudness >= least
    inside = np.zeros(len(loudness), dtype=bool)
    for word in words:
        # sounds at the edge of a word reach a little beyond its frames
        inside |= (times_s >= word.start_s - 0.03) & (times_s <= word.end_s + 0.03)
    total = int(np.count_nonzero(speech))
    return int(np.count_nonzero(speech & ~inside)) / total if total else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Model:
    """A logistic model over measures.

    Attributes:
        offset: Constant, in natural log odds.
        weights: Log odds for one unit of each measure.
        reading_offset: Log odds on top where the words are a number: of a speaker's
            profile. Below 0 it makes a question of what would have been taken, and
            never makes the program deaf to what would have been asked about. It is of
            speech in quiet and wanes with noise, to nothing where speech is 10 dB above
            it: there the measures of noise weigh as much already.
    """

    offset: float
    weights: Mapping[str, float]
    reading_offset: float = 0.0

    def log_odds(self, evidence: Evidence) -> float:
        """Give the natural log odds that the words were said, whoever said them."""
        return self.offset + sum(
            weight * float(getattr(evidence, measure)) for measure, weight in self.weights.items()
        )

    def confidence(self, evidence: Evidence | None) -> float:
        """Give 0 to 1: how likely it is that the words were said; 0 without evidence."""
        if evidence is None:
            return 0.0
        odds = self.log_odds(evidence)
        found = _chance(odds)
        if evidence.reading > 0:
            in_quiet = max(0.0, 1.0 - evidence.noise / _OFFSET_UP_TO)
            found = max(_chance(odds + in_quiet * self.reading_offset), min(found, _QUESTION))
        is_short = evidence.reading > 0 and evidence.brevity >= 1 / _FEW_WORDS
        if is_short and evidence.hesitation > _HESITANT:
            return min(found, _MOST_IF_HESITANT)
        return found


def _chance(odds: float) -> float:
    return 1.0 / (1.0 + math.exp(-max(-50.0, min(50.0, odds))))


@cache
def shipped_model() -> Model:
    """Give the model that comes with the program."""
    text = files("voiceflow.recognition").joinpath("confidence.json").read_text(encoding="utf-8")
    found = json.loads(text)
    weights = {measure: float(found["weights"][measure]["value"]) for measure in MEASURES}
    return Model(offset=float(found["offset"]["value"]), weights=MappingProxyType(weights))
