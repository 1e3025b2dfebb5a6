"""Policies that go down a list: likeliest first, cheapest first, chance over cost.

They make no checks and try remedies until one helps. Where the goal is to identify the
cause there is nothing to try, and the list is one of checks.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tubside.diagnosis.solve.policies.ahead import Sight, gains, spread_of
from tubside.diagnosis.solve.policies.estimate import in_order
from tubside.diagnosis.solve.policies.field import Bools, Nodes, costs, nodes_of
from tubside.diagnosis.solve.policies.steps import step_at, stop_step, to_steps
from tubside.diagnosis.solve.problem import Floats, Problem
from tubside.diagnosis.solve.state import State, Step


@dataclass(frozen=True, slots=True)
class Likeliest:
    """Remedies by how often they are what helps, as known before the job began.

    To identify: checks in the order of the file.
    """

    problem: Problem
    sight: Sight
    frequency: Floats  # (remedies,)

    @classmethod
    def of(cls, problem: Problem, sight: Sight) -> Likeliest:
        """Write the list, from the chances before the job."""
        field = sight.field
        return cls(problem, sight, (field.prior @ field.share) @ field.clears.T)

    def choose(self, states: Sequence[State]) -> list[Step]:
        """Return the first remedy of the list that is left and may help."""
        nodes = nodes_of(self.sight.field, states)
        checks = np.arange(self.sight.field.checks)
        rank = np.concatenate([checks, -self.frequency])
        return _go_down(self.problem, self.sight, nodes, rank)


@dataclass(frozen=True, slots=True)
class Cheapest:
    """Remedies by what they cost now, whatever they may clear. To identify: checks."""

    problem: Problem
    sight: Sight

    def choose(self, states: Sequence[State]) -> list[Step]:
        """Return the cheapest remedy that is left and may help."""
        nodes = nodes_of(self.sight.field, states)
        return _go_down(self.problem, self.sight, nodes, costs(self.sight.field, nodes))


@dataclass(frozen=True, slots=True)
class ChanceOverCost:
    """Remedies by chance over cost, ended where a stop is cheaper. To identify: bits per cost."""

    problem: Problem
    sight: Sight

    def choose(self, states: Sequence[State]) -> list[Step]:
        """Return the remedy with the largest chance over cost, or a stop."""
        return pc_steps(self.problem, self.sight, nodes_of(self.sight.field, states))


def pc_steps(problem: Problem, sight: Sight, nodes: Nodes) -> list[Step]:
    """Return what P/C does at each node; to identify, the check with most bits for its cost."""
    field = sight.field
    if field.identify:
        return to_steps(problem, cost_of_bits(sight, nodes), np.inf)
    tries = in_order(field, sight.tries, nodes)[1]
    return [
        stop_step(problem) if first < 0 else step_at(problem, int(sight.tries.step[first]))
        for first in tries
    ]


def cost_of_bits(sight: Sight, nodes: Nodes) -> Floats:
    """What a bit costs with each check, infinite where it tells nothing: (r, checks)."""
    field = sight.field
    spread = spread_of(field, nodes)
    gain = gains(field, nodes, spread)
    price = costs(field, nodes)[:, : field.checks]
    return np.asarray(np.where(gain > 0, price / np.maximum(gain, 1e-300), np.inf))


def _listed(sight: Sight, nodes: Nodes) -> Bools:
    """Steps that a list goes down: what is left and may help, remedies or else checks: (r, s)."""
    field = sight.field
    kind = np.arange(len(field.price)) >= field.checks
    listed = kind != field.identify
    return np.asarray(nodes.free & ~spread_of(field, nodes).useless & listed)


def _go_down(problem: Problem, sight: Sight, nodes: Nodes, rank: Floats) -> list[Step]:
    """The listed step of lowest rank at each node; a stop where that is no dearer."""
    field = sight.field
    rank = np.where(_listed(sight, nodes), rank, np.inf)
    now = costs(field, nodes)
    best = rank.argmin(axis=1) if rank.shape[1] else np.zeros(len(nodes), dtype=np.int64)
    return [
        step_at(problem, int(number))
        if np.isfinite(row).any() and price[number] < field.stop
        else stop_step(problem)
        for row, price, number in zip(rank, now, best, strict=True)
    ]
