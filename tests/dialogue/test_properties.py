"""What holds in every conversation, however it goes."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule
from typing_extensions import override

from tests.builders import (
    expected,
    heard,
    make_check,
    make_gauge,
    make_item,
    reading,
    wrong,
)
from voiceflow.checks.model import (
    Agreement,
    CheckKind,
    InterruptedPolicy,
    Item,
    Part,
    Reference,
    Wait,
)
from voiceflow.dialogue.actions import Finish, Ignored, Listen, Record, Say, StopSpeaking
from voiceflow.dialogue.brief import Brief
from voiceflow.dialogue.events import (
    DeviceLost,
    DeviceReturned,
    Event,
    InputEnded,
    NoteTaken,
    Resumed,
    SpeechStarted,
    Spoken,
    Started,
    TimePassed,
)
from voiceflow.dialogue.machine import begin, handle, next_deadline_s
from voiceflow.dialogue.state import Phase, State
from voiceflow.grammar.meaning import (
    Ambiguous,
    Command,
    Correction,
    Meaning,
    NoMatch,
    Reading,
    Response,
    ResponseState,
)
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.prompts import (
    Closing,
    ConfirmReading,
    EndingKind,
    FindingReason,
    FindingRecorded,
    PartEnded,
    ReadBack,
    Signed,
)


def agreeing(item: Item, *readings: str) -> Item:
    """Make a gauge that has to agree with others, or their sum, to within 300."""
    assert item.reading is not None
    agreement = Agreement(reference=Reference(readings=readings), within=Decimal(300))
    return replace(item, reading=replace(item.reading, agrees=(agreement,)))


CHECK = make_check(
    make_item(),
    # compared with what is read later, and with what is read before
    agreeing(make_gauge(), "fuel"),
    make_item("lamp", "Warning light", expect=("out",), wait=Wait(within_s=10.0)),
    make_item("align", "Reference", expect=("aligning",), wait=Wait(ready_in_s=25.0)),
    make_gauge("fuel", "Left fuel", critical=True),
    agreeing(make_gauge("volts", "Battery"), "oxygen", "fuel"),
)

ANSWERS = st.one_of(
    st.builds(reading, st.integers(0, 200).map(lambda mark: mark * 10)),
    st.just(expected()),
    st.just(wrong()),
    st.just(Response(phrase="set", state=ResponseState.INSUFFICIENT)),
)
MEANINGS: st.SearchStrategy[Meaning] = st.one_of(
    ANSWERS,
    ANSWERS,
    st.sampled_from(CommandName).map(lambda name: Command(name=name)),
    st.builds(
        lambda this, previous: Correction(this=tuple(this), previous=tuple(previous)),
        st.lists(ANSWERS, max_size=2),
        st.lists(ANSWERS, max_size=2),
    ),
    st.builds(
        lambda one, other: Ambiguous(options=(one, other)),
        ANSWERS,
        st.one_of(ANSWERS, st.just(Command(name=CommandName.AFFIRM))),
    ),
    st.just(NoMatch()),
)
SURE = st.sampled_from([1.0, 1.0, 1.0, 0.5, 0.3, 0.0])


def parts_of(*counts: int, pauses: bool, policy: InterruptedPolicy) -> tuple[Part, ...]:
    """Make parts of so many items each."""
    return tuple(
        Part(
            check_id=f"part-{index}",
            title=f"Part {index}",
            kind=CheckKind.FLOW,
            source=CHECK.source,
            digest="",
            items=count,
            interrupted=policy,
            pauses=pauses,
        )
        for index, count in enumerate(counts)
    )


def doing(state: State) -> Phase:
    """Give what the conversation does, or goes back to after a note."""
    return state.phase if state.noting is None else state.noting.back_to


def standing(state: State) -> tuple[object, ...]:
    """Give what a note must not change."""
    return (
        doing(state),
        state.item_id,
        state.pending,
        state.outcomes,
        state.discrepancies,
        state.queue,
        state.left,
        state.holds,
        state.ending,
        state.sign_off,
        state.heard,
        state.refused,
    )


class Talk(RuleBasedStateMachine):
    """Any events in any order; the rules of the record hold after each."""

    state: State
    events: list[Event]

    @initialize(
        policy=st.sampled_from(InterruptedPolicy),
        pauses=st.sampled_from([None, True, False]),
        signer=st.sampled_from(["", "Ada North"]),
    )
    def begin(self, policy: InterruptedPolicy, pauses: bool | None, signer: str) -> None:
        self.check = replace(CHECK, interrupted=policy)
        if pauses is not None:
            self.check = replace(self.check, parts=parts_of(2, 3, 1, pauses=pauses, policy=policy))
        self.brief = Brief(signer=signer)
        self.state = begin(self.check, brief=self.brief)
        self.events = []
        self.at_s = 0.0
        self.said_values: set[tuple[str, object]] = set()
        self.take(Started(at_s=0.0))

    def take(self, event: Event) -> None:
        before = self.state
        step = handle(before, event)
        self.events.append(event)
        self.state = step.state
        kinds = [type(action) for action in step.actions]
        # records first, then the ear, then the mouth: what is acknowledged is on disk
        order = [Record, StopSpeaking, Listen, Say, Finish, Ignored]
        assert kinds == sorted(kinds, key=order.index)
        already_signed = before.sign_off is not None
        says = [prompt for act in step.actions if isinstance(act, Say) for prompt in act.prompts]
        for prompt in says:
            if isinstance(prompt, ReadBack | ConfirmReading):
                self.said_values.add((str(before.item_id), prompt.taken.value))
        for action in step.actions:
            if isinstance(action, Record) and action.outcome is not None:
                self.check_outcome(before, event, action, says)
            if isinstance(action, Record) and action.discrepancy is not None:
                assert any(isinstance(prompt, FindingRecorded) for prompt in says)
        if before.phase is Phase.FINISHED and not isinstance(event, Resumed):
            assert not any(isinstance(action, Record | Say | Listen) for action in step.actions)
        ending = step.state.ending
        if ending is not None and ending.kind is EndingKind.COMPLETE:
            assert step.state.open_items == ()
            assert step.state.open_discrepancies == ()
        for prompt in says:
            if isinstance(prompt, Closing) and prompt.ending is EndingKind.COMPLETE:
                assert prompt.open_items == ()
                assert prompt.findings == ()
            if isinstance(prompt, Signed) and prompt.by is not None and not already_signed:
                # only a person's affirm signs, and what was signed is what stood
                assert event.kind == "heard"
                assert before.phase is Phase.SIGNING
                assert step.state.sign_off is not None
                assert step.state.sign_off.open_items == step.state.open_items
            if isinstance(prompt, PartEnded) and not prompt.open_items and not prompt.findings:
                done = {outcome.item_id for outcome in step.state.outcomes}
                ended = self.check.part_items(step.state.part_endings[-1].part)
                assert {item.id for item in ended} <= done

    def check_outcome(
        self, before: State, event: Event, action: Record, says: Sequence[object]
    ) -> None:
        """Nothing is recorded that was not said, and every number was said back."""
        outcome = action.outcome
        assert outcome is not None
        # only an utterance records an outcome: never time, never a device
        assert event.kind == "heard"
        pending = before.pending
        meanings: list[object] = [getattr(event, "utterance").meaning]  # noqa: B009
        if pending is not None and hasattr(pending, "answer"):
            meanings.append(pending.answer)
        for meaning in list(meanings):
            if isinstance(meaning, Correction):
                meanings.extend((*meaning.this, *meaning.previous))
        if outcome.value is not None:
            assert any(
                isinstance(meaning, Reading) and meaning.value == outcome.value
                for meaning in meanings
            )
            said_back = any(
                isinstance(prompt, ReadBack) and prompt.taken.value == outcome.value
                for prompt in says
            )
            assert said_back or (
                outcome.confirmed and (outcome.item_id, outcome.value) in self.asked_back()
            )
        elif outcome.phrase is not None:
            assert any(
                isinstance(meaning, Response) and meaning.phrase == outcome.phrase
                for meaning in meanings
            )
        if self.check.item(outcome.item_id).critical:
            assert outcome.confirmed

    def asked_back(self) -> set[tuple[str, object]]:
        values: set[tuple[str, object]] = set()
        state = begin(self.check, brief=self.brief)
        for event in self.events:
            step = handle(state, event)
            for action in step.actions:
                if isinstance(action, Say):
                    values |= {
                        (str(step.state.item_id), prompt.taken.value)
                        for prompt in action.prompts
                        if isinstance(prompt, ConfirmReading)
                    }
            state = step.state
        return values

    @rule(meaning=MEANINGS, confidence=SURE, after_s=st.floats(0.5, 20.0))
    def hear(self, meaning: Meaning, confidence: float, after_s: float) -> None:
        self.at_s += after_s
        item_id = self.state.item_id or "covers"
        self.take(heard(item_id, meaning, self.at_s, confidence=confidence))

    @rule(phrase=st.sampled_from(["as wanted", "affirm", "continue"]))
    def go_on(self, phrase: str) -> None:
        """Mostly sensible answers, so that conversations reach their end."""
        self.at_s += 1.0
        item_id = self.state.item_id
        if item_id is None:
            return
        meaning: Meaning
        if self.state.phase is Phase.NOTING:
            self.note(typed=True)
            return
        if self.state.phase is Phase.HOLDING:
            meaning = Command(name=CommandName.CONTINUE)
        elif self.state.pending is not None or phrase == "affirm":
            meaning = Command(name=CommandName.AFFIRM)
        elif self.check.item(item_id).reading is not None:
            meaning = reading(1500)
        else:
            meaning = expected()
        self.take(heard(item_id, meaning, self.at_s))

    @rule(meaning=ANSWERS)
    def hear_late(self, meaning: Meaning) -> None:
        before = self.state
        others = [item.id for item in self.check.items if item.id != self.state.item_id]
        self.take(heard(others[0], meaning, self.at_s))
        assert self.state.outcomes == before.outcomes

    @rule(typed=st.booleans())
    def note(self, typed: bool) -> None:
        """A note is kept, wanted or late; it answers nothing, and changes nothing else."""
        before = self.state
        item_id = before.item_id or "covers"
        if before.noting is not None:
            item_id = before.noting.item_id
        taken = NoteTaken(
            at_s=self.at_s,
            item_id=item_id,
            digest="" if typed else "ab" * 32,
            length_s=0.0 if typed else 2.5,
            text="the fuel cap was loose" if typed else "",
            engine="typed" if typed else "",
        )
        self.take(taken)
        after = self.state
        is_running = before.phase not in {Phase.NOT_STARTED, Phase.FINISHED}
        assert len(after.notes) == len(before.notes) + is_running
        assert after.noting is None
        assert standing(after) == standing(before)

    @precondition(lambda self: self.state.phase is Phase.NOTING)
    @rule(meaning=MEANINGS)
    def hear_while_noting(self, meaning: Meaning) -> None:
        """Nothing that is said for a note is taken for an answer or a command."""
        before = self.state
        self.take(heard(before.item_id or "covers", meaning, self.at_s))
        assert self.state.noting == before.noting
        assert standing(self.state) == standing(before)

    @rule()
    def speak_up(self) -> None:
        self.take(SpeechStarted(at_s=self.at_s))

    @precondition(lambda self: self.state.saying)
    @rule(completed=st.booleans())
    def spoken(self, completed: bool) -> None:
        self.at_s += 1.0
        self.take(Spoken(at_s=self.at_s, words="", completed=completed))

    @precondition(lambda self: next_deadline_s(self.state) is not None)
    @rule()
    def pass_time(self) -> None:
        due_s = next_deadline_s(self.state)
        assert due_s is not None
        self.at_s = max(self.at_s, due_s)
        self.take(TimePassed(at_s=self.at_s))

    @rule(lost=st.booleans())
    def device(self, lost: bool) -> None:
        self.take((DeviceLost if lost else DeviceReturned)(at_s=self.at_s, device="headset"))

    @rule(resumed=st.booleans())
    def stop_and_resume(self, resumed: bool) -> None:
        before = self.state
        self.take((Resumed if resumed else InputEnded)(at_s=self.at_s))
        if doing(before) is Phase.CLOSING and not resumed:
            # all was answered: the last readback stands
            goes_on = self.state.phase in {Phase.HOLDING, Phase.SIGNING, Phase.ASKING}
            assert self.state.ending is not None or goes_on
            assert self.state.outcomes == before.outcomes
        elif self.check.interrupted is InterruptedPolicy.RESUME:
            assert self.state.outcomes == before.outcomes
            assert self.state.pending == before.pending
            assert self.state.item_id == before.item_id

    @invariant()
    def each_item_has_one_place(self) -> None:
        state = self.state
        if state.phase is Phase.FINISHED:
            assert state.ending is not None
            return
        current = []
        if state.item_id is not None and doing(state) not in {Phase.CLOSING, Phase.SIGNING}:
            current.append(state.item_id)
        answered = [outcome.item_id for outcome in state.outcomes]
        places = [*current, *state.queue, *state.left, *answered]
        given_up = set(state.came_back) - set(places)
        assert sorted([*places, *given_up]) == sorted(item.id for item in self.check.items)

    @invariant()
    def what_disagrees_is_recorded_and_nothing_else(self) -> None:
        readings = {
            outcome.item_id: outcome.value
            for outcome in self.state.outcomes
            if outcome.value is not None
        }
        disagreeing = set()
        for name, others in (("oxygen", ("fuel",)), ("volts", ("oxygen", "fuel"))):
            if {name, *others} <= readings.keys():
                total = sum(readings[other] for other in others)
                if abs(readings[name] - total) > 300:
                    disagreeing.add(name)
        standing = [
            found.item_id
            for found in self.state.open_discrepancies
            if found.reason is FindingReason.DISAGREES
        ]
        assert sorted(standing) == sorted(disagreeing)

    @invariant()
    def a_note_is_waited_for_only_while_noting(self) -> None:
        assert (self.state.noting is not None) == (self.state.phase is Phase.NOTING)

    @override
    def teardown(self) -> None:
        """Replay gives the very state."""
        if not hasattr(self, "events"):
            return
        state = begin(self.check, brief=self.brief)
        for event in self.events:
            state = handle(state, event).state
        assert state == self.state

    @invariant()
    def a_question_is_open_only_while_confirming(self) -> None:
        asks = doing(self.state) in {Phase.CONFIRMING, Phase.SIGNING}
        assert (self.state.pending is not None) == asks


TestTalk = Talk.TestCase
TestTalk.settings = settings(max_examples=200, stateful_step_count=40, deadline=None)
