"""scale-contradicts-limits: limits that the gauge's marks make pointless.

Found: a limit between two marks (nobody can read it), a limit or caution that no mark
of the gauge is beyond, limits without any mark inside, and a caution band that leaves
no reading simply good. All are judged as a reading would be, mark by mark. A limit that
is worked out for the day may lie between marks: no one can put it on one.

Passes::

    - id: battery
      challenge: Battery voltage
      reading: {unit: V, scale: {from: 0, to: 30, step: 0.5}, minimum: 23.5, caution: {below: 24.5}}

Fails::

    - id: battery
      challenge: Battery voltage
      reading: {unit: V, scale: {from: 0, to: 30, step: 0.5}, minimum: 23.7}
"""

from collections.abc import Collection, Iterator
from decimal import Decimal

from voiceflow.checks.model import Item, ReadingSpec
from voiceflow.checks.problem import Problem
from voiceflow.checks.yaml_tree import TreePath
from voiceflow.limits.judge import Verdict, judge
from voiceflow.lint.subject import Subject

RULE = "scale-contradicts-limits"


def find(subject: Subject) -> Iterator[Problem]:
    """Find limits that contradict the scale."""
    for written, item in subject.items():
        if item.reading is not None:
            worked_out = {limit.value for limit in written.computed}
            path = (*written.path, "reading")
            yield from _in_reading(subject, path, item, item.reading, worked_out)


def _in_reading(
    subject: Subject,
    path: TreePath,
    item: Item,
    reading: ReadingSpec,
    worked_out: Collection[Decimal],
) -> Iterator[Problem]:
    scale, limit = reading.scale, reading.limit
    bounds: tuple[tuple[TreePath, str, Decimal | None, bool], ...] = (
        (("minimum",), "minimum", limit.minimum, True),
        (("maximum",), "maximum", limit.maximum, False),
        (("caution", "below"), "caution below", limit.caution_below, True),
        (("caution", "above"), "caution above", limit.caution_above, False),
    )
    for key, name, bound, is_lower in bounds:
        if bound is None:
            continue
        if bound <= scale.lowest if is_lower else bound >= scale.highest:
            end = "begins" if is_lower else "ends"
            yield subject.warning(
                (*path, *key),
                RULE,
                f"{name} {bound} can never be broken: the gauge {end} there or inside it",
                f"Put {name} inside the gauge, or take it out.",
                item,
            )
        elif (
            bound not in worked_out and scale.lowest < bound < scale.highest and bound not in scale
        ):
            yield subject.warning(
                (*path, *key),
                RULE,
                f"{name} {bound} lies between two marks of the gauge",
                f"Put it on a mark, {scale.step} apart, or give the gauge a finer step.",
                item,
            )
    verdicts = {judge(value, limit) for value in scale.values()}
    if verdicts == {Verdict.OUTSIDE}:
        yield subject.warning(
            path, RULE, "no mark of the gauge is within the limits", "Widen the limits.", item
        )
    elif Verdict.WITHIN not in verdicts:
        yield subject.warning(
            path,
            RULE,
            "every reading within the limits is in the caution band",
            "Narrow the caution band.",
            item,
        )
