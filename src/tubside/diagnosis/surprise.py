"""How surprised to be by a reading: the share of readings that were less expected.

Density is taken over the logarithm where every number expected is above zero: a flow of
2 L/min is then as far from 1 as from 4. An answer that is no number (never, none, over
the end of the scale) is as surprising as it was unlikely.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tubside.diagnosis.belief import Belief
from tubside.diagnosis.evidence import IS, NONE, OVER, Evidence, Measured
from tubside.diagnosis.reading_bins import LEADING, shown_numbers
from tubside.diagnosis.reading_density import with_own_error
from tubside.pack.fault_model import FaultModel, Floats

GRID = 160
WIDTH = 0.35
"""Width of the kernel, of the spread of what each signature shows."""


def tail(model: FaultModel, evidence: Evidence, belief: Belief, measured: Measured) -> float:
    """P(a reading at most as expected as this one | the facts before it), in [0, 1]."""
    check = model.checks[measured.check]
    if check.reading is not None:
        check = replace(check, reading=with_own_error(check.reading, measured))
    shown = shown_numbers(model, evidence, belief.rows, check, measured.observer)
    mass = np.bincount(shown.signed.index, weights=belief.probability, minlength=len(shown.numbers))
    leading = np.argsort(-mass, kind="stable")[:LEADING]
    numbers, weights = shown.numbers[leading], shown.weights[leading] * mass[leading, None]
    weights = weights / weights.sum()
    finite = np.isfinite(numbers)
    if measured.says == NONE:
        return float(weights[np.isnan(numbers)].sum())
    if measured.says != IS:
        over = numbers > measured.value
        under = finite & ~over
        return float(weights[over if measured.says == OVER else under].sum())
    if not finite.any():
        return 0.0
    return _less_expected(numbers, np.where(finite, weights, 0.0), measured.value)


def _less_expected(numbers: Floats, weights: Floats, value: float) -> float:
    """Share of the finite numbers where the density is at most that at ``value``."""
    finite = weights > 0.0
    if (numbers[finite] > 0.0).all() and value > 0.0:
        numbers, value = np.log(np.where(finite, numbers, 1.0)), float(np.log(value))
    low, high = float(numbers[finite].min()), float(numbers[finite].max())
    room = 0.1 * (high - low) + 1e-12
    grid = np.linspace(min(low, value) - room, max(high, value) + room, GRID)
    density = np.zeros(GRID)
    for row, weight, there in zip(numbers, weights, finite, strict=True):
        if there.any():
            density += _smoothed(row[there], weight[there], grid)
    here = float(np.interp(value, grid, density))
    at = np.interp(numbers[finite], grid, density)
    return float(weights[finite][at <= here].sum())


def _smoothed(numbers: Floats, weight: Floats, grid: Floats) -> Floats:
    """Weighted density of one row on the grid."""
    spread = float(np.sqrt(np.cov(numbers, aweights=weight))) if len(numbers) > 1 else 0.0
    width = max(WIDTH * spread, 0.5 * float(grid[1] - grid[0]))
    z = (grid[:, None] - numbers[None, :]) / width
    return np.asarray(np.exp(-0.5 * z * z) @ weight / width)
