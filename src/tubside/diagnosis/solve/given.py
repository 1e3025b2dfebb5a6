"""A problem as the arrays that the search reads: nothing but numbers."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from tubside.diagnosis.solve.known_cause import KnownCosts, all_open, known_costs
from tubside.diagnosis.solve.problem import Check, Floats, Problem, Remedy
from tubside.diagnosis.solve.sets import Members
from tubside.diagnosis.solve.state import Numbers, Tables
from tubside.diagnosis.solve.two_causes import GRID, two_cause_costs
from tubside.errors import ProblemTableError

MOST_STEPS = 62
MOST_OF_PAIRS = 200_000
"""Causes squared times outcomes and remedies: above that the floor of pairs is left away, as
its making would take many seconds and hundreds of megabytes."""


class Given(NamedTuple):
    """``m`` sets, ``n`` causes, ``C`` checks, ``R`` remedies, ``K`` outcomes at most.

    Actions are numbered: checks 0 to C - 1, then remedies. A set moves from ``source`` to
    ``target`` when remedy r fails, for entries ``first[r]`` to ``first[r + 1]``.
    """

    said: Floats  # (C, K, m)
    outcomes: Numbers  # (C,)
    cost: Floats  # (C + R,)
    cover: Numbers  # (C + R,)
    once: Numbers  # (C + R,)
    opening: Floats  # (covers,)
    stay: Floats  # (R, m)
    first: Numbers  # (R + 1,)
    source: Numbers
    target: Numbers
    chance: Floats
    member: Numbers  # (m, n)
    size: Numbers  # (m,)
    begins: Numbers  # (m + 1,) where the causes of each set stand in ``within``
    within: Numbers
    alone: Numbers  # (n,) the set of one cause only, -1 where that cannot be
    telling: Numbers  # (C, n) whether the check says something of the cause
    forgets: Numbers  # (R,) whether the remedy, used up, makes no known cause dearer
    known: KnownCosts
    pair: Floats  # (n, n, points), of each two single causes; empty if the goal is to identify
    grid: Floats  # (points,)
    stop: float
    single: bool
    identified: bool


def given_of(problem: Problem, tables: Tables) -> Given:
    """Return the arrays of a problem.

    Raises
    ------
    ProblemTableError
        If there are more than 62 checks and remedies: the search keeps them as bits.
    """
    count = len(problem.checks) + len(problem.remedies)
    if count > MOST_STEPS:
        msg = f"{count} checks and remedies are too many to search; give at most {MOST_STEPS}"
        raise ProblemTableError(msg)
    member = tables.sets.member
    most = max((len(check.outcomes) for check in problem.checks), default=1)
    said = np.zeros((len(problem.checks), most, len(member)))
    for c, rows in enumerate(tables.said):
        said[c, : len(rows)] = rows
    steps: list[Check | Remedy] = [*problem.checks, *problem.remedies]
    rerun = np.array([0.0] * len(problem.checks) + [r.rerun_cost for r in problem.remedies])
    moves = tables.moves
    clears = np.array([r.clears for r in problem.remedies]).reshape(-1, member.shape[1])
    table = known_costs(problem, int(member.sum(axis=1).max()))
    pair = np.zeros((0, 0, len(GRID)))
    floors = all_open(table)
    size = len(problem.causes) ** 2 * (sum(len(c.outcomes) for c in problem.checks) + len(moves))
    if problem.goal == "working" and np.isfinite(floors).all() and size <= MOST_OF_PAIRS:
        pair = two_cause_costs(problem, floors)
    return Given(
        said=said,
        outcomes=np.array([len(c.outcomes) for c in problem.checks], dtype=np.int64),
        cost=np.array([step.cost for step in steps], dtype=np.float64) + rerun,
        cover=np.array([step.behind for step in steps], dtype=np.int64),
        once=np.array([not step.repeatable for step in steps], dtype=np.int64),
        opening=np.array([cover.open for cover in problem.covers], dtype=np.float64),
        stay=np.array([m.stay for m in moves]).reshape(len(moves), len(member)),
        first=np.cumsum([0, *(len(m.source) for m in moves)]).astype(np.int64),
        source=np.concatenate([np.zeros(0, dtype=np.int64), *(m.source for m in moves)]),
        target=np.concatenate([np.zeros(0, dtype=np.int64), *(m.target for m in moves)]),
        chance=np.concatenate([np.zeros(0), *(m.chance for m in moves)]),
        member=member.astype(np.int64),
        size=member.sum(axis=1).astype(np.int64),
        begins=np.cumsum([0, *member.sum(axis=1)]).astype(np.int64),
        within=np.nonzero(member)[1].astype(np.int64),
        alone=_alone(member),
        telling=_telling(problem),
        forgets=((clears == 0) | (clears == 1)).all(axis=1).astype(np.int64),
        known=table,
        pair=pair,
        grid=GRID,
        stop=min((stop.cost for stop in problem.stops), default=np.inf),
        single=problem.single_fault,
        identified=problem.goal == "identified",
    )


def _alone(member: Members) -> Numbers:
    row = np.full(member.shape[1], -1, dtype=np.int64)
    sets = np.flatnonzero(member.sum(axis=1) == 1)
    row[member[sets].argmax(axis=1)] = sets
    return row


def _telling(problem: Problem) -> Numbers:
    rows = [np.abs(c.given - c.otherwise).max(axis=1) > 0 for c in problem.checks]
    return np.array(rows, dtype=np.int64).reshape(len(rows), len(problem.causes))
