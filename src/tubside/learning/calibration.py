r"""How good stated chances were: scores, and a reliability diagram with intervals.

For chances p_i of what may be and y the one that was:

    log score    ln p_y                                   (nought is best)
    Brier score  sum_i (p_i - [i = y])^2                  (nought is best, two is worst)

Both are proper: nobody scores better by saying other chances than believed. Brier, Monthly
Weather Review 78 (1950), pp. 1-3; Good, J. R. Stat. Soc. B 14 (1952), pp. 107-114 (from
memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.learning.proportions import Floats, share

BINS = 10
LEAST = 1e-6
"""A chance said to be less counts as that, so that one surprise does not end every sum."""


@dataclass(frozen=True, slots=True)
class Bin:
    """Stated chances of one range: how often they were said, their mean, how often it was so."""

    start: float
    end: float
    said: float
    came: float
    low: float
    high: float
    """The interval that holds nine in ten of the true share (Jeffreys' prior)."""
    times: float

    @property
    def holds(self) -> bool:
        """Whether the mean of what was said lies in the interval."""
        return self.low <= self.said <= self.high


def log_score(chances: Floats, true: Floats) -> Floats:
    """Log score of each of n statements (n, k) about what came (n,): (n,).

    >>> log_score(np.array([[0.25, 0.75]]), np.array([1])).round(4).tolist()
    [-0.2877]
    """
    said = chances[np.arange(len(chances)), true.astype(np.int64)]
    return np.asarray(np.log(np.maximum(said, LEAST)))


def brier_score(chances: Floats, true: Floats) -> Floats:
    """Brier score of each of n statements (n, k) about what came (n,): (n,).

    >>> brier_score(np.array([[0.25, 0.75]]), np.array([1])).round(4).tolist()
    [0.125]
    """
    rows = np.arange(len(chances))
    off = chances.copy()
    off[rows, true.astype(np.int64)] -= 1.0
    return np.asarray((off**2).sum(axis=1))


def reliability(said: Floats, came: Floats, bins: int = BINS) -> tuple[Bin, ...]:
    """Of all that was said to be about so likely, how much came: bins that hold anything.

    Parameters
    ----------
    said : (n,) array
        Stated chances, 0 to 1.
    came : (n,) array
        Whether it came; fractions where that is known in part.
    bins : int
        Equal ranges from 0 to 1.

    Examples
    --------
    Ten things said to be 70 % likely, of which seven came:

    >>> found = reliability(np.full(10, 0.7), np.array([1.0] * 7 + [0.0] * 3))[0]
    >>> round(found.said, 3), round(found.came, 3), found.low < 0.7 < found.high
    (0.7, 0.7, True)
    """
    at = np.minimum((said * bins + 1e-9).astype(int), bins - 1)
    return tuple(
        _bin(number / bins, (number + 1) / bins, said[at == number], came[at == number])
        for number in range(bins)
        if (at == number).any()
    )


def _bin(start: float, end: float, said: Floats, came: Floats) -> Bin:
    found = share(float(came.sum()), float(len(came)), 0.5, 1.0)
    mean = float(came.mean())
    return Bin(start, end, float(said.mean()), mean, found.low, found.high, float(len(said)))
