"""Which sets to keep: grown best-first by posterior mass, never by size class."""

from __future__ import annotations

import numpy as np

from tubside.diagnosis.evidence import Evidence
from tubside.diagnosis.hypotheses import (
    FAULT,
    Sets,
    follow,
    healthy_sets,
    joined,
    log_prior,
    prior_now,
    single_sets,
)
from tubside.diagnosis.likelihood import log_likelihood
from tubside.pack.fault_model import Bools, FaultModel, Floats, Ints, Prior

EXPAND_AT_ONCE = 40
NEGLIGIBLE = 1e-12


def grow(model: FaultModel, evidence: Evidence, size: int) -> Sets:
    """About ``size`` sets: the heaviest set not yet opened gets all its one-larger sets.

    Two causes that explain two facts are reached through whichever explains
    one of them; nothing is cut by how many causes a set has.
    """
    prior, scale = prior_now(model, evidence)
    n = model.n_causes
    sets = joined([healthy_sets(n), single_sets(n)])
    mass = _joint(model, evidence, sets, prior, scale)
    opened = sets.healthy >= 0
    seen = {row.tobytes() for row in np.packbits(sets.members[2:], axis=1)}
    while len(sets) < size:
        best = _heaviest(mass, opened, n, size - len(sets))
        if not len(best):
            break
        opened[best] = True
        children = _one_larger(sets.members[best], seen)
        if len(children):
            more = Sets(children, np.full(len(children), FAULT))
            mass = np.concatenate([mass, _joint(model, evidence, more, prior, scale)])
            sets = joined([sets, more])
            opened = np.concatenate([opened, np.zeros(len(children), dtype=bool)])
    keep = np.sort(np.argsort(-mass, kind="stable")[:size])
    keep = np.union1d(keep[np.isfinite(mass[keep])], np.flatnonzero(sets.healthy >= 0))
    return Sets(sets.members[keep], sets.healthy[keep])


def _joint(model: FaultModel, evidence: Evidence, sets: Sets, prior: Prior, scale: float) -> Floats:
    """log P(S, facts) summed over what the remedies may have cleared: (N,)."""
    before = log_prior(prior, scale, sets)
    rows = follow(evidence, sets)
    joint = before[rows.owner] + log_likelihood(model, evidence, rows)
    if not evidence.treatments:
        return joint
    total = np.full(len(sets), -np.inf)
    np.logaddexp.at(total, rows.owner, joint)
    return total


def _heaviest(mass: Floats, opened: Bools, n: int, room: int) -> Ints:
    """Unopened sets worth opening now, the heaviest first."""
    closed = np.flatnonzero(~opened)
    if not len(closed):
        return closed
    top = float(mass.max())
    worth = closed[mass[closed] > top + np.log(NEGLIGIBLE)]
    count = max(1, min(EXPAND_AT_ONCE, room // n + 1))
    return np.asarray(worth[np.argsort(-mass[worth], kind="stable")[:count]])


def _one_larger(members: Bools, seen: set[bytes]) -> Bools:
    """All sets with one cause more that were not seen before; ``seen`` takes them in."""
    n = members.shape[1]
    larger = np.repeat(members, n, axis=0)
    added = np.tile(np.arange(n), len(members))
    fresh = ~larger[np.arange(len(larger)), added]
    larger, added = larger[fresh], added[fresh]
    larger[np.arange(len(larger)), added] = True
    keep = []
    for position, row in enumerate(np.packbits(larger, axis=1)):
        key = row.tobytes()
        if key not in seen:
            seen.add(key)
            keep.append(position)
    return np.asarray(larger[keep])
