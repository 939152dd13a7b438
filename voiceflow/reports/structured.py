"""A report as JSON, for programs: every field of ``Report`` under its own name.

Numbers of gauges are text, so that 29.90 stays 29.90; times are seconds of the run and,
where it is known, the clock (ISO 8601).
"""

import json
from typing import Final

from pydantic import TypeAdapter

from voiceflow.reports.content import Report

#: Raised when a field changes its meaning or goes.
FORMAT: Final = 1

_REPORT: TypeAdapter[Report] = TypeAdapter(Report)


def to_json(report: Report) -> str:
    """Give the report as JSON text, indented, with a line end."""
    plain = {"format": FORMAT, **_REPORT.dump_python(report, mode="json")}
    return json.dumps(plain, ensure_ascii=False, allow_nan=False, indent=2) + "\n"
