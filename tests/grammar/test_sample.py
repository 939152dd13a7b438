import pytest

from tests.builders import make_gauge, make_item, make_scale
from tests.grammar.tiny import make_language
from voiceflow.grammar.item_grammar import compile_item
from voiceflow.grammar.meaning import NoMatch, Reading, Response
from voiceflow.grammar.sample import sample
from voiceflow.languages.registry import language
from voiceflow.phraseology.commands import CommandName

COVERS = make_item("covers", "Covers", expect=("off", "Both off."), not_as_expected=("on", "off"))
OXYGEN = make_gauge("oxygen", "Crew oxygen", scale=make_scale("0", "20", "1"))


def test_responses_then_commands() -> None:
    pack = make_language(commands={CommandName.ROGER: ()})
    assert sample(compile_item(COVERS, pack), 9) == (
        "off",
        "Both off.",
        "on",
        "stand by",
        "correction",
    )


def test_a_reading_as_it_is_read_back_and_one_in_forms_of_every_length() -> None:
    grammar = compile_item(OXYGEN, make_language())
    assert sample(grammar, 9) == (
        "gauge unreadable",
        "one three psi",
        "one",
        "one oh",
        "stand by",
        "correction",
    )


def test_a_gauge_with_one_mark_and_no_unit_gives_one_reading() -> None:
    item = make_gauge(unit="", scale=make_scale("5", "5", "1"), not_as_expected=())
    assert sample(compile_item(item, make_language()), 2) == ("five", "stand by")


@pytest.mark.parametrize(
    ("count", "phrases"),
    [
        (-1, ()),
        (0, ()),
        (2, ("gauge unreadable", "one three psi")),
        (4, ("gauge unreadable", "one three psi", "one", "stand by")),
    ],
)
def test_with_little_room_there_is_some_of_everything(count: int, phrases: tuple[str, ...]) -> None:
    assert sample(compile_item(OXYGEN, make_language()), count) == phrases


@pytest.mark.parametrize("item", [make_item(), make_gauge()], ids=lambda item: item.id)
def test_what_is_shown_is_understood(item) -> None:  # type: ignore[no-untyped-def]
    pack = language("en")
    grammar = compile_item(item, pack)
    shown = sample(grammar, 100)
    assert len(shown) >= len(CommandName)
    for phrase in shown:
        assert not isinstance(grammar.meaning(pack.tokenise(phrase)), NoMatch)


def test_an_example_of_a_reading_is_on_the_gauge() -> None:
    pack = language("en")
    item = make_gauge(unit="inHg", scale=make_scale("28.00", "31.00", "0.01"))
    grammar = compile_item(item, pack)
    shown = [grammar.meaning(pack.tokenise(phrase)) for phrase in sample(grammar, 100)]
    assert sum(isinstance(meaning, Reading) for meaning in shown) >= 1
    assert sum(isinstance(meaning, Response) for meaning in shown) == 1


@pytest.mark.parametrize(
    ("scale", "said"),
    [
        (("-40", "50", "1"), ["nineteen", "plus nineteen"]),
        (("0", "20", "0.5"), ["nineteen and a half"]),
        (("0", "2000", "10"), ["nineteen twenty", "nineteen hundred and twenty"]),
    ],
)
def test_readings_are_shown_as_people_say_them(
    scale: tuple[str, str, str], said: list[str]
) -> None:
    item = make_gauge(scale=make_scale(*scale))
    assert set(said) <= set(sample(compile_item(item, language("en")), 100))
