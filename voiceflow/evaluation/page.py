"""One page of what was measured: tables, and two curves as SVG inside it.

Needs matplotlib, which the extra ``pictures`` brings.
"""

import io
from collections.abc import Mapping, Sequence
from html import escape
from pathlib import Path
from typing import Any, Final

from voiceflow.errors import UsageError
from voiceflow.evaluation.run import Outcome
from voiceflow.evaluation.scoring import calibration_error, reliability, trade_off

_STYLE: Final = """
body { font: 16px/1.5 system-ui, sans-serif; max-width: 64rem; margin: 2rem auto; padding: 0 1rem;
  color: #1a1a1a; background: #fff; }
table { border-collapse: collapse; margin: 1rem 0 2rem; font-size: .9rem; }
caption { text-align: left; font-weight: 600; padding: .3rem 0; }
th, td { border-bottom: 1px solid #ccc; padding: .25rem .6rem; text-align: right; white-space: nowrap; }
th:first-child, td:first-child { text-align: left; }
figure { margin: 1rem 0 2rem; } svg { max-width: 100%; height: auto; }
@media (prefers-color-scheme: dark) { svg { background: #fff; } }
"""
#: Told apart by people who see no red and green, and in grey by their dashes.
_COLOURS: Final = ("#0059a6", "#cc4d00", "#2b8a5e", "#7a4fa3", "#555555", "#b08900")
_DASHES: Final = ("-", "--", "-.", ":", (0, (8, 2)))
#: A part that is not there is drawn at this one: a logarithmic axis has no zero.
_LEAST: Final = 0.001


def require() -> None:
    """See that a page can be drawn.

    Raises:
        UsageError: If matplotlib is not installed.
    """
    try:
        import matplotlib  # noqa: F401 - only to see that it is there
    except ImportError:
        what = "the page needs matplotlib, which is not installed"
        remedy = "Install it with: pip install 'voiceflow[pictures]', or leave --html out."
        raise UsageError(what, remedy) from None


def write(
    path: Path,
    outcomes: Sequence[Outcome],
    *,
    speech: str,
    notes: Sequence[str],
    tables: Mapping[str, Sequence[Sequence[str]]],
) -> None:
    """Write the page.

    Args:
        path: The HTML file.
        outcomes: What may score.
        speech: Whose speech it is: "synthetic speech".
        notes: Sentences above the tables.
        tables: Title to lines of cells; the first line is the head.

    Raises:
        UsageError: If matplotlib is not installed, or the file cannot be written.
    """
    require()
    body = [f"<h1>What was heard of {escape(speech)}</h1>"]
    body += [f"<p>{escape(note)}</p>" for note in notes]
    groups = by_condition(outcomes)
    body.append(_figure(trade_off_svg(groups), "Trade-off by threshold on the confidence"))
    body.append(_figure(reliability_svg(outcomes), "Reliability of the confidence"))
    body += [_table(title, lines) for title, lines in tables.items()]
    page = (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>Voiceflow: evaluation</title><style>{_STYLE}</style></head>\n"
        f"<body>{''.join(body)}</body></html>\n"
    )
    try:
        path.write_text(page, encoding="utf-8")
    except OSError as error:
        what = f"{path} cannot be written: {error.strerror or error}"
        raise UsageError(what, "Name another file after --html.") from error


def by_condition(outcomes: Sequence[Outcome]) -> dict[str, list[Outcome]]:
    """Group by noise and ratio."""
    groups: dict[str, list[Outcome]] = {}
    for outcome in outcomes:
        groups.setdefault(outcome.row.condition, []).append(outcome)
    return groups


def trade_off_svg(groups: Mapping[str, Sequence[Outcome]]) -> str:
    """Draw right answers rejected against other talk accepted, a curve a group."""
    figure, axes = _axes(width=9.5)
    curves = {name: trade_off(outcomes) for name, outcomes in groups.items()}
    drawn = {name: points for name, points in curves.items() if points}
    for index, (name, points) in enumerate(drawn.items()):
        counts = [outcome.row.kind == "none" for outcome in groups[name]]
        label = f"{name} ({counts.count(False)} answers, {counts.count(True)} other)"
        # five dashes and six colours: thirty curves, each unlike every other
        colour = _COLOURS[index % len(_COLOURS)]
        style = {"color": colour, "linestyle": _DASHES[index % len(_DASHES)]}
        accepted = [max(_LEAST, point.accepted) for point in points]
        rejected = [max(_LEAST, point.rejected) for point in points]
        axes.plot(accepted, rejected, drawstyle="steps-post", label=label, **style)
        at = min(points, key=lambda point: abs(point.threshold - 0.6))
        mark = (max(_LEAST, at.accepted), max(_LEAST, at.rejected))
        axes.plot(*mark, "o", color=colour)
    if drawn:
        # beside the axes: no corner is free of every curve
        title = "dot: threshold 0.6"
        figure.legend(loc="outside right upper", fontsize=8, title=title, title_fontsize=8)
    else:
        axes.text(0.03, 0.03, "needs answers and other talk in one noise")
    axes.set(xscale="log", yscale="log", xlim=(_LEAST, 1.1), ylim=(_LEAST, 1.1))
    ticks = [0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1]
    names = ["0.1 or less", *(f"{tick * 100:g}" for tick in ticks[1:])]
    axes.set_xticks(ticks, names, fontsize=8)
    axes.set_yticks(ticks, names, fontsize=8)
    axes.minorticks_off()
    axes.set_xlabel("other talk accepted, %")
    axes.set_ylabel("right answers rejected, %")
    return _svg(figure)


def reliability_svg(outcomes: Sequence[Outcome]) -> str:
    """Draw how often each confidence is deserved, with intervals, and how many there are."""
    figure, axes = _axes()
    bins = reliability(outcomes)
    axes.plot([0, 1], [0, 1], color="#999999", linestyle=":", label="as it should be")
    middle = [one.confidence for one in bins]
    below = [one.right - one.interval.low for one in bins]
    above = [one.interval.high - one.right for one in bins]
    axes.errorbar(
        middle,
        [one.right for one in bins],
        yerr=[[max(0.0, one) for one in below], [max(0.0, one) for one in above]],
        fmt="o-",
        capsize=3,
        color=_COLOURS[0],
        label=f"measured, 95 % interval (mean distance {calibration_error(bins):.3f})",
    )
    for one in bins:
        axes.annotate(
            str(one.total),
            (one.confidence, one.right),
            xytext=(6, -12),
            textcoords="offset points",
            fontsize=8,
        )
    axes.set(xlim=(0, 1.02), ylim=(-0.02, 1.05))
    axes.set_xlabel("confidence (beside each dot: utterances)")
    axes.set_ylabel("part that has the right meaning")
    axes.legend(loc="upper left", fontsize=8)
    return _svg(figure)


def _axes(width: float = 7.0) -> tuple[Any, Any]:
    from matplotlib.figure import Figure  # without pyplot: no window system is asked for

    figure: Any = Figure(figsize=(width, 5.2), layout="constrained")
    axes = figure.add_subplot()
    axes.grid(visible=True, color="#dddddd", linewidth=0.6)
    return figure, axes


def _svg(figure: Any) -> str:
    import matplotlib as mpl

    text = io.StringIO()
    # no date and no random names: the same figures give the same page
    with mpl.rc_context({"svg.hashsalt": "voiceflow", "svg.fonttype": "none"}):
        figure.savefig(text, format="svg", metadata={"Date": None})
    drawing = text.getvalue()
    return drawing[drawing.index("<svg") :]


def _figure(svg: str, title: str) -> str:
    return f"<figure><figcaption><b>{escape(title)}</b></figcaption>{svg}</figure>"


def _table(title: str, lines: Sequence[Sequence[str]]) -> str:
    head = "".join(f'<th scope="col">{escape(cell)}</th>' for cell in lines[0])
    rows = "".join(
        "<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in line) + "</tr>"
        for line in lines[1:]
    )
    return f"<table><caption>{escape(title)}</caption><thead><tr>{head}</tr></thead>{rows}</table>"
