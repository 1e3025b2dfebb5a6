"""Sets of causes, and where each step leads."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from made_problems import problem_of, tiny_problem
from tubside.diagnosis.solve.problem import Check, Cover, Remedy
from tubside.diagnosis.solve.sets import said, sets_of
from tubside.diagnosis.solve.state import (
    Step,
    after_check,
    after_remedy,
    is_done,
    open_steps,
    start,
    step_cost,
)
from tubside.errors import ProblemTableError


def test_independent_causes_leave_out_the_empty_set() -> None:
    """Tests P(S) of three causes: .5, .2, .1 over 1 - .5 x .8 x .9."""
    sets = sets_of(problem_of([0.5, 0.2, 0.1], single=False))
    assert len(sets.prior) == 7
    only_first = sets.prior[sets.member.tolist().index([True, False, False])]
    assert only_first == pytest.approx(0.5 * 0.8 * 0.9 / (1 - 0.5 * 0.8 * 0.9))


def test_many_causes_keep_the_likeliest_sets_with_their_parts() -> None:
    """Tests that what is kept is closed under taking causes away, and the share left out."""
    prior = np.linspace(0.01, 0.6, 14)
    some, every = sets_of(problem_of(prior, single=False), 200), 2**14 - 1
    rows = {tuple(np.flatnonzero(mask)) for mask in some.member}
    assert len(rows) == 200
    assert all(
        row[:i] + row[i + 1 :] in rows for row in rows if len(row) > 1 for i in range(len(row))
    )
    whole = sets_of(problem_of(prior, single=False), every)
    assert whole.left_out == pytest.approx(0.0, abs=1e-12)
    kept = sum(
        chance
        for mask, chance in zip(whole.member, whole.prior, strict=True)
        if tuple(np.flatnonzero(mask)) in rows
    )
    assert some.left_out == pytest.approx(1 - kept)


def test_three_outcomes_combine_by_their_tails() -> None:
    """Tests T(o|S) = L Π T/L by hand: .9 and .5 for the healthy, two causes."""
    given = np.array([[0.4, 0.4, 0.2], [0.55, 0.2, 0.25]])
    check = Check("t", 1.0, ("bad", "fair", "good"), given, np.array([0.1, 0.4, 0.5]))
    row = said(check, np.array([[True, True]]), single_fault=False)[:, 0]
    fair, good = 0.6 * 0.45 / 0.9, 0.2 * 0.25 / 0.5
    assert row == pytest.approx([1 - fair, fair - good, good])


@pytest.mark.parametrize(
    ("given", "otherwise"),
    [([[0.1, 0.9], [0.2, 0.8]], [0.5, 0.5]), ([[0.5, 0.5], [0.5, 0.5]], [1.0, 0.0])],
)
def test_a_tail_above_one_names_the_check(given: list[list[float]], otherwise: list[float]) -> None:
    """Tests .9 x .8 / .5, and a chance over a leak of nothing."""
    check = Check("odd", 1.0, ("bad", "good"), np.array(given), np.array(otherwise))
    with pytest.raises(ProblemTableError, match=r"check 'odd'.*above 1"):
        said(check, np.array([[True, True]]), single_fault=False)


def test_a_rising_tail_names_the_check() -> None:
    """Tests that good may not become likelier than fair or better."""
    given = np.array([[0.5, 0.0, 0.5], [0.6, 0.0, 0.4]])
    check = Check("odd", 1.0, ("bad", "fair", "good"), given, np.array([0.1, 0.5, 0.4]))
    with pytest.raises(ProblemTableError, match=r"check 'odd'.*worst first"):
        said(check, np.array([[True, True]]), single_fault=False)


def test_a_cover_is_paid_once_and_a_re_run_each_time() -> None:
    """Tests the cost of two steps behind one cover."""
    ways = [Remedy(str(i), 10.0, np.eye(2)[i] * 0.5, 2.0, behind=0) for i in range(2)]
    problem = problem_of([0.5, 0.5], remedies=ways, covers=[Cover("lid", 7.0, 1.0)], stop=50.0)
    state = start(problem)
    assert step_cost(problem, state, Step("remedy", 0)) == 19.0
    _, later = after_remedy(problem, state, 0)
    assert step_cost(problem, later, Step("remedy", 1)) == 12.0
    assert open_steps(problem, later) == [Step("remedy", 1), Step("stop", 0)]


def test_several_causes_are_cleared_one_by_one() -> None:
    """Tests that a pair of which one cause was cleared is the other cause alone."""
    problem = problem_of(
        [0.5, 0.5], remedies=[Remedy("r", 1.0, np.array([1.0, 0.0]))], single=False
    )
    fails, state = after_remedy(problem, start(problem), 0)
    assert fails == pytest.approx(2 / 3)
    assert state.causes() == pytest.approx([0.0, 1.0])


@given(seed=st.integers(0, 2**32 - 1))
@settings(max_examples=60, deadline=None)
def test_chances_of_outcomes_sum_to_one(seed: int) -> None:
    """Tests every check of any problem, and that the order of checks does not matter."""
    problem = tiny_problem(seed)
    state = start(problem)
    assert not is_done(problem, state) or len(state.weights) == 1
    for c, check in enumerate(problem.checks):
        found = [after_check(problem, state, c, o) for o in range(len(check.outcomes))]
        assert sum(chance for chance, _ in found) == pytest.approx(1.0, abs=1e-12)
    if len(problem.checks) == 2:
        one = after_check(problem, after_check(problem, state, 0, 0)[1], 1, 0)[1]
        other = after_check(problem, after_check(problem, state, 1, 0)[1], 0, 0)[1]
        assert one.weights == pytest.approx(other.weights, abs=1e-12)
        assert (one.used, one.open) == (other.used, other.open)
