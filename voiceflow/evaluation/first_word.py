"""A process that starts a check, tells when its first words sound, and ends.

Run by ``speed.py`` and watched from outside. It does what ``voiceflow run`` does up to
the first frame of sound: by then the first words have been made and handed over.
"""

import sys
from importlib import import_module
from pathlib import Path

from voiceflow.checks.loader import load_check
from voiceflow.checks.shipped import find_check
from voiceflow.dialogue.actions import Step
from voiceflow.dialogue.events import Event
from voiceflow.journal.store import Journal
from voiceflow.session.assembly import Session, Ways

#: What is written to standard output when the first words sound.
SOUNDS = b"sounds\n"


class _FirstWord:
    """Looks on until the sound begins to move: the words before it are being heard then."""

    def __init__(self) -> None:
        self._told = False

    def entered(self, run_id: str) -> None:
        """See nothing."""

    def happened(self, seq: int, event: Event, step: Step) -> None:
        """See nothing."""

    def said(self, at_s: float, words: str) -> None:
        """See nothing: the words are only about to be made."""

    def told(self, remark: str) -> None:
        """See nothing."""

    def moved(self, at_s: float) -> None:
        """Tell it, once."""
        del at_s
        if not self._told:
            self._told = True
            sys.stdout.buffer.write(SOUNDS)
            sys.stdout.buffer.flush()


def main(check_name: str, engine: str, model: str, folder: str, *modules: str) -> None:
    """Run a check on next to no sound.

    Args:
        check_name: Shipped name or path.
        engine: As on the command line.
        model: Model folder, or nothing.
        folder: Holds ``silence.wav``; the voice and the journal go there.
        modules: What the front end loads besides, so that its time counts.
    """
    for module in modules:
        import_module(module)
    place = Path(folder)
    check = load_check(find_check(check_name))
    ways = Ways(
        recording=place / "silence.wav",
        engine=engine,
        model=Path(model) if model else None,
        voice=str(place / "voice.wav"),
    )
    with Journal.open(place / "journal.sqlite") as journal:
        Session(journal, check, ways, _FirstWord()).run()


if __name__ == "__main__":
    main(*sys.argv[1:])
