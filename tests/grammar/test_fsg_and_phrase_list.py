import itertools
from collections.abc import Callable

import pocketsphinx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.builders import make_gauge, make_item, make_scale
from tests.grammar.tiny import make_language
from voiceflow.checks.model import Item
from voiceflow.grammar.automaton import Words
from voiceflow.grammar.fsg import FiniteStateGrammar, to_fsg
from voiceflow.grammar.item_grammar import ItemGrammar, compile_item
from voiceflow.grammar.phrase_list import to_phrase_list
from voiceflow.languages.registry import language

COVERS = make_item("covers", "Covers", expect=("off", "both off"), not_as_expected=("on",))
OXYGEN = make_gauge("oxygen", "Crew oxygen", scale=make_scale("0", "12", "1"))


def accepts(fsg: FiniteStateGrammar, words: Words) -> bool:
    """Run a finite-state grammar as a decoder does, silent transitions included."""

    def silently(states: set[int]) -> set[int]:
        todo = list(states)
        while todo:
            state = todo.pop()
            for source, target, _, word in fsg.transitions:
                if source == state and word is None and target not in states:
                    states.add(target)
                    todo.append(target)
        return states

    states = silently({fsg.start})
    for heard in words:
        states = silently(
            {
                target
                for source, target, _, word in fsg.transitions
                if source in states and word == heard
            }
        )
    return fsg.final in states


def pairs(words: Words) -> set[tuple[str, str]]:
    return set(itertools.pairwise(("<s>", *words, "</s>")))


def pairs_of_language(grammar: ItemGrammar) -> set[tuple[str, str]]:
    """Neighbouring words in the automaton, found from its arcs alone, hesitations apart."""
    hesitations = {word for words in grammar.hesitations for word in words}
    found: set[tuple[str, str]] = set()
    arcs = [arc for arc in grammar.arcs if arc.word not in hesitations]
    for arc in arcs:
        if arc.source == grammar.start:
            found.add(("<s>", arc.word))
        if arc.target in grammar.finals:
            found.add((arc.word, "</s>"))
        found |= {(arc.word, after.word) for after in arcs if after.source == arc.target}
    return found


def check_list(grammar: ItemGrammar) -> None:
    phrases = to_phrase_list(grammar)
    assert len(set(phrases)) == len(phrases)
    alone = {" ".join(words) for words in grammar.hesitations}
    assert alone <= set(phrases)
    listed: set[tuple[str, str]] = set()
    for phrase in phrases:
        if phrase not in alone:
            assert grammar.is_complete(phrase.split()), phrase
            listed |= pairs(tuple(phrase.split()))
    assert listed == pairs_of_language(grammar)


@pytest.mark.parametrize(("item", "previous"), [(COVERS, OXYGEN), (OXYGEN, COVERS), (OXYGEN, None)])
def test_the_fsg_holds_the_phrases_of_the_grammar(item: Item, previous: Item | None) -> None:
    grammar = compile_item(item, make_language(), previous)
    fsg = to_fsg(grammar)
    words = sorted(grammar.vocabulary)
    for sequence in itertools.chain(
        *(itertools.product(words, repeat=size) for size in range(3)), grammar.phrases()
    ):
        assert accepts(fsg, sequence) == grammar.is_complete(sequence), sequence


@pytest.mark.parametrize("item", [COVERS, OXYGEN], ids=lambda item: item.id)
def test_the_fsg_has_one_way_out(item: Item) -> None:
    fsg = to_fsg(compile_item(item, make_language()))
    sources, targets, probabilities, words = zip(*fsg.transitions, strict=True)
    assert fsg.final not in sources
    assert set(sources) | set(targets) == set(range(fsg.states))
    assert set(probabilities) == {1.0}
    assert all(word != "" for word in words)


@pytest.mark.parametrize(
    ("item", "previous"), [(COVERS, OXYGEN), (OXYGEN, COVERS), (OXYGEN, OXYGEN), (COVERS, None)]
)
def test_the_list_holds_the_word_pairs_of_the_grammar(item: Item, previous: Item | None) -> None:
    check_list(compile_item(item, make_language(), previous))


@given(
    st.lists(st.sampled_from(("on", "both off", "set", "stand by", "uh", "one two")), max_size=4),
    st.sampled_from(("Covers", "Uh", "One")),
    st.booleans(),
)
@settings(max_examples=40)
def test_both_hold_the_same_phrases(expect: list[str], challenge: str, gauge: bool) -> None:
    item = make_item(
        challenge=challenge, expect=tuple(expect), reading=OXYGEN.reading if gauge else None
    )
    grammar = compile_item(item, make_language(hesitations=("well now",)), COVERS)
    check_list(grammar)
    fsg = to_fsg(grammar)
    listed = [tuple(phrase.split()) for phrase in to_phrase_list(grammar)]
    together = set().union(*map(pairs, listed))
    for words in listed:
        assert accepts(fsg, words) == (words != ("well", "now"))
    for words in grammar.phrases():
        assert accepts(fsg, words)
        assert pairs(words) <= together


def test_a_large_gauge_gives_a_short_list() -> None:
    """Oxygen by ten to 2000 psi: 20,000 phrases, 200 marks."""
    grammar = compile_item(make_gauge(), language("en"), COVERS)
    check_list(grammar)
    assert grammar.count > 10_000
    assert len(to_phrase_list(grammar)) < 1000


@pytest.mark.parametrize("convert", [to_fsg, to_phrase_list])
def test_the_same_item_gives_the_same(convert: Callable[[ItemGrammar], object]) -> None:
    assert convert(compile_item(OXYGEN, make_language(), COVERS)) == convert(
        compile_item(OXYGEN, make_language(), COVERS)
    )


def test_pocketsphinx_takes_the_whole_of_it() -> None:
    """Silent transitions, loops on one state and several arcs between two states."""
    decoder = pocketsphinx.Decoder(lm=None, loglevel="FATAL", bestpath=False)
    grammar = compile_item(OXYGEN, make_language(), COVERS)
    fsg = to_fsg(grammar)
    made = decoder.create_fsg(
        "item",
        fsg.start,
        fsg.final,
        [
            (source, target, probability, *(() if word is None else (word,)))
            for source, target, probability, word in fsg.transitions
        ],
    )
    decoder.add_fsg("item", made)
    decoder.activate_search("item")
    decoder.start_utt()
    decoder.process_raw(bytes(32000))
    decoder.end_utt()
    heard = decoder.hyp()
    assert heard is None or grammar.is_complete(tuple(heard.hypstr.split())) or not heard.hypstr


@pytest.mark.parametrize(("item", "previous"), [(COVERS, OXYGEN), (OXYGEN, COVERS), (OXYGEN, None)])
def test_phrases_with_words_that_cannot_be_heard_are_left_out_and_no_others(
    item: Item, previous: Item | None
) -> None:
    grammar = compile_item(item, make_language(), previous)
    without = frozenset({"covers", "crew"})
    assert without & grammar.vocabulary
    fsg = to_fsg(grammar, without)
    for words in grammar.phrases():
        assert accepts(fsg, words) == without.isdisjoint(words)
    # no arc leads where no end can be reached
    sources = {source for source, _, _, _ in fsg.transitions}
    assert all(target in sources | {fsg.final} for _, target, _, _ in fsg.transitions)
    alone = {" ".join(words) for words in grammar.hesitations}
    listed = to_phrase_list(grammar, without)
    for phrase in listed:
        assert without.isdisjoint(phrase.split())
        assert phrase in alone or grammar.is_complete(phrase.split())
    said = {pair for phrase in listed for pair in pairs(tuple(phrase.split()))}
    wanted = (pairs(words) for words in grammar.phrases() if without.isdisjoint(words))
    assert set().union(*wanted) <= said


def test_without_a_word_that_all_need_nothing_is_left() -> None:
    grammar = compile_item(COVERS, make_language(commands={}))
    without = frozenset({"off", "on"})
    assert not any(without & set(phrase.split()) for phrase in to_phrase_list(grammar, without))
