"""Where the journal is kept when nobody says where."""

import os
from pathlib import Path

from platformdirs import user_data_path

#: The environment variable that names another journal file.
OVERRIDE = "VOICEFLOW_JOURNAL"


def default_journal() -> Path:
    """Give the journal's usual place: VOICEFLOW_JOURNAL, else the user's data folder."""
    named = os.environ.get(OVERRIDE, "")
    if named:
        return Path(named).expanduser()
    return user_data_path("voiceflow", appauthor=False) / "journal.sqlite"
