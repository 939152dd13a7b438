"""Two runs over the same recordings: is one better, or is it chance?

A run is kept as a JSON file, so that one made before a change can be held against one
made after it.
"""

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from voiceflow import __version__
from voiceflow.errors import UsageError
from voiceflow.evaluation.metrics import Result
from voiceflow.evaluation.run import Outcome

_FORMAT: Final = "voiceflow evaluation 1"


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """What is kept of one recording.

    Attributes:
        kind: Response, reading, command, none.
        condition: The noise.
        result: What became of it.
        sha256: Of the recording: another sound of the same name is another recording.
    """

    kind: str
    condition: str
    result: Result
    sha256: str

    @property
    def is_good(self) -> bool:
        """Whether it came out as it should: right; and of other talk, nothing taken."""
        if self.kind == "none":
            return self.result in (Result.ASKED, Result.IGNORED)
        return self.result is Result.RIGHT


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One group of recordings in two runs.

    Attributes:
        group: Which.
        total: Recordings in both runs.
        before: How many came out well in the earlier one.
        after: How many in the later one.
        gained: Well only in the later one.
        lost: Well only in the earlier one.
        chance: How likely it is that chance parts them so far or farther (McNemar's
            exact test), 0 to 1.
    """

    group: str
    total: int
    before: int
    after: int
    gained: int
    lost: int
    chance: float


def keep(outcomes: Sequence[Outcome]) -> dict[str, Kept]:
    """Give what is kept of a run, by recording."""
    return {
        outcome.row.key: Kept(
            kind=outcome.row.kind,
            condition=outcome.row.condition,
            result=outcome.result,
            sha256=outcome.row.sha256,
        )
        for outcome in outcomes
    }


def save(path: Path, outcomes: Sequence[Outcome]) -> None:
    """Write a run down.

    Raises:
        UsageError: If the file cannot be written.
    """
    rows = {
        key: [kept.kind, kept.condition, kept.result.value, kept.sha256]
        for key, kept in keep(outcomes).items()
    }
    engines = sorted({outcome.engine for outcome in outcomes})
    run = {"format": _FORMAT, "version": __version__, "engines": engines, "recordings": rows}
    try:
        path.write_text(json.dumps(run, ensure_ascii=False, indent=0), encoding="utf-8")
    except OSError as error:
        what = f"{path} cannot be written: {error.strerror or error}"
        raise UsageError(what, "Name another file after --save.") from error


def load(path: Path) -> dict[str, Kept]:
    """Read a run that ``save`` wrote.

    Raises:
        UsageError: If it cannot be read, or is no such file.
    """
    try:
        run: Any = json.loads(path.read_text(encoding="utf-8"))
        if run["format"] != _FORMAT:
            raise _no_run(path, "is a saved run of another version")
        return {
            key: Kept(kind=kind, condition=condition, result=Result(result), sha256=sha256)
            for key, (kind, condition, result, sha256) in run["recordings"].items()
        }
    except OSError as error:
        raise _no_run(path, f"cannot be read: {error.strerror or error}") from error
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise _no_run(path, "is not a saved run") from error


def _no_run(path: Path, what: str) -> UsageError:
    return UsageError(f"{path} {what}", "Give a file that voiceflow evaluate --save wrote.")


def compare(before: Mapping[str, Kept], after: Mapping[str, Kept]) -> tuple[Change, ...]:
    """Hold two runs against each other, over the recordings that both have heard.

    Returns:
        A group for answers and for other talk, in each noise, then all answers and all
        other talk; none if the runs share no recording.
    """
    groups: dict[str, list[tuple[bool, bool]]] = {}
    for key, one in after.items():
        other = before.get(key)
        if other is None or other.sha256 != one.sha256:
            continue
        kind = "other talk" if one.kind == "none" else "answers"
        pair = (other.is_good, one.is_good)
        groups.setdefault(f"{kind}, {one.condition}", []).append(pair)
        groups.setdefault(f"{kind}, all", []).append(pair)
    order = sorted(groups, key=lambda group: (group.endswith(", all"), group))
    return tuple(_change(group, groups[group]) for group in order)


def _change(group: str, pairs: Sequence[tuple[bool, bool]]) -> Change:
    gained = sum(after and not before for before, after in pairs)
    lost = sum(before and not after for before, after in pairs)
    return Change(
        group=group,
        total=len(pairs),
        before=sum(before for before, _ in pairs),
        after=sum(after for _, after in pairs),
        gained=gained,
        lost=lost,
        chance=mcnemar(gained, lost),
    )


def mcnemar(gained: int, lost: int) -> float:
    """Give the two-sided exact probability of so uneven a split, or one more uneven.

    Of the recordings that came out differently, each is as likely a gain as a loss if
    the runs are equally good. Whole numbers throughout: nothing is rounded on the way.

    Source:
        Q. McNemar, Psychometrika 12 (1947), with the binomial distribution in place of
        the approximation.
    """
    differing = gained + lost
    ways = sum(math.comb(differing, one) for one in range(min(gained, lost) + 1))
    return float(min(1.0, 2 * ways / 2**differing))
