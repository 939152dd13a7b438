"""Fitting a logistic model whose weights have signs that make sense. Plain arithmetic."""

from collections.abc import Collection, Sequence

import numpy as np
from numpy.typing import NDArray

#: Strength of the pull of each weight (per standard deviation of its measure) to nothing.
RIDGE = 1.0


def fit_weights(
    table: NDArray[np.float64],
    right: NDArray[np.float64],
    measures: Sequence[str],
    *,
    never_positive: Collection[str],
    never_negative: Collection[str],
) -> tuple[float, dict[str, float]]:
    """Fit the weights: Newton's method, a ridge, and signs that make sense.

    A weight that comes out with the wrong sign is left out, and the rest fitted anew.

    Args:
        table: One row an example, one column a measure.
        right: 1 for each example whose answer is right, else 0.
        measures: Names of the columns.
        never_positive: Measures that must not count for an answer.
        never_negative: Measures that must not count against it.

    Returns:
        The offset and a weight for every measure, rounded to thousandths.
    """
    spread = np.maximum(table.std(axis=0), 1e-9)
    used = list(range(len(measures)))
    while True:
        columns = np.hstack([np.ones((len(table), 1)), table[:, used] / spread[used]])
        weights = _newton(columns, right)
        wrong = [
            (abs(weight), place)
            for weight, place in zip(weights[1:], used, strict=True)
            if (measures[place] in never_positive and weight > 0)
            or (measures[place] in never_negative and weight < 0)
        ]
        if not wrong:
            break
        used.remove(max(wrong)[1])
    found = dict.fromkeys(measures, 0.0)
    for weight, place in zip(weights[1:], used, strict=True):
        found[measures[place]] = round(float(weight / spread[place]), 3)
    return round(float(weights[0]), 3), found


def _newton(columns: NDArray[np.float64], right: NDArray[np.float64]) -> NDArray[np.float64]:
    weights = np.zeros(columns.shape[1])
    pull = np.full(columns.shape[1], RIDGE)
    pull[0] = 0.0
    for _ in range(50):
        chance = 1 / (1 + np.exp(-np.clip(columns @ weights, -50, 50)))
        gradient = columns.T @ (right - chance) - pull * weights
        curve = (columns.T * (chance * (1 - chance))) @ columns + np.diag(pull + 1e-9)
        step = np.linalg.solve(curve, gradient)
        weights += step
        if np.max(np.abs(step)) < 1e-8:
            break
    return weights
