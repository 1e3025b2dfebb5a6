r"""Shares learned from counts: what the pack says, moved by what was counted.

A share with prior mean m worth s jobs, met k times in n jobs, is distributed as

    Beta(s m + k, s (1 - m) + n - k),    mean (s m + k) / (s + n)

and each share of a row of shares (Dirichlet with pseudo-counts s m_i) has just that
distribution by itself. Counts may be fractions of jobs. Gelman et al. (2013), Bayesian Data
Analysis, 3rd ed., section 2.4 p. 37 (beta) and section 3.4 p. 69 (Dirichlet; pages from
memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
LEVEL = 0.9
"""Of every interval that is shown: nine in ten."""


@dataclass(frozen=True, slots=True)
class Learned:
    """A number as learned: its mean, the interval that holds nine in ten, and what it rests on."""

    mean: float
    low: float
    high: float
    jobs: float
    """Counted jobs behind it, fractions added."""
    prior_jobs: float
    """What the pack's own word was worth, in jobs."""

    def surprises(self, said: float) -> bool:
        """Whether what was said before lies outside the interval."""
        return not self.low <= said <= self.high


def share(met: float, jobs: float, said: float, worth: float, level: float = LEVEL) -> Learned:
    """A share said to be ``said``, worth that many jobs, after ``jobs`` of which ``met`` had it.

    Parameters
    ----------
    met, jobs : float
        Counts, 0 <= met <= jobs.
    said : float
        The share before, 0 to 1.
    worth : float
        Pseudo-counts of the word of the pack, above nought.
    level : float
        Chance that the interval holds the share; equal tails.

    Examples
    --------
    437 girls of 980 births with a uniform prior (Gelman et al., section 2.4): Beta(438, 544).

    >>> found = share(437, 980, 0.5, 2.0, level=0.95)
    >>> round(found.mean, 8), round(found.low, 8), round(found.high, 8)
    (0.44602851, 0.41506549, 0.47719977)
    """
    from scipy.special import betaincinv  # noqa: PLC0415  # start-up stays fast

    first, second = worth * said + met, worth * (1.0 - said) + jobs - met
    tail = (1.0 - level) / 2.0
    mean = first / (first + second)
    if first <= 0.0 or second <= 0.0:
        return Learned(mean, mean, mean, jobs, worth)
    low, high = betaincinv(first, second, [tail, 1.0 - tail])
    return Learned(mean, float(low), float(high), jobs, worth)


def shares(met: Floats, said: Floats, worth: float, level: float = LEVEL) -> list[Learned]:
    """Each of several shares that sum to one, by the marginals of their Dirichlet.

    Parameters
    ----------
    met, said : (k,) arrays
        Counts, and the shares before; the latter are made to sum to one.
    worth : float
        Pseudo-counts of them all together.

    Examples
    --------
    Pseudo-counts (1, 1, 1) and counts (5, 3, 2) give 6/13, 4/13 and 3/13.

    >>> met, said = np.array([5.0, 3.0, 2.0]), np.array([1.0, 1.0, 1.0])
    >>> [round(13 * one.mean, 9) for one in shares(met, said, 3.0)]
    [6.0, 4.0, 3.0]
    """
    jobs = float(met.sum())
    return [
        share(float(k), jobs, float(m), worth, level)
        for k, m in zip(met, said / said.sum(), strict=True)
    ]


def ends(mean: Floats, size: Floats, level: float = LEVEL) -> tuple[Floats, Floats]:
    """Lower and upper ends of the intervals of beta distributions, by mean and size.

    Parameters
    ----------
    mean, size : arrays of one shape
        First parameter over the sum of both, and that sum.

    Examples
    --------
    >>> low, high = ends(np.array([438 / 982]), np.array([982.0]), level=0.95)
    >>> round(float(low[0]), 6), round(float(high[0]), 6)
    (0.415065, 0.4772)
    """
    from scipy.special import betaincinv  # noqa: PLC0415  # start-up stays fast

    tail = (1.0 - level) / 2.0
    first = np.maximum(mean * size, 1e-9)
    second = np.maximum((1.0 - mean) * size, 1e-9)
    low, high = betaincinv(first, second, tail), betaincinv(first, second, 1.0 - tail)
    return np.asarray(low), np.asarray(high)
