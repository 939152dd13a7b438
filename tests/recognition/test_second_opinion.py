"""Two recognisers: what they do not both hear is put as a question."""

import pytest

from tests.builders import make_gauge
from voiceflow.grammar.item_grammar import compile_item
from voiceflow.languages.registry import language
from voiceflow.recognition.engines.typed import TypedRecogniser
from voiceflow.recognition.second_opinion import SecondOpinionRecogniser
from voiceflow.settings import PolicySettings

ENGLISH = language("en")


@pytest.mark.parametrize(
    ("first", "second", "is_sure"),
    [
        ("one six five zero", "one six five zero", True),
        ("one six five zero", "sixteen fifty", True),  # the same reading in other words
        ("one six five zero", "one six nine zero", False),
        ("one six five zero", "", False),
        ("", "one six five zero", False),
    ],
)
def test_the_first_is_believed_where_the_second_understands_the_same(
    first: str, second: str, is_sure: bool
) -> None:
    one, other = TypedRecogniser(ENGLISH), TypedRecogniser(ENGLISH)
    both = SecondOpinionRecogniser(one, other)
    grammar = compile_item(make_gauge(), ENGLISH)
    both.listen(grammar)
    one.type(first)
    other.type(second)
    found = both.finish()
    policy = PolicySettings()
    assert found.words == tuple(first.split())
    if is_sure:
        assert found.confidence >= policy.accept
    elif first:
        assert policy.confirm <= found.confidence < policy.accept


def test_words_that_either_cannot_hear_are_told() -> None:
    both = SecondOpinionRecogniser(TypedRecogniser(ENGLISH), TypedRecogniser(ENGLISH))
    assert both.unheard_words(compile_item(make_gauge(), ENGLISH)) == frozenset()
    assert both.name == "typed"
    both.close()
