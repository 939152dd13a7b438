"""command-homophone: a response that sounds like a standing command, or begins like one.

The standing commands are understood at every item. A transponder that is "standby"
would put the check on hold. So would a response that begins with a command ("stand by
lit"), whenever there is a pause after those words. A response in the very words of a
command is an error, which stops the file from being loaded (response-is-command).

Passes::

    - id: transponder
      challenge: Transponder
      expect: [ready to send]
      not_as_expected: [dark]

Fails::

    - id: transponder
      challenge: Transponder
      expect: [standby]
      not_as_expected: [dark]
"""

from collections.abc import Iterator

from voiceflow.checks.problem import Problem
from voiceflow.lint.likeness import begins, sound_alike
from voiceflow.lint.subject import Subject

RULE = "command-homophone"


def find(subject: Subject) -> Iterator[Problem]:
    """Find responses that may be heard as a command, or a command as them."""
    seen: dict[str, tuple[str, str] | None] = {}
    for written, item in subject.items():
        for phrase in subject.phrases(written, item):
            if phrase.text not in seen:
                seen[phrase.text] = _clash(subject, phrase.text)
            clash = seen[phrase.text]
            if clash is not None:
                verb, command = clash
                yield subject.warning(
                    phrase.path,
                    RULE,
                    f"{phrase.text!r} {verb} the standing command {command!r}",
                    "Use other words for this response.",
                    item,
                )


def _clash(subject: Subject, text: str) -> tuple[str, str] | None:
    """Give how a response clashes with a command, and with which."""
    tokenise = subject.language.tokenise
    for command in (each for ways in subject.language.commands.values() for each in ways):
        if tokenise(text) == tokenise(command):
            return None  # response-is-command, an error
        if sound_alike(subject, text, command):
            return "sounds like", command
        if begins(subject, text, command):
            return "begins like", command
    return None
