r"""What it costs at least when only two causes are possible, for any two of a single fault.

With p the chance of the first of two causes, all covers open and every step repeatable,
the least cost V obeys

.. math:: V(p) = \min\Bigl(\text{stop}, \;
          \min_t c_t + \sum_o P(o) V(p_o), \; \min_a c_a + P(\text{fails}) V(p_a)\Bigr)

V is concave: a plan's cost is linear in p and V is the least of them. So a straight line
between two values of V, or between values below it, lies below V. Starting from the cost
with the cause known, each round puts the right-hand side, read off the lines, in the place
of V where it is larger; by induction every value stays at or below V. More freedom (covers
open, steps again) only lowers costs, so V is a floor for the real problem.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tubside.diagnosis.solve.problem import Floats, Problem

if TYPE_CHECKING:
    from tubside.diagnosis.solve.state import Numbers

HALF = 12
ROUNDS = 14
GRID = np.concatenate([0.5 * (np.arange(HALF + 1) / HALF) ** 2, [0.0] * HALF])
GRID[HALF + 1 :] = 1.0 - GRID[:HALF][::-1]


def two_cause_costs(problem: Problem, known: Floats) -> Floats:
    """Return the floor for each pair of causes at each point of the grid: (n, n, points).

    ``known`` (n,) is the cost of each cause if it is known, all covers open.
    """
    n = len(known)
    first, second = np.triu_indices(n, 1)
    stop = min((s.cost for s in problem.stops), default=np.inf)
    chance = np.stack([np.broadcast_to(GRID, (len(first), len(GRID)))] * 2)
    chance[1] = 1.0 - GRID
    value = chance[0] * known[first, None] + chance[1] * known[second, None]
    ways = [_lines(c.cost, list(c.given.T), (first, second), chance) for c in problem.checks]
    ways += [
        _lines(r.cost + r.rerun_cost, [1.0 - r.clears], (first, second), chance)
        for r in problem.remedies
    ]
    rows = np.arange(len(first))[:, None]
    for _ in range(ROUNDS):
        best = np.full(value.shape, stop)
        for cost, outcomes in ways:
            later = np.full(value.shape, cost)
            for total, at, part in outcomes:
                later += total * ((1.0 - part) * value[rows, at] + part * value[rows, at + 1])
            best = np.minimum(best, later)
        value = np.maximum(value, best)
    table = np.zeros((n, n, len(GRID)))
    table[first, second] = value
    table[second, first] = value[:, ::-1]
    return table


Outcome = tuple[Floats, "Numbers", Floats]


def _lines(
    cost: float, rows: list[Floats], pair: tuple[Numbers, Numbers], chance: Floats
) -> tuple[float, list[Outcome]]:
    """Where each outcome leads on the grid: its chance, the point below, the part beyond it."""
    outcomes = []
    for row in rows:
        one, other = chance[0] * row[pair[0], None], chance[1] * row[pair[1], None]
        total = one + other
        p = np.divide(one, total, out=np.zeros_like(one), where=total > 0)
        at = np.clip(np.searchsorted(GRID, p, side="right") - 1, 0, len(GRID) - 2)
        part = (p - GRID[at]) / (GRID[at + 1] - GRID[at])
        outcomes.append((total, at.astype(np.int64), np.clip(part, 0.0, 1.0)))
    return cost, outcomes
