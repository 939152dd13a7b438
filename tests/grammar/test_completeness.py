from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.builders import make_gauge, make_item, make_scale
from voiceflow.grammar.automaton import Words
from voiceflow.grammar.completeness import Completeness, completeness
from voiceflow.grammar.item_grammar import ItemGrammar, compile_item
from voiceflow.grammar.meaning import Reading
from voiceflow.languages.registry import language

COVERS = make_item(expect=("closed", "closed and locked"), not_as_expected=("open",))
GAUGES = {
    "oxygen": make_gauge(scale=make_scale("0", "2000", "10")),
    "oil": make_gauge("oil", "Oil", names=("oil",), unit="%", scale=make_scale("0", "100", "5")),
    "altimeter": make_gauge(
        "altimeter", "Altimeter", names=("altimeter",), scale=make_scale("28.00", "31.00", "0.01")
    ),
}
ENGLISH = [
    ("covers", "closed", Completeness.EXTENDABLE),
    ("covers", "closed and", Completeness.INCOMPLETE),
    ("covers", "closed and locked", Completeness.COMPLETE),
    ("covers", "open", Completeness.COMPLETE),
    ("covers", "uh closed and locked", Completeness.COMPLETE),
    ("covers", "uh", Completeness.INCOMPLETE),
    ("covers", "", Completeness.INCOMPLETE),
    ("covers", "lovely weather", Completeness.INCOMPLETE),
    ("covers", "say again", Completeness.COMPLETE),
    ("covers", "say", Completeness.INCOMPLETE),
    # a longer way to say the same is not waited for
    ("covers", "go back one", Completeness.COMPLETE),
    # four digits are as many as the gauge has
    ("oxygen", "one six zero zero", Completeness.SETTLED),
    # 160 is a mark, 160x would be one too
    ("oxygen", "one six zero", Completeness.EXTENDABLE),
    # but 880x lies off the scale: only the unit can follow, and it says nothing new
    ("oxygen", "eight eight zero", Completeness.SETTLED),
    ("oxygen", "eight eight zero psi", Completeness.COMPLETE),
    ("oxygen", "one three", Completeness.BEGUN),
    ("oxygen", "oxygen", Completeness.INCOMPLETE),
    ("oxygen", "uh oxygen uh", Completeness.INCOMPLETE),
    ("oxygen", "uh oxygen one three", Completeness.BEGUN),
    ("oxygen", "go back", Completeness.INCOMPLETE),
    ("oxygen", "thirteen hundred", Completeness.EXTENDABLE),
    ("oil", "fifty", Completeness.EXTENDABLE),
    ("oil", "fifty five", Completeness.SETTLED),
    ("oil", "oil fifty five percent", Completeness.COMPLETE),
    ("altimeter", "two niner decimal niner two", Completeness.SETTLED),
    ("altimeter", "two niner decimal niner", Completeness.EXTENDABLE),
    # a correction is not cut
    ("oil", "fifty correction", Completeness.INCOMPLETE),
    ("oil", "correction", Completeness.INCOMPLETE),
    ("oil", "fifty correction six", Completeness.INCOMPLETE),
    ("oil", "fifty correction fifty five", Completeness.EXTENDABLE),
    ("oil", "correction fifty five", Completeness.EXTENDABLE),
    ("oil", "correction uh", Completeness.INCOMPLETE),
    ("oil", "fifty five correction fifty correction", Completeness.INCOMPLETE),
]


@cache
def grammar(item: str, code: str = "en") -> ItemGrammar:
    return compile_item({"covers": COVERS, **GAUGES}[item], language(code))


@pytest.mark.parametrize(("item", "text", "expected"), ENGLISH)
def test_examples(item: str, text: str, expected: Completeness) -> None:
    assert completeness(grammar(item), text.split()) is expected


@pytest.mark.parametrize(
    ("item", "text", "expected"),
    [
        ("oil", "오십", Completeness.EXTENDABLE),
        ("oil", "오십 오", Completeness.SETTLED),
        ("oil", "정정", Completeness.INCOMPLETE),
    ],
)
def test_another_language(item: str, text: str, expected: Completeness) -> None:
    assert completeness(grammar(item, "ko"), text.split()) is expected


@cache
def phrases(item: str) -> tuple[Words, ...]:
    return tuple(grammar(item).phrases())


def listed(item: str, words: Words) -> Completeness:
    """The same again from the list of all phrases."""
    known = grammar(item)
    if words not in phrases(item) or words == ("correction",):
        return Completeness.INCOMPLETE
    longer = {known.meaning(phrase) for phrase in phrases(item) if phrase[: len(words)] == words}
    if len(longer) > 1:
        return Completeness.EXTENDABLE
    is_last = all(
        len(phrase) == len(words) for phrase in phrases(item) if phrase[: len(words)] == words
    )
    is_reading = isinstance(known.meaning(words), Reading)
    return Completeness.SETTLED if is_reading and not is_last else Completeness.COMPLETE


@given(st.sampled_from(("covers", "oil", "oxygen")), st.data())
def test_every_beginning_of_a_phrase(item: str, data: st.DataObject) -> None:
    phrase = data.draw(st.sampled_from(phrases(item)))
    for length in range(len(phrase) + 1):
        words = phrase[:length]
        found = completeness(grammar(item), words)
        if found is Completeness.BEGUN:
            # a number that is none yet, which only gauges have
            assert item != "covers"
            found = Completeness.INCOMPLETE
        assert found is listed(item, words)
