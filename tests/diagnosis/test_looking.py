"""Tests of the order of looking."""

from __future__ import annotations

from fractions import Fraction
from itertools import permutations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tubside.diagnosis.looking import (
    Cutoff,
    Search,
    after_looks,
    observe_and_repair,
    search_cost,
    search_order,
    series_cost,
    series_order,
)

WHOLE = st.integers(1, 30)
PART = st.integers(1, 9).map(lambda n: Fraction(n, 10))


@given(st.integers(1, 99), WHOLE, WHOLE, WHOLE, WHOLE)
def test_two_causes(percent: int, c1: int, c2: int, r1: int, r2: int) -> None:
    """Tests that of two causes the first is looked at first iff C1/p <= C2/(1-p)."""
    p = Fraction(percent, 100)
    first = observe_and_repair([p, 1 - p], [c1, c2], [r1, r2]).cost
    second = observe_and_repair([1 - p, p], [c2, c1], [r2, r1]).cost
    assert (first <= second) == (c1 / p <= c2 / (1 - p))


@given(st.lists(st.tuples(WHOLE, WHOLE, WHOLE), min_size=2, max_size=4), WHOLE)
def test_repair_costs_do_not_change_the_order(
    places: list[tuple[int, int, int]], more: int
) -> None:
    """Tests that a constant on every unavoidable repair adds itself and changes no order."""
    total = sum(weight for weight, _, _ in places)

    def cost(order: tuple[int, ...], extra: int) -> Fraction:
        chances = [Fraction(places[i][0], total) for i in order]
        looking = [places[i][1] for i in order]
        mending = [places[i][2] + extra for i in order]
        return Fraction(observe_and_repair(chances, looking, mending).cost)

    for order in permutations(range(len(places))):
        assert cost(order, more) == cost(order, 0) + more


def test_service_is_called_at_once_when_cheap() -> None:
    """Tests that a cheap service call is made before any look."""
    assert observe_and_repair([0.5, 0.5], [10, 10], [0, 0], service=9) == Cutoff(0, 9)


def test_service_never_makes_it_dearer() -> None:
    """Tests that the choice to call for service only lowers the cost."""
    chances, looking, mending = [0.5, 0.25, 0.25], [2, 2, 60], [10, 20, 40]
    without = observe_and_repair(chances, looking, mending)
    costs = [observe_and_repair(chances, looking, mending, s).cost for s in (1, 50, 80, 9e9)]
    assert costs == sorted(costs)
    assert costs[-1] == without.cost == pytest.approx(38.0)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(WHOLE, PART), min_size=2, max_size=3))
def test_equal_costs_find_soonest(places: list[tuple[int, Fraction]]) -> None:
    """Tests that with equal costs no five looks leave the fault unseen less often."""
    total = sum(weight for weight, _ in places)
    search = Search(
        [Fraction(w, total) for w, _ in places], [a for _, a in places], [1] * len(places)
    )
    unseen = search_cost(search, search_order(search, 5))[1]
    assert unseen == min(
        search_cost(search, looks)[1] for looks in product(range(len(places)), repeat=5)
    )


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(WHOLE, PART, WHOLE), min_size=2, max_size=3), st.integers(0, 6))
def test_no_two_looks_should_change_places(
    places: list[tuple[int, Fraction, int]], at: int
) -> None:
    """Tests that swapping two neighbouring looks never makes the search cheaper."""
    total = sum(weight for weight, _, _ in places)
    search = Search(
        [Fraction(w, total) for w, _, _ in places],
        [a for _, a, _ in places],
        [c for _, _, c in places],
    )
    looks = list(search_order(search, 8))
    cost = search_cost(search, looks)[0]
    looks[at], looks[at + 1] = looks[at + 1], looks[at]
    assert search_cost(search, looks)[0] >= cost


def test_no_oversight_is_pc() -> None:
    """Tests that looks that never err follow chance over cost."""
    search = Search([0.5, 0.3, 0.2], [0, 0, 0], [6, 3, 4])
    assert search_order(search, 3) == (1, 0, 2)
    spent, unseen = search_cost(search, (1, 0, 2))
    assert spent == pytest.approx(8)
    assert unseen == pytest.approx(0)


def test_nothing_left_is_refused() -> None:
    """Tests that looks which leave no place are refused with a way to mend it."""
    with pytest.raises(ValueError, match="no place is left"):
        after_looks(Search([0.5, 0.5], [0, 0], [1, 1]), [1, 1])


def test_free_looks_are_refused() -> None:
    """Tests that a look must cost something, else it would be repeated without end."""
    with pytest.raises(ValueError, match="cost above 0"):
        Search([0.5, 0.5], [0.1, 0.1], [0, 1])


@given(st.lists(st.tuples(PART, WHOLE), min_size=1, max_size=5))
def test_series_order_is_the_best(parts: list[tuple[Fraction, int]]) -> None:
    """Tests that no other order of independent tests is cheaper."""
    failing, costs = [f for f, _ in parts], [c for _, c in parts]
    best = series_cost(costs, failing, series_order(costs, failing))
    assert best == min(series_cost(costs, failing, p) for p in permutations(range(len(parts))))
