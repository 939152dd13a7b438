"""A run that is cut anywhere and taken up again comes out as if it had not been cut."""

from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from tests.fakes import MemoryJournal
from tests.session.rig import RUN, Rig, header, preparation, rig
from voiceflow.audio.frames import RATE_HZ
from voiceflow.dialogue.events import Heard, ProfileUsed, Resumed, SpeechStarted
from voiceflow.dialogue.state import Discrepancy, Ending, Outcome, State
from voiceflow.journal.replay import replay, verify
from voiceflow.journal.store import Journal
from voiceflow.session.resumption import rebuild

#: Hesitation, repetition, a reading below minimum that is confirmed, an interruption,
#: a correction, an item that is left and comes back.
SCRIPTS = {
    "plain": ["both removed", "one six zero zero", "out", "closed"],
    "eventful": [
        "",
        "fitted",
        "affirm",
        "say again",
        "one one zero zero",
        "affirm",
        "stand by",
        "both removed",
        "continue",
        "out",
        "leave it for later",
        "closed",
    ],
    "corrected": [
        "both removed",
        "one six zero zero",
        "correction one five zero zero",
        "out",
        "go back",
        "out",
        "unable",
        "affirm",
    ],
}


@dataclass(frozen=True)
class Came:
    """How a run came out, but for times."""

    outcomes: tuple[Outcome, ...]
    discrepancies: tuple[Discrepancy, ...]
    ending: Ending | None
    holds: tuple[tuple[str, bool], ...]
    left: tuple[str, ...]


def came(state: State) -> Came:
    return Came(
        outcomes=tuple(replace(one, asked_s=0.0, answered_s=0.0) for one in state.outcomes),
        discrepancies=tuple(replace(one, at_s=0.0) for one in state.discrepancies),
        ending=None if state.ending is None else replace(state.ending, at_s=0.0),
        holds=tuple((hold.item_id, hold.until_s is None) for hold in state.holds),
        left=state.left,
    )


def copy_of(one: Rig, count: int, path: Path | None = None) -> Rig:
    """Give the rig in a journal that holds the first ``count`` events only."""
    journal = MemoryJournal() if path is None else Journal.open(path)
    journal.begin(one.journal.header(RUN))
    for entry in one.journal.entries(RUN)[:count]:
        journal.append(RUN, entry.event, entry.records)
    return replace_journal(one, journal)


def replace_journal(one: Rig, journal: Journal | MemoryJournal) -> Rig:
    return Rig(
        journal=journal,
        script=one.script,
        samples=one.samples,
        check=one.check,
        synthesiser=one.synthesiser,
    )


@pytest.mark.parametrize("name", SCRIPTS)
@pytest.mark.parametrize("pause_s", [2.0, 5.0], ids=["in-a-hurry", "calm"])
def test_cut_after_any_event_it_comes_out_the_same(name: str, pause_s: float) -> None:
    script = SCRIPTS[name]
    whole = rig(None, script, *([pause_s] * len(script)))
    expected = came(whole.run())
    assert expected.outcomes
    texts = [e.utterance.text for e in whole.journal.events(RUN) if isinstance(e, Heard)]
    for count in range(len(whole.journal.events(RUN)) + 1):
        cut = copy_of(whole, count)
        if cut.past().state.ending is not None:
            break
        state = cut.resume()
        assert came(state) == expected, f"cut after event {count}"
        events = cut.journal.events(RUN)
        assert [e.utterance.text for e in events if isinstance(e, Heard)] == texts
        assert replay(whole.journal.header(RUN), events) == state
        times = [event.at_s for event in events]
        assert times == sorted(times)


def test_cut_twice_it_comes_out_the_same() -> None:
    whole = rig(None, SCRIPTS["eventful"])
    expected = came(whole.run())
    count = len(whole.journal.events(RUN))
    for first in range(2, count - 1, 4):
        once = copy_of(whole, first)
        if once.past().state.ending is not None:
            break
        once.resume()
        for second in range(first + 1, len(once.journal.events(RUN)), 5):
            twice = copy_of(once, second)
            if twice.past().state.ending is None:
                assert came(twice.resume()) == expected, f"cut after {first} and {second}"


def test_in_a_journal_on_disk_too(tmp_path: Path) -> None:
    whole = rig(None, SCRIPTS["plain"])
    expected = came(whole.run())
    for count in (1, 6, 9):
        cut = copy_of(whole, count, tmp_path / f"{count}.sqlite")
        assert came(cut.resume()) == expected
        assert isinstance(cut.journal, Journal)
        assert verify(cut.journal, RUN) == ()
        cut.journal.close()


def test_an_utterance_that_had_begun_is_heard_and_not_begun_again() -> None:
    whole = rig(None, SCRIPTS["plain"])
    whole.run()
    events = whole.journal.events(RUN)
    begun = next(n for n, event in enumerate(events) if isinstance(event, SpeechStarted))
    cut = copy_of(whole, begun + 1)
    cut.resume()
    resumed = cut.journal.events(RUN)
    assert isinstance(resumed[begun + 1], Resumed)
    assert sum(isinstance(event, SpeechStarted) for event in resumed) == 4
    heard = next(event for event in resumed if isinstance(event, Heard))
    assert heard == next(event for event in events if isinstance(event, Heard))


def test_the_recogniser_hears_all_of_the_recording_again() -> None:
    # what an engine has learnt of the microphone comes from the sound before
    whole = rig(None, SCRIPTS["plain"])
    whole.run()
    cut = copy_of(whole, len(whole.journal.events(RUN)) - 4)
    cut.resume()
    assert cut.recogniser.fed == whole.recogniser.fed
    assert cut.recogniser.grammars == whole.recogniser.grammars


def test_a_run_that_was_entered_and_no_more_starts() -> None:
    one = rig(None, SCRIPTS["plain"])
    one.journal.begin(header(one.check))
    state = one.resume()
    assert state.ending is not None
    assert not any(isinstance(event, Resumed) for event in one.journal.events(RUN))


def test_another_recording_goes_on_where_the_first_ended() -> None:
    first = rig(None, SCRIPTS["plain"][:2], tail_s=2.0)
    first.run()
    second = replace_journal(rig(None, SCRIPTS["plain"][2:]), first.journal)
    past = second.past()
    assert past.input_ended
    state = second.loop(past).resume_live(past, past.at_s, source="/second.wav")
    assert len(state.outcomes) == 4
    heard = [event for event in second.journal.events(RUN) if isinstance(event, Heard)]
    assert heard[2].at_s > past.at_s >= len(first.samples) / RATE_HZ
    assert heard[2].utterance.speech_start_s == pytest.approx(past.at_s + 6.0, abs=0.021)


def test_a_recording_heard_to_its_end_gives_nothing_twice() -> None:
    one = rig(None, SCRIPTS["plain"][:2], tail_s=2.0)
    one.run()
    again = replace_journal(one, one.journal)
    state = again.resume()
    assert len(state.outcomes) == 2
    assert sum(isinstance(event, Heard) for event in one.journal.events(RUN)) == 2


def heard_texts(one: Rig) -> list[str]:
    return [e.utterance.text for e in one.journal.events(RUN) if isinstance(e, Heard)]


def test_another_recording_that_was_cut_goes_on_where_it_was_cut() -> None:
    first = rig(None, SCRIPTS["plain"])
    first.run()
    count = next(n for n, e in enumerate(first.journal.events(RUN)) if isinstance(e, Heard)) + 1
    killed = copy_of(first, count)
    second = replace_journal(rig(None, SCRIPTS["plain"][1:]), killed.journal)
    past = second.past()
    expected = came(second.loop(past).resume_live(past, past.at_s, source="/second.wav"))
    assert len(expected.outcomes) == 4
    assert heard_texts(second) == SCRIPTS["plain"]
    for cut_at in range(count + 1, len(second.journal.events(RUN))):
        cut = copy_of(second, cut_at)
        past = cut.past()
        if past.state.ending is not None:
            break
        assert past.source == "/second.wav"
        assert came(cut.resume()) == expected, f"cut after event {cut_at}"
        assert heard_texts(cut) == SCRIPTS["plain"]
        times = [event.at_s for event in cut.journal.events(RUN)]
        assert times == sorted(times)


def test_the_first_recording_again_after_another_is_heard_from_its_start() -> None:
    first = rig(None, ["stand by", "continue", "both removed"])
    first.run()
    second = replace_journal(rig(None, ["where are we"]), first.journal)
    past = second.past()
    second.loop(past).resume_live(past, past.at_s, source="/second.wav")
    again = replace_journal(rig(None, ["one six zero zero", "out", "closed"]), first.journal)
    past = again.past()
    assert past.source == "/second.wav"
    state = again.loop(past).resume_live(
        past, past.at_s, source=header(again.check).recording or ""
    )
    assert state.ending is not None
    assert len(state.outcomes) == 4
    assert heard_texts(again)[-3:] == ["one six zero zero", "out", "closed"]
    past = again.past()
    assert past.source == header(again.check).recording
    assert past.heard == 3


def test_a_run_that_only_was_entered_can_begin_on_another_source() -> None:
    one = rig(None, SCRIPTS["plain"])
    one.journal.begin(header(one.check))
    past = one.past()
    state = one.loop(past).resume_live(past, past.at_s, source="/second.wav")
    assert len(state.outcomes) == 4
    assert one.past().source == "/second.wav"
    assert one.past().heard == 4


@pytest.mark.parametrize("source", [None, "/recording.wav"])
def test_what_was_heard_of_the_same_source_is_counted_on(source: str | None) -> None:
    whole = rig(None, SCRIPTS["plain"])
    whole.run()
    events = whole.journal.events(RUN)
    half = [*events[:6], Resumed(at_s=events[5].at_s, source=source), *events[6:]]
    past = rebuild(header(whole.check), half)
    assert past.source == "/recording.wav"
    assert past.source_from_s == 0.0
    assert past.heard == 4


def test_the_clock_time_of_a_resumption_is_recorded() -> None:
    whole = rig(None, SCRIPTS["plain"])
    whole.run()
    cut = copy_of(whole, 6)
    cut.loop(cut.past()).resume_recording(cut.past(), "2026-11-25T10:00:00+00:00")
    (resumed,) = (event for event in cut.journal.events(RUN) if isinstance(event, Resumed))
    assert resumed.clock_at == "2026-11-25T10:00:00+00:00"
    assert resumed.source == "/recording.wav"


def test_the_past_of_nothing_is_the_beginning() -> None:
    past = rebuild(header(preparation()), ())
    assert not past.has_begun
    assert past.source == "/recording.wav"
    assert rebuild(replace(header(preparation()), recording=None), ()).source == "microphone"
    assert past.listening is None
    assert past.at_s == 0


def test_the_profile_that_listened_last_is_known_and_typing_does_not_count() -> None:
    ann, bob = (ProfileUsed(name=name, digest="0") for name in ("ann", "bob"))
    begun = replace(header(preparation()), profile=ann)
    live = Resumed(at_s=1.0, source="microphone", profile=bob)
    typed = Resumed(at_s=2.0, source="typed")
    without = Resumed(at_s=3.0, source="microphone")
    assert rebuild(begun, ()).profile == ann
    assert rebuild(begun, (live, typed)).profile == bob
    assert rebuild(begun, (live, typed, without)).profile is None


def test_a_resumption_records_the_profile_that_listens() -> None:
    ann = ProfileUsed(name="ann", digest="0")
    whole = rig(None, SCRIPTS["plain"])
    whole.run()
    cut = copy_of(whole, 6)
    cut.loop(cut.past(), profile=ann).resume_recording(cut.past())
    (resumed,) = (event for event in cut.journal.events(RUN) if isinstance(event, Resumed))
    assert resumed.profile == ann


def test_a_run_that_only_was_entered_tells_another_profile() -> None:
    ann = ProfileUsed(name="ann", digest="0")
    one = rig(None, SCRIPTS["plain"])
    one.journal.begin(header(one.check))
    past = one.past()
    state = one.loop(past, profile=ann).resume_recording(past)
    assert len(state.outcomes) == 4
    assert one.past().profile == ann
