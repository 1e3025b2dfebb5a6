"""Tests of the kit for a day against every kit there is, on small days."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tubside.errors import KitError
from tubside.kit.greedy import earnings, greedy_kit
from tubside.kit.loading import best_kit
from tubside.kit.problem import Day, Loading, fill_rate, served, worth

PUMP, BELT, HOSE = 0, 1, 2


def small_day(seed: int, *, room: bool = False) -> Day:
    """Three jobs, six scenarios, four parts, of which several jobs may need the same."""
    rng = np.random.default_rng(seed)
    needs = rng.binomial(2, 0.25, (3, 6, 4)).astype(np.int64)
    most = rng.integers(0, 4, 4)
    aboard = np.minimum(most, rng.integers(0, 2, 4))
    space = rng.uniform(0.5, 2.0, 4)
    limit = float(space @ aboard) + 3.0 if room else np.inf
    loading = Loading(aboard, most, rng.uniform(0.0, 8.0, 4), space, limit)
    return Day(needs, rng.uniform(10.0, 60.0, 3), rng.uniform(0.5, 1.0, (3, 4)), loading)


def plain(needs: list[list[list[int]]], most: list[int], holding: float = 0.1) -> Day:
    """A day in which everything fits and nothing is aboard."""
    told, count = np.array(needs), len(most)
    loading = Loading(
        np.zeros(count, dtype=np.int64),
        np.array(most),
        np.full(count, holding),
        np.ones(count),
    )
    return Day(told, np.full(len(needs), 50.0), np.ones((len(needs), count)), loading)


def best_by_hand(day: Day) -> float:
    """The worth of the best of all kits."""
    loading = day.loading
    choices = [range(a, m + 1) for a, m in zip(loading.aboard, loading.most, strict=True)]
    kits = [np.array(kit) for kit in product(*choices)]
    return max(worth(day, kit) for kit in kits if loading.space @ kit <= loading.room + 1e-9)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.booleans())
def test_is_the_best_of_all_kits(seed: int, room: bool) -> None:
    """Tests that the programme finds the best kit that there is, and proves it."""
    day = small_day(seed, room=room)
    kit, best = best_kit(day, gap=0.0), best_by_hand(day)
    assert kit.worth == pytest.approx(best, abs=1e-6)
    assert kit.bound == pytest.approx(best, abs=1e-5)
    assert day.loading.space @ kit.units <= day.loading.room + 1e-9
    assert (kit.units >= day.loading.aboard).all()
    assert (kit.units <= day.loading.most).all()


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6), st.booleans())
def test_greedy_is_never_better(seed: int, room: bool) -> None:
    """Tests that the greedy kit is allowed, and never worth more than the bound."""
    day = small_day(seed, room=room)
    greedy = greedy_kit(day)
    assert worth(day, greedy.units) <= best_by_hand(day) + 1e-9
    assert day.loading.space @ greedy.units <= day.loading.room + 1e-9
    assert (greedy.units <= day.loading.most).all()
    if greedy.steps:
        assert greedy.steps[-1].fill_rate == pytest.approx(fill_rate(day, greedy.units))


def test_all_or_nothing() -> None:
    """Tests that of a job that needs two parts, one of which cannot be had, none is loaded."""
    day = plain([[[1, 1, 0]], [[0, 0, 1]]], [1, 0, 1])
    assert best_kit(day).units.tolist() == [0, 0, 1]
    assert greedy_kit(day).units.tolist() == [0, 0, 1]


def test_shared_units() -> None:
    """Tests that two jobs that may both need the pump get two only where it pays."""
    both = [[[1], [1], [0], [0]], [[1], [0], [1], [0]]]
    assert best_kit(plain(both, [2])).units.tolist() == [2]
    assert best_kit(plain(both, [2], holding=20.0)).units.tolist() == [1]


def test_served_in_their_order() -> None:
    """Tests that the first visit takes the unit, and one that lacks another part takes none."""
    needs = np.array([[[1, 1]], [[1, 0]], [[1, 0]]])
    assert served(needs, np.array([1, 0])).ravel().tolist() == [False, True, False]
    assert served(needs, np.array([1, 1])).ravel().tolist() == [True, False, False]


def test_what_a_part_earns() -> None:
    """Tests that a part earns the share of jobs that end only because of it."""
    needs = [[[1, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 0]], [[0, 0, 0]] * 4]
    day = plain(needs, [1, 1, 1])
    told = {one.part: one for one in earnings(day, np.array([1, 0, 0]))}
    assert told[PUMP].with_it == pytest.approx(7 / 8)
    assert told[PUMP].without == pytest.approx(5 / 8)
    assert told[PUMP].share == pytest.approx(2 / 8)
    assert told[BELT].with_it == pytest.approx(1.0)
    assert told[BELT].without == pytest.approx(7 / 8)
    assert HOSE not in told


def test_what_a_part_saves() -> None:
    """Tests that a part saves the second trips that only it spares, at the price of each job."""
    needs = [[[1, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 0]], [[0, 1, 0]] + [[0, 0, 0]] * 3]
    day = replace(plain(needs, [1, 1, 1]), trip=np.array([80.0, 120.0]))
    told = {one.part: one for one in earnings(day, np.array([1, 0, 0]))}
    assert told[PUMP].saves == pytest.approx(80.0 * 2 / 4)
    assert told[BELT].saves == pytest.approx(80.0 / 4 + 120.0 / 4)


def test_a_doubtful_fit_lowers_the_chance() -> None:
    """Tests that an article that may not fit serves less, shows it, and may not be worth it."""
    day = plain([[[1], [1]]], [1], holding=30.0)
    sure = fill_rate(day, np.array([1]))
    doubtful = replace(day, fit=np.array([[0.4]]))
    assert sure == pytest.approx(1.0)
    assert fill_rate(doubtful, np.array([1])) == pytest.approx(0.4)
    assert earnings(doubtful, np.array([1]))[0].fits == pytest.approx(0.4)
    assert best_kit(day).units.tolist() == [1]
    assert best_kit(doubtful).units.tolist() == [0]


def test_equal_days_give_equal_kits() -> None:
    """Tests that the kit does not depend on anything but the day."""
    day = small_day(7)
    assert best_kit(day).units.tolist() == best_kit(day).units.tolist()


def test_refuses_what_cannot_be() -> None:
    """Tests that impossible numbers are refused in words."""
    ones = np.ones(1)
    with pytest.raises(KitError, match="as many units"):
        Loading(np.array([2]), np.array([1]), ones, ones)
    with pytest.raises(KitError, match="more room"):
        Loading(np.array([2]), np.array([2]), ones, ones, 1.0)
    fine = Loading(np.array([0]), np.array([1]), ones, ones)
    with pytest.raises(KitError, match="chance from 0 to 1"):
        Day(np.ones((1, 1, 1), dtype=np.int64), ones, np.array([[1.5]]), fine)
    with pytest.raises(KitError, match="at least one job"):
        Day(np.zeros((0, 1, 1), dtype=np.int64), ones, ones, fine)
