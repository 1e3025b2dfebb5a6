"""Published examples of best plans, found by the search instead of by a rule."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

import printed
from made_problems import problem_of
from tubside.diagnosis.looking import Search, search_cost, search_order
from tubside.diagnosis.solve.engine import solve
from tubside.diagnosis.solve.problem import Check, Cover, Problem, Remedy
from tubside.diagnosis.solve.state import Step, after_remedy, start, step_cost

CLEARS = np.array([[1, 0, 0], [0, 0.95, 0], [0.99, 0.99, 0], [1, 1, 1]])
COMPUTER = problem_of(
    [0.80, 0.15, 0.05],
    remedies=[Remedy(str(i), c, row) for i, (c, row) in enumerate(zip([1, 2, 25, 500], CLEARS))],  # noqa: B905 - four each
)
P = np.array([1 / 2, 3 / 10, 1 / 5])


def with_first(problem: Problem, remedy: int) -> float:
    """Return the cost of the best plan that begins with this remedy."""
    state = start(problem)
    fails, later = after_remedy(problem, state, remedy)
    others = tuple(r for i, r in enumerate(problem.remedies) if i != remedy)
    rest = solve(replace(problem, prior=later.weights, remedies=others)).expected_cost
    return step_cost(problem, state, Step("remedy", remedy)) + fails * rest


def perfect(costs: list[float]) -> Problem:
    """Return one perfect remedy for each of the three causes of P."""
    return problem_of(P, remedies=[Remedy(str(i), c, np.eye(3)[i]) for i, c in enumerate(costs)])


def blocks() -> Problem:
    """Return the postponed test: every block of remedies, with one re-run, is a remedy."""
    costs, made = [4.0, 1.0, 2.0], []
    for size in (1, 2, 3):
        for block in combinations(range(3), size):
            clears = np.isin(np.arange(3), block).astype(float)
            made.append(Remedy(str(block), sum(costs[i] for i in block), clears, 2.0))
    return problem_of(P, remedies=made)


def board() -> float:
    """Return the cost of testing three parts until one fails, as tries that may end a job.

    The stop is dear, so that every part is tested first; it is taken off again.
    """
    failing, stop = [0.125, 0.075, 0.140], 1e4
    costs = [51.75, 2.00, 52.40]
    tests = [Remedy(str(i), costs[i], np.array([failing[i]])) for i in range(3)]
    found = solve(problem_of([1.0], remedies=tests, stop=stop))
    return found.expected_cost - stop * float(np.prod(1 - np.array(failing)))


def wildcatter(*, test: bool = True) -> float:
    """Return the best payoff: drilling costs 70, ends with 1000 x chance, else stop at 1000.

    The chances 0, .12 and .27 make drilling bring -70, 50 and 200.
    """
    rows = np.array([[0.1, 0.3, 0.6], [0.3, 0.4, 0.3], [0.5, 0.4, 0.1]])
    seismic = Check("seismic", 10.0, ("closed", "open", "diffuse"), rows, rows[0])
    drill = Remedy("drill", 70.0, np.array([0.0, 0.12, 0.27]))
    checks = [seismic] if test else []
    return 1000.0 - solve(problem_of([0.5, 0.3, 0.2], checks, [drill], stop=1000.0)).expected_cost


def two_causes(look: tuple[float, float], chance: float) -> Step:
    """Return what comes first of two looks (covers) with mending of 70 and 90 behind them."""
    covers = [Cover("one", look[0], 0.0), Cover("two", look[1], 0.0)]
    checks = [
        Check(f"see {i}", 0.0, ("there", "not"), np.eye(2)[:, [i, 1 - i]], np.ones(2) / 2, behind=i)
        for i in range(2)
    ]
    mend = [Remedy(str(i), [70.0, 90.0][i], np.eye(2)[i], behind=i) for i in range(2)]
    found = solve(problem_of([chance, 1 - chance], checks, mend, covers=covers)).first_step
    assert found is not None
    return found


def identified() -> float:
    """Return the expected number of tests until the fault, or that there is none, is known."""
    detects = np.array(
        [
            [0, 0, 0, 0, 0],
            [0, 1, 0, 0, 1],
            [0, 0, 1, 1, 0],
            [1, 0, 0, 1, 1],
            [1, 1, 0, 0, 0],
            [1, 1, 1, 1, 0],
        ]
    ).astype(float)
    tests = [
        Check(str(t), 1.0, ("fails", "passes"), np.stack([row, 1 - row], axis=1), np.ones(2) / 2)
        for t, row in enumerate(detects.T)
    ]
    prior = [0.70, 0.01, 0.02, 0.10, 0.05, 0.12]
    return solve(problem_of(prior, tests, goal="identified")).expected_cost


FOUND = {
    ("jensen_nielsen_2007_computer", "ECR reboot, virus tool, reformat, new"): lambda: (
        solve(COMPUTER).expected_cost
    ),
    ("jensen_nielsen_2007_computer", "ECR virus tool, reboot, reformat, new"): lambda: with_first(
        COMPUTER, 1
    ),
    ("jensen_nielsen_2007_computer", "ECR reboot, virus tool, new"): lambda: (
        solve(
            replace(COMPUTER, remedies=tuple(COMPUTER.remedies[i] for i in (0, 1, 3)))
        ).expected_cost
    ),
    ("kadane_simon_1977", "ECR 213"): lambda: solve(perfect([6, 3, 4])).expected_cost,
    ("kadane_simon_1977", "ECR 123"): lambda: with_first(perfect([6, 3, 4]), 0),
    ("kadane_simon_1977", "ECR 321"): lambda: with_first(perfect([6, 3, 4]), 2),
    ("ottosen_jensen_2010", "ECR blocks 12, 3"): lambda: solve(blocks()).expected_cost,
    ("ottosen_jensen_2010", "ECR re-run after each"): lambda: (
        solve(perfect([6.0, 3.0, 4.0])).expected_cost
    ),
    ("board_exercise", "cost YZX"): board,
    ("raiffa_1968", "no test"): lambda: wildcatter(test=False),
    ("raiffa_1968", "with test"): wildcatter,
    ("pattipati_alexandridis_1990", "expected number of tests"): identified,
}


@pytest.mark.parametrize(("table", "item"), FOUND)
def test_the_search_finds_the_printed_value(table: str, item: str) -> None:
    """Tests values of the tables against the plan that the search proves best."""
    row = next(row for row in printed.rows(table) if row.item == item)
    printed.check(row, FOUND[table, item]())


def test_the_computer_is_rebooted_first() -> None:
    """Tests that the whole sequence is the published one, and that it is proven."""
    found, steps = solve(COMPUTER), []
    assert found.exact
    plan = found.plan
    while plan is not None:
        steps.append(plan.step.index)
        plan = plan.branches[0].plan if plan.branches else None
    assert steps == [0, 1, 2, 3]


@pytest.mark.parametrize("chance", [0.2, 0.24, 0.26, 0.5])
def test_the_first_of_two_causes(chance: float) -> None:
    """Tests the rule C1/p <= C2/(1-p): mending costs do not matter (Ross, a first course)."""
    first = two_causes((10.0, 30.0), chance)
    assert first == Step("check", 0 if 10.0 / chance <= 30.0 / (1 - chance) else 1)


def test_searching_with_oversights() -> None:
    """Tests repeated looks against the order of Black 1965 and Chew 1967, to the last digits."""
    search = Search([0.5, 0.3, 0.2], [0.4, 0.2, 0.3], [3.0, 2.0, 4.0])
    best, missed = search_cost(search, search_order(search, 90))
    assert missed < 1e-12
    looks = [
        Remedy(str(i), float(search.costs[i]), np.eye(3)[i] * (1 - float(search.overlook[i])))
        for i in range(3)
    ]
    again = [replace(look, repeatable=True) for look in looks]
    found = solve(problem_of([0.5, 0.3, 0.2], remedies=again), budget=150)
    assert found.lower_bound <= float(best) * (1 + 1e-9)
    assert found.upper_bound >= float(best) * (1 - 1e-9)
    assert found.gap < 1e-6
