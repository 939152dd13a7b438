from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.builders import make_gauge, make_item, make_scale
from voiceflow.grammar.item_grammar import ItemGrammar, compile_item
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
from voiceflow.understanding.hypothesis import Hypothesis
from voiceflow.understanding.interpret import interpret

EN = language("en")
COVERS = make_item("covers", "Pitot covers")
OXYGEN = make_gauge()
FLAPS = make_item("flaps", "Flaps", expect=("flaps 15", "15"), not_as_expected=("up",))


def hypothesis(text: str, engine: str = "pocketsphinx", code: str = "en") -> Hypothesis:
    return Hypothesis(
        engine=engine,
        words=language(code).tokenise(text),
        confidence=1.0,
        start_s=0.0,
        end_s=1.0,
    )


def psi(value: int) -> Reading:
    return Reading(value=Decimal(value), unit="psi")


def heard(text: str, grammar: ItemGrammar) -> Meaning:
    return interpret(hypothesis(text), grammar, EN)


def doubted(best: str, other: str, grammar: ItemGrammar) -> Meaning:
    alternatives = (EN.tokenise(other),)
    return interpret(replace(hypothesis(best), alternatives=alternatives), grammar, EN)


def typed(text: str, grammar: ItemGrammar) -> Meaning:
    return interpret(hypothesis(text, "typed"), grammar, EN)


covers = compile_item(COVERS, EN)
oxygen = compile_item(OXYGEN, EN, COVERS)


class TestHeard:
    def test_a_phrase_of_the_item(self) -> None:
        assert heard("oxygen sixteen fifty psi", oxygen) == psi(1650)
        assert heard("both removed", covers) == Response(
            phrase="both removed", state=ResponseState.AS_EXPECTED
        )
        assert heard("stand by", covers) == Command(name=CommandName.STAND_BY)
        assert heard("correction fitted", oxygen) == Correction(
            previous=(Response(phrase="fitted", state=ResponseState.NOT_AS_EXPECTED),)
        )

    @pytest.mark.parametrize(
        "text", ["uh sixteen um fifty", "sixteen fifty er", "um uh sixteen fifty"]
    )
    def test_hesitations_count_for_nothing_wherever_they_stand(self, text: str) -> None:
        assert heard(text, oxygen) == psi(1650)

    @pytest.mark.parametrize("text", ["", "uh"])
    def test_nothing_said_means_nothing(self, text: str) -> None:
        assert heard(text, oxygen) == NoMatch()

    @pytest.mark.parametrize(
        "text", ["1650", "sixty hundred", "sixteen fifty five", "nine thousand"]
    )
    def test_what_is_no_reading_is_none_and_suggests_none(self, text: str) -> None:
        assert heard(text, oxygen) == NoMatch()

    def test_an_alternative_is_never_taken(self) -> None:
        removed = Response(phrase="removed", state=ResponseState.AS_EXPECTED)
        assert doubted("banana", "removed", covers) == NoMatch(alternatives=(removed,))
        assert doubted("banana", "correction removed", covers) == NoMatch()
        assert doubted("banana", "affirm", covers) == NoMatch()

    @pytest.mark.parametrize("other", ["", "banana", "sixteen fifty", "uh one six five zero"])
    def test_an_alternative_that_means_the_same_or_nothing_changes_nothing(
        self, other: str
    ) -> None:
        assert doubted("one six five zero", other, oxygen) == psi(1650)

    def test_two_readings_are_a_question_the_best_first(self) -> None:
        found = doubted("one six five zero", "one six nine zero", oxygen)
        assert found == Ambiguous(options=(psi(1650), psi(1690)))

    def test_two_responses_are_a_question_only_if_they_say_different_things(self) -> None:
        assert doubted("removed", "both removed", covers) == heard("removed", covers)
        found = doubted("removed", "fitted", covers)
        assert isinstance(found, Ambiguous)
        assert [option.kind for option in found.options] == ["response", "response"]

    def test_two_commands_are_a_question(self) -> None:
        found = doubted("affirm", "negative", covers)
        assert isinstance(found, Ambiguous)

    def test_two_corrections_keep_both_answers(self) -> None:
        found = doubted("correction one six five zero", "correction one six nine zero", oxygen)
        assert found == Correction(this=(psi(1650), psi(1690)))

    def test_a_correction_and_an_answer_are_neither(self) -> None:
        found = doubted("correction one six five zero", "one six five zero", oxygen)
        assert found == NoMatch()


class TestNearMiss:
    @pytest.mark.parametrize(
        ("text", "suggestion"),
        [
            ("bot removed", "both removed"),
            ("remove", "removed"),
            ("say again uh pleas", "say again please"),
            ("banana", None),
        ],
    )
    def test_the_nearest_phrase_is_suggested_never_taken(
        self, text: str, suggestion: str | None
    ) -> None:
        assert heard(text, covers) == NoMatch(suggestion=suggestion)

    def test_the_file_s_own_spelling_is_suggested(self) -> None:
        grammar = compile_item(make_item(expect=("Both Removed.",), not_as_expected=()), EN)
        assert heard("both remove", grammar) == NoMatch(suggestion="Both Removed.")

    @pytest.mark.parametrize("text", ["corection", "affirmm", "negativ", "continu", "rogerr"])
    def test_what_takes_back_or_answers_nothing_is_not_suggested(self, text: str) -> None:
        assert heard(text, covers) == NoMatch()

    def test_a_number_that_was_not_said_is_not_suggested(self) -> None:
        item = make_item(expect=("set to one five",), not_as_expected=("flaps 20",))
        grammar = compile_item(item, EN)
        assert heard("set to one nine", grammar) == NoMatch()
        assert heard("flaps twenty one", grammar) == NoMatch()
        assert heard("sets to one five", grammar) == NoMatch(suggestion="set to one five")


class TestTyped:
    @pytest.mark.parametrize("text", ["1650", "1,650", "1650 psi", "oxygen 1650 psi", "uh 1650.0"])
    def test_figures_are_a_reading(self, text: str) -> None:
        assert typed(text, oxygen) == psi(1650)

    @pytest.mark.parametrize("text", ["1655", "2010", "-10"])
    def test_figures_off_the_gauge_mean_nothing(self, text: str) -> None:
        assert typed(text, oxygen) == NoMatch(off_scale=Decimal(text))

    @pytest.mark.parametrize("text", ["1655 psi", "1655 PSI"])
    def test_a_figure_off_the_gauge_is_told_with_its_unit(self, text: str) -> None:
        assert typed(text, oxygen) == NoMatch(off_scale=Decimal(1655))

    @pytest.mark.parametrize(
        "text", ["1650 bar", "1655 bar", "1650 1650", "banana 1650", "gauge 1655"]
    )
    def test_figures_among_other_words_are_no_reading_off_the_gauge(self, text: str) -> None:
        assert typed(text, oxygen) == NoMatch()

    def test_figures_at_an_item_without_a_gauge_mean_nothing(self) -> None:
        assert typed("1650", covers) == NoMatch()

    def test_figures_are_only_numbers_where_they_were_typed(self) -> None:
        assert heard("1650 psi", oxygen) == NoMatch()

    def test_words_may_be_typed(self) -> None:
        assert typed("sixteen fifty", oxygen) == psi(1650)
        assert typed("removd", covers) == NoMatch(suggestion="removed")

    @pytest.mark.parametrize(
        ("text", "unit", "scale", "value"),
        [
            ("12.5 qt", "qt", ("0", "20", "0.5"), "12.5"),
            ("12.5qt", "qt", ("0", "20", "0.5"), "12.5"),
            ("oxygen 12.5 QT", "qt", ("0", "20", "0.5"), "12.5"),
            ("64 psi", "psi", ("0", "120", "1"), "64"),
            ("85 %", "%", ("0", "100", "5"), "85"),
            ("-5 C", "C", ("-40", "50", "1"), "-5"),
            ("5 c", "C", ("-40", "50", "1"), "5"),
            ("+5 °C", "°C", ("-40", "50", "1"), "5"),
            ("1013 hPa", "hPa", ("950", "1050", "1"), "1013"),
            ("24.4 v", "V", ("0", "30", "0.1"), "24.4"),
            ("uh 600 correction 640 kg", "kg", ("0", "1600", "10"), "640"),
            ("12 furlongs", "furlongs", ("0", "20", "1"), "12"),  # nobody can say it
        ],
    )
    def test_the_unit_s_symbol_is_typed_as_it_is_printed(
        self, text: str, unit: str, scale: tuple[str, str, str], value: str
    ) -> None:
        grammar = compile_item(make_gauge(unit=unit, scale=make_scale(*scale)), EN, COVERS)
        assert typed(text, grammar) == Reading(value=Decimal(value), unit=unit)
        assert heard(text, grammar) == NoMatch()

    @pytest.mark.parametrize("unit", sorted(EN.unit_words))
    def test_every_unit_can_be_typed_by_its_symbol(self, unit: str) -> None:
        grammar = compile_item(make_gauge(unit=unit), EN, COVERS)
        assert typed(f"1650 {unit}", grammar) == Reading(value=Decimal(1650), unit=unit)

    @pytest.mark.parametrize("text", ["640 kg", "640 lb", "640 %", "640 psi kg", "kg 640"])
    def test_another_unit_s_symbol_means_nothing(self, text: str) -> None:
        assert typed(text, oxygen) == NoMatch()
        # not even where the item before has that unit, or it is said alike ("pounds")
        for unit in ("kg", "lb", "%"):
            fuel = make_gauge("fuel", "Fuel", unit=unit)
            assert typed(text, compile_item(OXYGEN, EN, fuel)) == NoMatch()

    def test_a_symbol_tells_which_item_is_corrected(self) -> None:
        fuel = make_gauge("fuel", "Fuel", unit="lb")
        grammar = compile_item(OXYGEN, EN, fuel)
        assert typed("correction 640 lb", grammar) == Correction(
            previous=(Reading(value=Decimal(640), unit="lb"),)
        )
        assert typed("correction 640 psi", grammar) == Correction(this=(psi(640),))

    def test_figures_in_a_response(self) -> None:
        grammar = compile_item(FLAPS, EN)
        for text in ("flaps 15", "flaps flaps 15"):
            assert typed(text, grammar) == Response(
                phrase="flaps 15", state=ResponseState.AS_EXPECTED
            )
        assert typed("15", grammar) == Response(phrase="15", state=ResponseState.AS_EXPECTED)
        assert typed("16", grammar) == NoMatch()

    def test_corrections_of_this_item_and_of_the_one_before(self) -> None:
        fuel = make_gauge("fuel", "Fuel", unit="kg", scale=make_scale("0", "900", "1"))
        grammar = compile_item(OXYGEN, EN, fuel)
        kilograms = Reading(value=Decimal(845), unit="kg")
        assert typed("correction 845", grammar) == Correction(previous=(kilograms,))
        assert typed("correction 1650", grammar) == Correction(this=(psi(1650),))
        assert typed("correction 850", grammar) == Correction(
            this=(psi(850),), previous=(Reading(value=Decimal(850), unit="kg"),)
        )
        assert typed("845", grammar) == NoMatch(off_scale=Decimal(845))
        assert typed("1600 correction 1650", grammar) == psi(1650)

    def test_a_reading_that_is_also_a_response_is_asked_about(self) -> None:
        gauge = make_gauge(not_as_expected=("0",))
        meaning = typed("0", compile_item(gauge, EN))
        assert isinstance(meaning, Ambiguous)
        assert set(meaning.options) == {
            psi(0),
            Response(phrase="0", state=ResponseState.NOT_AS_EXPECTED),
        }

    def test_figures_mean_themselves_where_their_words_are_ambiguous(self) -> None:
        """Without its point "two nine" is 29 or 2.9 on a gauge that has both."""
        item = make_gauge(scale=make_scale("0.0", "30.0", "0.1"))
        grammar = compile_item(item, EN)
        for text in ("29", "2.9", "29.0", ".9"):
            assert typed(text, grammar) == Reading(value=Decimal(text), unit="psi")

    def test_every_mark_can_be_typed(self) -> None:
        item = make_gauge(unit="inHg", scale=make_scale("28.00", "31.00", "0.01"))
        grammar = compile_item(item, EN)
        assert item.reading is not None
        for value in item.reading.scale.values():
            assert typed(str(value), grammar) == Reading(value=value, unit="inHg")


@pytest.mark.parametrize("code", known_languages())
@given(draws=st.lists(st.floats(0, 1, exclude_max=True), max_size=5))
@settings(max_examples=30)
def test_each_phrase_means_what_it_was_drawn_for(code: str, draws: list[float]) -> None:
    pack = language(code)
    grammar = compile_item(make_gauge(), pack, make_item())
    for draw in draws:
        words = grammar.phrase(int(draw * grammar.count))
        meaning = grammar.meaning(words)
        assert not isinstance(meaning, NoMatch)
        for before in ((), pack.tokenise(pack.hesitations[0])):
            found = Hypothesis(
                engine="vosk", words=(*before, *words), confidence=1, start_s=0, end_s=1
            )
            assert interpret(found, grammar, pack) == meaning


def test_a_hypothesis_in_one_line() -> None:
    assert hypothesis("stand by").text == "stand by"
