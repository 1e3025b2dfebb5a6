"""Tests of the arrays, the estimate and the look-ahead behind the policies."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tried_out import best_cost, outcomes
from tubside.diagnosis.solve.drawn import GOOD, KINDS, draw
from tubside.diagnosis.solve.policies import policy_of
from tubside.diagnosis.solve.policies.advised import Advised, heaviest
from tubside.diagnosis.solve.policies.ahead import Sight, look, spread_of, value_of
from tubside.diagnosis.solve.policies.estimate import Asking, in_order, known_cost
from tubside.diagnosis.solve.policies.field import (
    costs,
    doubt,
    field_of,
    narrowed,
    nodes_of,
)
from tubside.diagnosis.solve.policies.value import policy_value
from tubside.diagnosis.solve.problem import Problem
from tubside.diagnosis.solve.state import State, open_steps, start, step_cost

kinds = st.sampled_from(sorted(KINDS))
seeds = st.integers(0, 10_000)


def sight_of(problem: Problem) -> tuple[Sight, State]:
    """Return what looking ahead needs, and the first state."""
    first = start(problem)
    return Sight.of(field_of(problem, first.tables)), first


@settings(max_examples=20, deadline=None)
@given(kinds, seeds, st.booleans())
def test_branches_agree_with_the_rules(kind: str, seed: int, single_fault: bool) -> None:
    """Tests chances, beliefs and costs of all branches against the rules applied one by one."""
    problem = draw(KINDS[kind], 4, 3, seed, single_fault=single_fault)
    sight, first = sight_of(problem)
    field = sight.field
    states = [first]
    for step in open_steps(problem, first)[:2]:
        states += [then for _, then in outcomes(problem, first, step)]
    nodes = nodes_of(field, states)
    spread = spread_of(field, nodes)
    for row, state in enumerate(states):
        for step in open_steps(problem, state)[:-1]:
            number = step.index + (0 if step.kind == "check" else field.checks)
            assert costs(field, nodes)[row, number] == step_cost(problem, state, step)
            mine = np.flatnonzero((spread.row == row) & (field.step_of[spread.branch] == number))
            if spread.useless[row, number]:
                continue
            wanted = outcomes(problem, state, step)
            assert len(mine) == len(wanted)
            for branch, (chance, then) in zip(mine, wanted, strict=True):
                assert spread.chance[branch] == pytest.approx(chance, abs=1e-12)
                assert spread.then.weights[branch] == pytest.approx(then.weights, abs=1e-12)


@settings(max_examples=20, deadline=None)
@given(kinds, seeds, st.booleans())
def test_the_pc_estimate_is_a_real_plan(kind: str, seed: int, single_fault: bool) -> None:
    """Tests that P/C costs what its policy costs for one fault, and never less than the best."""
    problem = draw(KINDS[kind], 4, 2, seed, single_fault=single_fault)
    sight, first = sight_of(problem)
    (cost,), _ = in_order(sight.field, sight.tries, nodes_of(sight.field, [first]))
    if single_fault:
        assert cost == pytest.approx(policy_value(problem, policy_of("pc", problem)).cost)
    assert cost >= best_cost(problem) * (1 - 1e-6)  # single precision with several faults


@settings(max_examples=20, deadline=None)
@given(seeds, st.sampled_from(["good", "poor"]))
def test_no_plan_beats_knowing_the_cause(seed: int, kind: str) -> None:
    """Tests that with perfect remedies the cost of known causes is below the best plan's."""
    problem = draw(KINDS[kind], 4, 3, seed)
    sight, first = sight_of(problem)
    (cost,) = known_cost(sight.field, sight.tries, nodes_of(sight.field, [first]))
    by_hand = sum(p * r.cost for p, r in zip(problem.prior, problem.remedies, strict=True))
    assert cost == pytest.approx(min(by_hand, 400.0))
    assert cost <= best_cost(problem)


@settings(max_examples=10, deadline=None)
@given(kinds, seeds)
def test_looking_to_the_end_finds_the_best_plan(kind: str, seed: int) -> None:
    """Tests that a look after every step until nothing is left gives the optimum."""
    problem = draw(KINDS[kind], 3, 2, seed)
    sight, first = sight_of(problem)
    nodes = nodes_of(sight.field, [first])
    value = value_of(sight.field, nodes, look(sight, nodes, (9,) * 5))
    assert value == pytest.approx([best_cost(problem)], rel=1e-9)


def test_many_nodes_are_looked_at_like_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that a look at states together, or in small parts, is that at each alone."""
    problem = draw(KINDS["good-rough"], 5, 4, 7)
    sight, first = sight_of(problem)
    states = [first]
    for step in open_steps(problem, first)[:-1]:
        states += [then for _, then in outcomes(problem, first, step)]
    together = look(sight, nodes_of(sight.field, states), (4, 2))
    alone = [look(sight, nodes_of(sight.field, [state]), (4, 2))[0] for state in states]
    assert together == pytest.approx(np.array(alone), rel=1e-12)
    monkeypatch.setattr("tubside.diagnosis.solve.policies.ahead.MOST_NUMBERS", 400)
    parted = look(sight, nodes_of(sight.field, states), (4, 2))
    assert parted == pytest.approx(together, rel=1e-12)


def test_the_cheapest_bits_are_asked_first() -> None:
    """Tests the cost of bits by hand: 2 bits at 1, then 1 bit at 5, and no more."""
    asking = Asking(np.array([[2.0, 1.0]]), np.array([[1.0, 5.0]]))
    assert np.concatenate(asking.cost(np.array([1.5]))) == pytest.approx([1.5, 0.0])
    assert np.concatenate(asking.cost(np.array([2.5]))) == pytest.approx([4.5, 0.0])
    assert np.concatenate(asking.cost(np.array([4.0]))) == pytest.approx([7.0, 1.0])


def test_a_check_without_end_of_cost_tells_nothing() -> None:
    """Tests that checks that give no bit neither cost nor spoil the sum."""
    asking = Asking(np.array([[1.0, 0.0]]), np.array([[2.0, np.inf]]))
    assert np.concatenate(asking.cost(np.array([3.0]))) == pytest.approx([2.0, 2.0])


def test_doubt_is_measured_in_bits() -> None:
    """Tests that four even causes are two bits, and a known one is none."""
    problem = replace(draw(GOOD, 4, 1, 0), prior=np.full(4, 0.25))
    sight, first = sight_of(problem)
    weights = np.array([first.weights, [0.0, 1.0, 0.0, 0.0]])
    assert doubt(sight.field, weights) == pytest.approx([2.0, 0.0], abs=1e-9)


def test_the_heaviest_sets_bring_their_parts() -> None:
    """Tests that of many sets the heaviest are kept, with all that a remedy may leave of them."""
    problem = draw(GOOD, 10, 4, 1, single_fault=False)
    first = start(problem)
    member = first.tables.sets.member
    rows = heaviest(first.weights, member)
    kept = {tuple(mask) for mask in member[rows]}
    assert len(rows) < len(member)
    assert first.weights[rows].sum() > 0.9
    for mask in member[rows]:
        for cause in np.flatnonzero(mask):
            part = mask.copy()
            part[cause] = False
            assert not part.any() or tuple(part) in kept


def test_all_sets_narrowed_are_all_sets() -> None:
    """Tests that narrowing to every set changes no look, and to few hardly the choice."""
    problem = draw(KINDS["good-rough"], 6, 4, 2, single_fault=False)
    sight, first = sight_of(problem)
    nodes = nodes_of(sight.field, [first])
    whole = look(sight, nodes, (4,))
    tables = narrowed(first.tables, np.arange(len(first.weights)))
    again = Sight.of(field_of(problem, tables))
    assert look(again, nodes, (4,)) == pytest.approx(whole, rel=1e-12)


def test_many_sets_get_good_advice(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that looking at the heaviest sets alone costs hardly more."""
    problem = draw(GOOD, 5, 3, 6, single_fault=False)
    tables = start(problem).tables
    policy = Advised(problem, Sight.of(field_of(problem, tables)))
    monkeypatch.setattr("tubside.diagnosis.solve.policies.advised.MANY_SETS", 8)
    monkeypatch.setattr("tubside.diagnosis.solve.policies.advised.HEAVIEST", 12)
    cost = policy_value(problem, policy).cost
    assert cost == pytest.approx(best_cost(problem), rel=0.02)
