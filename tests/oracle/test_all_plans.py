"""The engine against every plan of tiny problems."""

from __future__ import annotations

from dataclasses import replace
from importlib import import_module

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from made_problems import made_problem, problem_of, tiny_problem
from tubside.diagnosis.solve.engine import solve
from tubside.diagnosis.solve.given import given_of
from tubside.diagnosis.solve.graph import TRIES, new_graph
from tubside.diagnosis.solve.kernel_node import node_of
from tubside.diagnosis.solve.problem import Check, Problem, Remedy
from tubside.diagnosis.solve.state import start

least_cost = import_module("all_plans").least_cost
EXACT = 1e-8


@given(seed=st.integers(0, 2**32 - 1))
@settings(max_examples=150, deadline=None)
def test_the_best_plan_is_found(seed: int) -> None:
    """Tests cost, proof and both bounds on problems of every kind without repeats."""
    problem = tiny_problem(seed)
    found, least = solve(problem), least_cost(problem)
    assert found.exact
    assert found.expected_cost == pytest.approx(least, rel=EXACT, abs=EXACT)


@given(seed=st.integers(0, 2**32 - 1))
@settings(max_examples=150, deadline=None)
def test_every_first_bound_is_admissible(seed: int) -> None:
    """Tests that the floor of the start and of each action, and the ceiling, are what they say."""
    problem = tiny_problem(seed)
    state = start(problem)
    numbers = given_of(problem, state.tables)
    graph = new_graph(numbers)
    node_of(numbers, graph, state.weights, 0, 0)
    least = least_cost(problem)
    assert graph.low[0] <= least * (1 + EXACT)
    assert graph.high[0] >= least * (1 - EXACT)
    assert min(float(graph.least[0].min()), numbers.stop) <= least * (1 + EXACT)
    assert graph.choice[0] >= TRIES - 1


@given(seed=st.integers(0, 2**32 - 1), trials=st.integers(1, 12))
@settings(max_examples=80, deadline=None)
def test_bounds_hold_whenever_the_search_stops(seed: int, trials: int) -> None:
    """Tests that the optimum lies between the bounds after any number of trials."""
    problem = made_problem(4, 2, seed, poor=seed % 2 == 0)
    least, found = least_cost(problem), solve(problem, budget=trials)
    assert found.lower_bound <= least * (1 + EXACT)
    assert least * (1 - EXACT) <= found.upper_bound
    assert found.expected_cost <= found.upper_bound * (1 + EXACT)


@given(seed=st.integers(0, 2**32 - 1))
@settings(max_examples=60, deadline=None)
def test_the_best_plan_of_identifying_is_found(seed: int) -> None:
    """Tests noiseless and half noiseless checks under the goal of knowing the cause."""
    rng = np.random.default_rng(seed)
    n = int(rng.integers(2, 5))
    checks = []
    for t in range(4):
        rows = rng.choice([0.0, 1.0, 1.0, 0.5], size=n)
        table = np.stack([rows, 1.0 - rows], axis=1)
        checks.append(Check(f"t{t}", float(rng.integers(1, 9)), ("a", "b"), table, table[0]))
    problem = problem_of(rng.dirichlet(np.ones(n)), checks, stop=40.0, goal="identified")
    assert solve(problem).expected_cost == pytest.approx(least_cost(problem), rel=EXACT)


def _repeating(seed: int) -> Problem:
    """Two causes; every step may be made again."""
    rng = np.random.default_rng(seed)
    look = Check("t", 2.0, ("a", "b"), np.array([[0.9, 0.1], [0.1, 0.9]]), np.array([0.5, 0.5]))
    clears = rng.choice([0.8, 0.9, 1.0], size=2)
    ways = [
        Remedy(f"r{i}", float(rng.integers(5, 25)), np.eye(2)[i] * clears[i], repeatable=True)
        for i in range(2)
    ]
    prior = rng.dirichlet(np.ones(2))
    return problem_of(prior, [replace(look, repeatable=True)], ways, stop=60.0)


@pytest.mark.parametrize("seed", range(6))
def test_repeatable_steps_are_bounded_by_short_plans(seed: int) -> None:
    """Tests that no plan of six steps and a stop is cheaper, and long ones hardly are.

    The cost of what is left after k steps falls with k, so plans of at most k steps come
    down to the optimum from above.
    """
    problem = _repeating(seed)
    found = solve(problem, budget=150)
    six, seven = least_cost(problem, 6), least_cost(problem, 7)
    assert found.lower_bound <= seven * (1 + EXACT)
    assert found.upper_bound <= six * (1 + EXACT)
    assert found.gap < 1e-3
    assert found.upper_bound == pytest.approx(seven, rel=0.05)
