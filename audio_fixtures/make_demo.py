"""Make the demo: one recorded cockpit preparation, and check that it runs as written.

Run it from the checkout, with flite on the machine, after ``make_fixtures.py``::

    python audio_fixtures/make_demo.py

The script says what is answered to what (demo/script.yaml); ``make_sector.py`` tells how it
becomes a recording. If a line is not understood as the script says, making the demo fails
with the place.
"""

import sys

from make_fixtures import HERE
from make_sector import ScriptError, read_script, record

SCRIPT = HERE / "demo" / "script.yaml"
RECORDING = HERE / "demo" / "cockpit-preparation.flac"


def main() -> None:
    record(read_script(SCRIPT), RECORDING)


if __name__ == "__main__":
    try:
        main()
    except ScriptError as error:
        sys.exit(f"make_demo: {error}")
