"""sounds-alike: an expected response that sounds like one that says something is wrong.

Hearing the one for the other turns a fault into "all is well". Two expected responses
may sound alike: they mean the same. Found are pairs whose phones are nearly the same
(weighted phone distance, see ``likeness.py``), and pairs of which one is what is left
when the other loses an end: a pause in the middle of "closed and leaking" makes it
"closed", and an "unlocked" whose beginning is lost is "locked".

Passes::

    - id: door
      challenge: Cabin door
      expect: [latched]
      not_as_expected: [standing open]

Fails::

    - id: door
      challenge: Cabin door
      expect: [locked]
      not_as_expected: [blocked]
"""

from collections.abc import Iterator
from itertools import product

from voiceflow.checks.problem import Problem
from voiceflow.lint.likeness import is_clipped, sound_alike
from voiceflow.lint.subject import Subject

RULE = "sounds-alike"


def find(subject: Subject) -> Iterator[Problem]:
    """Find responses of opposite meaning that may be heard for each other."""
    for written, item in subject.items():
        phrases = subject.phrases(written, item)
        right = [phrase for phrase in phrases if phrase.is_expected]
        wrong = [phrase for phrase in phrases if not phrase.is_expected]
        for one, other in product(right, wrong):
            if is_clipped(subject, one.text, other.text):
                yield subject.warning(
                    other.path,
                    RULE,
                    f"{one.text!r} and {other.text!r} are one where an end is lost to a pause or noise",
                    "Let neither begin nor end with the whole of the other.",
                    item,
                )
            elif sound_alike(subject, one.text, other.text):
                yield subject.warning(
                    other.path,
                    RULE,
                    f"{other.text!r} sounds like {one.text!r}, which means the opposite",
                    "Use words that sound different.",
                    item,
                )
