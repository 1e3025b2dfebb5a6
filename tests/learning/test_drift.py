"""Tests of the sum that alarms when a count is above what was expected."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import HistoryError
from tubside.learning.drift import poisson_run_length, watch, watched


def test_run_length_is_what_simulation_finds() -> None:
    """Tests the exact mean run against 4000 drawn ones; three standard errors apart at most."""
    told = watch(1.5, ratio=2.0, run_length=60.0)
    rng = np.random.default_rng(5)
    runs = np.zeros(4000)
    level, open_ = np.zeros(4000), np.ones(4000, bool)
    while open_.any():
        runs += open_
        level = np.maximum(0.0, level + rng.poisson(1.5, 4000) - told.reference)
        open_ &= level < told.limit
    assert runs.mean() == pytest.approx(told.run_length, abs=3 * runs.std() / np.sqrt(4000))


@given(st.floats(0.02, 8), st.floats(1.3, 4), st.floats(20, 500))
def test_the_limit_is_the_least_that_keeps_quiet(mean: float, ratio: float, run: float) -> None:
    """Tests that the limit is long enough, and that a quarter less would not be."""
    told = watch(mean, ratio, run)
    assert told.run_length >= run
    below = told.limit - 0.25
    assert below <= 0 or poisson_run_length(mean, told.reference, below) < run


def test_a_doubled_count_is_found_soon() -> None:
    """Tests that the change it is made for is found far sooner than a false alarm."""
    told = watch(2.0, ratio=2.0, run_length=240.0)
    assert poisson_run_length(4.0, told.reference, told.limit) < 8
    assert watched([2, 2, 1, 3, 2, 2], told).alarm is None


def test_nonsense_is_refused() -> None:
    """Tests that a watch without an expectation is refused."""
    with pytest.raises(HistoryError, match="above one"):
        watch(1.0, ratio=1.0)
