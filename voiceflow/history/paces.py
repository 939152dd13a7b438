"""How long items take: from this crew's own answers, and sensible before there are any.

Half of an item's times are shorter than ``expected_s``, nine of ten shorter than
``late_s``. A talk with others is in the times, but quantiles hardly see it; a pause is
not. The time between two checks of a sector is such a pause and takes its time too, so it is
known by itself.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median, quantiles
from typing import Final, Protocol

from voiceflow.checks.model import Check, Item
from voiceflow.dialogue.brief import Pace
from voiceflow.dialogue.finishing import GUESS_WEIGHS
from voiceflow.dialogue.sector import bare_id

#: Our own guess until this crew has done the item: not measured on people.
_RESPONSE_S: Final = 6.0
_READING_S: Final = 9.0
_CONFIRMED_S: Final = 3.0  # more, where the answer is always confirmed
_TWICE: Final = 2.0  # nine of ten take less than so many times the half
_PAUSE_S: Final = 30.0  # from one check of a sector to the next
_PAUSE_TIMES: Final = 3.0  # nine of ten pauses are shorter than so many times the half
#: So many items of a crew, done once, tell its pace as well as our guess does.
_CREW_WEIGHS: Final = 5
#: Only the newest times count: people get faster.
_NEWEST: Final = 50
#: A crew's own times are used alone once there are so many of an item.
_OWN_ENOUGH: Final = 5


class TimedAnswer(Protocol):
    """What is needed of an answer of a run before."""

    @property
    def check_id(self) -> str:
        """The check's short name; in a sector, of the part."""
        ...

    @property
    def item_id(self) -> str:
        """The item's name in its check file."""
        ...

    @property
    def signer(self) -> str:
        """Who was to sign that run; may be empty."""
        ...

    @property
    def took_s(self) -> float | None:
        """Seconds since the answer before it, holds taken out; None: not known."""
        ...


class PlacedAnswer(TimedAnswer, Protocol):
    """What is needed of an answer to know what lay between two checks."""

    @property
    def run_id(self) -> str:
        """The run it was given in."""
        ...

    @property
    def asked_s(self) -> float:
        """When the challenge was first put, seconds of the run."""
        ...

    @property
    def answered_s(self) -> float:
        """When the answer was taken, seconds of the run."""
        ...


@dataclass(frozen=True, slots=True)
class _Times:
    own: list[float]
    others: list[float]

    def add(self, seconds: float, *, is_own: bool) -> None:
        (self.own if is_own else self.others).append(seconds)

    @property
    def counted(self) -> list[float]:
        some = self.own if len(self.own) >= _OWN_ENOUGH else self.others + self.own
        return some[-_NEWEST:]


def paces(check: Check, answers: Iterable[TimedAnswer], signer: str) -> tuple[Pace, ...]:
    """Give how long each item of a check takes.

    Args:
        check: What will be run.
        answers: Of runs before, oldest first.
        signer: Who runs it; that person's times count alone where there are enough.
    """
    known: dict[tuple[str, str], _Times] = {}
    for answer in answers:
        if answer.took_s is not None:
            times = known.setdefault((answer.check_id, answer.item_id), _Times([], []))
            times.add(answer.took_s, is_own=bool(signer) and answer.signer == signer)
    none = _Times([], [])
    counted = [
        (item, known.get((_check_id(check, item), bare_id(item.id)), none).counted)
        for item in check.items
    ]
    crew = _crew(counted)
    return tuple(_pace(item.id, guess_s(item) * crew, _TWICE, times) for item, times in counted)


def pauses(check: Check, answers: Iterable[PlacedAnswer], signer: str) -> tuple[Pace, ...]:
    """Give how long it takes before a check of a sector is begun on the person's word.

    Args:
        check: What will be run.
        answers: Of runs before, oldest first.
        signer: As for ``paces``.

    Returns:
        One for each such check but the first, under the name of its first item.
    """
    known: dict[str, _Times] = {}
    runs: dict[str, list[PlacedAnswer]] = {}
    for answer in answers:
        runs.setdefault(answer.run_id, []).append(answer)
    for run in runs.values():
        is_own = bool(signer) and run[0].signer == signer
        for check_id, seconds in _between(run):
            known.setdefault(check_id, _Times([], [])).add(seconds, is_own=is_own)
    found = []
    for index, part in enumerate(check.parts):
        if index and part.pauses:
            times = known[part.check_id].counted if part.check_id in known else []
            first = check.part_items(index)[0]
            found.append(_pace(first.id, _PAUSE_S, _PAUSE_TIMES, times))
    return tuple(found)


def _between(run: Sequence[PlacedAnswer]) -> Iterable[tuple[str, float]]:
    """Give each check of a run that came after another, and the time between the two."""
    in_order = sorted(run, key=lambda answer: answer.answered_s)
    begun = {in_order[0].check_id}
    for before, answer in pairwise(in_order):
        if answer.check_id in begun:
            continue
        begun.add(answer.check_id)
        seconds = answer.asked_s - before.answered_s
        # after a stop of the program it is not known; of an item gone back to, neither
        if answer.took_s is not None and seconds >= 0:
            yield answer.check_id, seconds


def _check_id(check: Check, item: Item) -> str:
    return check.parts[check.part_index(item.id)].check_id if check.parts else check.id


def guess_s(item: Item) -> float:
    """Give how long an item takes that nobody here has done."""
    seconds = _READING_S if item.reading is not None else _RESPONSE_S
    if item.critical:
        seconds += _CONFIRMED_S
    if item.wait is not None and item.wait.within_s is not None:
        # it may well take all the time that it has
        seconds = max(seconds, item.wait.within_s)
    return seconds


def _crew(counted: Iterable[tuple[Item, list[float]]]) -> float:
    """Give by how much this crew is slower than we guess: it is so where nobody knows, too.

    Every time counts alike; a few of them move it only so far.
    """
    logs = [
        math.log(max(seconds, 0.1) / guess_s(item)) for item, times in counted for seconds in times
    ]
    if not logs:
        return 1.0
    return math.exp(median(logs) * len(logs) / (len(logs) + _CREW_WEIGHS))


def _pace(item_id: str, guess: float, guess_times: float, times: list[float]) -> Pace:
    half, nine_of_ten = guess, guess * guess_times
    count = len(times)
    if count:
        own_half, own_late = _quantiles(times)
        share = count / (count + GUESS_WEIGHS)
        half = share * own_half + (1 - share) * half
        nine_of_ten = share * own_late + (1 - share) * nine_of_ten
    # to a tenth of a second: it is kept with every run
    half, nine_of_ten = round(half, 1), round(max(half, nine_of_ten), 1)
    return Pace(item_id=item_id, expected_s=half, late_s=nine_of_ten, count=count)


def _quantiles(times: list[float]) -> tuple[float, float]:
    if len(times) == 1:
        return times[0], times[0]
    tenths = quantiles(times, n=10, method="inclusive")
    return tenths[4], tenths[8]
