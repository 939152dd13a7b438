"""A sector of three checks, from the first word to the signature: recorded, and typed.

The day before left a discrepancy, which nobody has cleared. The captain reads one altimeter
wrong, is held up, and the slot is endangered; two things that were started in the first check
get ready in later ones. Invented aircraft and limits; that an altimeter more than 75 ft from
the field elevation is questionable is FAA AIM 7-2-3, as quoted (V2).
"""

import json
import subprocess
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from pathlib import Path

import pytest
from ruamel.yaml import YAML

from tests.end_to_end.demo_run import ROOT, environment
from tests.fakes import ManualClock, ScriptedLines
from voiceflow.checks.model import Check
from voiceflow.cli.checks import load_run
from voiceflow.dialogue.actions import Say
from voiceflow.dialogue.machine import handle
from voiceflow.dialogue.state import Phase, State
from voiceflow.journal.header import RunHeader
from voiceflow.journal.replay import verify
from voiceflow.journal.store import Journal
from voiceflow.limits.computed import Conditions
from voiceflow.phraseology.prompts import (
    CarriedHere,
    CarriedOver,
    ConfirmReading,
    EndingKind,
    FindingReason,
    Prompt,
    TimeLimit,
    TimeShort,
    WaitDue,
)
from voiceflow.session.assembly import Session, Ways
from voiceflow.session.briefing import Briefing

pytestmark = [pytest.mark.slow]

PLAN = "northmark-214"
FOLDER = ROOT / "audio_fixtures" / "sector"
SCRIPT = YAML(typ="safe").load((FOLDER / f"{PLAN}.yaml").read_text(encoding="utf-8"))
ALTIMETER = "instruments-and-fuel.right-altimeter"
OXYGEN = "instruments-and-fuel.crew-oxygen"
#: Whoever types takes so long for a line: as long as saying it takes, readback and all.
LINE_S = 7.5


class Quiet:
    """Looks on and says nothing."""

    run_id: str | None = None

    def entered(self, run_id: str) -> None:
        self.run_id = run_id

    def happened(self, seq: int, event: object, step: object) -> None: ...

    def said(self, at_s: float, words: str) -> None: ...

    def told(self, remark: str) -> None: ...

    def moved(self, at_s: float) -> None: ...


@dataclass(frozen=True, kw_only=True)
class Sector:
    """A run as the journal has it.

    Attributes:
        folder: Where its journal is.
        header: Its head.
        state: Its last state.
        said: What the tool said, with the state it was said in.
    """

    folder: Path
    header: RunHeader
    state: State
    said: Sequence[tuple[State, Prompt]]

    def prompts(self, kind: type[Prompt]) -> list[Prompt]:
        return [prompt for _, prompt in self.said if isinstance(prompt, kind)]


def type_run(
    journal: Journal, name: str, lines: Sequence[tuple[float, str]], conditions: Conditions
) -> State:
    """Do a check or a sector at a keyboard, in time that is moved by hand."""
    loaded = load_run(name, None, None, conditions, {})
    clock = ManualClock()
    briefing = Briefing(
        journal=journal, check=loaded.check, plan=loaded.plan, conditions=loaded.conditions
    )
    ways = Ways(lines=ScriptedLines(clock, lines), clock=clock)
    starts_at = datetime.fromisoformat(SCRIPT["starts_at"])
    session = Session(journal, loaded.check, ways, Quiet(), briefing=briefing, starts_at=starts_at)
    return session.run().state


def the_day_before(folder: Path) -> Path:
    """One navigation light was dark, and nobody has seen to it."""
    path = folder / "journal.sqlite"
    check = load_run("power-up-safety", None, None, Conditions(), {}).check
    readings = {"battery-volts": "25.1", "ground-power-volts": "28.2"}
    lines = []
    for item in check.items:
        said = readings.get(item.id) or item.expect[0]
        if item.id == "navigation-lights":
            said = "one dark"
        lines.append((LINE_S, said))
        if item.critical or said == "one dark":
            lines.append((LINE_S, "affirm"))
    with Journal.open(path) as journal:
        state = type_run(journal, "power-up-safety", lines, Conditions())
    assert [found.item_id for found in state.open_discrepancies] == ["navigation-lights"]
    return path


def sector_of(folder: Path) -> Sector:
    """Read the last run back, and what the tool said in it."""
    with Journal.open(folder / "journal.sqlite", create=False) as journal:
        run = journal.runs()[-1]
        assert not verify(journal, run.run_id)
        header = journal.header(run.run_id)
        events = journal.events(run.run_id)
    state = header.begin()
    said = []
    for event in events:
        step = handle(state, event)
        state = step.state
        said += [
            (state, prompt)
            for action in step.actions
            if isinstance(action, Say)
            for prompt in action.prompts
        ]
    return Sector(folder=folder, header=header, state=state, said=said)


@pytest.fixture(scope="module")
def recorded(tmp_path_factory: pytest.TempPathFactory) -> Sector:
    """The sector from the recording, by the command line."""
    folder = tmp_path_factory.mktemp("recorded")
    journal = the_day_before(folder)
    command = [sys.executable, "-m", "voiceflow", "run", PLAN]
    command += ["--audio", str(FOLDER / f"{PLAN}.flac"), "--starts-at", SCRIPT["starts_at"]]
    command += ["--journal", str(journal), "--json"]
    done = subprocess.run(
        command,
        cwd=folder,
        env=environment(folder),
        capture_output=True,
        text=True,
        timeout=600,
        check=False,
    )
    # something is open: the altimeter
    assert done.returncode == 1, done.stderr
    events = [json.loads(line) for line in done.stdout.splitlines()]
    assert events[0]["kind"] == "started"
    return sector_of(folder)


def script_lines(check: Check) -> Iterator[tuple[float, str]]:
    """Give the script's lines as they are typed: what is asked about is affirmed."""
    asked = {item.id for item in check.items if item.critical} | {ALTIMETER}
    bare = {item_id.rpartition(".")[2] for item_id in asked}
    for line in SCRIPT["lines"]:
        plain = {"at", "say", "after_s"} & set(line)
        ((item_id, said),) = [(line.get("at"), line["say"])] if plain else line.items()
        yield line.get("after_s", 0.0) + LINE_S, said
        is_answer = said not in {"stand by", "continue", "affirm"}
        if is_answer and item_id is not None and (item_id in asked or item_id in bare):
            yield LINE_S, "affirm"


def typed_at(folder: Path, conditions: Conditions, *, oxygen_is_low: bool) -> Sector:
    the_day_before(folder)
    check = load_run(PLAN, None, None, conditions, {}).check
    lines = list(script_lines(check))
    if oxygen_is_low:
        # it is as warm as was said
        lines = [
            (after_s, "three four" if said == "minus one niner" else said)
            for after_s, said in lines
        ]
        at = next(place for place, (_, said) in enumerate(lines) if said == "one two zero zero")
        lines.insert(at + 1, (LINE_S, "affirm"))
    with Journal.open(folder / "journal.sqlite") as journal:
        type_run(journal, PLAN, lines, conditions)
    return sector_of(folder)


@pytest.fixture(scope="module")
def typed(tmp_path_factory: pytest.TempPathFactory) -> Sector:
    """The same at the keyboard, at the temperature of the plan."""
    return typed_at(tmp_path_factory.mktemp("typed"), Conditions(), oxygen_is_low=False)


@pytest.fixture(
    scope="module",
    params=["recorded", pytest.param("typed")],
)
def sector(request: pytest.FixtureRequest) -> Sector:
    """The sector, recorded and typed: what follows holds for both."""
    found = request.getfixturevalue(request.param)
    assert isinstance(found, Sector)
    return found


@pytest.mark.speech
def test_it_ends_signed(sector: Sector) -> None:
    state = sector.state
    assert state.phase is Phase.FINISHED
    assert state.ending is not None
    assert state.ending.kind is EndingKind.COMPLETE_EXCEPT
    assert state.open_items == ()
    signed = state.sign_off
    assert signed is not None
    assert (signed.by, signed.kind, signed.findings) == (
        "Ada Norberg",
        EndingKind.COMPLETE_EXCEPT,
        1,
    )
    assert signed.said == "affirm"
    assert [ending.check_id for ending in state.part_endings] == [
        "power-up-safety",
        "instruments-and-fuel",
        "before-start",
    ]


@pytest.mark.speech
def test_one_discrepancy_is_its_own_and_one_was_carried_over(sector: Sector) -> None:
    (found,) = sector.state.open_discrepancies
    assert (found.item_id, found.reason) == (ALTIMETER, FindingReason.DISAGREES)
    # 200 ft at 118 ft: more than 75 ft (AIM 7-2-3, as quoted)
    assert (found.value, found.expected, found.within) == (
        Decimal(200),
        Decimal(118),
        Decimal(75),
    )
    (asked,) = [
        prompt
        for prompt in sector.prompts(ConfirmReading)
        if isinstance(prompt, ConfirmReading) and prompt.apart
    ]
    (apart,) = asked.apart
    assert apart.by.value == Decimal(82)
    (carried,) = sector.header.brief.carried
    assert (carried.check_id, carried.item_id) == ("power-up-safety", "navigation-lights")
    assert len(sector.prompts(CarriedOver)) == 1
    ((state, _),) = [(at, said) for at, said in sector.said if isinstance(said, CarriedHere)]
    assert state.item_id == "power-up-safety.navigation-lights"
    with Journal.open(sector.folder / "journal.sqlite", create=False) as journal:
        open_now = [one.item_id for one in journal.open_findings("X-SKR7")]
    assert open_now == ["navigation-lights", "right-altimeter"]


@pytest.mark.speech
def test_a_wait_of_one_check_comes_due_in_another(sector: Sector) -> None:
    due = [(state, said) for state, said in sector.said if isinstance(said, WaitDue)]
    assert due
    for state, said in due:
        assert said.challenge in {"Ice detector", "Heading reference"}
        assert state.part > 0


@pytest.mark.speech
def test_the_slot_is_warned_of_once(sector: Sector) -> None:
    warned = [one for one in sector.prompts(TimeShort) if isinstance(one, TimeShort)]
    assert [one.limit for one in warned].count(TimeLimit.SLOT) == 1
    assert len({one.limit for one in warned}) == len(warned)
    (slot,) = [one for one in warned if one.limit is TimeLimit.SLOT]
    # CTOT 05:45 and ten minutes (EUROCONTROL, page "ATFM slots")
    assert slot.limit_at == "05:55"
    assert slot.may_wait
    assert sector.state.left == ()


@pytest.mark.speech
def test_the_least_oxygen_at_minus_20(sector: Sector) -> None:
    (computed,) = sector.header.check.computed
    assert "at -20 C" in computed.basis
    reading = sector.header.check.item(OXYGEN).reading
    assert reading is not None
    assert reading.limit.minimum == computed.value < 1200


def test_the_least_oxygen_at_35(tmp_path: Path) -> None:
    """The same reading, 1,200 psi, is enough at -20 C and too little at 35 C."""
    warm = typed_at(tmp_path, Conditions(temperature_c=Decimal(35)), oxygen_is_low=True)
    (computed,) = warm.header.check.computed
    assert "at 35 C" in computed.basis
    assert computed.value > 1200
    found = {one.item_id: one for one in warm.state.open_discrepancies}
    assert found[OXYGEN].reason is FindingReason.OUTSIDE_LIMITS
    assert found[OXYGEN].minimum == computed.value
    assert warm.state.sign_off is not None
    assert warm.state.sign_off.findings == len(found)


@pytest.mark.speech
def test_the_record_can_be_verified_and_read(sector: Sector) -> None:
    """By the commands that a person would give."""
    journal = str(sector.folder / "journal.sqlite")
    for arguments in (
        ("journal", "verify", "--journal", journal),
        ("report", "--journal", journal, "--log", "log.html", "--json", "all.json"),
    ):
        done = subprocess.run(
            [sys.executable, "-m", "voiceflow", *arguments],
            cwd=sector.folder,
            env=environment(sector.folder),
            capture_output=True,
            text=True,
            timeout=120,
            check=False,
        )
        assert done.returncode == 0, done.stderr + done.stdout
    page = (sector.folder / "log.html").read_text(encoding="utf-8")
    for told in ("Findings: 1", "Carried over: 1", "Signed aloud by Ada Norberg", "NMF214"):
        assert told in page
    plain = json.loads((sector.folder / "all.json").read_text(encoding="utf-8"))
    assert [part["ending"] for part in plain["heading"]["parts"]] == [
        "complete",
        "complete-except",
        "complete",
    ]
