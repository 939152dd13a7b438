"""How long items take: from this crew's own answers, and sensible before there are any.

Half of an item's times are shorter than ``expected_s``, nine of ten shorter than
``late_s``. A hold or a talk with others is in the times, but quantiles hardly see it.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from statistics import quantiles
from typing import Final, Protocol

from voiceflow.checks.model import Check, Item
from voiceflow.dialogue.brief import Pace
from voiceflow.dialogue.sector import bare_id

#: Our own guess until this crew has done the item: not measured on people.
_RESPONSE_S: Final = 6.0
_READING_S: Final = 9.0
_CONFIRMED_S: Final = 3.0  # more, where the answer is always confirmed
_TWICE: Final = 2.0  # nine of ten take less than so many times the half
#: So many answers of one's own weigh as much as the guess.
_GUESS_WEIGHS: Final = 3
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


@dataclass(frozen=True, slots=True)
class _Times:
    own: list[float]
    others: list[float]


def paces(check: Check, answers: Iterable[TimedAnswer], signer: str) -> tuple[Pace, ...]:
    """Give how long each item of a check takes.

    Args:
        check: What will be run.
        answers: Of runs before, oldest first.
        signer: Who runs it; that person's times count alone where there are enough.
    """
    known: dict[tuple[str, str], _Times] = {}
    for answer in answers:
        if answer.took_s is None:
            continue
        times = known.setdefault((answer.check_id, answer.item_id), _Times([], []))
        is_own = bool(signer) and answer.signer == signer
        (times.own if is_own else times.others).append(answer.took_s)
    found = []
    for item in check.items:
        check_id = check.parts[check.part_index(item.id)].check_id if check.parts else check.id
        times = known.get((check_id, bare_id(item.id)), _Times([], []))
        some = times.own if len(times.own) >= _OWN_ENOUGH else times.others + times.own
        found.append(_pace(item, some[-_NEWEST:]))
    return tuple(found)


def guess_s(item: Item) -> float:
    """Give how long an item takes that nobody here has done."""
    seconds = _READING_S if item.reading is not None else _RESPONSE_S
    if item.critical:
        seconds += _CONFIRMED_S
    if item.wait is not None and item.wait.within_s is not None:
        # it may well take all the time that it has
        seconds = max(seconds, item.wait.within_s)
    return seconds


def _pace(item: Item, times: list[float]) -> Pace:
    guess = guess_s(item)
    half, nine_of_ten = guess, guess * _TWICE
    count = len(times)
    if count:
        own_half, own_late = _quantiles(times)
        share = count / (count + _GUESS_WEIGHS)
        half = share * own_half + (1 - share) * half
        nine_of_ten = share * own_late + (1 - share) * nine_of_ten
    # to a tenth of a second: it is kept with every run
    half, nine_of_ten = round(half, 1), round(max(half, nine_of_ten), 1)
    return Pace(item_id=item.id, expected_s=half, late_s=nine_of_ten, count=count)


def _quantiles(times: list[float]) -> tuple[float, float]:
    if len(times) == 1:
        return times[0], times[0]
    tenths = quantiles(times, n=10, method="inclusive")
    return tenths[4], tenths[8]
