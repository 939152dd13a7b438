from tests.builders import make_gauge, make_item
from voiceflow.grammar.hearable import item_words, lost_readings
from voiceflow.grammar.item_grammar import compile_item
from voiceflow.languages.registry import language

ENGLISH = language("en")


def test_the_words_are_those_of_the_grammar_but_for_numbers() -> None:
    for item in (make_item(), make_gauge(), make_item("odd", "Engine 1 oil", expect=("flaps 15",))):
        grammar = compile_item(item, ENGLISH)
        words = item_words(item, ENGLISH).vocabulary
        pack = {
            word
            for texts in (ENGLISH.hesitations, ENGLISH.empty_responses)
            for text in texts
            for word in ENGLISH.tokenise(text)
        }
        assert words <= grammar.vocabulary
        if item.reading is None:
            assert grammar.vocabulary <= words | pack


def test_a_response_is_lost_with_a_word_that_each_way_to_say_it_needs() -> None:
    words = item_words(make_item(expect=("removed", "flaps 15")), ENGLISH)
    assert words.lost_responses(frozenset()) == ()
    assert words.lost_responses(frozenset({"covers", "pitot"})) == ()
    assert words.lost_responses(frozenset({"removed"})) == ("removed",)
    assert words.lost_responses(frozenset({"flaps", "fitted"})) == ("flaps 15", "fitted")
    # "one five" is left
    assert words.lost_responses(frozenset({"fifteen"})) == ()


def test_a_command_is_lost_with_all_its_ways() -> None:
    words = item_words(make_item(), ENGLISH)
    assert words.lost_commands(frozenset({"roger"})) == ("roger",)
    assert words.lost_commands(frozenset({"nothing"})) == ()


def test_a_gauge_loses_readings_with_a_figure_but_not_with_one_way_to_say_it() -> None:
    assert lost_readings(make_gauge(), ENGLISH, frozenset({"thousand"})) is False
    figures = frozenset({"one", "eleven", "ten", "hundred", "thousand"})
    assert lost_readings(make_gauge(), ENGLISH, figures) is True
    assert lost_readings(make_item(), ENGLISH, figures) is False
