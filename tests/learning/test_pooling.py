"""Tests of passing shares down from one level to the next."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import dirichlet_multinomial

from tubside.learning.pooling import STATED, log_chance, passed_down, strength

SAID = np.array([0.5, 0.3, 0.2])


def test_chance_is_that_of_the_dirichlet_multinomial() -> None:
    """Tests differences of the log chance between two kappas against scipy's."""
    counts = np.array([[4, 1, 0], [2, 2, 3]])
    ours = log_chance(counts.astype(float), SAID, 7.0) - log_chance(counts.astype(float), SAID, 30)
    theirs = sum(
        dirichlet_multinomial(7.0 * SAID, row.sum()).logpmf(row)
        - dirichlet_multinomial(30.0 * SAID, row.sum()).logpmf(row)
        for row in counts
    )
    assert ours == pytest.approx(theirs, rel=1e-9)


def test_kappa_is_found_again() -> None:
    """Tests that many simulated groups give back the kappa they were drawn with, within a third."""
    rng = np.random.default_rng(4)
    groups = np.array([rng.multinomial(60, rng.dirichlet(40.0 * SAID)) for _ in range(150)])
    found = strength(groups.astype(float), SAID)
    assert found is not None
    assert 28 < found < 55


def test_too_few_groups_take_the_stated_one() -> None:
    """Tests that two groups do not tell how much groups differ."""
    found = passed_down(SAID, 50.0, np.array([[10.0, 5, 5], [3.0, 3, 3]]))
    assert (found.strength, found.told) == (STATED, False)


def test_borrowing_helps_simulated_groups() -> None:
    """Tests that what others pass down lies nearer to the truth of a group than the pack's word."""
    rng = np.random.default_rng(8)
    nearer = 0
    for _ in range(40):
        family = rng.dirichlet(30.0 * SAID)
        groups = [rng.multinomial(80, rng.dirichlet(150.0 * family)) for _ in range(12)]
        mine = rng.dirichlet(150.0 * family)
        down = passed_down(SAID, 30.0, np.array(groups, dtype=float))
        nearer += float(np.abs(down.said - mine).sum()) < float(np.abs(SAID - mine).sum())
    assert nearer >= 28  # by luck alone in one of a hundred
