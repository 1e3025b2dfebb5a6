"""What an indication meant, against the posterior enumerated."""

from __future__ import annotations

from itertools import product
from math import gamma, prod

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.learning.meaning import meaning_chances

SHARES = np.array([0.5, 0.3, 0.2])


def enumerated(by_job: np.ndarray, shares: np.ndarray) -> np.ndarray:
    """The same chance summed over every condition that each job may have had.

    ``by_job`` is taken as P(condition | job) with the prior divided out, and the
    conditions of the jobs hang together through the Dirichlet.
    """
    n, c = by_job.shape
    total, found = 0.0, np.zeros(c)
    for had in product(range(c), repeat=n):
        counts = np.bincount(had, minlength=c)
        together = prod(gamma(s + k) / gamma(s) for s, k in zip(shares, counts, strict=True))
        alone = prod(shares[k] for k in had)
        chance = prod(by_job[job, k] for job, k in enumerate(had)) * together / alone
        total += chance
        found += chance * (counts + shares) / (n + 1)
    return found / total


@given(st.lists(st.integers(0, 2), max_size=5))
def test_certain_jobs_are_exact(had: list[int]) -> None:
    """Tests jobs whose condition is certain against the sum over every assignment."""
    by_job = np.eye(3)[had] if had else np.zeros((0, 3))
    assert meaning_chances(by_job, SHARES) == pytest.approx(enumerated(by_job, SHARES), abs=1e-12)


def test_jobs_in_doubt_are_never_more_sure_than_the_exact_sum() -> None:
    """Tests that three jobs that lean one way confirm each other less here than exactly."""
    by_job = np.tile([0.8, 0.15, 0.05], (3, 1))
    found, exact = meaning_chances(by_job, SHARES), enumerated(by_job, SHARES)
    assert found[0] < exact[0]
    assert found.sum() == pytest.approx(1.0)


def test_nothing_seen_gives_the_shares_back() -> None:
    """Tests that without a job the pack's shares stand."""
    assert meaning_chances(np.zeros((0, 3)), 100 * SHARES) == pytest.approx(SHARES)
