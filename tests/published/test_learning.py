"""Published values of what is learned from counts: shares, lives, and when a sum alarms."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy.stats import norm

import printed
from tubside.learning.calibration import brier_score
from tubside.learning.drift import run_length_of
from tubside.learning.lifetimes import WeibullFit, by_rank_regression
from tubside.learning.mixing import mixed
from tubside.learning.proportions import share
from tubside.learning.rises import Cells, chance_of_rise

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


def linkage(item: str) -> float:
    """Return the likeliest share, or the information about it, of 197 animals in four cells."""
    likely = np.array([[0.75, 0.5], [0.0, 0.25], [0.0, 0.25], [0.25, 0.0]])
    none = np.zeros((1, 2))
    found = mixed(none, none, likely, np.array([[125.0, 18.0, 20.0, 34.0]]))
    share, size = float(found.mean[0, 0]), float(found.size[0, 0])
    return {"share": share, "information": size / (share * (1.0 - share))}[item]


def rain(_: str) -> float:
    """Return the mean score of ten forecasts of rain, three of which it followed on."""
    said = np.array([0.7, 0.9, 0.8, 0.4, 0.2, 0.0, 0.0, 0.0, 0.0, 0.1])
    came = np.array([1, 0, 0, 0, 1, 1, 1, 1, 1, 1])
    return float(brier_score(np.column_stack([said, 1.0 - said]), came).mean())


def cups(item: str) -> float:
    """Return the chance to tell so many of four cups or more by luck, of eight."""
    told = int(item.partition(" ")[0])
    return chance_of_rise(Cells((4, 4), (4 - told, told)))


SOURCES: dict[str, Callable[[str], float]] = {
    "gelman_2013": girls,
    "weibull_six_ages": lambda item: part(by_rank_regression(AGES), item),
    "montgomery_cusum": run,
    "dempster_1977": linkage,
    "louis_1982": linkage,
    "brier_1950": rain,
    "fisher_1935": cups,
}
ROWS = [row for table in SOURCES for row in printed.rows(table)]


@pytest.mark.parametrize("row", ROWS, ids=str)
def test_learning(row: printed.Row) -> None:
    """Tests printed shares, fits and run lengths."""
    printed.check(row, SOURCES[row.table](row.item))
