"""How often a cockpit in which nobody answers is taken for an answer, an hour.

The sound is that of ``cockpit.py``. Every minute listens at another item, so that long
and short grammars both have their chance to be fooled.
"""

import math
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from multiprocessing import get_context
from typing import Final

import numpy as np

from voiceflow.audio.frames import RATE_HZ
from voiceflow.checks.loader import load_check
from voiceflow.checks.shipped import find_check
from voiceflow.dialogue.policy import Decision
from voiceflow.evaluation.cockpit import minute
from voiceflow.evaluation.metrics import Interval
from voiceflow.evaluation.noise import seed_of
from voiceflow.evaluation.run import EngineChoice
from voiceflow.grammar.item_grammar import compile_item
from voiceflow.languages.registry import language
from voiceflow.session.engines import make_recogniser
from voiceflow.session.hearing import hear
from voiceflow.settings import Settings

CHECK: Final = "cockpit-preparation"
_MINUTE_S: Final = 60.0
#: Minutes that one recogniser hears one after the other.
_BATCH: Final = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """One stretch that was taken for speech, and what was made of it.

    Attributes:
        minute: In which minute, from 0.
        item: Which item listened.
        text: The words heard.
        confidence: 0 to 1.
        decision: What the dialogue does.
    """

    minute: int
    item: str
    text: str
    confidence: float
    decision: Decision


@dataclass(frozen=True, slots=True, kw_only=True)
class Unattended:
    """What was heard where nobody spoke.

    Attributes:
        seconds: How long it was listened to.
        taken: Every utterance found.
    """

    seconds: float
    taken: tuple[Taken, ...]

    def count(self, decision: Decision) -> int:
        """How many were decided so."""
        return sum(one.decision is decision for one in self.taken)

    def an_hour(self, decision: Decision) -> float:
        """How many an hour."""
        return self.count(decision) * 3600 / self.seconds

    def interval(self, decision: Decision) -> Interval:
        """The 95 % interval of that rate."""
        bounds = poisson(self.count(decision))
        hours = self.seconds / 3600
        return Interval(low=bounds.low / hours, high=bounds.high / hours)


def poisson(count: int, level: float = 0.95) -> Interval:
    """Give the exact interval of the mean of a Poisson count.

    Args:
        count: How many were seen.
        level: Confidence, between 0 and 1.

    Source:
        F. Garwood, "Fiducial limits for the Poisson distribution", Biometrika 28 (1936).
    """
    tail = (1 - level) / 2

    def at_most(seen: int, mean: float) -> float:
        terms = (
            times * math.log(mean) - mean - math.lgamma(times + 1) for times in range(seen + 1)
        )
        return sum(math.exp(term) for term in terms)

    def solve(excess: Callable[[float], float]) -> float:
        low, high = 1e-12, 10.0 + 4 * count
        for _ in range(200):
            middle = (low + high) / 2
            if excess(middle) > 0:
                low = middle
            else:
                high = middle
        return (low + high) / 2

    upper = solve(lambda mean: at_most(count, mean) - tail)
    lower = solve(lambda mean: tail - (1 - at_most(count - 1, mean))) if count else 0.0
    return Interval(low=lower, high=upper)


def listen(
    hours: float,
    engine: EngineChoice,
    *,
    check: str = CHECK,
    settings: Settings | None = None,
    workers: int = 1,
) -> Unattended:
    """Listen to an unattended cockpit.

    Args:
        hours: How long; at least a second is heard. The first minutes of a longer run
            are those of a shorter one.
        engine: What listens.
        check: The check whose items listen in turn: a shipped one's name, or a path.
        settings: The thresholds; the usual ones if none.
        workers: Processes.
    """
    seconds = max(1.0, hours * 3600)
    whole = math.ceil(seconds / _MINUTE_S)
    lengths = [min(_MINUTE_S, seconds - index * _MINUTE_S) for index in range(whole)]
    parts = [
        (check, first, lengths[first : first + _BATCH], engine, settings)
        for first in range(0, whole, _BATCH)
    ]
    if workers <= 1:
        found = [_listen(*part) for part in parts]
    else:
        # spawned, not forked: the engines' libraries hold threads and open models
        with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
            found = [
                future.result()
                for future in as_completed([pool.submit(_listen, *part) for part in parts])
            ]
    taken = sorted((one for some in found for one in some), key=lambda one: one.minute)
    return Unattended(seconds=seconds, taken=tuple(taken))


def _listen(
    name: str,
    first: int,
    lengths: Sequence[float],
    engine: EngineChoice,
    settings: Settings | None,
) -> tuple[Taken, ...]:
    check = load_check(find_check(name))
    pack = language(check.language)
    recogniser = make_recogniser(pack, engine.name, engine.model)
    taken = []
    try:
        for number, seconds in enumerate(lengths, start=first):
            # a stride that shares no factor with most counts of items mixes the kinds of item
            item = check.items[number * 7 % len(check.items)]
            track = minute(np.random.default_rng(seed_of("cockpit", number)), _MINUTE_S)
            found = hear(
                track[: round(seconds * RATE_HZ)],
                item=item,
                grammar=compile_item(item, pack),
                language=pack,
                recogniser=recogniser,
                settings=settings,
            )
            taken += [
                Taken(
                    minute=number,
                    item=item.id,
                    text=hearing.utterance.text,
                    confidence=hearing.utterance.confidence,
                    decision=hearing.decision,
                )
                for hearing in found
            ]
    finally:
        recogniser.close()
    return tuple(taken)
