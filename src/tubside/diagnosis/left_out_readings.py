r"""What readings can make of the sets that were not kept: a bound on their joint mass.

P(everything measured | S) depends on S only through the causes T that alter what was
measured. For sets that hold at most two of them it is worked out for every choice; for the
others its largest value over all true values is taken. How much mass the others have
follows from the generating function

.. math:: F(z) = \sum_S z^{|S \cap T|}\, P(S)\, P(\text{other facts} \mid S)
              = c_0 + c_1 z + c_2 z^2 + \dots

which is a closed product like F(1) is. With :math:`F(\pm h)` and :math:`F(0)` the sum of
:math:`c_3, c_4, \dots` comes out at least :math:`1 - h^2` times itself.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from tubside.diagnosis.evidence import Evidence
from tubside.diagnosis.hypotheses import FAULT, Sets, follow
from tubside.diagnosis.reading_density import largest_chance, largest_of_rows, touching_any
from tubside.pack.fault_model import Bools, FaultModel, Floats, Ints

FEW = 2
STEP = 0.02
ROUNDED = 4.0 / STEP**2
"""How much the differences of F blow up a rounding error of F, at most."""
MOST_TOUCHING = 45
"""With more causes that alter the readings, pairs of them are not listed."""


@dataclass(frozen=True, slots=True)
class Others:
    """All facts but the readings: their sum over every set, and what was kept of it."""

    mass: Callable[[Floats], float]  # (n,) weight of each cause -> sum over all sets
    members: Bools  # (N, n) kept sets
    seen: Floats  # (N,) their mass
    rest: float  # largest value of the facts that the sum leaves out
    rounding: float


def with_readings(model: FaultModel, evidence: Evidence, left: float, others: Others) -> float:
    """Bound on the joint mass left out; ``left`` is the bound without the readings."""
    most = largest_chance(model, evidence.readings)
    touching = touching_any(model, evidence.readings)
    if len(touching) > MOST_TOUCHING:
        return left * most
    rows = follow(evidence, _few(model.n_causes, touching))
    few = largest_of_rows(model, evidence.readings, rows)
    many = min(left, others.rest * _many_left(others, touching))
    return min(left * most, left * few + many * most)


def _many_left(others: Others, touching: Ints) -> float:
    """Mass of the sets with three causes of T or more that were not kept, never less."""

    def at(z: float) -> float:
        weight = np.ones(others.members.shape[1])
        weight[touching] = z
        return others.mass(weight)

    nothing, one, down, up = at(0.0), at(1.0), at(-STEP), at(STEP)
    first = (up - down) / (2.0 * STEP)
    second = (up + down - 2.0 * nothing) / (2.0 * STEP * STEP)
    everything = max(one - nothing - first - second, 0.0) / (1.0 - STEP * STEP)
    kept = others.seen[others.members[:, touching].sum(axis=1) > FEW].sum()
    return max(everything - float(kept), 0.0) + ROUNDED * others.rounding


def _few(count: int, touching: Ints) -> Sets:
    """Every choice of at most two of the causes."""
    chosen = [c for size in range(FEW + 1) for c in combinations(touching.tolist(), size)]
    members = np.zeros((len(chosen), count), dtype=bool)
    for row, causes in enumerate(chosen):
        members[row, list(causes)] = True
    return Sets(members, np.full(len(chosen), FAULT))
