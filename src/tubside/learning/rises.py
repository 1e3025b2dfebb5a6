r"""How likely a rise like the one that was met is, where nothing has changed: worked out exactly.

The sum of :mod:`tubside.learning.drift` over cells t (months) of n_t jobs, x_t of which had it,

    S_T = max(0, max_j sum_{t = j..T} (x_t - k n_t)),    k = (r - 1) / ln r * X / N

is held against what it would be if all N jobs, X of which had it, had come in any order. Given X,
the cells then hold counts that are multivariate hypergeometric, whatever the true share is: it
need not be known, and that it is learned from the same months does no harm (the two-by-two case
is Fisher's exact test; two Poisson counts compared given their sum: Przyborowski & Wilenski,
Biometrika 31 (1940), pp. 313-323; both from memory). Taken back in time from T, the sum passes
the level s at cell j once the count since j reaches s + k (n_j + .. + n_T): a walk over counts
with one bound, summed up cell by cell.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, log

import numpy as np
import numpy.typing as npt

from tubside.learning.proportions import Floats

Whole = npt.NDArray[np.int64]
NEARLY = 1e-9
"""Levels are compared with that much of slack, as sums of fractions are not exact."""
NOTHING = 1e-18
"""Counts less likely than that are not followed."""


@dataclass(frozen=True, slots=True)
class Cells:
    """Jobs by cell in the order of time, those with the cause, and jobs beside the cells."""

    jobs: tuple[int, ...]
    met: tuple[int, ...]
    beside: int = 0
    beside_met: int = 0
    """Jobs that may stand at any place of the order: those of other models."""

    @property
    def every(self) -> tuple[int, int]:
        """All jobs, and all with the cause."""
        return sum(self.jobs) + self.beside, sum(self.met) + self.beside_met


@dataclass(frozen=True, slots=True)
class Level:
    """How high the sum stands in the last cell, and from which cell on it rose."""

    height: float
    since: int


def level(cells: Cells, ratio: float = 2.0) -> Level:
    """The sum in the last cell.

    Examples
    --------
    Ten jobs a month, one of which has it, then four; k n is 7 / 40 / ln 2 * 10.

    >>> found = level(Cells((10, 10, 10, 10), (1, 1, 1, 4)))
    >>> round(found.height, 4), found.since
    (1.4753, 3)
    """
    share = _reference(cells, ratio)
    height, since = 0.0, 0
    for at, (jobs, met) in enumerate(zip(cells.jobs, cells.met, strict=True)):
        if height == 0.0:
            since = at
        height = max(0.0, height + met - share * jobs)
    return Level(height, since)


def chance_of_rise(cells: Cells, ratio: float = 2.0, enough: float = 1.0) -> float:
    """P(the sum stands at least so high in the last cell | all jobs in any order).

    Parameters
    ----------
    cells : Cells
        What was met.
    ratio : float
        How many times the share is to be found quickly, above one.
    enough : float
        A chance above that need not be exact: a lower bound of it is given instead.

    Examples
    --------
    One cell beside jobs of before is Fisher's exact test: 3 of 3 here, 1 of 5 before, so
    C(4, 3) C(4, 0) / C(8, 3) = 4/56.

    >>> round(chance_of_rise(Cells((5, 3), (1, 3))), 6) == round(4 / 56, 6)
    True
    """
    found = level(cells, ratio)
    if found.height <= NEARLY:
        return 1.0
    every, met = cells.every
    since = cells.jobs[found.since :]
    alone = _tail(every, met, sum(since), sum(cells.met[found.since :]))
    if alone > enough:
        return alone
    return _passes(cells, found.height, _reference(cells, ratio), enough)


def _reference(cells: Cells, ratio: float) -> float:
    """Of one job: Lucas's reference for the share of all jobs."""
    every, met = cells.every
    return (ratio - 1.0) / log(ratio) * met / max(every, 1)


def _passes(cells: Cells, height: float, share: float, enough: float) -> float:
    """P(the count since some cell reaches its bound), back from the last cell."""
    left, met = cells.every
    logs = _log_factorials(left)
    chances = np.ones(1)  # of so many since the cell, the bound not yet passed
    passed, since = 0.0, 0
    for jobs in reversed(cells.jobs):
        since += jobs
        chances = _drawn(chances, (left, met, jobs), logs)
        left -= jobs
        bound = max(ceil(height + share * since - NEARLY), 0)
        passed += float(chances[bound:].sum())
        chances = chances[:bound]
        if passed > enough:
            break
    return min(passed, 1.0)


def _drawn(chances: Floats, urn: tuple[int, int, int], logs: Floats) -> Floats:
    """Counts after a cell more: ``urn`` holds jobs left, jobs with it in all, jobs drawn."""
    left, met, jobs = urn
    counts = np.flatnonzero(chances > NOTHING)
    had = counts[:, None]
    more = np.arange(min(jobs, met) + 1)[None]
    likely = chances[counts][:, None] * _hypergeometric(logs, (left, met - had, jobs), more)
    return np.bincount((had + more).ravel(), likely.ravel()).astype(np.float64)


def _tail(every: int, met: int, drawn: int, least: int) -> float:
    some = np.arange(least, min(met, drawn) + 1)
    return float(
        _hypergeometric(_log_factorials(every), (every, np.asarray(met), drawn), some).sum()
    )


def _hypergeometric(logs: Floats, urn: tuple[int, Whole, int], some: Whole) -> Floats:
    """P(``some`` of the drawn have it); ``urn`` holds all jobs, those with it, those drawn."""
    every, met, drawn = urn
    can = (some <= met) & (some <= drawn) & (drawn - some <= every - met)
    fits = np.where(can, some, np.maximum(0, drawn - (every - met)))
    log = _ways(logs, met, fits) + _ways(logs, every - met, drawn - fits)
    return np.asarray(np.where(can, np.exp(log - _ways(logs, every, drawn)), 0.0))


def _ways(logs: Floats, of: Whole | int, some: Whole | int) -> Floats:
    """Logarithm of how many choices of so many there are."""
    return np.asarray(logs[of] - logs[some] - logs[of - some])


def _log_factorials(most: int) -> Floats:
    return np.concatenate([[0.0], np.cumsum(np.log(np.arange(1.0, most + 1.0)))])
