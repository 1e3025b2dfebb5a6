"""Tests of lives fitted to ages, against a reference library and by simulation."""

from __future__ import annotations

import numpy as np
import pytest
from lifelines import WeibullFitter

from tubside.errors import HistoryError
from tubside.learning.lifetimes import by_maximum_likelihood, log_likelihood


def aged(seed: int, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Return ages of failure, and of machines that still run, drawn from shape 2, scale 10."""
    rng = np.random.default_rng(seed)
    lives, seen = 10 * rng.weibull(2.0, count), rng.uniform(1, 15, count)
    return lives[lives <= seen], seen[lives > seen]


@pytest.mark.parametrize("seed", range(3))
def test_censored_fit_is_that_of_the_library(seed: int) -> None:
    """Tests shape and scale with a third still running; the library stops near 1e-4."""
    failed, censored = aged(seed, 150)
    ours = by_maximum_likelihood(failed, censored)
    ages = np.concatenate([failed, censored])
    ended = np.arange(len(ages)) < len(failed)
    theirs = WeibullFitter().fit(ages, ended)
    assert ours.shape == pytest.approx(theirs.rho_, rel=1e-3)
    assert ours.scale == pytest.approx(theirs.lambda_, rel=1e-3)
    assert log_likelihood(ours, failed, censored) >= theirs.log_likelihood_ - 1e-6


def test_a_weight_of_two_is_two_machines() -> None:
    """Tests that weights count as often as they say."""
    failed, censored = np.array([2.0, 5.0, 9.0]), np.array([4.0])
    twice = by_maximum_likelihood(
        failed, censored, failed_weight=np.array([2.0, 1.0, 1.0]), censored_weight=np.array([2.0])
    )
    spelt = by_maximum_likelihood(np.array([2.0, 2.0, 5.0, 9.0]), np.array([4.0, 4.0]))
    assert (twice.shape, twice.scale) == pytest.approx((spelt.shape, spelt.scale))


def test_one_age_is_no_life() -> None:
    """Tests that too little, or an age of nought, is refused with what is lacking."""
    with pytest.raises(HistoryError, match="two different ages"):
        by_maximum_likelihood(np.array([4.0, 4.0]))
    with pytest.raises(HistoryError, match="middle of the year"):
        by_maximum_likelihood(np.array([0.0, 4.0]))
