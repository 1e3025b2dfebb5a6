"""One simulated call: what is really wrong, and how the customer puts it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations, product

import numpy as np

from tubside.diagnosis.evidence import Evidence
from tubside.diagnosis.facts import Fact, HowOften, Reported
from tubside.diagnosis.hypotheses import (
    FAULT,
    Sets,
    healthy_sets,
    joined,
    log_prior,
    prior_now,
    single_sets,
)
from tubside.diagnosis.likelihood import first_table
from tubside.diagnosis.reruns import how_often
from tubside.pack.fault_model import Bools, FaultModel, Floats
from tubside.pack.prior import axis_mass
from tubside.trial.chance import Chance


@dataclass(frozen=True, slots=True)
class Call:
    """What is hidden (causes, construction, what raised the complaint) and what was told."""

    causes: Bools  # (n,)
    healthy: int  # 0 nothing wrong, 1 cleared by itself, -1 a fault
    values: tuple[int, ...]  # value of each variant axis
    raised: Bools  # (n,) causes that raised the first condition
    facts: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class Drawn:
    """Sets that calls are drawn from, and what was left out."""

    sets: Sets
    weights: Floats  # (N,)
    left_out: float  # prior mass of sets of three and more


def drawable(world: FaultModel) -> Drawn:
    """No cause, one cause, or two: with their weights; three and more are left out."""
    n = world.n_causes
    pairs = np.zeros((n * (n - 1) // 2, n), dtype=bool)
    for row, (i, j) in enumerate(combinations(range(n), 2)):
        pairs[row, [i, j]] = True
    both = Sets(pairs, np.full(len(pairs), FAULT))
    sets = joined([healthy_sets(n), single_sets(n), both])
    prior, scale = prior_now(world, Evidence())
    weights = np.exp(log_prior(prior, scale, sets))
    return Drawn(sets, weights, max(1.0 - float(weights.sum()), 0.0))


def draw_set(drawn: Drawn, chance: Chance) -> Sets:
    """The causes of one call: one row."""
    row = chance.pick(drawn.weights, "set")
    return Sets(drawn.sets.members[[row]], drawn.sets.healthy[[row]])


def draw_call(world: FaultModel, one: Sets, chance: Chance, condition: int | None = None) -> Call:
    """How a call with these causes goes; ``condition`` is what the machine stopped for.

    Without it the first condition follows from the causes as the world's tables say.
    """
    causes, healthy = one.members[0], int(one.healthy[0])
    values = tuple(
        chance.pick(axis_mass(axis, one.members)[0] * axis.shares, "axis", number)
        for number, axis in enumerate(world.prior.axes)
    )
    first = condition
    if first is None:
        first = chance.pick(first_table(world, one)[0][0], "first condition")
    said = chance.pick(world.complaint.said[first], "said")
    often = np.array([how_often(world, one, word)[0, first] for word in range(3)])
    word = chance.pick(often, "how often")
    facts = (Fact("reported", Reported(said)), Fact("how often", HowOften(word)))
    raised = _raised(world, causes, first, chance)
    return Call(causes, healthy, values, raised, facts)


def _raised(world: FaultModel, causes: Bools, first: int, chance: Chance) -> Bools:
    """Which causes raised the first condition, given that something did.

    Any of them may have, each with its chance q, or none where the leak did.
    """
    present = np.flatnonzero(causes)
    result = np.zeros(len(causes), dtype=bool)
    if not len(present):
        return result
    q = np.append(world.complaint.q[present, first], world.complaint.leak[first])
    ways = [way for way in product((False, True), repeat=len(q)) if any(way)]
    weights = np.array([np.prod(np.where(way, q, 1.0 - q)) for way in ways])
    if weights.sum() > 0.0:
        result[present] = ways[chance.pick(weights, "raised")][:-1]
    return result
