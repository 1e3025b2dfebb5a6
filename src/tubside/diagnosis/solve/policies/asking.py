"""Policies that ask first and look one step ahead at most."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tubside.diagnosis.solve.policies.ahead import Sight, gathered, spread_of
from tubside.diagnosis.solve.policies.estimate import in_order
from tubside.diagnosis.solve.policies.field import costs, doubt, nodes_of
from tubside.diagnosis.solve.policies.lists import cost_of_bits, pc_steps
from tubside.diagnosis.solve.policies.steps import to_steps
from tubside.diagnosis.solve.problem import Problem
from tubside.diagnosis.solve.state import State, Step


@dataclass(frozen=True, slots=True)
class Informative:
    """The check that tells most for its cost while there is a bit of doubt or more, then P/C.

    Rests on bits, not on money: where checks are poor or dear it can cost twice the best
    plan, more than asking nothing. To identify, it asks until there is no doubt.
    """

    problem: Problem
    sight: Sight
    enough: float = 1.0  # [bit]

    def choose(self, states: Sequence[State]) -> list[Step]:
        """Return a check, or what P/C does once there is little doubt or nothing to ask."""
        field = self.sight.field
        nodes = nodes_of(field, states)
        bit = cost_of_bits(self.sight, nodes)
        asks = np.isfinite(bit).any(axis=1)
        if not field.identify:
            asks &= doubt(field, nodes.weights) >= self.enough
        steps = pc_steps(self.problem, self.sight, nodes)
        for row in np.flatnonzero(asks):
            steps[row] = Step("check", int(np.argmin(bit[row])))
        return steps


@dataclass(frozen=True, slots=True)
class Myopic:
    """The step with the least cost if P/C followed: myopic value of information.

    As in D. Heckerman, J. S. Breese & K. Rommelse, "Decision-theoretic
    troubleshooting", Communications of the ACM 38(3), 1995, 49-57 (from memory).
    """

    problem: Problem
    sight: Sight

    def choose(self, states: Sequence[State]) -> list[Step]:
        """Return a check that pays before P/C, or what P/C does."""
        field = self.sight.field
        nodes = nodes_of(field, states)
        if field.identify:
            return pc_steps(self.problem, self.sight, nodes)
        spread = spread_of(field, nodes)
        rest = in_order(field, self.sight.tries, spread.then)[0]
        value = costs(field, nodes) + gathered(field, spread, rest, len(nodes))
        value[~(nodes.free & ~spread.useless)] = np.inf
        return to_steps(self.problem, value, field.stop)
