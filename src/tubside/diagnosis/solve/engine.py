"""Solve a problem: search until both bounds meet, or until time or budget is spent."""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np

from tubside.diagnosis.solve.given import Given, given_of
from tubside.diagnosis.solve.graph import NODES, Graph, new_graph
from tubside.diagnosis.solve.jit import PLAIN
from tubside.diagnosis.solve.plan_tree import plan_of
from tubside.diagnosis.solve.problem import Problem
from tubside.diagnosis.solve.searching import Limits, Progress, searched
from tubside.diagnosis.solve.solution import Solution
from tubside.diagnosis.solve.state import State, is_done, start
from tubside.errors import NoEndError

MEET = 1e-9
SPELLING = 0.5
"""Seconds beyond the time that spelling out the plan may take; what is left then is cut."""


def solve(
    problem: Problem,
    *,
    seconds: float | None = None,
    budget: int | None = None,
    progress: Progress | None = None,
    compiling: Callable[[], None] | None = None,
) -> Solution:
    """Return a plan, what it costs, and how far it may be from the best plan.

    Nothing is drawn at random: the same problem and budget give the same answer. With
    neither limit the search goes on until the bounds meet or 250 MB are full.

    Parameters
    ----------
    seconds : float, optional
        Time for all of it by the clock on the wall [s]. With a limit the loops are only
        compiled if that was done before, or if there is time enough or ``compiling``.
    budget : int, optional
        Most trials to make, each from the first belief down and back.
    progress : callable, optional
        Called now and then with lower bound, upper bound and number of beliefs met.
    compiling : callable, optional
        Called before the loops are compiled for the first time, which then comes on top
        of the seconds.

    Raises
    ------
    ProblemTableError
        If the numbers of the problem cannot be true together.
    NoEndError
        If without a stop no plan is sure to reach the goal.

    Examples
    --------
    Own numbers for the rule of Kadane & Simon 1977, chance over cost:

    >>> from tubside.diagnosis.solve.problem import Remedy, Stop
    >>> ways = tuple(Remedy(str(i), c, np.eye(3)[i]) for i, c in enumerate([6.0, 3.0, 4.0]))
    >>> prior = np.array([0.5, 0.3, 0.2])
    >>> three = Problem("", "working", True, ("a", "b", "c"), prior, (), ways, (), ())
    >>> found = solve(three)
    >>> round(found.expected_cost, 9), found.exact, found.first_step
    (8.0, True, Step(kind='remedy', index=1))
    """
    begun = time.perf_counter()
    state = start(problem)
    given = given_of(problem, state.tables)
    if is_done(problem, state):
        return Solution(0.0, 0.0, 0.0, 0.0, True, None, None, 0.0, 0)
    graph = new_graph(given)
    PLAIN.node_of(given, graph, state.weights, 0, 0)
    limits = Limits(begun, seconds, budget)
    if len(given.cost):
        graph = searched(problem, given, (graph, state), limits, (progress, compiling))
    return _answer(problem, given, graph, state, limits)


def _answer(problem: Problem, given: Given, graph: Graph, state: State, limits: Limits) -> Solution:
    """Read the plan off the graph and add what the sets left out may change."""
    if not np.isfinite(graph.high[0]):
        msg = "no plan is sure to reach the goal; add a stop, or a step that helps every cause"
        raise NoEndError(msg)
    plan = plan_of(problem, given, graph, state, lambda: limits.left() > -SPELLING)
    left_out = state.tables.sets.left_out
    cost = plan.expected_cost
    low = min(float(graph.low[0]), cost)
    lower = (1.0 - left_out) * low
    upper = (1.0 - left_out) * cost + (left_out * _dearest(given) if left_out else 0.0)
    gap = (upper - lower) / upper if upper > 0 else 0.0
    exact = gap <= MEET
    return Solution(
        expected_cost=cost,
        lower_bound=upper if exact else lower,
        upper_bound=upper,
        gap=0.0 if exact else gap,
        exact=exact,
        first_step=plan.step,
        plan=plan,
        seconds=time.perf_counter() - limits.begun,
        states=int(graph.counts[NODES]),
    )


def _dearest(given: Given) -> float:
    """Most that any plan without repeats pays before it stops; infinite with repeats."""
    if not given.once.all():
        return float("inf")
    return float(given.cost.sum() + given.opening.sum() + given.stop)
