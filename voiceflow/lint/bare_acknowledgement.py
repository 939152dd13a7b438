"""bare-acknowledgement: a challenge that expects "checked", "set" or "as required".

Who says "checked" has not said what the instrument shows, and "set" is said as easily
when nothing was set. Responses state the desired status or value (Degani and Wiener,
NASA CR-177549, May 1990, appendix A, guideline 1, in our words). Which phrases these
are is the language pack's to say.

Passes::

    - id: flaps
      challenge: Flaps
      expect: [fully up]
      not_as_expected: [extended]

Fails::

    - id: flaps
      challenge: Flaps
      expect: [set]
      not_as_expected: [extended]
"""

from collections.abc import Iterator

from voiceflow.checks.problem import Problem
from voiceflow.lint.subject import Subject

RULE = "bare-acknowledgement"


def find(subject: Subject) -> Iterator[Problem]:
    """Find expected responses that state no setting."""
    tokenise = subject.language.tokenise
    empty = {tokenise(phrase) for phrase in subject.language.empty_responses}
    for written, item in subject.items():
        for phrase in subject.phrases(written, item):
            if phrase.is_expected and tokenise(phrase.text) in empty:
                yield subject.warning(
                    phrase.path,
                    RULE,
                    f"{phrase.text!r} does not say what the item is set to",
                    "Expect the status itself, such as removed, fully up or a reading.",
                    item,
                )
