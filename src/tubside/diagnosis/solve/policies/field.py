"""A problem over its sets as a few arrays, so that many beliefs are looked at together.

Shapes: ``m`` sets, ``n`` causes, ``s`` steps (checks, then remedies), ``c`` covers, ``b``
branches (each outcome of each check, then each remedy's failing re-run), ``r`` nodes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tubside.diagnosis.solve.problem import NO_COVER, Check, Floats, Problem, Remedy
from tubside.diagnosis.solve.sets import Sets
from tubside.diagnosis.solve.state import Moves, State, Tables

Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

NEVER = 1e-12
"""A branch less likely than this is not followed."""


@dataclass(frozen=True, slots=True)
class Passage:
    """Weight of ``source`` that a failing remedy moves; entries of one place from each start.

    A place is remedy * m + set.
    """

    source: Ints
    chance: Floats
    starts: Ints
    places: Ints


@dataclass(frozen=True, slots=True)
class Field:
    """The numbers of a problem. What stands in the open is behind a last cover, for nothing."""

    identify: bool
    single: bool  # whether set i is cause i alone
    prior: Floats  # (m,)
    member: Floats  # (m, n)
    share: Floats  # (m, n) a set's weight, shared by its causes
    said: Floats  # (branches of checks, m)
    stay: Floats  # (remedies, m) chance that a set stays whole
    passage: Passage | None  # what failing remedies clear of sets; None: nothing but whole sets
    clears: Floats  # (remedies, n)
    price: Floats  # (s,)
    behind: Ints  # (s,)
    opening: Floats  # (c + 1,)
    repeatable: Bools  # (s,)
    step_of: Ints  # (b,)
    stop: float  # cost of the cheapest stop, infinite without one
    ending: float  # the same; without a stop, more than any plan costs

    @property
    def checks(self) -> int:
        """How many checks there are; steps from here on are remedies."""
        return len(self.price) - len(self.clears)


@dataclass(frozen=True, slots=True)
class Nodes:
    """Where jobs may stand: weights (r, m) that sum to one, steps left, covers shut."""

    weights: Floats
    free: Bools  # (r, s)
    shut: Bools  # (r, c + 1)

    def __len__(self) -> int:
        return len(self.weights)

    def take(self, rows: Ints | Bools) -> Nodes:
        """Some of them."""
        return Nodes(self.weights[rows], self.free[rows], self.shut[rows])


def field_of(problem: Problem, tables: Tables) -> Field:
    """Return the arrays of a problem."""
    steps: list[Check | Remedy] = [*problem.checks, *problem.remedies]
    reruns = [0.0] * len(problem.checks) + [r.rerun_cost for r in problem.remedies]
    price = np.array([s.cost for s in steps]) + np.array(reruns)
    covers = len(problem.covers)
    opening = np.array([*(c.open for c in problem.covers), 0.0])
    columns = [i for i, check in enumerate(problem.checks) for _ in check.outcomes]
    columns += range(len(problem.checks), len(steps))
    member = tables.sets.member.astype(np.float64)
    count = len(member)
    stop = min((s.cost for s in problem.stops), default=np.inf)
    dear = 20.0 * (price.sum() + opening.sum()) + 1.0
    return Field(
        problem.goal == "identified",
        problem.single_fault and count == member.shape[1],
        tables.sets.prior,
        member,
        member / member.sum(axis=1, keepdims=True),
        np.vstack([np.zeros((0, count)), *tables.said]),
        np.vstack([np.zeros((0, count)), *(moves.stay for moves in tables.moves)]),
        _passage(tables),
        np.array([r.clears for r in problem.remedies]).reshape(-1, member.shape[1]),
        price,
        np.array([covers if s.behind == NO_COVER else s.behind for s in steps], dtype=np.int64),
        opening,
        np.array([s.repeatable for s in steps], dtype=np.bool_),
        np.array(columns, dtype=np.int64),
        stop,
        stop if np.isfinite(stop) else dear,
    )


def _passage(tables: Tables) -> Passage | None:
    count = len(tables.sets.member)
    moves = tables.moves
    if not any(len(m.source) for m in moves):
        return None
    places = np.concatenate([a * count + m.target for a, m in enumerate(moves)])
    order = np.argsort(places, kind="stable")
    unique, starts = np.unique(places[order], return_index=True)
    source = np.concatenate([m.source for m in moves])[order]
    return Passage(source, np.concatenate([m.chance for m in moves])[order], starts, unique)


def narrowed(tables: Tables, rows: Ints) -> Tables:
    """The numbers of some sets only; what a remedy leaves of them is among them or is lost."""
    place = np.full(len(tables.sets.member), -1)
    place[rows] = np.arange(len(rows))
    moves = []
    for m in tables.moves:
        kept = (place[m.source] >= 0) & (place[m.target] >= 0)
        ends = place[m.source[kept]], place[m.target[kept]]
        moves.append(Moves(m.stay[rows], *ends, m.chance[kept]))
    prior = tables.sets.prior[rows]
    sets = Sets(tables.sets.member[rows], prior / prior.sum())
    return Tables(sets, tuple(said[:, rows] for said in tables.said), tuple(moves))


def nodes_of(field: Field, states: Sequence[State]) -> Nodes:
    """Return states as rows."""
    used = np.array([[s.used >> i & 1 for i in range(len(field.price))] for s in states])
    covers = len(field.opening) - 1
    shut = [[not s.open >> c & 1 for c in range(covers)] + [False] for s in states]
    weights = np.array([s.weights for s in states])
    return Nodes(weights, used.reshape(len(states), -1) == 0, np.array(shut, dtype=np.bool_))


def costs(field: Field, nodes: Nodes) -> Floats:
    """What each step costs now, with its cover where that is shut: (r, s)."""
    return field.price + nodes.shut[:, field.behind] * field.opening[field.behind]


def joint(field: Field, weights: Floats) -> Floats:
    """Weights after each branch, not normalised: (r, b, m)."""
    said = weights[:, None, :] * field.said
    failed = weights[:, None, :] * field.stay
    way = field.passage
    if way is not None and len(weights):
        moved = np.add.reduceat(weights[:, way.source] * way.chance, way.starts, axis=1)
        failed.reshape(len(weights), -1)[:, way.places] += moved
    return np.concatenate([said, failed], axis=1)


def after(field: Field, nodes: Nodes, rows: Ints, branches: Ints, weights: Floats) -> Nodes:
    """Nodes after these branches of these nodes, with their weights already known."""
    step = field.step_of[branches]
    free, shut = nodes.free[rows], nodes.shut[rows]
    here = np.arange(len(rows))
    free[here, step] &= field.repeatable[step]
    shut[here, field.behind[step]] = False
    return Nodes(weights, free, shut)


def doubt(field: Field, weights: Floats) -> Floats:
    """Entropy over which cause it is, a set shared by its causes: (r,) [bit]."""
    causes = np.maximum(weights @ field.share, 1e-300)
    return np.asarray(-(causes * np.log2(causes)).sum(axis=1))
