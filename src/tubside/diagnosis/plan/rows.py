"""The rows that a plan is laid out over: each thing that may be wrong now, once."""

from __future__ import annotations

from itertools import combinations

import numpy as np

from tubside.diagnosis.belief import Belief
from tubside.diagnosis.hypotheses import FAULT, Rows, Sets
from tubside.pack.fault_model import Bools, Floats, Ints

HELD = 0.9995
"""Share of the belief that is laid out; the rest counts as left out."""


def distinct_rows(belief: Belief) -> Belief:
    """One row for each set that may be wrong now, heaviest first, and every part of it.

    Parts stand with no weight of their own: a remedy can leave them. What is not laid
    out is added to ``left_out``.
    """
    first, weight = _merged(belief)
    order = np.argsort(-weight, kind="stable")
    held = np.cumsum(weight[order])
    count = int(np.searchsorted(held, HELD)) + 1
    keep = order[:count]
    lost = max(1.0 - float(weight[keep].sum()), 0.0)
    left_out = 1.0 - (1.0 - belief.left_out) * (1.0 - lost)
    probability = weight[keep] / weight[keep].sum()
    kept = Belief(_chosen(belief.rows, first[keep]), probability, belief.log_evidence, left_out)
    return with_parts(kept)


def with_parts(belief: Belief) -> Belief:
    """The same belief with a row of no weight for each part of a row that has none yet."""
    rows = _with_parts(belief.rows)
    probability = np.zeros(len(rows.owner))
    probability[: len(belief.probability)] = belief.probability
    return Belief(rows, probability, belief.log_evidence, belief.left_out)


def _merged(belief: Belief) -> tuple[Ints, Floats]:
    """The heaviest row of each state now, and the weight of all that share the state."""
    heaviest = np.argsort(-belief.probability, kind="stable")
    packed = np.packbits(belief.rows.now[heaviest], axis=1)
    _, first, group = np.unique(packed, axis=0, return_index=True, return_inverse=True)
    weight = np.zeros(len(first))
    np.add.at(weight, group.ravel(), belief.probability[heaviest])
    return heaviest[first].astype(np.int64), weight


def _chosen(rows: Rows, keep: Ints) -> Rows:
    return Rows(
        Sets(rows.sets.members[keep], rows.sets.healthy[keep]),
        tuple(state[keep] for state in rows.states),
        rows.log_path[keep],
        rows.owner[keep],
    )


def _with_parts(rows: Rows) -> Rows:
    """The rows, the sound machine, and every smaller set that is part of one of them."""
    now = rows.now
    there = {row.tobytes() for row in now}
    more: list[Bools] = []
    for row in now[np.sum(now, axis=1) > 1]:
        inside = np.flatnonzero(row).tolist()
        for size in range(1, len(inside)):
            for part in combinations(inside, size):
                _add(more, there, part, now.shape[1])
    _add(more, there, (), now.shape[1])
    if not more:
        return rows
    extra = np.array(more)
    members = np.concatenate([rows.sets.members, extra])
    sound = np.where(extra.any(axis=1), FAULT, 0)
    return Rows(
        Sets(members, np.concatenate([rows.sets.healthy, sound])),
        tuple(np.concatenate([state, extra]) for state in rows.states),
        np.concatenate([rows.log_path, np.zeros(len(extra))]),
        np.concatenate([rows.owner, np.zeros(len(extra), dtype=np.int64)]),
    )


def _add(more: list[Bools], there: set[bytes], part: tuple[int, ...], n: int) -> None:
    row = np.zeros(n, dtype=bool)
    row[list(part)] = True
    if row.tobytes() not in there:
        there.add(row.tobytes())
        more.append(row)
