"""Tests of remedies that share a re-run or a cover."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tubside.diagnosis.shared_costs import (
    Covered,
    best_blocks,
    blocks_cost,
    covered_cost,
    covered_order,
)

WHOLE = st.integers(1, 30)


def cuttings(items: tuple[int, ...]) -> Iterator[list[tuple[int, ...]]]:
    """Yield every way to cut a sequence into blocks."""
    for mask in range(2 ** (len(items) - 1)):
        cuts = [0, *(i + 1 for i in range(len(items) - 1) if mask >> i & 1), len(items)]
        yield [items[a:b] for a, b in pairwise(cuts)]


@settings(max_examples=30)
@given(st.lists(st.tuples(WHOLE, WHOLE), min_size=1, max_size=4), st.integers(0, 40))
def test_best_blocks_are_the_best(pairs: list[tuple[int, int]], rerun: int) -> None:
    """Tests that no order and no cutting of it is cheaper than the blocks found."""
    total = sum(weight for weight, _ in pairs)
    chances = [Fraction(weight, total) for weight, _ in pairs]
    costs = [Fraction(cost) for _, cost in pairs]
    blocks, cost = best_blocks(chances, costs, rerun)
    every = [
        blocks_cost(chances, costs, rerun, cutting)
        for order in permutations(range(len(pairs)))
        for cutting in cuttings(order)
    ]
    assert cost == blocks_cost(chances, costs, rerun, blocks) == min(every)


def test_a_free_rerun_is_made_each_time() -> None:
    """Tests that with a free re-run nothing is gained by waiting."""
    p = [Fraction(1, 2), Fraction(3, 10), Fraction(1, 5)]
    assert best_blocks(p, [6, 3, 4], 0) == (((1,), (0,), (2,)), 8)


def test_a_dear_rerun_is_made_once() -> None:
    """Tests that with a dear re-run everything is done first."""
    assert best_blocks([0.5, 0.3, 0.2], [6, 3, 4], 1000)[0] == ((0, 1, 2),)


def test_too_many_blocks_are_refused() -> None:
    """Tests that the search says its limit."""
    with pytest.raises(ValueError, match="at most 10"):
        best_blocks([Fraction(1, 11)] * 11, [1] * 11, 1)


@st.composite
def covered(draw: st.DrawFn) -> Covered:
    """Draw a small exact problem with covers."""
    pairs = draw(st.lists(st.tuples(WHOLE, WHOLE), min_size=2, max_size=6))
    total = sum(weight for weight, _ in pairs) + draw(st.integers(0, 10))
    behind = [draw(st.integers(-1, 1)) for _ in pairs]
    opening = [Fraction(draw(st.integers(0, 60))) for _ in range(2)]
    chances = [Fraction(weight, total) for weight, _ in pairs]
    return Covered(chances, [Fraction(cost) for _, cost in pairs], behind, opening)


@settings(max_examples=60, deadline=None)
@given(covered())
def test_covered_order_is_the_best(problem: Covered) -> None:
    """Tests that no order is cheaper than the one found with covers opened once."""
    found = covered_order(problem)
    every = [covered_cost(problem, p) for p in permutations(range(len(problem.costs)))]
    assert sorted(found) == list(range(len(problem.costs)))
    assert covered_cost(problem, found) == min(every)


def test_a_cover_changes_the_order() -> None:
    """Tests that what is behind a dear cover waits, although it has the better p/c."""
    shut = Covered([0.5, 0.5], [2, 1], [-1, 0], [10])
    assert covered_order(shut) == (0, 1)
    assert covered_order(Covered([0.5, 0.5], [2, 1], [-1, 0], [0])) == (1, 0)
    assert covered_cost(shut, (0, 1)) == pytest.approx(7.5)


def test_an_unknown_cover_is_refused() -> None:
    """Tests that a remedy behind a cover without a cost is refused."""
    with pytest.raises(ValueError, match="no cost"):
        Covered([0.5, 0.5], [2, 1], [-1, 1], [10])
