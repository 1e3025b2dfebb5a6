"""Tests of shares learned from counts."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.learning.proportions import share, shares

COUNTS = st.lists(st.integers(0, 40), min_size=2, max_size=5)


@given(st.integers(0, 60), st.integers(0, 60), st.floats(0.01, 0.99), st.floats(0.5, 50))
def test_two_batches_or_one(first: int, second: int, said: float, worth: float) -> None:
    """Tests that what the first batch left is the right prior for the second."""
    once = share(first, 100, said, worth)
    twice = share(second, 100, once.mean, worth + 100)
    whole = share(first + second, 200, said, worth)
    assert twice.mean == pytest.approx(whole.mean, abs=1e-9)
    assert (twice.low, twice.high) == pytest.approx((whole.low, whole.high), abs=1e-7)


@given(COUNTS, st.floats(1, 30))
def test_shares_sum_to_one(counts: list[int], worth: float) -> None:
    """Tests that a row stays a row, and that each mean lies in its interval."""
    said = np.arange(1.0, len(counts) + 1)
    found = shares(np.array(counts, dtype=float), said, worth)
    assert sum(one.mean for one in found) == pytest.approx(1.0)
    assert all(one.low <= one.mean <= one.high for one in found)


def test_nothing_counted_leaves_the_word_of_the_pack() -> None:
    """Tests that without jobs the mean is what was said, and nothing surprises."""
    found = share(0, 0, 0.32, 10)
    assert found.mean == pytest.approx(0.32)
    assert not found.surprises(0.32)
    assert share(14, 14, 0.05, 4).surprises(0.05)


def test_a_share_of_nought_stays() -> None:
    """Tests that what the pack rules out and nobody met is nought, without an interval."""
    found = share(0, 20, 0.0, 10)
    assert (found.mean, found.low, found.high) == (0.0, 0.0, 0.0)
