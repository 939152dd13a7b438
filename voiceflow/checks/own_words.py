"""The personal file: words that one person adds to checks, and how that person says words.

Holds the file's shape (pydantic), what it becomes (``OwnWords``), and how it is laid
over a check. It can add and nothing else: it has no key for a limit, a scale, what is
critical or what is confirmed, and these are refused although its keys would allow them:

- an expected response where the check wants a reading, which would go round the limit;
- a response that says the opposite in the check, that says nothing ("checked"), or that
  holds a standing command ("correction", "stand by");
- a name for a reading with a number word in it, which could change the number;
- a pronunciation that is just how another word of the language pack is said.

What merely sounds like something else is for ``lint`` to say.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Annotated, Any

from pydantic import BeforeValidator, ConfigDict, Field, WithJsonSchema

from voiceflow.checks.fields import FileModel, Name, Text, refusal, shown
from voiceflow.checks.loader import ReadCheck, WrittenItem
from voiceflow.checks.model import Item, OwnPronunciation
from voiceflow.checks.problem import Problem
from voiceflow.checks.resolve import folded
from voiceflow.checks.validation import did_you_mean, nearest, validate
from voiceflow.checks.yaml_tree import Tree, TreePath, read_tree
from voiceflow.errors import CheckFileError

#: ARPAbet as the CMU Pronouncing Dictionary and the acoustic model use it, without stress.
PHONES = tuple(
    re.findall(
        r"\w+",
        "AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH "
        "UH UW V W Y Z ZH",
    )
)

_WORD = r"[^\W\d_]+('[^\W\d_]+)*"
#: "AH0": the CMU dictionary marks stress, the model knows none.
_STRESS = re.compile(r"[012]$")


def _word(value: object) -> str:
    if not isinstance(value, str) or not re.fullmatch(_WORD, value):
        raise refusal(
            "bad-word",
            f"{shown(value)} is not one word",
            "Give the pronunciation of one word, in letters; of a phrase, word by word.",
        )
    return value.lower()


def _phones(value: object) -> str:
    if not isinstance(value, str) or not value.split():
        raise refusal(
            "bad-pronunciation",
            f"sounds are wanted, not {shown(value)}",
            "Write them in ARPAbet, parted by spaces, such as AO K S IH JH AH N.",
        )
    phones = [_STRESS.sub("", phone) for phone in value.upper().split()]
    for phone, written in zip(phones, value.split(), strict=True):
        if phone not in PHONES:
            near = nearest(phone, PHONES)
            raise refusal(
                "bad-pronunciation",
                f"{shown(written)} is no sound of ARPAbet",
                f"Did you mean {near}?" if near else f"The sounds are {' '.join(PHONES)}.",
            )
    return " ".join(phones)


Word = Annotated[
    str, BeforeValidator(_word), WithJsonSchema({"type": "string", "minLength": 1})
]  # the pattern needs Unicode classes, which JSON Schema has not
Phones = Annotated[
    str,
    BeforeValidator(_phones),
    WithJsonSchema({"type": "string", "examples": ["AO K S IH JH AH N"]}),
]


class OwnItemFile(FileModel):
    """What is added to one item."""

    expect: tuple[Text, ...] = Field(
        default=(), description="Further responses that mean: as expected."
    )
    not_as_expected: tuple[Text, ...] = Field(
        default=(), description="Further responses that say that something is wrong."
    )
    names: tuple[Text, ...] = Field(
        default=(), description="Further words that may come before the number of a reading."
    )


def _titled(schema: dict[str, Any]) -> None:
    schema["title"] = "Voiceflow own words"


class OwnWordsFile(FileModel):
    """The words that one person adds."""

    model_config = ConfigDict(json_schema_extra=_titled)

    language: Text = Field(default="en", description="Language of the pronunciations: en, ko ...")
    checks: dict[Name, dict[Name, OwnItemFile]] = Field(
        default_factory=dict,
        description="Name of a check -> id of an item -> what is added to it.",
    )
    pronunciations: dict[Word, tuple[Phones, ...]] = Field(
        default_factory=dict,
        description="Word -> further ways you say it, in ARPAbet: oxygen: [AO K S IH JH AH N].",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnWords:
    """One person's words, ready to be laid over a check.

    Attributes:
        tree: The file's values, places and digest.
        written: What it says.
    """

    tree: Tree
    written: OwnWordsFile

    def pronunciations(self, language: str) -> tuple[OwnPronunciation, ...]:
        """Give the further ways to say words of a language, in file order."""
        if self.written.language != language:
            return ()
        return tuple(
            OwnPronunciation(word=word, phones=tuple(way.split()))
            for word, ways in self.written.pronunciations.items()
            for way in dict.fromkeys(ways)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Reserved:
    """What no person's own words may take.

    Attributes:
        tokenise: Text to words, as the language has it.
        commands: The standing commands, as words -> as taught.
        empty: Phrases that state no setting, and hesitations, as words.
        numbers: Words that numbers are made of.
        sounds: Pronunciation -> the word of the language pack that is said so.
    """

    tokenise: Callable[[str], tuple[str, ...]]
    commands: Mapping[tuple[str, ...], str] = field(default_factory=dict)
    empty: frozenset[tuple[str, ...]] = frozenset()
    numbers: frozenset[str] = frozenset()
    sounds: Mapping[tuple[str, ...], str] = field(default_factory=dict)


def load_own_words(path: Path) -> OwnWords:
    """Load a personal file.

    Raises:
        CheckFileError: With every problem of its shape.
    """
    tree = read_tree(path)
    problems = tree.problems
    if not problems and not isinstance(tree.value, dict):
        what = "the file is no list of keys and values"
        problems = (_problem(tree, (), "wrong-type", what, "Begin with checks: and a name."),)
    if problems:
        raise CheckFileError(problems)
    validated = validate(tree, tree.value, (), OwnWordsFile)
    if validated.problems or validated.model is None:
        raise CheckFileError(sorted(validated.problems))
    return OwnWords(tree=tree, written=validated.model)


def add_own_words(read: ReadCheck, own: OwnWords, reserved: Reserved) -> ReadCheck:
    """Lay a person's words over a check.

    Args:
        read: The check, sound or not.
        own: The person's words; those for other checks count for nothing here.
        reserved: What they may not take, in the check's language.

    Returns:
        The check with the words in it and the digest of the personal file. What cannot
        be added is among the problems, at its place in the personal file; there is no
        check then. The items as written stay as they are.
    """
    if read.header is None:
        return read
    problems = [*_in_pronunciations(own, reserved, read.header.language)]
    added: dict[str, OwnItemFile] = {}
    written = {each.item.id: each for each in read.items if each.item is not None}
    base: TreePath = ("checks", read.header.check)
    for item_id, words in own.written.checks.get(read.header.check, {}).items():
        path = (*base, item_id)
        if item_id in written:
            found = list(_in_item(own.tree, path, words, written[item_id], reserved))
            problems += found
            if not found:
                added[item_id] = words
        elif read.check is not None:  # an item with an error has no name to be found by
            what = f"the check {read.header.check!r} has no item {item_id!r}"
            remedy = did_you_mean(item_id, written, f"Its items are {', '.join(written)}.")
            problems.append(_problem(own.tree, path, "unknown-item", what, remedy, of_key=True))
    check = read.check
    if problems:
        check = None
    elif check is not None:
        items = tuple(
            with_own_words(item, added[item.id]) if item.id in added else item
            for item in check.items
        )
        check = replace(
            check,
            items=items,
            own_words_digest=own.tree.digest,
            own_pronunciations=own.pronunciations(check.language),
        )
    return replace(read, check=check, problems=(*read.problems, *sorted(problems)))


def with_own_words(item: Item, words: OwnItemFile) -> Item:
    """Give an item with a person's words after its own; nothing else of it changes."""
    reading = item.reading
    if reading is not None and words.names:
        reading = replace(reading, names=(*reading.names, *words.names))
    return replace(
        item,
        expect=(*item.expect, *words.expect),
        not_as_expected=(*item.not_as_expected, *words.not_as_expected),
        reading=reading,
    )


def _in_item(
    tree: Tree, base: TreePath, words: OwnItemFile, written: WrittenItem, reserved: Reserved
) -> Iterator[Problem]:
    item = written.item
    assert item is not None, "only whole items are looked up"
    if words.expect and not item.expect:
        yield _problem(
            tree,
            (*base, "expect"),
            "reading-wanted",
            f"the item {item.id!r} is answered by a reading, which is held against its limits",
            "Take expect: out; not_as_expected: and names: may be added here.",
        )
    if words.names and item.reading is None:
        yield _problem(
            tree,
            (*base, "names"),
            "no-reading",
            f"the item {item.id!r} has no reading to be named",
            "Take names: out.",
        )
    seen = {folded(phrase): "expect" for phrase in item.expect}
    seen |= {folded(phrase): "not_as_expected" for phrase in item.not_as_expected}
    for key, phrases in (("expect", words.expect), ("not_as_expected", words.not_as_expected)):
        for index, phrase in enumerate(phrases):
            yield from _in_response(tree, (*base, key, index), key, phrase, seen, reserved)
            seen.setdefault(folded(phrase), key)
    for index, name in enumerate(words.names):
        numbers = [word for word in reserved.tokenise(name) if _is_number(word, reserved)]
        if numbers:
            yield _problem(
                tree,
                (*base, "names", index),
                "number-in-name",
                f"{name!r} holds {numbers[0]!r}, which is part of a number",
                "Use a name without number words: it could change the reading.",
            )


def _in_response(
    tree: Tree, path: TreePath, key: str, phrase: str, seen: Mapping[str, str], reserved: Reserved
) -> Iterator[Problem]:
    words = reserved.tokenise(phrase)
    command = next(
        (command for held, command in reserved.commands.items() if _holds(words, held)), None
    )
    other = seen.get(folded(phrase))
    if not words:
        what, remedy = f"{phrase!r} has no word in it", "Write a word."
        yield _problem(tree, path, "empty-text", what, remedy)
    elif other is not None and other != key:
        what = f"{phrase!r} is {'as expected' if other == 'expect' else 'not as expected'} already"
        remedy = "Take it out: a phrase cannot mean both."
        yield _problem(tree, path, "both-right-and-wrong", what, remedy)
    elif other is not None:
        what, remedy = f"{phrase!r} can be said here already", "Take it out."
        yield _problem(tree, path, "same-phrase", what, remedy)
    elif command is not None:
        what = f"{phrase!r} holds the standing command {command!r}"
        remedy = "Use other words: the command would be taken for an answer."
        yield _problem(tree, path, "command-in-response", what, remedy)
    elif words in reserved.empty:
        what, remedy = f"{phrase!r} states no setting", "Say the status itself."
        yield _problem(tree, path, "empty-response", what, remedy)


def _in_pronunciations(own: OwnWords, reserved: Reserved, language: str) -> Iterator[Problem]:
    if own.written.language != language:
        return
    for word, ways in own.written.pronunciations.items():
        for index, way in enumerate(ways):
            other = reserved.sounds.get(tuple(way.split()))
            if other is not None and other != word:
                yield _problem(
                    own.tree,
                    ("pronunciations", word, index),
                    "same-sound",
                    f"{way} is how {other!r} is said: {word!r} would be heard for it",
                    "Write how you say this word where it differs from the other.",
                )


def _holds(words: tuple[str, ...], held: tuple[str, ...]) -> bool:
    return any(
        words[start : start + len(held)] == held for start in range(len(words) - len(held) + 1)
    )


def _is_number(word: str, reserved: Reserved) -> bool:
    return word in reserved.numbers or any(letter.isdigit() for letter in word)


def _problem(
    tree: Tree, path: TreePath, rule: str, what: str, remedy: str, *, of_key: bool = False
) -> Problem:
    place = tree.place(path, of_key=of_key)
    return Problem(
        path=tree.path,
        line=place.line,
        column=place.column,
        rule=rule,
        what=what,
        remedy=remedy,
    )
