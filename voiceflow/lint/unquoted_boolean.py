"""unquoted-boolean: on, off, yes or no without quotes.

We read them as text, as YAML 1.2 says, but readers of YAML 1.1 (most editors and many
libraries) take them for true and false, so that a tool in between turns "off" into
"false". Quotes keep them words.

Passes::

    - id: fuel-pumps
      challenge: Fuel pumps
      expect: ["off"]
      not_as_expected: [still running]

Fails::

    - id: fuel-pumps
      challenge: Fuel pumps
      expect: [off]
      not_as_expected: [still running]
"""

from collections.abc import Iterator

from voiceflow.checks.problem import Problem
from voiceflow.lint.subject import Subject

RULE = "unquoted-boolean"

#: The words of YAML 1.1's type "bool" that YAML 1.2 has no more
#: (yaml.org/type/bool.html), in any of the three cases there.
_WORDS = frozenset({"y", "n", "yes", "no", "on", "off"})


def find(subject: Subject) -> Iterator[Problem]:
    """Find bare words that are booleans to readers of YAML 1.1."""
    tree = subject.read.tree
    items = {written.path: written.item for written in subject.read.items}
    for path in tree.unquoted:
        value = tree.value
        for part in path:
            value = value[part]
        if value.lower() in _WORDS:
            yield subject.warning(
                path,
                RULE,
                f"{value} without quotes is true or false to many readers of YAML",
                f'Write it in quotes: "{value}".',
                items.get(path[:2]),
            )
