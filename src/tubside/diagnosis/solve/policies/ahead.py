"""Looking several steps ahead, at the best few steps of many nodes at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tubside.diagnosis.solve.policies.estimate import Asking, Tries, estimate, tries_of
from tubside.diagnosis.solve.policies.field import (
    NEVER,
    Bools,
    Field,
    Ints,
    Nodes,
    after,
    costs,
    doubt,
    joint,
)
from tubside.diagnosis.solve.problem import Floats

TELLS_NOTHING = 1e-10
OVERLAP = 0.4
"""What checks tell together is so much of the sum of what each tells alone: the share with
which the look-ahead did best on random problems (by measurement, no source)."""
MOST_NUMBERS = 2_000_000
"""Numbers in one array of the look-ahead; more nodes are looked at in parts."""


@dataclass(frozen=True, slots=True)
class Sight:
    """What looking ahead needs: the arrays, and the tries of the estimate."""

    field: Field
    tries: Tries

    @classmethod
    def of(cls, field: Field) -> Sight:
        """Prepare."""
        return cls(field, tries_of(field))


@dataclass(frozen=True, slots=True)
class Spread:
    """Branches that can come: of node ``row``, with a chance, to the nodes ``then``."""

    row: Ints
    branch: Ints
    chance: Floats
    then: Nodes
    useless: Bools  # (r, s) steps that would change nothing


def look(sight: Sight, nodes: Nodes, widths: Sequence[int]) -> Floats:
    """Cost of each step and all after it, infinite where it is not to be done: (r, s).

    With no width the nodes after the step are estimated. Each width looks one step
    further, after that many of the best steps at every node.
    """
    size = len(nodes) * len(sight.field.step_of) * sight.field.member.shape[0]
    parts = min(max(-(-size // MOST_NUMBERS), 1), max(len(nodes), 1))
    found = [
        _look(sight, nodes.take(np.asarray(rows)), widths)
        for rows in np.array_split(np.arange(len(nodes)), parts)
    ]
    return np.vstack(found)


def _look(sight: Sight, nodes: Nodes, widths: Sequence[int]) -> Floats:
    field = sight.field
    spread = spread_of(field, nodes)
    price = np.where(nodes.free & ~spread.useless, costs(field, nodes), np.inf)
    rest = estimate(field, sight.tries, spread.then, _asking(field, nodes, spread, price))
    value = price + gathered(field, spread, rest, len(nodes))
    if not widths or not len(nodes):
        return value
    wanted = _best(value, widths[0])
    deep = np.flatnonzero(wanted[spread.row, field.step_of[spread.branch]])
    further = spread.then.take(deep)
    rest[deep] = value_of(field, further, look(sight, further, widths[1:]))
    value = price + gathered(field, spread, rest, len(nodes))
    return np.where(wanted, value, np.inf)


def value_of(field: Field, nodes: Nodes, steps: Floats) -> Floats:
    """What nodes cost whose steps cost this: the best of them, ending the job, or being done."""
    value = np.minimum(steps.min(axis=1, initial=np.inf), field.ending)
    return np.asarray(np.where(_identified(field, nodes), 0.0, value))


def _identified(field: Field, nodes: Nodes) -> Bools:
    """Whether to identify was the goal, and one cause is left: (r,)."""
    left = ((nodes.weights @ field.member) > 0).sum(axis=1)
    return np.asarray(field.identify & (left <= 1))


def spread_of(field: Field, nodes: Nodes) -> Spread:
    """Every branch of every step that is left and can do something."""
    weights = joint(field, nodes.weights)
    chance = weights.sum(axis=2)
    useless = _useless(field, nodes, weights, chance)
    can = (nodes.free & ~useless)[:, field.step_of] & (chance > NEVER)
    row, branch = np.nonzero(can)
    chance = chance[row, branch]
    then = after(field, nodes, row, branch, weights[row, branch] / chance[:, None])
    return Spread(row, branch, chance, then, useless)


def _useless(field: Field, nodes: Nodes, weights: Floats, chance: Floats) -> Bools:
    """Checks that move no belief, and remedies that can clear nothing that may be there."""
    said = len(field.said)
    moved = np.abs(weights[:, :said] - chance[:, :said, None] * nodes.weights[:, None, :]).sum(2)
    told = np.zeros((len(nodes), len(field.price)))
    np.add.at(told.T, field.step_of[:said], moved.T)
    if len(field.clears):
        told[:, field.checks :] = (nodes.weights @ field.member) @ field.clears.T
    told[_identified(field, nodes)] = 0.0
    return told <= TELLS_NOTHING


def _asking(field: Field, nodes: Nodes, spread: Spread, price: Floats) -> Asking:
    """Checks that are left after each branch, the cheapest bits first: (branches, checks)."""
    count = field.checks
    gain = OVERLAP * gains(field, nodes, spread)
    rate = np.where(gain > TELLS_NOTHING, price[:, :count] / np.maximum(gain, 1e-300), np.inf)
    order = np.argsort(rate, axis=1, kind="stable")
    rate = np.take_along_axis(rate, order, axis=1)
    gain = np.where(np.isfinite(rate), np.take_along_axis(gain, order, axis=1), 0.0)
    step = field.step_of[spread.branch]
    spent = (order[spread.row] == step[:, None]) & ~field.repeatable[step][:, None]
    return Asking(np.where(spent, 0.0, gain[spread.row]), rate[spread.row])


def gains(field: Field, nodes: Nodes, spread: Spread) -> Floats:
    """How much less doubt there is on average after each check: (r, checks) [bit]."""
    left = gathered(field, spread, doubt(field, spread.then.weights), len(nodes))
    came = gathered(field, spread, np.ones(len(spread.row)), len(nodes))
    gain = doubt(field, nodes.weights)[:, None] * came - left
    return np.asarray(gain[:, : field.checks])


def gathered(field: Field, spread: Spread, rest: Floats, count: int) -> Floats:
    """Expected rest after each step: (r, s)."""
    total = np.zeros((count, len(field.price)))
    np.add.at(total, (spread.row, field.step_of[spread.branch]), spread.chance * rest)
    return total


def _best(value: Floats, width: int) -> Bools:
    """The ``width`` cheapest steps of each row that can be done."""
    place = np.argsort(np.argsort(value, axis=1, kind="stable"), axis=1, kind="stable")
    return np.asarray((place < width) & np.isfinite(value))
