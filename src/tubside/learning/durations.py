r"""Minutes and prices learned from counts: log-normal, with a conjugate prior.

ln x ~ N(mu, sigma^2). With prior guess mu_0 worth kappa_0 values, and sigma_0^2 worth nu_0
(normal with scaled inverse chi-squared prior), n values of mean y and sum of squares S about
it give

    kappa = kappa_0 + n            mu' = (kappa_0 mu_0 + n y) / kappa
    nu = nu_0 + n                  nu s^2 = nu_0 sigma_0^2 + S + kappa_0 n (y - mu_0)^2 / kappa

and mu is Student-t with nu degrees about mu' with scale s / sqrt(kappa). Gelman et al.
(2013), Bayesian Data Analysis, 3rd ed., section 3.3, pp. 67-69 (pages from memory).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import exp, log, pi, sqrt

import numpy as np

from tubside.errors import HistoryError
from tubside.learning.proportions import LEVEL, Floats, Learned

PARTS, STEPS = 32, 160
GROUP_STEPS, RESTS = 20, 1e-4
LEAST = 0.5
"""A value told as nought is half a unit: the logarithm needs one above nought."""


@dataclass(frozen=True, slots=True)
class Told:
    """What was said before: the middle value, its spread as sigma of ln x, and their worth."""

    median: float
    sigma: float
    worth: float
    """In values, for the middle and for the spread alike."""


@dataclass(frozen=True, slots=True)
class LearnedDuration:
    """The middle value and the spread as learned."""

    median: Learned
    sigma: float

    @property
    def mean(self) -> float:
        """The mean of a log-normal: median exp(sigma^2 / 2).

        >>> one = LearnedDuration(Learned(10.0, 9.0, 11.0, 5.0, 1.0), 0.5)
        >>> round(one.mean, 3)
        11.331
        """
        return self.median.mean * exp(self.sigma**2 / 2.0)


def duration(
    counts: Mapping[int, float], told: Told, level: float = LEVEL, width: float = 0.0
) -> LearnedDuration:
    """What values counted so often say of the middle one and the spread.

    Parameters
    ----------
    counts : mapping
        Value (whole minutes or cents) -> how often, fractions allowed.
    told : Told
        The prior.
    level : float
        Chance that the interval of the median holds it; equal tails.
    width : float
        Each value stands for all within half of that; nought: it is the value itself.

    Examples
    --------
    With hardly any prior the median is the geometric mean, and the interval that of Student's t.

    >>> found = duration({10: 1.0, 40: 1.0}, Told(1.0, 1.0, 1e-9))
    >>> round(found.median.mean, 6)
    20.0

    Whole minutes hide half of what short steps tell.

    >>> short = duration({1: 30.0, 2: 10.0}, Told(1.0, 0.5, 5.0), width=1.0)
    >>> 0.9 < short.median.mean < 1.2, short.median.jobs < 40
    (True, True)
    """
    from scipy.special import stdtrit  # noqa: PLC0415  # start-up stays fast

    if min(told.median, told.sigma, told.worth) <= 0.0:
        msg = "a middle value, its spread and their worth are above nought"
        raise HistoryError(msg)
    values = np.array(list(counts), dtype=float)
    often = np.array(list(counts.values()), dtype=float)
    logs, within = np.log(np.maximum(values, LEAST)), np.zeros(len(values))
    middle, sigma = _fitted(logs, within, often, told)
    for _ in range(GROUP_STEPS if width and often.sum() else 0):
        before = middle, sigma
        logs, within = _within(values, width, middle, sigma)
        middle, sigma = _fitted(logs, within, often, told)
        if abs(middle - before[0]) + abs(sigma - before[1]) < RESTS:
            break
    jobs = max(float(often @ (1.0 - within / sigma**2)), 0.0)
    worth = told.worth + jobs
    reach = float(stdtrit(worth, (1.0 + level) / 2.0)) * sigma / sqrt(worth)
    low, high = exp(middle - reach), exp(min(middle + reach, 700.0))
    return LearnedDuration(Learned(exp(middle), low, high, jobs, told.worth), sigma)


def _fitted(logs: Floats, within: Floats, often: Floats, told: Told) -> tuple[float, float]:
    """mu and sigma after values whose logarithms have these means and variances."""
    total = float(often.sum())
    mean = float(often @ logs) / total if total else log(told.median)
    about = float(often @ (within + (logs - mean) ** 2))
    worth = told.worth + total
    middle = (told.worth * log(told.median) + total * mean) / worth
    drift = told.worth * total * (mean - log(told.median)) ** 2 / worth
    return middle, sqrt((told.worth * told.sigma**2 + about + drift) / worth)


def _within(values: Floats, width: float, mu: float, sigma: float) -> tuple[Floats, Floats]:
    """Mean and variance of ln x within half a width of each value: a truncated normal."""
    from scipy.special import ndtr  # noqa: PLC0415  # start-up stays fast

    low = (np.log(np.maximum(values - width / 2.0, 1e-6)) - mu) / sigma
    high = (np.log(values + width / 2.0) - mu) / sigma
    first, last = np.exp(-(low**2) / 2.0), np.exp(-(high**2) / 2.0)
    inside = (ndtr(high) - ndtr(low)) * sqrt(2.0 * pi)
    plain = inside > 1e-9  # far out the middle of the bin stands for all of it
    safe = np.where(plain, inside, 1.0)
    shift = np.where(plain, (first - last) / safe, (low + high) / 2.0)
    spread = np.where(plain, 1.0 + (low * first - high * last) / safe - shift**2, 0.0)
    return mu + sigma * shift, sigma**2 * np.clip(spread, 0.0, 1.0)


def mean_of(found: LearnedDuration, level: float = LEVEL) -> Learned:
    """The mean of a log-normal with its interval: what a cost per job needs.

    Given sigma, ln of the mean is normal about mu + sigma^2 / 2 with variance sigma^2 / kappa;
    sigma^2 is nu s^2 over a chi-squared variable. The interval is that of the mixture over
    ``PARTS`` equally likely values of sigma.

    Examples
    --------
    >>> found = mean_of(duration({10: 4.0, 20: 4.0, 40: 4.0}, Told(20.0, 0.6, 5.0)))
    >>> round(found.low, 1), round(found.mean, 1), round(found.high, 1)
    (18.8, 23.6, 32.1)
    """
    from scipy.special import chdtri, ndtr  # noqa: PLC0415  # start-up stays fast

    worth = found.median.jobs + found.median.prior_jobs
    chances = (np.arange(PARTS) + 0.5) / PARTS
    sigma = np.sqrt(worth * found.sigma**2 / chdtri(worth, chances))
    middle, spread = log(found.median.mean) + sigma**2 / 2.0, sigma / sqrt(worth)
    at = np.linspace((middle - 4.0 * spread).min(), (middle + 4.0 * spread).max(), STEPS)
    below = ndtr((at[:, None] - middle) / spread).mean(axis=1)
    low, high = np.exp(np.interp([(1.0 - level) / 2.0, (1.0 + level) / 2.0], below, at))
    return Learned(found.mean, float(low), float(high), found.median.jobs, found.median.prior_jobs)
