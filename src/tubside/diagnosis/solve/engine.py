"""Solve a problem: search until both bounds meet, or until time or budget is spent."""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np

from tubside.diagnosis.solve.given import Given, given_of
from tubside.diagnosis.solve.graph import NODES, TRIALS, Graph, grown, new_graph
from tubside.diagnosis.solve.jit import PLAIN, Kernels, fast
from tubside.diagnosis.solve.plan_tree import plan_of
from tubside.diagnosis.solve.problem import Problem
from tubside.diagnosis.solve.solution import Solution
from tubside.diagnosis.solve.state import State, is_done, start
from tubside.errors import NoEndError

Progress = Callable[[float, float, int], None]
MEET = 1e-9
PLAIN_BATCH, FIRST_BATCH, LARGEST_BATCH = 8, 16, 2048
PLAIN_TRIALS, PLAIN_SIZE = 160, 400
"""Small problems are tried so often, in plain Python, before numba is worth loading."""
LONGEST_BATCH = 0.1
"""Seconds after which batches of trials grow no further."""
FIRST_ROWS = 12_000
MOST_BYTES = 600_000_000


def solve(
    problem: Problem,
    *,
    seconds: float | None = None,
    budget: int | None = None,
    progress: Progress | None = None,
) -> Solution:
    """Return a plan, what it costs, and how far it may be from the best plan.

    Nothing is drawn at random: the same problem and budget give the same answer. With
    neither limit the search goes on until the bounds meet or 600 MB are full.

    Parameters
    ----------
    seconds : float, optional
        Time for the search [s], without what numba takes to compile at its first use.
    budget : int, optional
        Most trials to make, each from the first belief down and back.
    progress : callable, optional
        Called now and then with lower bound, upper bound and number of beliefs met.

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
    state = start(problem)
    given = given_of(problem, state.tables)
    begun = time.perf_counter()
    if is_done(problem, state):
        return Solution(0.0, 0.0, 0.0, 0.0, True, None, None, 0.0, 0)
    graph = new_graph(given, FIRST_ROWS)
    PLAIN.node_of(given, graph, state.weights, 0, 0)
    if len(given.cost):
        graph = _searched(given, graph, (seconds, budget), progress)
    return _answer(problem, given, graph, state, time.perf_counter() - begun)


def _searched(
    given: Given,
    graph: Graph,
    limits: tuple[float | None, int | None],
    progress: Progress | None,
) -> Graph:
    """Make trials in batches, and room between them."""
    seconds, budget = limits
    kernels, batch, spent = PLAIN, PLAIN_BATCH, 0.0
    if given.said.size + given.stay.size > PLAIN_SIZE:
        kernels = _compiled(given, graph)
    while True:
        left = batch if budget is None else min(batch, budget - int(graph.counts[TRIALS]))
        begun = time.perf_counter()
        closed = kernels.search(given, graph, left)
        took = time.perf_counter() - begun
        spent += took
        if progress is not None:
            progress(float(graph.low[0]), float(graph.high[0]), int(graph.counts[NODES]))
        late = seconds is not None and spent >= seconds
        if closed or late or (budget is not None and graph.counts[TRIALS] >= budget):
            return graph
        more = grown(given, graph)
        if more is not graph:
            if sum(values.nbytes for values in more) > MOST_BYTES:
                return graph
            graph = more
            kernels.settle(graph)
        if graph.counts[TRIALS] >= PLAIN_TRIALS and kernels is PLAIN:
            kernels, batch = _compiled(given, graph), FIRST_BATCH
        elif took < LONGEST_BATCH and kernels is not PLAIN:
            batch = min(2 * batch, LARGEST_BATCH)


def _compiled(given: Given, graph: Graph) -> Kernels:
    """The fast loops where there are any, ready to run."""
    found = fast() or PLAIN
    found.search(given, graph, 0)
    return found


def _answer(problem: Problem, given: Given, graph: Graph, state: State, seconds: float) -> Solution:
    """Read the plan off the graph and add what the sets left out may change."""
    if not np.isfinite(graph.high[0]):
        msg = "no plan is sure to reach the goal; add a stop, or a step that helps every cause"
        raise NoEndError(msg)
    plan = plan_of(problem, given, graph, state)
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
        seconds=seconds,
        states=int(graph.counts[NODES]),
    )


def _dearest(given: Given) -> float:
    """Most that any plan without repeats pays before it stops; infinite with repeats."""
    if not given.once.all():
        return float("inf")
    return float(given.cost.sum() + given.opening.sum() + given.stop)
