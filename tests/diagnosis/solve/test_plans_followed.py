"""Policies followed to the end: samples, repeats, plans that add up, large problems."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from small_problems import problem_of
from tubside.diagnosis.solve.drawn import GOOD, KINDS, Kind, draw
from tubside.diagnosis.solve.policies import MAKERS, PolicyName, policy_of
from tubside.diagnosis.solve.policies.following import (
    TooManyStatesError,
    choices,
    follow,
    plan_of,
)
from tubside.diagnosis.solve.policies.planned import Planned
from tubside.diagnosis.solve.policies.sampling import sampled_value
from tubside.diagnosis.solve.policies.value import policy_value
from tubside.diagnosis.solve.state import start


@pytest.mark.parametrize("name", tuple(MAKERS))
def test_samples_agree_with_the_exact_value(name: PolicyName) -> None:
    """Tests that the mean over drawn jobs is within four standard errors of the exact value."""
    problem = draw(KINDS["good-rough"], 5, 4, 3)
    policy = policy_of(name, problem)
    exact = policy_value(problem, policy)
    drawn = sampled_value(problem, policy, np.random.default_rng(1), samples=2000)
    assert not exact.sampled
    assert exact.half_width == 0
    assert drawn.sampled
    assert abs(drawn.cost - exact.cost) <= 4 * drawn.half_width / 1.96
    again = sampled_value(problem, policy, np.random.default_rng(1), samples=2000)
    assert again == drawn


def test_too_many_states_are_sampled() -> None:
    """Tests that a policy with more states than allowed is sampled, or refused without draws."""
    problem = draw(GOOD, 6, 5, 1)
    policy = policy_of("myopic", problem)
    with pytest.raises(TooManyStatesError):
        policy_value(problem, policy, most_states=5)
    assert policy_value(problem, policy, np.random.default_rng(0), most_states=5).sampled


def test_a_policy_that_repeats_is_followed_to_the_end() -> None:
    """Tests the cost of trying a remedy again and again: cost over chance, a geometric series."""
    problem = problem_of(
        causes={"a": 1.0},
        remedies={"knock": {"cost": 3, "clears": {"a": 0.25}, "repeatable": True}},
    )
    found = policy_value(problem, policy_of("pc", problem))
    assert found.cost == pytest.approx(12.0, rel=1e-9)
    assert found.not_followed < 1e-11


def test_a_plan_adds_up() -> None:
    """Tests that the tree's first cost is the policy's, and each follows from those below."""
    problem = draw(KINDS["good-rough"], 5, 4, 8)
    policy = policy_of("advised", problem)
    followed = follow(problem, policy)
    plan = plan_of(problem, followed, least=0.0)
    assert plan is not None
    assert plan.expected_cost == pytest.approx(policy_value(problem, policy).cost, rel=1e-9)
    waiting = [(plan, start(problem))]
    steps = 0
    while waiting:
        here, state = waiting.pop()
        choice = choices(problem, policy, [state])[state]
        assert choice.step == here.step
        assert not here.cut
        below = sum(b.probability * b.plan.expected_cost for b in here.branches if b.plan)
        assert here.expected_cost == pytest.approx(choice.cost + below, rel=1e-6)
        pairs = zip(here.branches, choice.branches, strict=True)
        waiting += [(b.plan, then) for b, (_, _, then) in pairs if b.plan is not None]
        steps += 1
    assert steps > 20


def test_a_long_plan_is_cut() -> None:
    """Tests that unlikely branches are not spelled out, and are marked so."""
    problem = draw(GOOD, 6, 5, 1)
    plan = plan_of(problem, follow(problem, policy_of("advised", problem)), least=0.2)
    assert plan is not None
    cuts = [b.plan.cut for b in plan.branches if b.plan is not None and b.probability < 0.2]
    assert cuts
    assert all(cuts)


@pytest.mark.parametrize("single_fault", [True, False])
@pytest.mark.parametrize("kind", KINDS)
def test_a_large_problem_gets_a_step(kind: str, single_fault: bool) -> None:
    """Tests that at 20 causes, 20 remedies and 15 checks each policy chooses an open step."""
    problem = draw(KINDS[kind], 20, 15, 2, single_fault=single_fault)
    state = start(problem)
    for name in MAKERS:
        (step,) = policy_of(name, problem, state.tables).choose([state])
        counts = {"check": 15, "remedy": 20, "stop": 1}
        assert 0 <= step.index < counts[step.kind]


def test_very_many_causes_get_a_step() -> None:
    """Tests that of 200 causes the heaviest are looked at, with one fault too."""
    problem = draw(GOOD, 200, 2, 1)
    few = replace(
        problem,
        remedies=tuple(
            replace(problem.remedies[i], clears=(np.arange(200) % 4 == i) * 1.0) for i in range(4)
        ),
    )
    (step,) = policy_of("advised", few).choose([start(few)])
    assert step.kind in {"check", "remedy"}


def test_a_draw_is_a_function_of_its_seed() -> None:
    """Tests that kinds, sizes and seeds decide a problem, and what its kind promises holds."""
    rough = Kind(fallible=1.0, pairs=1.0, covers=2, stop=90.0)
    problem = draw(rough, 6, 5, 4)
    again = draw(rough, 6, 5, 4)
    assert np.array_equal(problem.prior, again.prior)
    assert problem.prior.sum() == pytest.approx(1.0)
    assert not np.array_equal(problem.prior, draw(rough, 6, 5, 5).prior)
    assert all(0 < r.clears.max() < 1 or (r.clears > 0).sum() == 2 for r in problem.remedies)
    assert all((r.clears > 0).sum() == 2 for r in problem.remedies)
    assert len(problem.covers) == 2
    assert all(c.given.sum(axis=1) == pytest.approx(np.ones(6)) for c in problem.checks)


def test_two_faults_come_as_often_as_said() -> None:
    """Tests that independent causes are drawn so that 1 call in 12 has two or more."""
    p = draw(GOOD, 8, 2, 3, single_fault=False).prior
    none = np.prod(1 - p)
    one = none * (p / (1 - p)).sum()
    assert (1 - none - one) / (1 - none) == pytest.approx(1 / 12, abs=2e-5)  # six digits


@pytest.mark.parametrize("least", [0.0, 0.05])
def test_a_plan_is_followed_as_it_was_made(least: float) -> None:
    """Tests that a plan costs what its policy costs, where it is cut with another beside it."""
    problem = draw(KINDS["good-rough"], 5, 4, 8)
    advised, pc = policy_of("advised", problem), policy_of("pc", problem)
    plan = plan_of(problem, follow(problem, advised), least)
    cost = policy_value(problem, Planned.of(problem, plan, pc)).cost
    best = policy_value(problem, advised).cost
    if least == 0:
        assert cost == pytest.approx(best, rel=1e-12)
    else:
        assert best < cost < policy_value(problem, pc).cost
