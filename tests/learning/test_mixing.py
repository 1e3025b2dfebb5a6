"""Tests of sharing out what is in doubt."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from tubside.learning.mixing import mixed


def test_without_doubt_it_is_the_dirichlet_mean() -> None:
    """Tests pseudo-counts (1, 1, 1) with counts (5, 3, 2): 6/13, 4/13 and 3/13, worth 13 jobs."""
    none = np.empty((0, 3))
    found = mixed(np.ones((1, 3)), np.array([[5.0, 3.0, 2.0]]), none, np.empty((1, 0)))
    np.testing.assert_allclose(found.mean[0], np.array([6, 4, 3]) / 13, rtol=1e-12)
    np.testing.assert_allclose(found.size[0], 13.0)


def test_certain_likelihoods_count_whole() -> None:
    """Tests that jobs in doubt whose likelihood leaves no doubt count as certain ones."""
    found = mixed(np.ones((1, 2)), np.zeros((1, 2)), np.eye(2), np.array([[6.0, 2.0]]))
    np.testing.assert_allclose(found.mean[0], [0.7, 0.3], rtol=1e-9)
    np.testing.assert_allclose(found.size[0], 10.0)


def test_what_tells_nothing_leaves_the_shares_alone() -> None:
    """Tests that jobs that tell nothing move no share and are worth nothing."""
    pseudo = np.array([[3.0, 7.0]])
    found = mixed(pseudo, np.zeros((1, 2)), np.ones((1, 2)), np.array([[50.0]]))
    np.testing.assert_allclose(found.mean[0], [0.3, 0.7], atol=1e-6)
    np.testing.assert_allclose(found.size[0], 10.0, rtol=1e-6)


@given(st.integers(0, 10_000))
def test_shares_sum_to_one_and_rise_with_no_step(seed: int) -> None:
    """Tests that shares sum to one and that nothing nearby has a higher posterior."""
    rng = np.random.default_rng(seed)
    pseudo, likely = 1.0 + 3.0 * rng.random((1, 3)), rng.random((5, 3)) + 0.01
    often = rng.integers(0, 20, (1, 5)).astype(float)
    mean = mixed(pseudo, np.zeros((1, 3)), likely, often).mean[0]
    assert abs(mean.sum() - 1.0) < 1e-9

    def height(share: np.ndarray) -> float:
        return float(pseudo[0] @ np.log(share) + often[0] @ np.log(likely @ share))

    for _ in range(5):
        near = mean * np.exp(0.01 * rng.standard_normal(3))
        assert height(near / near.sum()) <= height(mean) + 1e-6
