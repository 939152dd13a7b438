"""Discrepancies after their run: named, followed by what people did, carried until cleared."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from tests.journal.conftest import make_found, make_header, make_step
from tests.journal.test_answers import make_sector
from voiceflow.checks.model import RemedyAction
from voiceflow.dialogue.actions import Record
from voiceflow.dialogue.brief import CarriedFinding, FindingState
from voiceflow.dialogue.events import Resumed, Started, TimePassed
from voiceflow.dialogue.state import AgreesAgain
from voiceflow.errors import JournalError
from voiceflow.journal.header import RunHeader
from voiceflow.journal.store import Journal
from voiceflow.phraseology.prompts import FindingReason

TAIL = "X-SKR7"


def ids(journal: Journal, tail: str = TAIL) -> list[str]:
    return [found.finding_id for found in journal.open_findings(tail)]


def test_a_discrepancy_is_carried_with_all_that_the_next_run_says(
    path: Path, header: RunHeader
) -> None:
    with Journal.open(path) as journal:
        journal.begin(header)
        journal.append(header.run_id, Started(at_s=0.0))
        journal.append(header.run_id, TimePassed(at_s=68.0), [Record(discrepancy=make_found())])
        (found,) = journal.open_findings(TAIL)
        assert journal.open_findings("X-SKR9") == ()
    assert found == CarriedFinding(
        finding_id=f"{header.run_id}/crew-oxygen",
        check_id="cockpit-preparation",
        item_id="crew-oxygen",
        challenge="Crew oxygen",
        reason=FindingReason.OUTSIDE_LIMITS,
        phrase=None,
        value=Decimal("1400.0"),
        unit="psi",
        action=RemedyAction.MAINTENANCE,
        say="Call maintenance",
        # six seconds after 09:30:12, when the run began
        found_at="2026-11-25T09:30:18+00:00",
    )
    assert str(found.value) == "1400.0"


def test_of_a_sector_the_item_has_its_own_checks_name(path: Path) -> None:
    header = make_header()
    header = replace(header, check=make_sector())
    with Journal.open(path) as journal:
        journal.begin(header)
        found = make_found("outside.oxygen")
        journal.append(header.run_id, TimePassed(at_s=6.0), [Record(discrepancy=found)])
        (carried,) = journal.open_findings(TAIL)
    assert carried.finding_id == f"{header.run_id}/outside.oxygen"
    assert (carried.check_id, carried.item_id) == ("outside", "oxygen")


def test_what_is_withdrawn_or_only_information_is_not_carried(
    path: Path, header: RunHeader
) -> None:
    caution = make_found("covers", reason=FindingReason.CAUTION)
    told = make_found("covers", action=RemedyAction.INFORMATION)
    with Journal.open(path) as journal:
        journal.begin(header)
        for record in (
            Record(discrepancy=make_found()),
            Record(discrepancy=caution),
            Record(discrepancy=told),
        ):
            journal.append(header.run_id, TimePassed(at_s=6.0), [record])
        assert ids(journal) == [f"{header.run_id}/crew-oxygen"]
        # another item's answer is taken back, then its own
        journal.append(header.run_id, TimePassed(at_s=7.0), [Record(withdrawn_item="covers")])
        assert len(ids(journal)) == 1
        journal.append(header.run_id, TimePassed(at_s=7.0), [Record(withdrawn_item="crew-oxygen")])
        assert ids(journal) == []
        # found anew it is another one, and there may be two at a time
        again = [Record(discrepancy=make_found()), Record(discrepancy=make_found())]
        journal.append(header.run_id, TimePassed(at_s=8.0), again)
        assert ids(journal) == [f"{header.run_id}/crew-oxygen.{n}" for n in (2, 3)]


def test_what_agrees_by_now_is_not_carried(path: Path, header: RunHeader) -> None:
    both = [
        Record(discrepancy=replace(make_found(), reason=FindingReason.DISAGREES, agreement=which))
        for which in (0, 1)
    ]
    with Journal.open(path) as journal:
        journal.begin(header)
        journal.append(header.run_id, TimePassed(at_s=6.0), both)
        agrees = AgreesAgain(item_id="crew-oxygen", agreement=0)
        journal.append(header.run_id, TimePassed(at_s=7.0), [Record(agrees_again=agrees)])
        assert ids(journal) == [f"{header.run_id}/crew-oxygen.2"]


def test_people_defer_and_clear_and_all_of_it_stays(
    path: Path, header_named: Callable[[str], RunHeader]
) -> None:
    with Journal.open(path) as journal:
        for run_id in ("a", "b", "c"):
            journal.begin(header_named(run_id))
            journal.append(run_id, TimePassed(at_s=6.0), [Record(discrepancy=make_found())])
        deferred = make_step("a")
        journal.note_finding(deferred)
        rectified = make_step("b", state=FindingState.RECTIFIED, reference="Work order 7")
        journal.note_finding(rectified)
        accepted = make_step("c", state=FindingState.ACCEPTED, reference="")
        journal.note_finding(accepted)
    with Journal.open_to_read(path) as journal:
        (found,) = journal.open_findings(TAIL)
        assert (found.finding_id, found.state) == ("a/crew-oxygen", FindingState.DEFERRED)
        assert (found.by, found.reference) == ("Bo Lind", "Deferred item 35-1")
        assert journal.finding_steps() == (deferred, rectified, accepted)
        assert journal.finding_steps("b/crew-oxygen") == (rectified,)
        assert journal.finding_steps("nothing") == ()
    with Journal.open(path) as journal:
        # it was not as rectified as it seemed
        opened = make_step("b", state=FindingState.OPEN, reference="")
        journal.note_finding(opened)
        later = journal.open_findings(TAIL)[1]
        assert (later.finding_id, later.state) == ("b/crew-oxygen", FindingState.OPEN)
        assert (later.by, later.reference) == ("", "")
        assert journal.finding_steps("b/crew-oxygen") == (rectified, opened)


def test_only_what_was_found_and_stands_can_be_dealt_with(path: Path, header: RunHeader) -> None:
    with Journal.open(path) as journal:
        journal.begin(header)
        journal.append(header.run_id, TimePassed(at_s=6.0), [Record(discrepancy=make_found())])
        for wrong in ("covers", "crew-oxygen.2"):
            with pytest.raises(JournalError, match="is not in it"):
                journal.note_finding(make_step(header.run_id, wrong))
        with pytest.raises(JournalError, match="is not in it"):
            journal.note_finding(make_step("another run"))
        journal.append(header.run_id, TimePassed(at_s=7.0), [Record(withdrawn_item="crew-oxygen")])
        with pytest.raises(JournalError, match="taken back"):
            journal.note_finding(make_step(header.run_id))
        assert journal.finding_steps() == ()


def test_after_a_resumption_the_clock_is_that_of_the_resumption(
    path: Path, header: RunHeader
) -> None:
    with Journal.open(path) as journal:
        journal.begin(header)
        journal.append(header.run_id, Resumed(at_s=5.0, clock_at="2026-11-25T12:00:00+00:00"))
        journal.append(header.run_id, TimePassed(at_s=6.0), [Record(discrepancy=make_found())])
        journal.append(header.run_id, Resumed(at_s=9.0, clock_at="2026-11-25T15:00:00+00:00"))
        (found,) = journal.open_findings(TAIL)
    assert found.found_at == "2026-11-25T12:00:01+00:00"


def test_a_sound_is_kept_once_under_what_is_in_it(path: Path) -> None:
    with Journal.open(path) as journal:
        # SHA-256 of "abc": FIPS 180-4, example B.1
        digest = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        assert journal.keep_sound(b"abc") == digest
        assert journal.keep_sound(b"abc") == digest
        assert journal.sound(digest) == b"abc"
        with pytest.raises(JournalError, match="no sound"):
            journal.sound("00")
        assert journal._connection.execute("SELECT count(*) FROM sound").fetchone() == (1,)


def test_registrations_are_listed(path: Path, header: RunHeader) -> None:
    with Journal.open(path) as journal:
        assert journal.tails() == ()
        other = replace(header, run_id="b", check=replace(header.check, tail="X-SKR1"))
        for one in (header, other, replace(header, run_id="c")):
            journal.begin(one)
        assert journal.tails() == ("X-SKR1", TAIL)
