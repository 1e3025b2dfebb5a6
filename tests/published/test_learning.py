"""Published values of what is learned from counts: shares, lives, and when a sum alarms."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy.stats import norm

import printed
from tubside.learning.drift import run_length_of
from tubside.learning.lifetimes import WeibullFit, by_rank_regression
from tubside.learning.proportions import share

AGES = np.array([16.0, 34, 53, 75, 93, 120])


def girls(item: str) -> float:
    """Return the mean or an end of the interval of 437 girls among 980 births."""
    found = share(437, 980, 0.5, 2.0, level=0.95)
    return {"mean": found.mean, "low": found.low, "high": found.high}[item]


def part(fit: WeibullFit, item: str) -> float:
    """Return the shape or the scale."""
    return fit.shape if item.endswith("shape") else fit.scale


def run(item: str) -> float:
    """Return the average run length of a sum watched on both sides."""
    limit, shift = (float(word.partition(" ")[2]) for word in item.split(", "))

    def length(by: float) -> float:
        return run_length_of(lambda x: np.asarray(norm.cdf(x - by)), 0.5, limit)

    return 1.0 / (1.0 / length(shift) + 1.0 / length(-shift))


SOURCES: dict[str, Callable[[str], float]] = {
    "gelman_2013": girls,
    "weibull_six_ages": lambda item: part(by_rank_regression(AGES), item),
    "montgomery_cusum": run,
}
ROWS = [row for table in SOURCES for row in printed.rows(table)]


@pytest.mark.parametrize("row", ROWS, ids=str)
def test_learning(row: printed.Row) -> None:
    """Tests printed shares, fits and run lengths."""
    printed.check(row, SOURCES[row.table](row.item))
