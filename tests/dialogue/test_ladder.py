"""The asking ladder: each miss helps more than the one before, and records nothing."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.builders import expected, heard, make_check, make_gauge, make_item, reading, wrong
from tests.dialogue.conversation import Conversation
from voiceflow.checks.model import Check
from voiceflow.dialogue.actions import Record, Say
from voiceflow.dialogue.events import Resumed, SpeechStarted, Spoken, Started
from voiceflow.dialogue.machine import begin, handle
from voiceflow.dialogue.state import PendingAnswer, Phase
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
from voiceflow.languages.registry import known_languages, language
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.prompts import (
    AskAgain,
    Challenge,
    ConfirmReading,
    HoldingAt,
    NotHere,
    OffScale,
    Prompt,
    Rung,
    SayTheSetting,
    WhichOne,
)

UNSURE = 0.2  # between asking again and asking to confirm


def at_gauge() -> Conversation:
    return Conversation(make_check(make_gauge(), make_item())).start()


def at_covers() -> Conversation:
    return Conversation(make_check(make_item(), make_gauge())).start()


def asked(talk: Conversation) -> AskAgain:
    (prompt,) = talk.prompts()
    assert isinstance(prompt, AskAgain)
    return prompt


def rungs_of(talk: Conversation, *meanings: Meaning) -> list[Rung]:
    found = []
    for meaning in meanings:
        talk.say(meaning, confidence=UNSURE)
        found.append(asked(talk).rung)
    return found


def named_in(prompt: Prompt) -> tuple[int, ...]:
    """The readings that a question names."""
    assert isinstance(prompt, AskAgain | WhichOne)
    return tuple(int(one.value) for one in prompt.values)


def test_the_steps_where_nothing_was_made_out() -> None:
    assert rungs_of(at_gauge(), *[NoMatch()] * 6) == [
        Rung.QUESTION,
        Rung.EXPECTED,
        Rung.IN_FULL,
        Rung.WAY_OUT,
        Rung.AGAIN,
        Rung.AGAIN,
    ]


def test_what_was_heard_is_offered_the_last_heard_first() -> None:
    talk = at_gauge()
    steps = rungs_of(talk, reading(1500), NoMatch(), reading(500))
    assert steps == [Rung.QUESTION, Rung.EXPECTED, Rung.ALTERNATIVES]
    assert named_in(asked(talk)) == (500, 1500)
    assert rungs_of(talk, *[NoMatch()] * 3) == [
        Rung.IN_FULL,
        Rung.WAY_OUT,
        Rung.AGAIN,
    ]
    # and again once the way out was told
    assert named_in(asked(talk)) == (500, 1500)
    assert not talk.state.outcomes
    # it takes the person to say one of them
    talk.say(reading(1500))
    assert talk.state.outcomes[0].value == 1500


def test_no_more_is_offered_than_can_be_told_apart() -> None:
    talk = at_gauge()
    rungs_of(talk, NoMatch(), NoMatch())
    talk.say(NoMatch(alternatives=tuple(reading(mark) for mark in (10, 20, 30, 40))))
    assert named_in(asked(talk)) == (10, 20, 30)


def test_other_hypotheses_are_offered_too() -> None:
    talk = at_covers()
    talk.say(NoMatch(alternatives=(wrong(),)))
    talk.say(Correction(this=(expected(),)), confidence=UNSURE)
    talk.say(NoMatch())
    assert asked(talk).phrases == ("removed", "fitted")


def test_two_ways_to_say_that_all_is_well_are_one() -> None:
    talk = at_covers()
    rungs_of(talk, expected("removed"), expected("both removed"), wrong())
    assert asked(talk).phrases == ("fitted", "both removed")


def test_a_reading_at_an_item_without_a_gauge_is_not_offered() -> None:
    assert rungs_of(at_covers(), *[reading(1500)] * 3)[-1] is Rung.IN_FULL


def test_words_that_state_no_setting_are_not_offered() -> None:
    talk = at_covers()
    empty = Response(phrase="set", state=ResponseState.INSUFFICIENT)
    talk.say(Ambiguous(options=(empty, Command(name=CommandName.AFFIRM))))
    assert talk.state.heard == ()


def test_an_answer_that_is_refused_is_not_offered_again() -> None:
    talk = at_gauge()
    talk.say(reading(1500), confidence=0.5)
    talk.say(CommandName.NEGATIVE)
    rungs_of(talk, reading(1500), reading(1600), NoMatch())
    assert named_in(asked(talk)) == (1600,)


def test_a_question_that_another_answer_replaced_may_have_been_right() -> None:
    talk = at_gauge()
    talk.say(reading(1500), confidence=0.5)
    talk.say(reading(1600), confidence=0.5)
    talk.say(CommandName.NEGATIVE)
    rungs_of(talk, NoMatch(), NoMatch(), NoMatch())
    assert named_in(asked(talk)) == (1500,)


def test_the_same_wrong_reading_is_asked_about_in_other_words() -> None:
    talk = at_gauge()
    attempts = []
    challenges = []
    for _ in range(3):
        talk.say(reading(1500), confidence=0.5)
        (question,) = talk.prompts()
        assert isinstance(question, ConfirmReading)
        attempts.append(question.attempt)
        talk.say(CommandName.NEGATIVE)
        (challenge,) = talk.prompts()
        assert isinstance(challenge, Challenge)
        challenges.append(challenge.digit_by_digit)
    assert attempts == [0, 1, 2]
    # a second wrong reading: digits are told apart better than numbers
    assert challenges == [False, True, True]


def test_something_understood_begins_the_ladder_anew() -> None:
    talk = at_gauge()
    rungs_of(talk, NoMatch(), NoMatch())
    talk.say(reading(1500), confidence=0.5)
    talk.say(CommandName.NEGATIVE)
    assert rungs_of(talk, NoMatch()) == [Rung.QUESTION]


def test_the_next_item_begins_at_the_foot() -> None:
    talk = at_gauge()
    rungs_of(talk, reading(1500), NoMatch(), NoMatch())
    talk.say(reading(1600))
    assert talk.state.heard == ()
    assert rungs_of(talk, NoMatch()) == [Rung.QUESTION]


def test_the_keyboard_is_offered_only_where_it_is_heard() -> None:
    talk = at_gauge()
    assert rungs_of(talk, *[NoMatch()] * 4)[-1] is Rung.WAY_OUT
    assert not asked(talk).keyboard
    talk = Conversation(make_check(make_gauge(), make_item()))
    talk.event(Started(at_s=0.0, keyboard=True))
    assert rungs_of(talk, *[NoMatch()] * 4)[-1] is Rung.WAY_OUT
    assert asked(talk).keyboard
    talk.event(Resumed(at_s=talk.at_s))
    rungs_of(talk, NoMatch())
    assert not asked(talk).keyboard


def test_two_meanings_are_asked_about_then_the_ladder_goes_on() -> None:
    talk = at_gauge()
    both = Ambiguous(options=(reading(1500), reading(500)))
    said: list[Prompt] = []
    for _ in range(5):
        talk.say(both)
        said.extend(talk.prompts())
    assert [named_in(one) for one in said[:3]] == [(1500, 500)] * 3
    assert [one.attempt for one in said if isinstance(one, WhichOne)] == [0, 1]
    assert [one.rung for one in said if isinstance(one, AskAgain)] == [
        Rung.ALTERNATIVES,
        Rung.IN_FULL,
        Rung.WAY_OUT,
    ]


def test_a_correction_with_two_answers_goes_up_the_ladder_too() -> None:
    talk = at_gauge()
    talk.say(reading(900))
    both = Correction(this=(reading(1500), reading(500)))
    talk.say(both)
    (first,) = talk.prompts()
    talk.say(both)
    (second,) = talk.prompts()
    assert isinstance(first, WhichOne)
    assert isinstance(second, WhichOne)
    assert named_in(first) == named_in(second) == (1500, 500)
    assert (first.attempt, second.attempt) == (0, 1)


def test_set_is_told_once_then_more_help() -> None:
    talk = at_covers()
    empty = Response(phrase="set", state=ResponseState.INSUFFICIENT)
    talk.say(empty)
    assert isinstance(talk.prompts()[0], SayTheSetting)
    talk.say(empty)
    # what is expected was told with it
    assert asked(talk).rung is Rung.IN_FULL


def test_what_answers_nothing_is_not_remarked_twice_alike() -> None:
    talk = at_covers()
    talk.say(CommandName.ROGER)
    assert isinstance(talk.prompts()[0], NotHere)
    talk.say(CommandName.ROGER)
    assert asked(talk).rung is Rung.EXPECTED
    rungs_of(talk, NoMatch())
    talk.say(CommandName.CONTINUE)
    talk.say(CommandName.CONTINUE)
    assert asked(talk).rung is Rung.WAY_OUT


def test_what_does_not_answer_a_question_puts_it_in_other_words() -> None:
    talk = at_gauge()
    talk.say(reading(900))
    talk.say(CommandName.ROGER)
    talk.say(CommandName.ROGER)
    (question,) = talk.prompts()
    assert isinstance(question, ConfirmReading)
    assert question.attempt == 1


def test_a_number_off_the_gauge_is_told_its_marks() -> None:
    talk = at_gauge()
    talk.say(NoMatch(off_scale=reading(9000).value))
    (beyond,) = talk.prompts()
    assert isinstance(beyond, OffScale)
    assert beyond.lowest.value == 0
    assert beyond.highest.value == 2000
    assert beyond.step is None
    talk.say(NoMatch(off_scale=reading(1655).value))
    (between,) = talk.prompts()
    assert isinstance(between, OffScale)
    assert between.step is not None
    assert between.step.value == 10
    talk.say(NoMatch(off_scale=reading(1657).value))
    assert asked(talk).rung is Rung.QUESTION
    assert talk.state.outcomes == ()


def test_off_the_gauge_means_nothing_without_one() -> None:
    talk = at_covers()
    talk.say(NoMatch(off_scale=reading(9000).value))
    assert asked(talk).rung is Rung.QUESTION


def test_an_unsure_continue_is_answered_not_followed() -> None:
    talk = at_covers()
    talk.say(CommandName.STAND_BY)
    for attempt in (1, 2):
        talk.say(CommandName.CONTINUE, confidence=0.5)
        assert talk.prompts() == (HoldingAt(challenge="Pitot covers", attempt=attempt),)
        assert talk.state.phase is Phase.HOLDING
    talk.say(CommandName.CONTINUE)
    assert talk.state.phase is Phase.ASKING


@pytest.mark.parametrize("engine", ["pocketsphinx", "typed"])
@pytest.mark.parametrize("meaning", [expected(), wrong()])
def test_the_tools_own_voice_does_not_answer_its_question(engine: str, meaning: Response) -> None:
    """What is heard over a question that names it may be that question: asked, not taken."""
    talk = at_covers()
    rungs_of(talk, NoMatch(), NoMatch())
    prompt = asked(talk)
    assert meaning.phrase in prompt.choices
    event = heard("covers", meaning, 9.0)
    event = replace(event, utterance=replace(event.utterance, engine=engine))
    state = handle(replace(talk.state, cut_short=(prompt,)), event).state
    is_taken = bool(state.outcomes)
    assert is_taken == (engine == "typed" and meaning == expected())


@pytest.mark.parametrize(
    ("prompt", "meaning", "doubted"),
    [
        (WhichOne(phrases=("removed", "fitted")), expected(), True),
        (WhichOne(phrases=("fitted",)), expected(), False),
        (SayTheSetting(challenge="", said="set", choices=("removed",)), expected(), True),
        (Challenge(challenge="Pitot covers"), expected(), False),
    ],
)
def test_only_the_answer_that_was_named_is_doubted(
    prompt: Prompt, meaning: Response, doubted: bool
) -> None:
    event = heard("covers", meaning, 9.0)
    event = replace(event, utterance=replace(event.utterance, engine="pocketsphinx"))
    state = replace(at_covers().state, cut_short=(prompt,))
    assert isinstance(handle(state, event).state.pending, PendingAnswer) == doubted


@pytest.mark.parametrize(("value", "doubted"), [(1500, True), (1600, False)])
def test_only_the_reading_that_was_named_is_doubted(value: int, doubted: bool) -> None:
    talk = at_gauge()
    rungs_of(talk, reading(1500), NoMatch(), NoMatch())
    prompt = asked(talk)
    assert named_in(prompt) == (1500,)
    event = heard("oxygen", reading(value), 9.0)
    event = replace(event, utterance=replace(event.utterance, engine="pocketsphinx"))
    state = handle(replace(talk.state, cut_short=(prompt,)), event).state
    assert isinstance(state.pending, PendingAnswer) == doubted


# for any utterances ----------------------------------------------------------------

READINGS = st.integers(0, 200).map(lambda mark: reading(mark * 10))
RESPONSES = st.sampled_from([expected("removed"), expected("both removed"), wrong()])
ANSWERS = st.one_of(READINGS, RESPONSES)
#: What is not understood, with the confidence it has then.
MISSES: st.SearchStrategy[tuple[Meaning, float]] = st.one_of(
    st.tuples(
        st.builds(
            NoMatch,
            suggestion=st.sampled_from([None, "removed"]),
            alternatives=st.lists(ANSWERS, max_size=3).map(tuple),
            off_scale=st.sampled_from([None, reading(9000).value, reading(1655).value]),
        ),
        st.floats(0.1, 1.0),
    ),
    st.tuples(ANSWERS, st.floats(0.1, 0.29)),
    st.tuples(
        st.lists(ANSWERS, min_size=2, max_size=3, unique=True).map(
            lambda options: Ambiguous(options=tuple(options))
        ),
        st.floats(0.3, 1.0),
    ),
    st.tuples(st.builds(lambda one: Correction(this=(one,)), ANSWERS), st.floats(0.1, 0.7)),
    st.tuples(
        st.sampled_from(CommandName).map(lambda name: Command(name=name)), st.floats(0.1, 0.7)
    ),
)
#: The same miss several times over is what repeats words, if anything does.
MANY_MISSES = st.lists(st.tuples(MISSES, st.integers(1, 4)), min_size=1, max_size=6).map(
    lambda runs: [miss for miss, times in runs for _ in range(times)]
)
CHECKS = st.sampled_from(
    [
        make_check(make_gauge(), make_item("other", "Other")),
        make_check(make_item(), make_item("other", "Other")),
        make_check(make_item(expect=("removed",), not_as_expected=())),
    ]
)
#: What opens a question first, or nothing.
OPENED = st.sampled_from(
    [None, None, None, None, CommandName.UNABLE, CommandName.ABANDON, "answer"]
)


@settings(max_examples=500, deadline=None)
@given(check=CHECKS, opened=OPENED, misses=MANY_MISSES)
def test_no_two_misses_in_a_row_are_answered_in_the_same_words(
    check: Check, opened: CommandName | str | None, misses: list[tuple[Meaning, float]]
) -> None:
    talk = Conversation(check).start()
    if isinstance(opened, CommandName):
        talk.say(opened)
    elif opened is not None:
        has_gauge = check.items[0].reading is not None
        talk.say(reading(900) if has_gauge else expected(), confidence=0.5)
    packs = [language(code) for code in known_languages()]
    before: list[str] | None = None
    state = talk.state
    for meaning, confidence in misses:
        talk.say(meaning, confidence=confidence)
        assert talk.records() == ()
        assert talk.state.outcomes == ()
        assert talk.state.pending == state.pending
        assert talk.state.item_id == state.item_id
        words = [" ".join(pack.wording(prompt) for prompt in talk.prompts()) for pack in packs]
        assert all(words)
        if before is not None:
            for earlier, later in zip(before, words, strict=True):
                assert earlier != later
        before = words


@given(check=CHECKS, misses=MANY_MISSES)
def test_the_ladder_is_only_climbed(check: Check, misses: list[tuple[Meaning, float]]) -> None:
    talk = Conversation(check).start()
    order = list(Rung)
    reached = -1
    heard_so_far: set[object] = set()
    for count, (meaning, confidence) in enumerate(misses, start=1):
        talk.say(meaning, confidence=confidence)
        assert talk.state.attempts == count
        rung = talk.state.rung
        place = -1 if rung is None else order.index(rung)
        assert place >= reached
        reached = place
        heard_so_far |= _answers(meaning)
        for prompt in talk.prompts():
            if isinstance(prompt, AskAgain):
                assert {one.value for one in prompt.values} <= {
                    one.value for one in heard_so_far if isinstance(one, Reading)
                }
                assert set(prompt.phrases) <= {
                    one.phrase for one in heard_so_far if isinstance(one, Response)
                }


@given(check=CHECKS, misses=MANY_MISSES)
def test_replay_climbs_to_the_same_step(check: Check, misses: list[tuple[Meaning, float]]) -> None:
    talk = Conversation(check).start()
    for meaning, confidence in misses:
        talk.say(meaning, confidence=confidence)
    state = begin(check)
    for event in talk.events:
        step = handle(state, event)
        assert not any(isinstance(action, Record) for action in step.actions)
        state = step.state
    assert state == talk.state


def _answers(meaning: Meaning) -> set[object]:
    match meaning:
        case Ambiguous():
            return set(meaning.options)
        case Correction():
            return set(meaning.this)
        case NoMatch():
            return set(meaning.alternatives)
        case _:
            return {meaning}


def test_speaking_over_the_ladder_does_not_break_it() -> None:
    talk = Conversation(make_check(make_gauge(), make_item()), hear_out=False).start()
    for _ in range(2):
        talk.event(Spoken(at_s=1.0, words="", completed=True))
    talk.say(NoMatch())
    talk.event(SpeechStarted(at_s=9.0))
    talk.event(Spoken(at_s=9.0, words="", completed=False))
    talk.say(NoMatch(), after_s=10.0)
    says = [action for action in talk.actions if isinstance(action, Say)]
    assert len(says) == 1
    assert asked(talk).rung is Rung.EXPECTED
