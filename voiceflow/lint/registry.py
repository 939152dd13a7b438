"""Every lint rule, and the one call that holds a check file against all of them.

A rule is a module: its name is the rule's, its docstring is the rule's manual with
items that pass and items that fail (the tests run both), and its ``find`` gives the
findings. Findings are warnings: the check can run, but someone will be misheard or
misled.
"""

from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from types import MappingProxyType

from voiceflow.checks.own_words import OwnWords
from voiceflow.checks.problem import Problem
from voiceflow.languages.registry import known_languages, language
from voiceflow.limits.computed import SOME_DAY
from voiceflow.lint import (
    ambiguous_number,
    bare_acknowledgement,
    command_homophone,
    no_way_to_say_wrong,
    own_pronunciation,
    scale_contradicts_limits,
    sounds_alike,
    unhearable_word,
    unquoted_boolean,
)
from voiceflow.lint.subject import Phones, Subject
from voiceflow.session.vocabulary import read_own_check

Rule = Callable[[Subject], Iterator[Problem]]

RULES: Mapping[str, Rule] = MappingProxyType(
    {
        "ambiguous-number": ambiguous_number.find,
        "bare-acknowledgement": bare_acknowledgement.find,
        "command-homophone": command_homophone.find,
        "no-way-to-say-wrong": no_way_to_say_wrong.find,
        "own-pronunciation": own_pronunciation.find,
        "scale-contradicts-limits": scale_contradicts_limits.find,
        "sounds-alike": sounds_alike.find,
        "unhearable-word": unhearable_word.find,
        "unquoted-boolean": unquoted_boolean.find,
    }
)


def lint_check(
    path: Path,
    aircraft_path: Path | None = None,
    phones: Phones | None = None,
    own: OwnWords | None = None,
) -> list[Problem]:
    """Give everything that is wrong with a check file, by place.

    Args:
        path: The check file.
        aircraft_path: The aircraft file; none: the one that the check file names, if any.
        phones: A recogniser's dictionary, one word -> its pronunciations (empty if it
            has none); none: words are not judged by whether they can be heard, and
            only words that the language pack can pronounce are compared.
        own: The words that a person adds, if any: they are held against the rules too.

    Returns:
        Errors that stop the file from being loaded, of all files, and warnings.
        Rules that need the meaning of an item pass over items with errors.
    """
    languages = known_languages()
    # a limit of the day is worked out for some day: what is found must not depend on it
    read = read_own_check(path, aircraft_path, own, SOME_DAY)
    problems = list(read.problems)
    if read.header is not None and read.header.language in languages:
        subject = Subject(
            read=read,
            language=language(read.header.language),
            engine_phones=phones,
            own=own,
        )
        for find in RULES.values():
            problems += find(subject)
    return sorted(problems, key=lambda each: (each.path != path, each))
