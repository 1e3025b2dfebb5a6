"""Tests of the order of remedies for one fault."""

from __future__ import annotations

from fractions import Fraction
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.diagnosis.order import (
    SingleFault,
    best_sequence,
    by_ratio,
    efficiency,
    expected_cost,
    pc_order,
    perfect,
    still_there,
    updating_order,
    wrong_pair,
)

WHOLE = st.integers(1, 30)


@st.composite
def problems(draw: st.DrawFn, *, imperfect: bool = True) -> SingleFault:
    """Draw a small exact problem."""
    weights = draw(st.lists(WHOLE, min_size=2, max_size=5))
    chances = [Fraction(w, sum(weights)) for w in weights]
    costs = [Fraction(draw(WHOLE)) for _ in weights]
    if not imperfect:
        return perfect(chances, costs)
    tenth = st.integers(0, 10).map(lambda n: Fraction(n, 10))
    return SingleFault(chances, costs, [[draw(tenth) for _ in weights] for _ in weights])


@given(problems())
def test_best_sequence_is_the_best(problem: SingleFault) -> None:
    """Tests that no order of all remedies is cheaper than the one found, and its cost is right."""
    sequence, cost = best_sequence(problem)
    every = [expected_cost(problem, p) for p in permutations(range(len(problem.costs)))]
    assert cost == expected_cost(problem, sequence) == min(every)


@given(problems())
def test_best_sequence_has_no_wrong_pair(problem: SingleFault) -> None:
    """Tests that in the best sequence each neighbour is at least as efficient as the next."""
    assert wrong_pair(problem, best_sequence(problem)[0]) is None


@given(problems(imperfect=False))
def test_pc_order_is_best_for_perfect_remedies(problem: SingleFault) -> None:
    """Tests that p/c, updated or not, reaches the optimum when remedies are perfect."""
    best = best_sequence(problem)[1]
    assert expected_cost(problem, pc_order(problem.chances, problem.costs)) == best
    assert expected_cost(problem, updating_order(problem)) == best


@given(problems(), st.integers(2, 9))
def test_cost_scales(problem: SingleFault, factor: int) -> None:
    """Tests that dearer money changes the figures and not the order."""
    dearer = SingleFault(problem.chances, [c * factor for c in problem.costs], problem.clears)
    assert best_sequence(dearer) == (best_sequence(problem)[0], best_sequence(problem)[1] * factor)


def test_updating_can_miss_the_best() -> None:
    """Tests the known weakness: with overlapping remedies, efficiency first is not optimal."""
    chances = [Fraction(5, 18), Fraction(6, 18), Fraction(7, 18)]
    clears = [[1, 1, 0], [1, 0, 0], [0, 0, 1], [1, 1, 1]]
    problem = SingleFault(chances, [7, 3, 8, 50], clears)
    assert expected_cost(problem, updating_order(problem)) == Fraction(100, 9)
    assert best_sequence(problem) == ((0, 2, 1, 3), Fraction(91, 9))


def test_no_wrong_pair_is_not_enough() -> None:
    """Tests that a sequence without a wrong pair can still be dearer than the best."""
    clears = [[1, 1, 0], [1, 0, 0], [0, 0, 1], [1, 1, 1]]
    chances = [Fraction(5, 18), Fraction(6, 18), Fraction(7, 18)]
    problem = SingleFault(chances, [7, 3, 8, 50], clears)
    assert wrong_pair(problem, (1, 2, 0, 3)) is None
    assert expected_cost(problem, (1, 2, 0, 3)) > best_sequence(problem)[1]


def test_wrong_pair_is_found_where_it_stands() -> None:
    """Tests that the place of the pair is told, not only that there is one."""
    problem = perfect([Fraction(1, 2), Fraction(3, 10), Fraction(1, 5)], [6, 3, 4])
    assert wrong_pair(problem, [1, 2, 0]) == 1
    assert wrong_pair(problem, [2, 1, 0]) == 0


def test_what_is_left() -> None:
    """Tests that a failed remedy shrinks its cause by what it would have cleared."""
    problem = SingleFault([0.5, 0.5], [1, 1], [[0.9, 0], [0, 1]])
    assert still_there(problem, [0]) == pytest.approx(0.55)
    assert still_there(problem, [0, 1]) == pytest.approx(0.05)


def test_free_and_useless_remedies() -> None:
    """Tests that what costs nothing comes first and what clears nothing last."""
    problem = SingleFault([0.5, 0.5], [2, 0, 1], [[1, 0], [0, 1], [0, 0]])
    assert updating_order(problem) == (1, 0, 2)
    assert efficiency(problem, [], 1) == float("inf")
    assert efficiency(problem, [0, 1], 2) == 0
    assert by_ratio([0, 0.1, 0.2], [0, 1, 0]) == (2, 1, 0)


@pytest.mark.parametrize(
    ("problem", "message"),
    [
        (([0.5, 0.6], [1, 1], [[1, 0], [0, 1]]), "sum to 1.1"),
        (([1.5, -0.5], [1, 1], [[1, 0], [0, 1]]), "1.5 is no chance"),
        (([0.5, 0.5], [1, -1], [[1, 0], [0, 1]]), "negative"),
        (([0.5, 0.5], [1], [[1, 0], [0, 1]]), "1 costs for 2"),
        (([0.5, 0.5], [1, 1], [[1], [0, 1]]), "one for each cause"),
    ],
)
def test_bad_problems_are_refused(
    problem: tuple[list[float], list[float], list[list[float]]], message: str
) -> None:
    """Tests that a problem that cannot be true is refused with a way to mend it."""
    with pytest.raises(ValueError, match=message):
        SingleFault(*problem)


def test_too_many_remedies_are_refused() -> None:
    """Tests that the exhaustive search says its limit instead of running for hours."""
    problem = perfect([Fraction(1, 15)] * 15, [1] * 15)
    with pytest.raises(ValueError, match="at most 14"):
        best_sequence(problem)
