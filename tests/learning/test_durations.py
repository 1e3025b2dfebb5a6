"""Tests of minutes learned from counts."""

from __future__ import annotations

from math import exp, log

import numpy as np
import pytest
from scipy import stats

from tubside.errors import HistoryError
from tubside.learning.durations import Told, duration

MINUTES = [12, 18, 25, 25, 31, 40, 55]


def test_with_a_flat_prior_it_is_students_interval() -> None:
    """Tests median, spread and interval against scipy's own for the logarithms.

    A flat prior leaves n degrees of freedom about sum of squares over n, where Student's
    own interval has n - 1 of both; so the scale is corrected before they are compared.
    """
    logs = np.log(MINUTES)
    n = len(logs)
    found = duration({m: float(MINUTES.count(m)) for m in MINUTES}, Told(20.0, 0.5, 1e-9))
    assert found.median.mean == pytest.approx(exp(logs.mean()), rel=1e-6)
    assert found.sigma == pytest.approx(logs.std(), rel=1e-6)
    low, high = stats.t.interval(0.9, n, logs.mean(), logs.std() / np.sqrt(n))
    assert (found.median.low, found.median.high) == pytest.approx((exp(low), exp(high)), rel=1e-6)


def test_fractions_count_as_much_as_they_are() -> None:
    """Tests that two halves of a job count as one."""
    whole = duration({10: 2.0, 30: 1.0}, Told(20.0, 0.5, 4.0))
    other = duration({10: 2.0, 30: 1.0 + 1e-12}, Told(20.0, 0.5, 4.0))
    assert whole.median.mean == pytest.approx(other.median.mean)
    assert whole.median.mean == pytest.approx(
        exp((4 * log(20) + 2 * log(10) + log(30)) / 7), rel=1e-12
    )


def test_nothing_counted_leaves_what_was_said() -> None:
    """Tests that without counts the prior stays, and that nought is no minute."""
    found = duration({}, Told(20.0, 0.5, 4.0))
    assert (found.median.mean, found.sigma) == pytest.approx((20.0, 0.5))
    assert duration({0: 1.0}, Told(20.0, 0.5, 4.0)).median.mean > 0
    with pytest.raises(HistoryError, match="above nought"):
        duration({}, Told(0.0, 0.5, 4.0))
