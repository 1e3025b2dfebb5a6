"""Tests of the repair kit of one visit against worked numbers, and of its order."""

from __future__ import annotations

from itertools import combinations, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tubside.errors import KitError
from tubside.kit.one_visit import best_carried, job_fill_rate, kit_cost, prefix_order

NEEDED = np.array([0.30, 0.20, 0.15, 0.10, 0.05])
HOLDING = np.array([2.0, 1.0, 3.0, 1.0, 4.0])


def all_kits(count: int) -> list[tuple[int, ...]]:
    """Every set of parts."""
    return [kit for size in range(count + 1) for kit in combinations(range(count), size)]


def test_carries_the_first_four() -> None:
    """Tests that the best kit is the one that costs least of all."""
    kit, cost = best_carried(NEEDED, HOLDING, 40.0)
    assert kit == [0, 1, 2, 3]
    assert cost == min(kit_cost(one, NEEDED, HOLDING, 40.0) for one in all_kits(5))


def test_best_kit_is_a_prefix() -> None:
    """Tests that in 500 random sets of 8 parts no kit beats the best first few."""
    rng = np.random.default_rng(12)
    kits = all_kits(8)
    carried = np.zeros((len(kits), 8), dtype=bool)
    for row, kit in enumerate(kits):
        carried[row, list(kit)] = True
    for _ in range(500):
        chance, holding = rng.uniform(0.01, 0.6, 8), rng.uniform(0.1, 9.0, 8)
        loss = float(rng.uniform(5.0, 120.0))
        ends = np.where(carried, 1.0, 1.0 - chance).prod(axis=1)
        least = float((carried @ holding + loss * (1.0 - ends)).min())
        found, cost = best_carried(chance, holding, loss)
        assert cost == pytest.approx(least, abs=1e-9)
        assert sorted(prefix_order(chance, holding)[: len(found)]) == found


@settings(max_examples=25, deadline=None)
@given(st.lists(st.floats(0.01, 0.9), min_size=1, max_size=3), st.integers(1, 3), st.data())
def test_fill_rate_by_enumeration(chances: list[float], jobs: int, data: st.DataObject) -> None:
    """Tests the job fill rate against every outcome of every job."""
    stock = [data.draw(st.integers(0, 3)) for _ in chances]
    needs = list(product((0, 1), repeat=len(chances)))
    expected = 0.0
    for day in product(needs, repeat=jobs):
        left, weight, ends = list(stock), 1.0, 0
        for need in day:
            for one, chance in zip(need, chances, strict=True):
                weight *= chance if one else 1.0 - chance
            if all(n <= have for n, have in zip(need, left, strict=True)):
                ends += 1
                left = [have - n for n, have in zip(need, left, strict=True)]
        expected += weight * ends / jobs
    assert job_fill_rate(np.array(chances), stock, jobs) == pytest.approx(expected, abs=1e-12)


def test_refuses_what_cannot_be() -> None:
    """Tests that a sure need and too many parts are refused."""
    with pytest.raises(KitError, match="between 0 and 1"):
        prefix_order(np.array([1.0]), np.array([1.0]))
    with pytest.raises(KitError, match="counted exactly"):
        job_fill_rate(np.full(20, 0.1), [3] * 20, 4)
