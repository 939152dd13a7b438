"""A report as one self-contained page: no script, nothing fetched, prints on A4.

Every time stands in a ``time`` element, resumptions in an element of the class
``resumption`` and the run's name in one of the class ``run-id``, so that two
reports can be compared but for them.
"""

from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from voiceflow.reports import trend_wording, wording
from voiceflow.reports.content import Moment, Report
from voiceflow.reports.trend_plot import HEIGHT, WIDTH, plot
from voiceflow.reports.trends import TailTrends


def render(report: Report) -> str:
    """Give the page.

    Args:
        report: What it says. Every text in it is escaped.
    """
    return _page().get_template("report.html.j2").render(report=report, wording=wording)


def render_log(report: Report) -> str:
    """Give the short page for a technical log: findings first, one sheet of paper.

    A run with more findings than a sheet holds goes on to a second one; nothing is cut.

    Args:
        report: What it says. Every text in it is escaped.
    """
    return _page().get_template("log.html.j2").render(report=report, wording=wording)


def render_trends(trends: TailTrends) -> str:
    """Give the page of how the gauges of a tail went: those that matter first, then the rest.

    Args:
        trends: What it shows. Every text in it is escaped.
    """
    template = _page().get_template("trend.html.j2")
    return template.render(
        trends=trends, wording=trend_wording, plot=plot, width=WIDTH, height=HEIGHT
    )


@cache
def _page() -> Environment:
    page = Environment(
        loader=PackageLoader("voiceflow.reports"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    page.filters |= {"clock": _clock, "day": _day, "duration": _duration}
    return page


def _clock(moment: Moment) -> Markup:
    """Give the time of day, or where no clock is known the time from the start of the run."""
    if moment.clock is None:
        return Markup('<time datetime="PT{}S">{}</time>').format(
            f"{moment.at_s:.3f}", wording.run_time(moment.at_s)
        )
    return Markup('<time datetime="{}">{}</time>').format(
        moment.clock.isoformat(timespec="milliseconds"), f"{moment.clock:%H:%M:%S}"
    )


def _day(moment: Moment) -> Markup:
    """Give day, time of day and offset."""
    if moment.clock is None:
        return _clock(moment)
    return Markup('<time datetime="{}">{}</time>').format(
        moment.clock.isoformat(timespec="milliseconds"), wording.day(moment.clock)
    )


def _duration(length_s: float) -> Markup:
    """Give a measured length of time."""
    return Markup('<time datetime="PT{}S">{}</time>').format(
        f"{length_s:.3f}", wording.seconds(length_s)
    )
