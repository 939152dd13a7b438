import itertools
import re
from collections.abc import Iterator
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.builders import make_gauge, make_item, make_scale
from tests.grammar.tiny import make_language, spoken_forms
from voiceflow.checks.model import Item
from voiceflow.grammar.item_grammar import ItemGrammar, compile_item
from voiceflow.grammar.meaning import (
    Ambiguous,
    Answer,
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
from voiceflow.phraseology.language import Language, Words

COVERS = make_item("covers", "Covers", expect=("off", "both off"), not_as_expected=("on",))
OXYGEN = make_gauge("oxygen", "Crew oxygen", names=("oxygen",), scale=make_scale("0", "12", "1"))


def response(phrase: str, state: ResponseState = ResponseState.AS_EXPECTED) -> Response:
    return Response(phrase=phrase, state=state)


def reading(value: int, unit: str = "psi") -> Reading:
    return Reading(value=Decimal(value), unit=unit)


def said(grammar: ItemGrammar, text: str) -> Meaning:
    return grammar.meaning(text.split())


# what can be said, put together a second time from the item, by lists and a pattern


def listed_answers(item: Item, pack: Language) -> dict[Words, set[Answer]]:
    found: dict[Words, set[Answer]] = {}
    challenge = pack.tokenise(item.challenge)
    responses = [
        *((phrase, ResponseState.AS_EXPECTED) for phrase in item.expect),
        *((phrase, ResponseState.NOT_AS_EXPECTED) for phrase in item.not_as_expected),
    ]
    wanted = {pack.tokenise(phrase) for phrase, _ in responses}
    responses += [
        (phrase, ResponseState.INSUFFICIENT)
        for phrase in pack.empty_responses
        if pack.tokenise(phrase) not in wanted
    ]
    for phrase, state in responses:
        for prefix in ((), challenge):
            words = (*prefix, *pack.tokenise(phrase))
            found.setdefault(words, set()).add(response(phrase, state))
    if item.reading is not None:
        scale, unit = item.reading.scale, item.reading.unit
        names = [(), challenge, *map(pack.tokenise, item.reading.names)]
        units = [(), *map(pack.tokenise, pack.unit_words.get(unit, ()))]
        for value in scale.values():
            for form in pack.spoken_forms(value, scale):
                for name, after in itertools.product(names, units):
                    words = (*name, *form, *after)
                    found.setdefault(words, set()).add(Reading(value=value, unit=unit))
    return found


def distinct(meanings: set[Answer | Command], pack: Language) -> set[Answer | Command]:
    """Of responses that say the same of the item only the one in most words."""
    responses = [meaning for meaning in meanings if isinstance(meaning, Response)]
    longest = {
        state: max(
            (found for found in responses if found.state is state),
            key=lambda found: len(pack.tokenise(found.phrase)),
        )
        for state in {found.state for found in responses}
    }
    return {*longest.values(), *(meanings - set(responses))}


def listed_phrases(item: Item, pack: Language) -> dict[Words, set[Answer | Command]]:
    found: dict[Words, set[Answer | Command]] = {
        words: set(meanings) for words, meanings in listed_answers(item, pack).items()
    }
    for name, phrases in pack.commands.items():
        for phrase in phrases:
            found.setdefault(pack.tokenise(phrase), set()).add(Command(name=name))
    return {words: distinct(meanings, pack) for words, meanings in found.items()}


def pattern(item: Item, pack: Language, previous: Item | None) -> re.Pattern[str]:
    """The language in the module's docstring as a regular expression over "word word ".

    Of Python's own engine: nothing of ours takes part.
    """

    def either(phrases: Iterator[Words]) -> str:
        return "(?:" + "|".join(" ".join(words) + " " for words in phrases) + ")"

    wait = either(pack.tokenise(text) for text in pack.hesitations) + "*"
    command = either(pack.tokenise(text) for texts in pack.commands.values() for text in texts)
    lead = either(pack.tokenise(text) for text in pack.commands[CommandName.CORRECTION])
    answer = either(iter(listed_answers(item, pack)))
    either_answer = answer
    if previous is not None:
        earlier = either(iter(listed_answers(previous, pack)))
        either_answer = f"(?:{answer}|{earlier})"
    return re.compile(
        f"{wait}{command}|{wait}{answer}(?:{lead}{wait}{answer})*"
        f"|{wait}{lead}{wait}{either_answer}(?:{lead}{wait}{either_answer})*"
    )


def check_against_lists(item: Item, pack: Language) -> None:
    grammar = compile_item(item, pack)
    expected = listed_phrases(item, pack)
    assert list(grammar.phrases()) == sorted(expected)
    assert grammar.count == len(expected)
    for place, words in enumerate(sorted(expected)):
        assert grammar.phrase(place) == words
        assert grammar.is_complete(words)
        meaning = grammar.meaning(words)
        if len(expected[words]) == 1:
            assert {meaning} == expected[words]
        else:
            assert isinstance(meaning, Ambiguous)
            assert len(meaning.options) == len(expected[words])
            assert set(meaning.options) == expected[words]


def check_minimal(grammar: ItemGrammar) -> None:
    """Tell any two states apart by the table-filling method (Hopcroft, Motwani, Ullman,
    Introduction to Automata Theory, section 4.4), and find none that leads nowhere."""
    states = range(grammar.states)
    out: dict[int, dict[tuple[str, bool], int]] = {state: {} for state in states}
    for arc in grammar.arcs:
        assert arc.word not in {word for word, _ in out[arc.source]}, "not deterministic"
        out[arc.source][arc.word, arc.restart] = arc.target
    apart = {
        frozenset(pair)
        for pair in itertools.combinations(states, 2)
        if (pair[0] in grammar.finals) != (pair[1] in grammar.finals)
        or out[pair[0]].keys() != out[pair[1]].keys()
    }
    while True:
        more = {
            frozenset((a, b))
            for a, b in itertools.combinations(states, 2)
            if frozenset((a, b)) not in apart
            and any(
                out[a][label] != out[b][label]
                and frozenset((out[a][label], out[b][label])) in apart
                for label in out[a]
            )
        }
        if not more:
            break
        apart |= more
    assert len(apart) == len(states) * (len(states) - 1) // 2
    reached, todo = {grammar.start}, [grammar.start]
    while todo:
        for target in out[todo.pop()].values():
            if target not in reached:
                reached.add(target)
                todo.append(target)
    assert reached == set(states)


@pytest.mark.parametrize("item", [COVERS, OXYGEN], ids=lambda item: item.id)
def test_every_phrase_means_what_the_item_says(item: Item) -> None:
    check_against_lists(item, make_language())


@pytest.mark.parametrize(
    ("item", "previous"),
    [(COVERS, None), (COVERS, OXYGEN), (OXYGEN, COVERS), (OXYGEN, None)],
    ids=["covers", "covers-oxygen", "oxygen-covers", "oxygen"],
)
def test_the_whole_language_is_the_documented_one(item: Item, previous: Item | None) -> None:
    """Every sequence of up to three words of the vocabulary, and one word that is not in it."""
    pack = make_language(unit_words={})
    grammar = compile_item(item, pack, previous)
    documented = pattern(item, pack, previous)
    words = sorted({*grammar.vocabulary, "banana"})
    can_go_on = set()
    for size in (3, 2, 1, 0):
        for sequence in itertools.product(words, repeat=size):
            accepted = documented.fullmatch("".join(word + " " for word in sequence)) is not None
            assert grammar.is_complete(sequence) == accepted, sequence
            assert (not isinstance(grammar.meaning(sequence), NoMatch)) == accepted, sequence
            if accepted and sequence and sequence[-1] != "correction":
                can_go_on.add(sequence[:-1])
            if sequence in can_go_on:
                assert grammar.can_go_on(sequence), sequence


@pytest.mark.parametrize(
    ("item", "previous"), [(COVERS, OXYGEN), (OXYGEN, COVERS), (OXYGEN, OXYGEN)]
)
def test_it_is_minimal(item: Item, previous: Item | None) -> None:
    check_minimal(compile_item(item, make_language(), previous))


def test_it_is_minimal_with_a_real_pack() -> None:
    check_minimal(compile_item(make_gauge(), language("en"), COVERS))


words_of_items = st.lists(
    st.sampled_from(("on", "off", "one", "two", "set", "stand", "by", "uh", "correction")),
    min_size=1,
    max_size=3,
).map(" ".join)


@st.composite
def items(draw: st.DrawFn) -> Item:
    expect = draw(st.lists(words_of_items, max_size=3, unique=True))
    wrong = draw(st.lists(words_of_items, max_size=2, unique=True))
    made = make_item(
        challenge=draw(words_of_items), expect=tuple(expect), not_as_expected=tuple(wrong)
    )
    if not draw(st.booleans()):
        return made
    names = draw(st.lists(words_of_items, max_size=2))
    lowest = draw(st.integers(0, 5))
    highest = draw(st.integers(lowest, 25))
    gauge = make_gauge(names=tuple(names), scale=make_scale(str(lowest), str(highest), "5"))
    return make_item(
        challenge=made.challenge,
        expect=made.expect,
        not_as_expected=made.not_as_expected,
        reading=gauge.reading,
    )


@given(items())
@settings(max_examples=60)
def test_any_item_means_what_it_says(item: Item) -> None:
    """Words of answers, commands, hesitations and corrections mixed at will."""
    pack = make_language(empty_responses=("set", "by"))
    grammar = compile_item(item, pack)
    expected = listed_phrases(item, pack)
    assert list(grammar.phrases()) == sorted(expected)
    for words, meanings in expected.items():
        meaning = grammar.meaning(words)
        options = meaning.options if isinstance(meaning, Ambiguous) else (meaning,)
        assert meanings <= set(options)


@given(items(), st.none() | items(), st.lists(words_of_items, max_size=4))
@settings(max_examples=60)
def test_any_item_has_the_documented_language(
    item: Item, previous: Item | None, pieces: list[str]
) -> None:
    pack = make_language()
    grammar = compile_item(item, pack, previous)
    documented = pattern(item, pack, previous)
    words = " ".join(pieces).split()
    accepted = documented.fullmatch("".join(word + " " for word in words)) is not None
    assert grammar.is_complete(words) == accepted
    assert (not isinstance(grammar.meaning(words), NoMatch)) == accepted


@given(items(), st.none() | items())
@settings(max_examples=25)
def test_any_item_is_minimal(item: Item, previous: Item | None) -> None:
    check_minimal(compile_item(item, make_language(), previous))


@pytest.mark.parametrize("code", known_languages())
@pytest.mark.parametrize(
    "scale", [make_scale(), make_scale("28.00", "31.00", "0.01")], ids=["by-ten", "hundredths"]
)
def test_every_form_of_every_mark_is_understood(code: str, scale: object) -> None:
    """The whole scale; a form of two marks is ambiguous and names both."""
    pack = language(code)
    item = make_gauge(challenge="x", names=("y",), scale=scale)  # type: ignore[arg-type]
    assert item.reading is not None
    grammar = compile_item(item, pack)
    units = pack.unit_words.get("psi", ())
    for value in item.reading.scale.values():
        for form in pack.spoken_forms(value, item.reading.scale):
            for words in (form, (*pack.tokenise("y"), *form, *pack.tokenise(units[0]))):
                meaning = grammar.meaning(words)
                wanted = Reading(value=value, unit="psi")
                assert meaning == wanted or (
                    isinstance(meaning, Ambiguous) and wanted in meaning.options
                )


class TestAnswers:
    grammar = compile_item(OXYGEN, make_language(), COVERS)

    @pytest.mark.parametrize(
        "text",
        ["one one", "oxygen one one", "crew oxygen one one psi", "uh uh one one p s"],
    )
    def test_a_reading_may_have_its_name_and_unit(self, text: str) -> None:
        assert said(self.grammar, text) == reading(11)

    @pytest.mark.parametrize(
        "text", ["one three", "psi", "oxygen", "crew one", "one uh", "", "one one one", "both off"]
    )
    def test_what_is_not_of_the_item_means_nothing(self, text: str) -> None:
        assert said(self.grammar, text) == NoMatch()
        assert not self.grammar.is_complete(text.split())

    def test_words_for_two_values_are_ambiguous(self) -> None:
        assert said(self.grammar, "one") == Ambiguous(options=(reading(1), reading(10)))

    def test_an_empty_response_is_insufficient(self) -> None:
        assert said(self.grammar, "crew oxygen set") == response("set", ResponseState.INSUFFICIENT)

    def test_a_reading_without_unit_words_is_a_bare_number(self) -> None:
        grammar = compile_item(
            make_gauge(unit="", scale=make_scale("0", "5", "1")), make_language()
        )
        assert said(grammar, "three") == reading(3, "")
        assert said(grammar, "three psi") == NoMatch()

    def test_a_number_that_is_also_a_response_is_ambiguous(self) -> None:
        gauge = make_gauge(scale=make_scale("0", "5", "1"), not_as_expected=("oh",))
        assert said(compile_item(gauge, make_language()), "oh") == Ambiguous(
            options=(response("oh", ResponseState.NOT_AS_EXPECTED), reading(0))
        )


class TestResponses:
    def test_the_file_s_own_spelling_is_kept(self) -> None:
        item = make_item(challenge="Covers", expect=("Both OFF.", "both off"), not_as_expected=())
        assert said(compile_item(item, make_language()), "both off") == response("Both OFF.")

    def test_an_empty_response_that_the_item_wants_is_its_response(self) -> None:
        item = make_item(expect=("set",))
        assert said(compile_item(item, make_language()), "set") == response("set")

    @pytest.mark.parametrize(
        "expect", [("off", "covers off"), ("covers off", "off")], ids=["short", "long"]
    )
    def test_a_response_that_is_another_in_full_is_not_asked_about(
        self, expect: tuple[str, ...]
    ) -> None:
        item = make_item(challenge="Covers", expect=expect, not_as_expected=())
        grammar = compile_item(item, make_language(), item)
        full = response("covers off")
        assert said(grammar, "covers off") == full
        assert said(grammar, "correction covers off") == Correction(this=(full,), previous=(full,))
        assert said(grammar, "off") == response("off")

    def test_as_expected_and_not_as_expected_is_asked_about(self) -> None:
        item = make_item(expect=("off",), not_as_expected=("off",))
        assert said(compile_item(item, make_language()), "off") == Ambiguous(
            options=(response("off"), response("off", ResponseState.NOT_AS_EXPECTED))
        )

    def test_a_response_that_is_a_command_is_asked_about(self) -> None:
        item = make_item(expect=("stand by",))
        meaning = said(compile_item(item, make_language()), "stand by")
        assert isinstance(meaning, Ambiguous)
        assert set(meaning.options) == {response("stand by"), Command(name=CommandName.STAND_BY)}

    def test_two_commands_in_the_same_words_are_asked_about(self) -> None:
        pack = make_language(commands={CommandName.ROGER: ("stand by",)})
        assert said(compile_item(COVERS, pack), "stand by") == Ambiguous(
            options=(Command(name=CommandName.STAND_BY), Command(name=CommandName.ROGER))
        )

    def test_a_text_without_a_word_says_nothing(self) -> None:
        grammar = compile_item(make_item(challenge="?", expect=("off", "...")), make_language())
        assert not grammar.is_complete(())
        assert said(grammar, "off") == response("off")

    def test_figures_in_the_file_are_said_as_numbers(self) -> None:
        item = make_item(challenge="Engine 1 flaps", expect=("10",))
        grammar = compile_item(item, make_language())
        for text in ("one oh", "engine one flaps one oh"):
            assert said(grammar, text) == response("10")

    def test_figures_in_english_names_are_said_in_every_way(self) -> None:
        grammar = compile_item(make_item(challenge="Flaps", expect=("15",)), language("en"))
        for text in ("fifteen", "one five", "flaps one fife"):
            known = set(text.split()) <= grammar.vocabulary
            assert said(grammar, text) == (response("15") if known else NoMatch())
        assert said(grammar, "fifteen") == said(grammar, "flaps one five") == response("15")

    def test_an_item_without_answers_still_has_commands(self) -> None:
        item = make_item(expect=(), not_as_expected=())
        grammar = compile_item(item, make_language(empty_responses=()))
        assert set(grammar.phrases()) == {("correction",), ("stand", "by")}
        assert said(grammar, "uh stand by") == Command(name=CommandName.STAND_BY)
        assert not grammar.can_go_on(("correction",))


class TestCorrections:
    grammar = compile_item(OXYGEN, make_language(), COVERS)

    def test_the_bare_word_is_the_command(self) -> None:
        assert said(self.grammar, "correction") == Command(name=CommandName.CORRECTION)

    def test_it_may_be_about_this_item(self) -> None:
        assert said(self.grammar, "correction uh one one") == Correction(this=(reading(11),))

    def test_it_may_be_about_the_item_before(self) -> None:
        assert said(self.grammar, "correction both off") == Correction(
            previous=(response("both off"),)
        )

    def test_it_may_be_about_either(self) -> None:
        assert said(self.grammar, "correction set") == Correction(
            this=(response("set", ResponseState.INSUFFICIENT),),
            previous=(response("set", ResponseState.INSUFFICIENT),),
        )

    def test_ambiguous_words_give_all_they_can_mean(self) -> None:
        assert said(self.grammar, "correction one") == Correction(this=(reading(1), reading(10)))

    def test_gauges_of_both_items_are_kept_apart(self) -> None:
        fuel = make_gauge("fuel", "Fuel", unit="kg", scale=make_scale("10", "15", "1"))
        grammar = compile_item(OXYGEN, make_language(), fuel)
        assert said(grammar, "correction one one") == Correction(
            this=(reading(11),), previous=(reading(11, "kg"),)
        )
        assert said(grammar, "correction one three") == Correction(previous=(reading(13, "kg"),))

    def test_in_one_breath_the_last_answer_counts(self) -> None:
        assert said(self.grammar, "one one correction uh one two") == reading(12)
        assert said(self.grammar, "one two correction one one correction three") == reading(3)

    def test_in_one_breath_it_is_never_about_the_item_before(self) -> None:
        assert said(self.grammar, "one one correction both off") == NoMatch()

    def test_a_correction_may_itself_be_corrected(self) -> None:
        assert said(self.grammar, "correction off correction both off") == Correction(
            previous=(response("both off"),)
        )

    def test_the_word_for_it_comes_from_the_pack(self) -> None:
        grammar = compile_item(OXYGEN, make_language(correction="i mean"))
        assert said(grammar, "one one i mean one two") == reading(12)
        assert said(grammar, "i mean one two") == Correction(this=(reading(12),))
        assert grammar.can_go_on(["one", "one", "i"])
        assert not grammar.can_go_on(["one", "one", "psi"])


class TestWhatCanFollow:
    grammar = compile_item(OXYGEN, make_language())

    @pytest.mark.parametrize(
        ("text", "complete", "on"),
        [
            ("", False, True),
            ("uh", False, True),
            ("oxygen", False, True),
            ("two", True, True),  # the unit may come
            ("two psi", True, False),  # but for a correction
            ("stand", False, True),
            ("stand by", True, False),
            ("correction", True, True),
            ("banana", False, False),
        ],
    )
    def test_partial_phrases(self, text: str, complete: bool, on: bool) -> None:
        words = text.split()
        assert self.grammar.is_complete(words) is complete
        assert self.grammar.can_go_on(words) is on

    def test_only_corrections_start_anew(self) -> None:
        restarts = [arc for arc in self.grammar.arcs if arc.restart]
        assert restarts
        assert {arc.word for arc in restarts} == {"correction"}
        assert {arc.source for arc in restarts} <= self.grammar.finals


def test_it_says_what_it_was_compiled_from() -> None:
    grammar = compile_item(OXYGEN, make_language(), COVERS)
    assert (grammar.item_id, grammar.previous_id) == ("oxygen", "covers")
    assert compile_item(OXYGEN, make_language()).previous_id is None
    assert grammar.vocabulary == {arc.word for arc in grammar.arcs}
    assert grammar.hesitations == (("uh",),)
    assert spoken_forms(Decimal(10), make_scale()) == (("one", "oh"), ("one",))


def test_the_same_item_gives_the_same_grammar() -> None:
    one, other = (compile_item(OXYGEN, make_language(), COVERS) for _ in range(2))
    assert (one.arcs, one.finals) == (other.arcs, other.finals)
