"""Tests of what it costs to clear a known cause, each remedy done once."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest

from tubside.diagnosis.own_costs import AfterFailing, OwnCosts, own_costs
from tubside.pack.fault_model import Floats

SURE = AfterFailing(np.ones(4), 100.0, 95.0)
PRICE = np.array([10.0, 30.0])
CLEARS = np.array([[0.5, 1.0, 0.0, 0.0], [1.0, 0.0, 0.5, 0.0]])


def test_by_hand() -> None:
    """Tests the better remedy first, then the other, then ending the job."""
    own, _ = own_costs(PRICE, CLEARS, SURE)
    assert own.cost == pytest.approx([10.0 + 0.5 * 30.0, 10.0, 30.0 + 0.5 * 100.0, 100.0])
    assert own.later == pytest.approx([15.0, 0.0, 50.0, 0.0])
    assert own.price == pytest.approx([10.0, 30.0])
    assert own.groups.tolist() == [[1, 0], [1, 0], [0, 1], [0, 0]]


def test_used_up_by_hand() -> None:
    """Tests the rows for each remedy used up, and the last one for none."""
    own, after = own_costs(PRICE, CLEARS, SURE)
    assert after.cost == pytest.approx(
        np.array([[30.0, 100.0, 80.0, 100.0], [60.0, 10.0, 100.0, 100.0], own.cost])
    )
    assert after.later[0] == pytest.approx([0.0, 0.0, 50.0, 0.0])
    assert after.price[0] == pytest.approx([(30.0 + 100.0) / 2, 30.0])
    assert after.price[2] == pytest.approx(own.price)


def test_dear_remedy_is_left_out() -> None:
    """Tests that a remedy that costs more than ending the job is not counted on."""
    own, after = own_costs(np.array([150.0]), np.array([[1.0]]), AfterFailing(np.ones(1), 100.0, 0))
    assert own.cost == pytest.approx([100.0])
    assert own.groups.shape == (1, 0)
    assert after.cost.shape == (2, 1)


def test_no_remedies_at_all() -> None:
    """Tests that with nothing to do every cause costs ending the job."""
    own, after = own_costs(np.zeros(0), np.zeros((0, 4)), SURE)
    assert own.cost == pytest.approx(np.full(4, 100.0))
    assert after.cost.shape == (1, 4)


def test_callback_where_it_does_not_show() -> None:
    """Tests that what is left and hides is paid by a callback."""
    own, _ = own_costs(np.array([10.0]), np.array([[0.8]]), AfterFailing(np.array([0.5]), 500, 95))
    assert own.cost == pytest.approx([10.0 + 0.2 * (0.5 * 500.0 + 0.5 * 95.0)])


def cost_in_order(order: tuple[int, ...], price: Floats, clears: Floats, stop: float) -> float:
    """Return the cost of trying remedies in an order until one clears, then ending."""
    total, left = 0.0, 1.0
    for way in order:
        total += left * price[way]
        left *= 1.0 - clears[way]
    return total + left * stop


@pytest.mark.parametrize("seed", range(20))
def test_no_order_of_remedies_is_cheaper(seed: int) -> None:
    """Tests four remedies of one cause against every order of every choice of them."""
    rng = np.random.default_rng(seed)
    price, clears = rng.uniform(5.0, 90.0, 4), rng.uniform(0.1, 0.95, 4)
    own, _ = own_costs(price, clears[:, None], AfterFailing(np.ones(1), 120.0, 0.0))
    orders = [o for size in range(5) for o in permutations(range(4), size)]
    best = min(cost_in_order(o, price, clears, 120.0) for o in orders)
    assert own.cost[0] == pytest.approx(best, rel=1e-12)


@pytest.mark.parametrize("seed", range(5))
def test_rows_are_the_costs_without_that_way(seed: int) -> None:
    """Tests each row against solving again without the remedy used up."""
    rng = np.random.default_rng(seed)
    price = rng.uniform(5.0, 90.0, 6)
    clears = rng.uniform(0.2, 1.0, (6, 5)) * (rng.random((6, 5)) < 0.5)
    after = AfterFailing(rng.uniform(0.3, 1.0, 5), 200.0, 95.0)
    _, rows = own_costs(price, clears, after)
    for way in range(6):
        keep = np.arange(6) != way
        alone: OwnCosts = own_costs(price[keep], clears[keep], after)[0]
        assert rows.cost[way] == pytest.approx(alone.cost, rel=1e-12)
        assert rows.later[way] == pytest.approx(alone.later, rel=1e-12)
