"""no-way-to-say-wrong: an item without words for "it is not as it should be".

Who finds something wrong must be able to say so, or will say the expected words. An
item with a reading and a limit is told by the number; every other item needs
``not_as_expected``.

Passes::

    - id: crash-axe
      challenge: Crash axe
      expect: [strapped in]
      not_as_expected: [loose, missing]

Fails::

    - id: crash-axe
      challenge: Crash axe
      expect: [strapped in]
"""

from collections.abc import Iterator

from voiceflow.checks.problem import Problem
from voiceflow.lint.subject import Subject

RULE = "no-way-to-say-wrong"


def find(subject: Subject) -> Iterator[Problem]:
    """Find items that can only be answered with "all is well"."""
    for written, item in subject.items():
        limit = item.reading.limit if item.reading is not None else None
        has_bound = limit is not None and not (limit.minimum is None and limit.maximum is None)
        if not item.not_as_expected and not has_bound:
            yield subject.warning(
                written.path,
                RULE,
                "there is no way to say that something is wrong",
                "Add not_as_expected: with what people would say, such as [missing, loose].",
                item,
            )
