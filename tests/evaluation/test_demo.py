"""The demo recording goes the way its script says, through the real recogniser."""

from pathlib import Path

import pytest
from ruamel.yaml import YAML

from tests.fakes import NotingWatcher
from voiceflow.checks.loader import load_check
from voiceflow.checks.shipped import find_check
from voiceflow.dialogue.events import Heard
from voiceflow.dialogue.state import HoldCause
from voiceflow.journal.store import Journal
from voiceflow.languages.registry import language
from voiceflow.session.assembly import Session, Ways

FOLDER = Path(__file__).parents[2] / "audio_fixtures" / "demo"
SCRIPT = YAML(typ="safe").load(FOLDER / "script.yaml")


def words_of(line: dict[str, object]) -> str:
    say = line["say"]
    pieces = say if isinstance(say, list) else [say]
    return " ".join(piece for piece in pieces if isinstance(piece, str))


def test_the_script_is_about_items_of_the_check() -> None:
    check = load_check(find_check(SCRIPT["check"]))
    items = {item.id for item in check.items}
    assert {line["at"] for line in SCRIPT["lines"]} == items
    assert len(items) >= 30


@pytest.mark.speech
@pytest.mark.slow
def test_the_recording_goes_as_the_script_says(tmp_path: Path) -> None:
    check = load_check(find_check(SCRIPT["check"]))
    pack = language(check.language)
    ways = Ways(recording=FOLDER / "cockpit-preparation.flac", engine="pocketsphinx")
    with Journal.open(tmp_path / "journal.sqlite") as journal:
        result = Session(journal, check, ways, NotingWatcher()).run()
        events = journal.events(result.run_id)
    heard = [event for event in events if isinstance(event, Heard)]
    hesitations = set(pack.hesitations)
    said = [
        [word for word in pack.tokenise(words_of(line)) if word not in hesitations]
        for line in SCRIPT["lines"]
    ]
    found = [
        [word for word in pack.tokenise(event.utterance.text) if word not in hesitations]
        for event in heard
    ]
    # "p s i" and "psi" are two ways to write one unit
    assert ["".join(words) for words in found] == ["".join(words) for words in said]
    assert [event.item_id for event in heard] == [line["at"] for line in SCRIPT["lines"]]
    state = result.state
    assert state.ending is not None
    assert state.ending.kind == SCRIPT["ends"]["ending"]
    assert list(state.ending.open_items) == SCRIPT["ends"]["open"]
    assert [one.item_id for one in state.open_discrepancies] == SCRIPT["ends"]["discrepancies"]
    assert [hold.cause for hold in state.holds] == [HoldCause.STAND_BY]
    left = state.outcome("deicing-boots")
    assert left is not None
    assert left.from_left
