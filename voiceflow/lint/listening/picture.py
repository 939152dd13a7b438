"""The confusion matrices of a listening test as a picture, a panel an item.

Needs matplotlib, which the extra ``pictures`` brings.
"""

import math
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

from voiceflow.errors import UsageError
from voiceflow.lint.listening.confusions import label
from voiceflow.lint.listening.trial import Trial

SUFFIXES: Final = (".svg", ".png", ".pdf")
#: Right answers are blue, wrong ones vermilion (told apart by people who see no red and
#: green), questions and silence grey; the darker, the more often.
_RIGHT: Final = (0.0, 0.35, 0.65)
_WRONG: Final = (0.80, 0.30, 0.0)
_NOTHING: Final = (0.45, 0.45, 0.45)
_NOT_TAKEN: Final = "(asked again)"
_LABEL_LENGTH: Final = 24
_CELL_INCHES: Final = 0.34


def require() -> None:
    """See that a picture can be drawn.

    Raises:
        UsageError: If matplotlib is not installed.
    """
    try:
        import matplotlib  # noqa: F401 - only to see that it is there
    except ImportError:
        what = "a picture needs matplotlib, which is not installed"
        remedy = "Install it with: pip install 'voiceflow[pictures]', or leave --picture out."
        raise UsageError(what, remedy) from None


def draw(trials: Sequence[Trial], path: Path, *, title: str) -> None:
    """Draw what was said against what was heard, and write it down.

    Args:
        trials: The trials, item by item.
        path: An SVG, PNG or PDF file.
        title: What stands above.

    Raises:
        UsageError: If matplotlib is not installed, the file cannot be written, or it is
            of no such kind.
    """
    require()
    if path.suffix.lower() not in SUFFIXES:
        what = f"no picture of the kind {path.suffix or 'without a suffix'!r} can be written"
        raise UsageError(what, f"Name a file that ends in {', '.join(SUFFIXES)}.")
    import matplotlib as mpl
    from matplotlib.figure import Figure  # without pyplot: no window system is asked for

    panels: dict[str, list[Trial]] = {}
    for trial in trials:
        panels.setdefault(trial.saying.item_id, []).append(trial)
    sizes = {name: _axes_of(group) for name, group in panels.items()}
    columns = min(len(panels), max(1, math.ceil(math.sqrt(len(panels) / 2))))
    rows = math.ceil(len(panels) / columns)
    width = max((len(across) for _, across in sizes.values()), default=1) * _CELL_INCHES + 2.2
    height = max((len(down) for down, _ in sizes.values()), default=1) * _CELL_INCHES + 2.2
    with mpl.rc_context({"svg.hashsalt": "voiceflow", "font.size": 8}):
        figure = Figure(
            figsize=(max(columns * width, 6.0), rows * height + 0.9), layout="constrained"
        )
        figure.suptitle(f"{title}\nrows: said; columns: heard; synthetic speech", fontsize=10)
        for number, (name, group) in enumerate(panels.items(), start=1):
            axes = figure.add_subplot(rows, columns, number)
            _panel(axes, name, group, *sizes[name])
        try:
            figure.savefig(path, metadata={"Date": None} if path.suffix == ".svg" else None)
        except OSError as error:
            what = f"{path} cannot be written: {error.strerror or error}"
            raise UsageError(what, "Name another file.") from error


def _axes_of(group: Sequence[Trial]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Give what was said, and what was heard: the same in the same order, then the rest."""
    down = tuple(dict.fromkeys(label(trial.saying.meaning) for trial in group))
    heard = {_heard(trial) for trial in group}
    others = sorted(heard - set(down) - {_NOT_TAKEN})
    return down, (*down, *others, _NOT_TAKEN)


def _panel(
    axes: Any, name: str, group: Sequence[Trial], down: tuple[str, ...], across: tuple[str, ...]
) -> None:
    counts = Counter((label(trial.saying.meaning), _heard(trial)) for trial in group)
    right = {(label(trial.saying.meaning), _heard(trial)) for trial in group if trial.is_right}
    totals = Counter(label(trial.saying.meaning) for trial in group)
    image = []
    for row, said in enumerate(down):
        cells = []
        for column, heard in enumerate(across):
            count = counts[said, heard]
            share = count / totals[said]
            colour = _NOTHING if heard == _NOT_TAKEN else _WRONG
            if (said, heard) in right:
                colour = _RIGHT
            depth = 0.15 + 0.85 * share if count else 0.0
            cells.append(tuple(1 - depth * (1 - part) for part in colour))
            if count:
                axes.text(
                    column,
                    row,
                    str(count),
                    ha="center",
                    va="center",
                    color="white" if share > 0.45 else "black",
                )
        image.append(cells)
    axes.imshow(image, aspect="equal", interpolation="nearest")
    axes.set_title(f"{name} ({len(group)} sayings)", fontsize=8)
    axes.set_xticks(range(len(across)), [_short(text) for text in across], rotation=90)
    axes.set_yticks(range(len(down)), [_short(text) for text in down])
    axes.set_xticks([place - 0.5 for place in range(len(across) + 1)], minor=True)
    axes.set_yticks([place - 0.5 for place in range(len(down) + 1)], minor=True)
    axes.grid(which="minor", color="0.85", linewidth=0.5)
    axes.tick_params(which="both", length=0)


def _heard(trial: Trial) -> str:
    return _NOT_TAKEN if trial.heard is None else label(trial.heard)


def _short(text: str) -> str:
    return text if len(text) <= _LABEL_LENGTH else f"{text[: _LABEL_LENGTH - 1]}…"
