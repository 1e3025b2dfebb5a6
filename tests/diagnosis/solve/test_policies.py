"""Tests of the policies: what each chooses, and what following it costs."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from small_problems import order, problem_of, remedies, value
from tried_out import best_cost
from tubside.diagnosis.solve.drawn import GOOD, KINDS, draw
from tubside.diagnosis.solve.policies import MAKERS, PolicyName, policy_of
from tubside.diagnosis.solve.policies.following import (
    follow,
)
from tubside.diagnosis.solve.problem import Problem

NAMES: tuple[PolicyName, ...] = tuple(MAKERS)
LISTS: tuple[PolicyName, ...] = ("pc", "cheapest", "likeliest")
kinds = st.sampled_from(sorted(KINDS))
seeds = st.integers(0, 10_000)


THREE = problem_of(
    causes={"a": 0.5, "b": 0.3, "c": 0.2},
    remedies=remedies(first=(6, {"a": 1}), second=(3, {"b": 1}), third=(4, {"c": 1})),
)


def test_the_lists_go_down_their_lists() -> None:
    """Tests the orders by chance over cost, by cost and by frequency."""
    assert order(THREE, "pc") == ["second", "first", "third"]
    assert order(THREE, "cheapest") == ["second", "third", "first"]
    assert order(THREE, "likeliest") == ["first", "second", "third"]


def test_the_lists_cost_what_the_published_rule_says() -> None:
    """Tests the costs of all three orders, worked by hand for the rule of Kadane & Simon 1977."""
    assert value(THREE, "pc") == pytest.approx(8.0, rel=1e-12)
    assert value(THREE, "cheapest") == pytest.approx(44 / 5, rel=1e-12)
    assert value(THREE, "likeliest") == pytest.approx(83 / 10, rel=1e-12)


COMPUTER = problem_of(
    causes={"program": 0.8, "virus": 0.15, "hardware": 0.05},
    remedies=remedies(
        reboot=(1, {"program": 1}),
        virus_tool=(2, {"virus": 0.95}),
        reformat=(25, {"program": 0.99, "virus": 0.99}),
        new=(500, {"program": 1, "virus": 1, "hardware": 1}),
    ),
)


@pytest.mark.parametrize("name", ["advised", "myopic", "pc", "cheapest"])
def test_the_computer_exercise(name: PolicyName) -> None:
    """Tests that four policies find the best order of a textbook exercise.

    F. V. Jensen & T. D. Nielsen, Bayesian Networks and Decision Graphs, 2nd ed., 2007,
    exercise to ch. 9: input read, answer recomputed.
    """
    assert order(COMPUTER, name) == ["reboot", "virus_tool", "reformat", "new"]
    assert value(COMPUTER, name) == pytest.approx(27.875, rel=1e-12)


def test_a_list_ends_where_a_stop_is_no_dearer() -> None:
    """Tests that a stop is taken before a remedy that costs as much, and by P/C before it pays."""
    cheap = replace(THREE, stops=problem_of(causes={"a": 1}, stops={"refer": {"cost": 4}}).stops)
    assert order(cheap, "likeliest") == ["refer"]
    assert order(cheap, "cheapest") == ["second", "refer"]
    assert order(cheap, "pc") == ["refer"]
    dear = replace(THREE, stops=problem_of(causes={"a": 1}, stops={"refer": {"cost": 7}}).stops)
    assert order(dear, "pc") == ["refer"]  # trying the second costs 3 + 0.7 * 7


def test_a_list_keeps_its_order_while_belief_moves() -> None:
    """Tests that the frequency list is fixed, while P/C follows what failed."""
    problem = problem_of(
        causes={"a": 0.5, "b": 0.3, "c": 0.2},
        remedies=remedies(
            both=(10, {"a": 1, "b": 0.9}), second=(10, {"b": 1}), third=(10, {"c": 1})
        ),
    )
    assert order(problem, "likeliest") == ["both", "second", "third"]
    assert order(problem, "pc") == ["both", "third", "second"]


def test_an_overlooked_place_is_searched_again() -> None:
    r"""Tests that P/C with repeatable looks follows the rule for search with oversight.

    Next place: the largest p_i a_i^m (1 - a_i) / c_i, with a_i the chance of an oversight
    and m looks made there before (W. L. Black, "Discrete sequential search", Information
    and Control 8, 1965, from memory).
    """
    places = {"x": (0.5, 0.4, 1.0), "y": (0.3, 0.2, 1.0), "z": (0.2, 0.5, 0.7)}
    problem = problem_of(
        causes={name: p for name, (p, _, _) in places.items()},
        remedies={
            name: {"cost": c, "clears": {name: 1 - a}, "repeatable": True}
            for name, (_, a, c) in places.items()
        },
    )
    looks = dict.fromkeys(places, 0)
    wanted = []
    for _ in range(9):
        gain = {n: p * a ** looks[n] * (1 - a) / c for n, (p, a, c) in places.items()}
        best = max(gain, key=lambda name: gain[name])
        looks[best] += 1
        wanted.append(best)
    assert order(problem, "pc")[:9] == wanted


@cache
def tiny(kind: str, *, single_fault: bool) -> tuple[Problem, float]:
    """Return a tiny problem and what its best plan costs."""
    problem = draw(KINDS[kind], 4, 3, 5, single_fault=single_fault)
    return problem, best_cost(problem)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("single_fault", [True, False])
@pytest.mark.parametrize("kind", KINDS)
def test_no_policy_beats_the_best_plan(kind: str, single_fault: bool, name: PolicyName) -> None:
    """Tests that a policy's cost lies between the best plan of all and twenty times that."""
    problem, best = tiny(kind, single_fault=single_fault)
    assert best * (1 - 1e-12) <= value(problem, name) <= 20 * best


@settings(max_examples=8, deadline=None)
@given(kinds, seeds, st.booleans())
def test_ours_is_near_the_best_plan(kind: str, seed: int, single_fault: bool) -> None:
    """Tests that on tiny problems the advice is never 2 % dearer than the best plan."""
    problem = draw(KINDS[kind], 4, 3, seed, single_fault=single_fault)
    assert value(problem, "advised") <= 1.02 * best_cost(problem)


@settings(max_examples=10, deadline=None)
@given(kinds, seeds, st.sampled_from(NAMES), st.floats(0.01, 1000.0))
def test_costs_scale(kind: str, seed: int, name: PolicyName, factor: float) -> None:
    """Tests that with every cost multiplied, what a policy costs is multiplied too."""
    problem = draw(KINDS[kind], 4, 3, seed)
    dearer = replace(
        problem,
        checks=tuple(replace(c, cost=factor * c.cost) for c in problem.checks),
        remedies=tuple(replace(r, cost=factor * r.cost) for r in problem.remedies),
        covers=tuple(replace(c, open=factor * c.open) for c in problem.covers),
        stops=tuple(replace(s, cost=factor * s.cost) for s in problem.stops),
    )
    assert value(dearer, name) == pytest.approx(factor * value(problem, name), rel=1e-9)


@settings(max_examples=10, deadline=None)
@given(kinds, seeds, st.sampled_from(NAMES), st.booleans(), st.randoms())
def test_order_changes_nothing(
    kind: str, seed: int, name: PolicyName, single_fault: bool, rnd: Any
) -> None:
    """Tests that causes, checks and remedies may stand in any order."""
    problem = draw(KINDS[kind], 4, 3, seed, single_fault=single_fault)
    causes = rnd.sample(range(4), 4)
    mixed = replace(
        problem,
        causes=tuple(problem.causes[i] for i in causes),
        prior=problem.prior[causes],
        checks=tuple(replace(c, given=c.given[causes]) for c in rnd.sample(problem.checks, 3)),
        remedies=tuple(
            replace(r, clears=r.clears[causes]) for r in rnd.sample(problem.remedies, 4)
        ),
    )
    assert value(mixed, name) == pytest.approx(value(problem, name), rel=1e-9)


@pytest.mark.parametrize("name", NAMES)
def test_a_check_that_tells_nothing_is_never_bought(name: PolicyName) -> None:
    """Tests that a free check with equal rows is not made by any policy."""
    drawn = draw(GOOD, 4, 2, 11)
    mute = replace(
        drawn.checks[0], name="mute", cost=0.0, given=np.tile(drawn.checks[0].otherwise, (4, 1))
    )
    problem = replace(drawn, checks=(mute, *drawn.checks[1:]))
    steps = {
        choice.step
        for level in follow(problem, policy_of(name, problem)).levels
        for _, choice in level.values()
    }
    assert not any(step.kind == "check" and step.index == 0 for step in steps)


def test_asking_for_bits_can_cost_more_than_asking_nothing() -> None:
    """Tests a case in which the most informative check first is far dearer than the best plan.

    Two causes are alike in cost and most doubt lies between them, so the dear check that
    tells them apart buys bits that are worth nothing: both remedies cost 1.
    """
    problem = problem_of(
        causes={"a": 0.5, "b": 0.5},
        checks={"tell": {"cost": 5, "outcomes": ["a", "b"], "given": {"a": [1, 0], "b": [0, 1]}}},
        remedies=remedies(mend_a=(1, {"a": 1}), mend_b=(1, {"b": 1})),
    )
    assert best_cost(problem) == value(problem, "advised") == value(problem, "pc") == 1.5
    assert value(problem, "informative") == 6.0


def test_poor_checks_make_bits_dear() -> None:
    """Tests the same on random problems with poor dear checks: worse than the plain P/C."""
    drawn = [draw(KINDS["poor"], 5, 4, seed) for seed in range(4)]
    bits = sum(value(problem, "informative") for problem in drawn)
    assert bits > 1.2 * sum(map(best_cost, drawn))
    assert bits > sum(value(problem, "pc") for problem in drawn)


def test_a_useful_check_is_bought() -> None:
    """Tests that policies that ask do so where a cheap sure check saves a dear remedy."""
    problem = problem_of(
        causes={"a": 0.5, "b": 0.5},
        checks={"tell": {"cost": 1, "outcomes": ["a", "b"], "given": {"a": [1, 0], "b": [0, 1]}}},
        remedies=remedies(mend_a=(50, {"a": 1}), mend_b=(50, {"b": 1})),
    )
    for name in NAMES:
        assert value(problem, name) == (75.0 if name in LISTS else 51.0)


IDENTIFY = problem_of(
    goal="identified",
    causes={"a": 0.4, "b": 0.3, "c": 0.2, "d": 0.1},
    checks={
        "half": {"cost": 2, "outcomes": ["x", "y"], "given": {"a": [1, 0], "b": [1, 0]},
                 "otherwise": [0, 1]},
        "odd": {"cost": 3, "outcomes": ["x", "y"], "given": {"a": [1, 0], "c": [1, 0]},
                "otherwise": [0, 1]},
        "only_d": {"cost": 1, "outcomes": ["x", "y"], "given": {"d": [1, 0]},
                   "otherwise": [0, 1]},
    },
    stops={"guess": {"cost": 100}},
)  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_identifying_ends_with_one_cause(name: PolicyName) -> None:
    """Tests that every policy can identify, and ours for the least: half, then the check it needs.

    By hand 2 + 0.7 x 3 + 0.3 x 1 = 4.4.
    """
    best = best_cost(IDENTIFY)
    assert best == pytest.approx(4.4)
    assert value(IDENTIFY, name) >= best
    if name == "advised":
        assert value(IDENTIFY, name) == pytest.approx(best)
