"""Tests of the exact order of one technician's visits."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from made_days import invented_day
from tubside.day.draws import expected
from tubside.day.exact import Rules, best_orders, value_of
from tubside.day.problem import HOUR, MINUTE, Break, Day, Window
from tubside.day.running import one_order, outcome

ALL = Rules(slack=0.0)


def with_lunch(day: Day) -> Day:
    """Return the day with two pauses for everybody."""
    pauses = (Break(10 * HOUR, 15 * MINUTE), Break(12 * HOUR, 45 * MINUTE))
    return replace(day, technicians=tuple(replace(one, breaks=pauses) for one in day.technicians))


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10_000), st.integers(1, 6), st.booleans(), st.sampled_from([0.0, 1.0]))
def test_against_all_orders(seed: int, visits: int, lunch: bool, doubt: float) -> None:
    """Tests that no order of all is cheaper, with pauses and with doubt."""
    day = invented_day(seed, visits)
    day = with_lunch(day) if lunch else day
    rules = Rules(doubt=doubt, slack=0.0)
    found = best_orders(day, 0, list(range(visits)), rules)
    least = min(value_of(day, 0, list(order), rules) for order in permutations(range(visits)))
    assert found.proven
    assert found.costs[0] == pytest.approx(least, abs=1e-9)
    assert value_of(day, 0, list(found.orders[0]), rules) == pytest.approx(least, abs=1e-9)


@pytest.mark.parametrize("seed", range(4))
def test_value_is_that_of_the_mean_day(seed: int) -> None:
    """Tests that without doubt an order counts as it runs on the day of mean times."""
    day = with_lunch(invented_day(seed, 8))
    rng = np.random.default_rng(seed)
    for _ in range(5):
        order = [int(at) for at in rng.permutation(8)]
        run = outcome(day, 0, one_order(order), expected(day))
        assert value_of(day, 0, order, Rules(doubt=0.0)) == pytest.approx(float(run.cost[0, 0]))


def test_hard_windows_may_leave_nothing() -> None:
    """Tests that promises which cannot all be kept give no order when they must be."""
    day = invented_day(1, 3)
    morning = Window(8 * HOUR, 8 * HOUR + MINUTE)
    day = replace(day, stops=tuple(replace(stop, promised=morning) for stop in day.stops))
    found = best_orders(day, 0, [0, 1, 2], Rules(hard=True))
    assert (found.orders, found.proven) == ((), True)
    assert value_of(day, 0, [0, 1, 2], Rules(hard=True)) == np.inf


def test_too_few_labels_prove_nothing() -> None:
    """Tests that a search which had to drop labels says so, and still gives an order."""
    day = invented_day(2, 9)
    found = best_orders(day, 0, list(range(9)), Rules(labels=3))
    short = best_orders(day, 0, list(range(9)), ALL)
    assert short.proven
    assert sorted(found.orders[0]) == list(range(9))
    assert found.costs[0] >= short.costs[0] - 1e-9


def test_no_visits() -> None:
    """Tests that an empty day is the way from start to end."""
    day = invented_day(0, 2)
    found = best_orders(day, 0, [])
    assert found.orders == ((),)
    assert found.costs[0] == value_of(day, 0, [])
    assert found.costs[0] == pytest.approx(0.0)
