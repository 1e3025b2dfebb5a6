"""What must be true of every best plan, whatever the numbers."""

from __future__ import annotations

import time
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given as given_by
from hypothesis import settings
from hypothesis import strategies as st

from made_problems import made_problem, problem_of, several_causes, tiny_problem
from tubside.diagnosis import order, shared_costs
from tubside.diagnosis.solve import growing
from tubside.diagnosis.solve.advising import Adviser
from tubside.diagnosis.solve.engine import solve
from tubside.diagnosis.solve.given import given_of
from tubside.diagnosis.solve.graph import new_graph
from tubside.diagnosis.solve.kernel_node import node_of
from tubside.diagnosis.solve.policies import policy_of
from tubside.diagnosis.solve.policies.value import policy_value
from tubside.diagnosis.solve.problem import Check, Cover, Problem, Remedy
from tubside.diagnosis.solve.solution import Plan
from tubside.diagnosis.solve.state import (
    State,
    Step,
    after_check,
    after_remedy,
    is_done,
    open_steps,
    start,
    step_cost,
)
from tubside.errors import NoEndError, ProblemTableError

NEAR = 1e-8
seeds = st.integers(0, 2**32 - 1)


def cost_of(problem: Problem) -> float:
    """Return the proven least cost."""
    found = solve(problem)
    assert found.exact
    return found.expected_cost


def followed(problem: Problem, plan: Plan, state: State) -> float:
    """Return what a plan costs by the rules of the problem, step by step."""
    assert plan.step in open_steps(problem, state)
    total = step_cost(problem, state, plan.step)
    if plan.cut or plan.step.kind == "stop":
        return plan.expected_cost if plan.cut else total
    for branch in plan.branches:
        if plan.step.kind == "check":
            chance, later = after_check(problem, state, plan.step.index, branch.outcome)
        else:
            chance, later = after_remedy(problem, state, plan.step.index)
        assert chance == pytest.approx(branch.probability, abs=1e-12)
        assert float(later.weights.sum()) == pytest.approx(1.0, abs=1e-12)
        assert (branch.plan is None) == is_done(problem, later)
        if branch.plan is not None:
            total += chance * followed(problem, branch.plan, later)
    return total


@given_by(seed=seeds)
@settings(max_examples=80, deadline=None)
def test_the_plan_costs_what_is_said(seed: int) -> None:
    """Tests the plan of every kind of problem against the rules, followed branch by branch."""
    problem = tiny_problem(seed)
    found = solve(problem)
    assert found.plan is not None
    cost = followed(problem, found.plan, start(problem))
    assert cost == pytest.approx(found.expected_cost, rel=NEAR, abs=NEAR)


@given_by(seed=seeds)
@settings(max_examples=40, deadline=None)
def test_more_choice_never_costs_more(seed: int) -> None:
    """Tests that a check more, or a lower cost, never raises the least cost."""
    problem = made_problem(3, 3, seed)
    least = cost_of(problem)
    assert cost_of(replace(problem, checks=problem.checks[1:])) >= least - NEAR
    cheaper = replace(problem.remedies[0], cost=problem.remedies[0].cost * 0.7)
    assert cost_of(replace(problem, remedies=(cheaper, *problem.remedies[1:]))) <= least + NEAR


@given_by(seed=seeds, factor=st.floats(0.01, 100))
@settings(max_examples=30, deadline=None)
def test_costs_scale(seed: int, factor: float) -> None:
    """Tests that all costs times a number cost that many times as much."""
    problem = tiny_problem(seed)
    scaled = replace(
        problem,
        checks=tuple(replace(c, cost=c.cost * factor) for c in problem.checks),
        remedies=tuple(
            replace(r, cost=r.cost * factor, rerun_cost=r.rerun_cost * factor)
            for r in problem.remedies
        ),
        covers=tuple(replace(c, open=c.open * factor) for c in problem.covers),
        stops=tuple(replace(s, cost=s.cost * factor) for s in problem.stops),
    )
    assert cost_of(scaled) == pytest.approx(factor * cost_of(problem), rel=NEAR)


@given_by(seed=seeds)
@settings(max_examples=30, deadline=None)
def test_order_of_writing_does_not_matter(seed: int) -> None:
    """Tests that causes, checks and remedies in another order cost the same."""
    problem = tiny_problem(seed)
    turned = replace(
        problem,
        causes=problem.causes[::-1],
        prior=problem.prior[::-1].copy(),
        checks=tuple(replace(c, given=c.given[::-1].copy()) for c in problem.checks[::-1]),
        remedies=tuple(replace(r, clears=r.clears[::-1].copy()) for r in problem.remedies[::-1]),
    )
    assert cost_of(turned) == pytest.approx(cost_of(problem), rel=NEAR)


def steps_of(plan: Plan | None) -> set[Step]:
    """Return every step that a plan may take."""
    if plan is None:
        return set()
    return {plan.step}.union(*(steps_of(branch.plan) for branch in plan.branches))


@given_by(seed=seeds)
@settings(max_examples=30, deadline=None)
def test_what_cannot_help_is_never_advised(seed: int) -> None:
    """Tests that a cheap check with equal rows and a cheap idle remedy are left alone."""
    problem = made_problem(3, 2, seed)
    idle = Check("idle", 0.01, ("a", "b"), np.full((3, 2), 0.5), np.full(2, 0.5))
    useless = Remedy("useless", 0.01, np.zeros(3))
    checks, remedies = (idle, *problem.checks), (useless, *problem.remedies)
    more = replace(problem, checks=checks, remedies=remedies)
    found = solve(more)
    assert not steps_of(found.plan) & {Step("check", 0), Step("remedy", 0)}
    assert found.expected_cost == pytest.approx(cost_of(problem), rel=NEAR)


@given_by(seed=seeds)
@settings(max_examples=30, deadline=None)
def test_a_free_perfect_check_is_as_good_as_knowing(seed: int) -> None:
    """Tests that the cost is then the mean of the costs with the cause known."""
    problem = made_problem(4, 2, seed)
    told = Check("tell", 0.0, ("a", "b", "c", "d"), np.eye(4), np.full(4, 0.25))
    known = float(problem.prior @ [r.cost for r in problem.remedies])
    assert cost_of(replace(problem, checks=(told, *problem.checks))) == pytest.approx(known)


@given_by(seed=seeds)
@settings(max_examples=40, deadline=None)
def test_remedies_alone_agree_with_the_rules(seed: int) -> None:
    """Tests imperfect remedies against all orders, and neighbours by their efficiency."""
    rng = np.random.default_rng(seed)
    clears = np.vstack([rng.uniform(0, 1, (3, 3)), np.ones(3)])
    prior, costs = rng.dirichlet(np.ones(3)), [*rng.uniform(1, 20, 3), 200.0]
    ways = [Remedy(str(i), float(c), clears[i]) for i, c in enumerate(costs)]
    rule = order.SingleFault(list(prior), costs, clears.tolist())
    found = solve(problem_of(prior, remedies=ways))
    assert found.plan is not None
    sequence: list[int] = []
    plan: Plan | None = found.plan
    while plan is not None:
        sequence.append(plan.step.index)
        plan = plan.branches[0].plan if plan.branches else None
    assert order.wrong_pair(rule, sequence) is None
    assert found.expected_cost <= float(order.best_sequence(rule)[1]) + NEAR


@given_by(seed=seeds)
@settings(max_examples=40, deadline=None)
def test_covers_agree_with_the_rule(seed: int) -> None:
    """Tests remedies behind covers against the optimal rule for covers opened once."""
    rng = np.random.default_rng(seed)
    prior, costs = rng.dirichlet(np.ones(5)), rng.uniform(1, 9, 5)
    behind = [int(k) for k in rng.integers(-1, 2, 5)]
    opening = [float(c) for c in rng.uniform(0, 9, 2)]
    rule = shared_costs.Covered(list(prior), list(costs), behind, opening)
    least = float(shared_costs.covered_cost(rule, shared_costs.covered_order(rule)))
    ways = [Remedy(str(i), float(costs[i]), np.eye(5)[i], behind=behind[i]) for i in range(5)]
    problem = problem_of(prior, remedies=ways, covers=[Cover(str(c), c, 0.0) for c in opening])
    assert cost_of(problem) == pytest.approx(least, rel=NEAR)


def test_the_most_telling_check_may_be_the_wrong_one() -> None:
    """Tests the golden negative: a check of a whole bit per 2 is not worth making here."""
    tell = Check("tell", 2.0, ("a", "b"), np.eye(2), np.full(2, 0.5))
    ways = [Remedy(str(i), 3.0, np.eye(2)[i]) for i in range(2)]
    assert solve(problem_of([0.5, 0.5], [tell], ways)).first_step == Step("remedy", 0)


def test_the_same_budget_gives_the_same_answer() -> None:
    """Tests that nothing depends on the clock or on chance."""
    problem = made_problem(6, 4, 5)
    assert replace(solve(problem, budget=40), seconds=0) == replace(
        solve(problem, budget=40), seconds=0
    )


def test_progress_tightens_and_is_told() -> None:
    """Tests that both bounds only ever come nearer to each other."""
    told: list[tuple[float, float, int]] = []
    solve(made_problem(5, 4, 2), budget=60, progress=lambda *now: told.append(now))
    lows, highs = [t[0] for t in told], [t[1] for t in told]
    assert lows == sorted(lows)
    assert highs == sorted(highs, reverse=True)
    assert lows[-1] > lows[0]


def test_a_problem_without_an_end_is_refused() -> None:
    """Tests that a cause that nothing clears needs a stop."""
    problem = problem_of([0.5, 0.5], remedies=[Remedy("r", 1.0, np.array([1.0, 0.9]))])
    for seconds in (None, 0.3):
        with pytest.raises(NoEndError, match="add a stop"):
            solve(problem, seconds=seconds)


def test_a_check_that_cannot_be_names_itself() -> None:
    """Tests that a good outcome likelier with a fault is refused for several causes."""
    odd = Check("odd", 1.0, ("bad", "good"), np.full((2, 2), 0.5), np.array([0.9, 0.1]))
    with pytest.raises(ProblemTableError, match="'odd'"):
        solve(problem_of([0.5, 0.5], [odd], stop=9.0, single=False))


def test_one_repeatable_remedy_is_a_geometric_series() -> None:
    """Tests 10 + .5 (10 + .5 (...)) = 20, with a cover of 3 paid once."""
    again = Remedy("r", 10.0, np.array([0.5]), repeatable=True, behind=0)
    found = solve(problem_of([1.0], remedies=[again], covers=[Cover("lid", 3.0, 0.0)]))
    assert found.exact
    assert found.expected_cost == pytest.approx(23.0)


def test_sets_left_out_widen_the_bounds() -> None:
    """Tests fourteen independent causes: what is not kept is counted on both sides."""
    found = solve(several_causes(14, 2, 1), budget=2)
    assert found.lower_bound < found.expected_cost < found.upper_bound


def test_the_time_holds_with_a_free_repeatable_check() -> None:
    """Tests that a search that would never end, and its plan, end with their seconds."""
    problem = made_problem(12, 6, 3)
    free = replace(problem.checks[0], cost=0.0, repeatable=True)
    begun = time.perf_counter()
    found = solve(replace(problem, checks=(free, *problem.checks[1:])), seconds=0.5)
    assert time.perf_counter() - begun < 0.5 + 2.0
    assert found.lower_bound < found.upper_bound
    assert 1 < size_of(found.plan) <= growing.MOST_STEPS


def size_of(plan: Plan | None) -> int:
    """Return how many steps a plan holds."""
    if plan is None:
        return 0
    return 1 + sum(size_of(branch.plan) for branch in plan.branches)


@given_by(seed=seeds, most=st.integers(1, 30))
@settings(max_examples=10, deadline=None)
def test_a_plan_cut_short_costs_the_same(seed: int, most: int) -> None:
    """Tests that what is cut carries its cost, and that no more steps are told than allowed."""
    problem = made_problem(4, 3, seed)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("tubside.diagnosis.solve.plan_tree.MOST_STEPS", most)
        found = solve(problem)
    assert found.plan is not None
    assert size_of(found.plan) <= max(most, 1 + 4 * 3)
    cost = followed(problem, found.plan, start(problem))
    assert cost == pytest.approx(found.expected_cost, rel=NEAR)
    assert found.expected_cost == pytest.approx(cost_of(problem), rel=NEAR)


def test_tables_stay_within_their_bytes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that the search ends, with true bounds, where there is no room for more beliefs."""
    monkeypatch.setattr("tubside.diagnosis.solve.graph.FIRST_ROWS", 60)
    monkeypatch.setattr("tubside.diagnosis.solve.graph.MOST_BYTES", 60_000)
    problem = made_problem(5, 5, 3)
    found = solve(problem)
    assert not found.exact
    assert found.states < 400
    monkeypatch.undo()
    assert found.lower_bound < cost_of(problem) < found.upper_bound


def test_the_ceiling_is_no_dearer_than_the_advice() -> None:
    """Tests that asking for advice only ever lowers the ceiling, in the end to what it costs."""
    problem = made_problem(5, 4, 2)
    state = start(problem)
    given = given_of(problem, state.tables)
    graph = new_graph(given)
    node_of(given, graph, state.weights, 0, 0)
    highs = [float(graph.high[0])]
    adviser = Adviser(problem, given, state)
    while not adviser.done:
        adviser.lower(graph, 0.0001)
        highs.append(float(graph.high[0]))
    assert highs == sorted(highs, reverse=True)
    assert highs[-1] < highs[0]
    advised = policy_value(problem, policy_of("advised", problem)).cost
    assert cost_of(problem) - NEAR <= highs[-1] <= advised + NEAR


@pytest.mark.soak
def test_compiled_and_plain_agree(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that numba changes the time, not the answer, for one cause and for several."""
    pytest.importorskip("numba", reason="numba is not installed: only plain loops here")
    for problem in (made_problem(5, 5, 3), several_causes(4, 3, 3), tiny_problem(11)):
        monkeypatch.setattr("tubside.diagnosis.solve.searching.LOADS_AFTER", 0.0)
        monkeypatch.setattr("tubside.diagnosis.solve.searching.COMPILES_AFTER", 0.0)
        fast = solve(problem, budget=400)
        monkeypatch.setattr("tubside.diagnosis.solve.jit.installed", lambda: False)
        plain = solve(problem, budget=400)
        monkeypatch.undo()
        assert fast.expected_cost == pytest.approx(plain.expected_cost, rel=1e-9)
        assert fast.lower_bound == pytest.approx(plain.lower_bound, rel=1e-9)
        assert fast.first_step == plain.first_step
