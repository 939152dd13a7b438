"""Runs the demo in a process of its own, and tells two reports apart but for times."""

import csv
import io
import os
import re
import sqlite3
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
JOURNAL = Path("voiceflow-demo") / "journal.sqlite"


def environment(folder: Path) -> dict[str, str]:
    """Keep the user's own journal and models out of it."""
    return {
        **os.environ,
        "HOME": str(folder),
        "XDG_DATA_HOME": str(folder / "data"),
        "VOICEFLOW_JOURNAL": str(folder / "other.sqlite"),
    }


def voiceflow(folder: Path, *arguments: str) -> "subprocess.Popen[str]":
    """Start the command line in a folder."""
    return subprocess.Popen(
        [sys.executable, "-m", "voiceflow", *arguments],
        cwd=folder,
        env=environment(folder),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def finish(process: "subprocess.Popen[str]") -> tuple[int, str, str]:
    """Wait for a process: status, standard output, standard error."""
    output, errors = process.communicate(timeout=600)
    return process.returncode, output, errors


def events_so_far(folder: Path) -> int:
    """Count the events that are on disk."""
    path = folder / JOURNAL
    if not path.is_file():
        return 0
    try:
        with sqlite3.connect(f"file:{path}?mode=ro", uri=True, timeout=5) as database:
            (count,) = database.execute("select count(*) from event").fetchone()
            return int(count)
    except sqlite3.OperationalError:
        # the file is there, its tables are not yet
        return 0


def page_but_for_times(folder: Path) -> str:
    """Give the page of the report without anything that tells when."""
    page = (folder / "voiceflow-demo" / "report.html").read_text(encoding="utf-8")
    page = re.sub(r"<p class=\"resumption\">.*?</p>", "", page, flags=re.DOTALL)
    page = re.sub(r"<dd class=\"run-id\">.*?</dd>", "", page)
    return re.sub(r"<time.*?</time>", "", page, flags=re.DOTALL)


def table_but_for_times(folder: Path) -> list[dict[str, str]]:
    """Give the rows of the report without the columns that tell when."""
    text = (folder / "voiceflow-demo" / "report.csv").read_text(encoding="utf-8")
    return [
        {
            column: cell
            for column, cell in row.items()
            if not column.endswith(("_at", "_s")) and column != "run_id"
        }
        for row in csv.DictReader(io.StringIO(text))
    ]
