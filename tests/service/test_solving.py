"""Tests of solving a problem, of holding a policy against the proof, and of telling both."""

from __future__ import annotations

import time
from dataclasses import replace
from pathlib import Path

import msgspec
import pytest

from tried_out import best_cost
from tubside.diagnosis.solve.drawn import GOOD, draw
from tubside.diagnosis.solve.policies import sampling
from tubside.diagnosis.solve.problem import Problem
from tubside.diagnosis.solve.problem_file import parse_problem, read_problem
from tubside.errors import ProblemFileError
from tubside.service.solving import (
    CHOICES,
    Answer,
    Choice,
    as_data,
    draw_plan,
    proven_words,
    solve_problem,
)

EXAMPLE = Path(__file__).parents[2] / "docs" / "examples" / "problems" / "drain.json"
KEYS = (
    "expected_cost",
    "lower_bound",
    "upper_bound",
    "gap",
    "exact",
    "first_step",
    "plan",
    "seconds",
)


@pytest.fixture(scope="module")
def example() -> Problem:
    """Return the problem of the docs."""
    return read_problem(EXAMPLE)


def test_the_best_plan_is_found_and_proven(example: Problem) -> None:
    """Tests that the answer is the cost of the best of all plans, and says so."""
    answer = solve_problem(example)
    assert answer.expected_cost == pytest.approx(best_cost(example), rel=1e-9)
    assert answer.exact
    assert answer.lower_bound <= answer.expected_cost * (1 + 1e-9)
    assert proven_words(answer)[-1] == "Proven: no plan is cheaper."


@pytest.mark.parametrize("choice", CHOICES)
def test_every_policy_is_between_its_bounds(example: Problem, choice: Choice) -> None:
    """Tests that no policy is below the bound, and that only the best is called exact."""
    answer = solve_problem(example, choice)
    best = best_cost(example)
    assert answer.upper_bound is not None
    assert answer.gap is not None
    assert answer.lower_bound <= best * (1 + 1e-9) <= answer.upper_bound * (1 + 2e-9)
    assert answer.expected_cost == pytest.approx(answer.upper_bound)
    gap = (answer.upper_bound - answer.lower_bound) / answer.upper_bound
    assert answer.gap == pytest.approx(gap, abs=1e-12)
    assert answer.exact == (answer.expected_cost <= best * (1 + 1e-8))


@pytest.mark.parametrize("choice", CHOICES)
def test_the_data_have_their_keys(example: Problem, choice: Choice) -> None:
    """Tests the keys of the documented output, and that the tree is one of names."""
    data = msgspec.json.decode(msgspec.json.encode(as_data(solve_problem(example, choice))))
    assert tuple(data) == KEYS
    names = {
        *(c.name for c in example.checks),
        *(r.name for r in example.remedies),
        *(s.name for s in example.stops),
    }
    waiting = [data["plan"]]
    assert data["plan"]["step"] == data["first_step"]
    while waiting:
        here = waiting.pop()
        assert here["step"] in names
        for check in example.checks:
            if check.name == here["step"] and "cut" not in here:
                assert set(here["outcomes"]) <= set(check.outcomes)
        for remedy in example.remedies:
            if remedy.name == here["step"]:
                assert set(here["outcomes"]) <= {"works", "still-fails"}
        waiting += [below for below in here["outcomes"].values() if below is not None]


def test_the_data_have_an_end(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that of a wide plan the likeliest steps are told, and the others are marked as cut."""
    problem = draw(GOOD, 5, 4, 3)
    whole = as_data(solve_problem(problem))["plan"]
    monkeypatch.setattr("tubside.diagnosis.solve.plan_tree.MOST_STEPS", 10)
    short = as_data(solve_problem(problem))["plan"]
    assert str(whole).count("'step'") > 10 >= str(short).count("'step'") > 3
    assert "'cut': True" in str(short)


def test_a_sampled_cost_is_called_an_estimate(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that where not every state can be gone through, no upper bound is claimed."""
    problem = draw(GOOD, 5, 4, 3)
    exact = solve_problem(problem, "pc")
    monkeypatch.setattr("tubside.service.solving.MOST_STATES", 2)
    answer = solve_problem(problem, "pc", seed=4)
    assert answer.upper_bound is None
    assert answer.gap is None
    assert not answer.exact
    assert answer.half_width > 0
    assert abs(answer.expected_cost - exact.expected_cost) < 4 * answer.half_width / sampling.IN_95
    assert "an estimate from 1000 drawn jobs" in proven_words(answer)[0]
    assert "no plan costs less" in proven_words(answer)[1]
    again = solve_problem(problem, "pc", seed=4)
    assert again.expected_cost == answer.expected_cost
    other = solve_problem(problem, "pc", seed=5)
    assert other.expected_cost != answer.expected_cost
    assert answer.plan is not None
    assert answer.plan.expected_cost == pytest.approx(answer.expected_cost)


def test_jobs_that_time_runs_out_on_are_told() -> None:
    """Tests that a policy too slow for its time still ends, and that the words say how."""
    begun = time.perf_counter()
    answer = solve_problem(draw(GOOD, 14, 10, 2), "advised", seconds=0.1)
    assert time.perf_counter() - begun < 0.1 + 2.0
    assert answer.hurried
    assert answer.jobs == sampling.AT_ONCE
    assert answer.upper_bound is None
    assert "ended by chance over cost because time ran out" in proven_words(answer)[0]


def test_sets_that_are_left_out_leave_no_proof() -> None:
    """Tests that a policy's cost over the likeliest sets is an estimate, not a bound."""
    problem = draw(GOOD, 14, 1, 2, single_fault=False)
    answer = solve_problem(problem, "cheapest", seconds=0.5)
    assert answer.upper_bound is None
    assert "an estimate" in proven_words(answer)[0]


def test_an_upper_bound_without_end_is_none() -> None:
    """Tests that where sets are left out and steps repeat, the best plan's bound is no number."""
    problem = draw(GOOD, 14, 1, 2, single_fault=False)
    again = replace(problem.remedies[0], repeatable=True)
    answer = solve_problem(replace(problem, remedies=(again, *problem.remedies[1:])), seconds=0.5)
    assert answer.upper_bound is None
    assert answer.gap is None
    assert not answer.exact
    assert "an estimate over the likeliest sets" in proven_words(answer)[0]
    once = solve_problem(problem, seconds=0.5)
    assert once.upper_bound is not None
    assert once.upper_bound > once.expected_cost


def test_nothing_to_do_is_told() -> None:
    """Tests a goal that is reached at the start."""
    done = parse_problem('{"goal": "identified", "causes": {"a": 1}}')
    for choice in CHOICES:
        answer = solve_problem(done, choice)
        assert answer.expected_cost == 0
        assert answer.first_step is None
        assert as_data(answer)["plan"] is None
        assert proven_words(answer) == ["Nothing is to be done: the goal is reached."]


def test_the_words_between_bounds() -> None:
    """Tests what is said of a plan that may not be the best."""
    problem = parse_problem('{"causes": {"a": 1}, "stops": {"refer": {"cost": 100}}}')
    plan = solve_problem(problem).plan
    answer = Answer(problem, "exact", 100.0, 95.0, 100.0, 0.05, False, plan, 1.0)
    assert proven_words(answer) == [
        "Costs 100 on average.",
        "Proven: no plan costs less than 95 on average, so none is more than 5.0 % cheaper.",
    ]
    wider = replace(answer, upper_bound=101.0, gap=6 / 101)
    assert proven_words(wider)[0] == (
        "Costs 100 on average, at most 101 with the rarest sets of causes."
    )


def test_the_plan_is_drawn_into_a_file(example: Problem, tmp_path: Path) -> None:
    """Tests that the drawing is written, and that a folder that is not there is told."""
    answer = solve_problem(example)
    draw_plan(answer, tmp_path / "plan.svg")
    drawn = (tmp_path / "plan.svg").read_text(encoding="utf-8")
    assert drawn.startswith("<svg")
    assert "Proven: no plan is cheaper." in drawn
    with pytest.raises(ProblemFileError, match="cannot be written"):
        draw_plan(answer, tmp_path / "none" / "plan.svg")
