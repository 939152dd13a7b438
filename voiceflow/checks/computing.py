"""What checks need to know of limits that are worked out for the day.

The formulas are in ``limits/``, above this folder; they come in as a function.
"""

from collections.abc import Callable

from voiceflow.checks.aircraft import Aircraft
from voiceflow.checks.model import ComputedLimit


class NotComputableError(Exception):
    """A limit cannot be worked out; mapped to a problem of the check file.

    Attributes:
        what: What is missing or wrong.
        remedy: What to do.
    """

    def __init__(self, what: str, remedy: str) -> None:
        self.what = what
        self.remedy = remedy
        super().__init__(f"{what}. {remedy}")


#: Works out a limit by its name; raises NotComputableError.
Compute = Callable[[str, Aircraft], ComputedLimit]
