"""Tests of how likely a rise is where nothing changed."""

from __future__ import annotations

from itertools import product
from math import comb, prod

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import fisher_exact, multivariate_hypergeom

from tubside.learning.rises import Cells, chance_of_rise, level

SMALL = st.lists(st.tuples(st.integers(0, 5), st.integers(0, 5)), min_size=1, max_size=4)


def cells(pairs: list[tuple[int, int]]) -> Cells:
    """Return cells, the first of which lies beside."""
    jobs = [max(pair) for pair in pairs]
    met = [min(pair) for pair in pairs]
    return Cells(tuple(jobs[1:]), tuple(met[1:]), jobs[0], met[0])


def by_listing(told: Cells) -> float:
    """Return the chance by listing every way in which the jobs may fall."""
    every, met = told.every
    height = level(told).height
    sizes = (*told.jobs, told.beside)
    likely = 0.0
    for ways in product(*(range(min(size, met) + 1) for size in sizes)):
        if sum(ways) != met:
            continue
        if level(Cells(told.jobs, ways[:-1], told.beside, ways[-1])).height >= height - 1e-9:
            likely += prod(comb(size, way) for size, way in zip(sizes, ways, strict=True))
    return likely / comb(every, met)


@settings(deadline=None, max_examples=60)
@given(st.tuples(st.integers(0, 5), st.integers(0, 5)), SMALL)
def test_chance_is_that_of_all_orders(
    beside: tuple[int, int], months: list[tuple[int, int]]
) -> None:
    """Tests the chance against all ways in which few jobs can fall into few cells."""
    told = cells([beside, *months])
    assert chance_of_rise(told) == pytest.approx(by_listing(told), abs=1e-12)


def test_one_cell_is_fishers_test() -> None:
    """Tests a month beside all before it against Fisher's exact test as SciPy has it."""
    told = Cells((210, 40), (9, 7))
    wanted = fisher_exact([[7, 33], [9, 201]], alternative="greater").pvalue
    alone = chance_of_rise(Cells((40,), (7,), 210, 9))
    assert alone == pytest.approx(wanted, rel=1e-9)
    assert chance_of_rise(told) >= alone


def test_many_months_as_drawn() -> None:
    """Tests 30 months of unlike size against 20,000 drawn orders, within four standard errors."""
    rng = np.random.default_rng(8)
    jobs = rng.integers(5, 40, 30)
    share = 40 / jobs.sum()
    told = Cells(tuple(jobs.tolist()), (*(1,) * 26, 1, 3, 4, 6))
    drawn = multivariate_hypergeom.rvs(jobs, 40, size=20_000, random_state=rng)
    steps = drawn[:, ::-1] - share / np.log(2.0) * jobs[::-1]
    highest = np.maximum(np.cumsum(steps, axis=1).max(axis=1), 0.0)
    came = (highest >= level(told).height - 1e-9).mean()
    error = np.sqrt(came * (1 - came) / 20_000)
    assert chance_of_rise(told) == pytest.approx(came, abs=4 * error)


def test_what_is_not_enough_is_bounded_from_below() -> None:
    """Tests that a chance that need not be exact is told too low, and still above the bound."""
    told = Cells((20, 20, 20), (2, 3, 5))
    exact, rough = chance_of_rise(told), chance_of_rise(told, enough=0.01)
    assert 0.01 < rough < exact


def test_no_rise_is_sure() -> None:
    """Tests that a month without a rise is no surprise at all."""
    assert chance_of_rise(Cells((20, 20), (4, 1))) == 1.0
