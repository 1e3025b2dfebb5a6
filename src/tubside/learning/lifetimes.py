r"""Weibull lives fitted to ages, some of them not yet at their end.

S(t) = exp(-(t / eta)^beta). Two estimators, always said by name:

- *maximum likelihood*: beta solves
  sum_all w t^b ln t / sum_all w t^b - sum_failed w ln t / sum_failed w = 1 / b, then
  eta^b = sum_all w t^b / sum_failed w. Ages at which nothing failed yet (censored) count in
  the sums over all. Meeker & Escobar (1998), Statistical Methods for Reliability Data,
  section 8.2 (from memory).
- *rank regression on Y*: a straight line by least squares through (ln t, ln(-ln(1 - F))) with
  Benard's median ranks F_i = (i - 0.3) / (n + 0.4); complete samples only. Abernethy, The New
  Weibull Handbook, section 2 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log

import numpy as np
import numpy.typing as npt

from tubside.errors import HistoryError

Floats = npt.NDArray[np.float64]
FLATTEST, STEEPEST = 0.05, 50.0


@dataclass(frozen=True, slots=True)
class WeibullFit:
    """Shape [1] and scale [unit of the ages], by which estimator, from how many failures."""

    shape: float
    scale: float
    estimator: str
    failures: float


def by_maximum_likelihood(
    failed: Floats,
    censored: Floats | None = None,
    failed_weight: Floats | None = None,
    censored_weight: Floats | None = None,
) -> WeibullFit:
    """The Weibull under which these ages are likeliest.

    Parameters
    ----------
    failed, censored : (n,) and (m,) arrays
        Ages above nought at which it failed, and up to which it had not.
    failed_weight, censored_weight : arrays of the same shapes
        How often each counts; once when absent.

    Raises
    ------
    HistoryError
        Fewer than two different ages of failure, or an age of nought or less.

    Examples
    --------
    >>> fit = by_maximum_likelihood(np.array([16.0, 34, 53, 75, 93, 120]))
    >>> round(fit.shape, 4), round(fit.scale, 3)
    (1.9327, 73.526)
    """
    from scipy.optimize import brentq  # noqa: PLC0415  # start-up stays fast

    rest = np.empty(0) if censored is None else censored
    w_failed = np.ones_like(failed) if failed_weight is None else failed_weight
    w_rest = np.ones_like(rest) if censored_weight is None else censored_weight
    _need_ages(failed[w_failed > 0], rest)
    ages, weights = np.concatenate([failed, rest]), np.concatenate([w_failed, w_rest])
    top = float(ages.max())
    logs = np.log(ages / top)
    failures = float(w_failed.sum())
    mean_log = float((w_failed * np.log(failed / top)).sum()) / failures

    def slope(shape: float) -> float:
        powers = weights * np.exp(shape * logs)
        return float((powers * logs).sum() / powers.sum() - mean_log - 1.0 / shape)

    low, high = FLATTEST, STEEPEST
    shape = high if slope(high) < 0 else low if slope(low) > 0 else float(brentq(slope, low, high))
    total = float((weights * np.exp(shape * logs)).sum())
    return WeibullFit(
        shape, top * (total / failures) ** (1.0 / shape), "maximum likelihood", failures
    )


def by_rank_regression(failed: Floats) -> WeibullFit:
    """The Weibull of a straight line through the median ranks; a complete sample.

    Examples
    --------
    >>> fit = by_rank_regression(np.array([16.0, 34, 53, 75, 93, 120]))
    >>> round(fit.shape, 6), round(fit.scale, 4)
    (1.426967, 76.3454)
    """
    _need_ages(failed, np.empty(0))
    ordered = np.sort(failed)
    ranks = (np.arange(1, len(ordered) + 1) - 0.3) / (len(ordered) + 0.4)
    x, y = np.log(ordered), np.log(-np.log1p(-ranks))
    shape = float(((x - x.mean()) * (y - y.mean())).sum() / ((x - x.mean()) ** 2).sum())
    scale = float(np.exp(x.mean() - y.mean() / shape))
    return WeibullFit(shape, scale, "rank regression on Y", float(len(ordered)))


def log_likelihood(fit: WeibullFit, failed: Floats, censored: Floats) -> float:
    """How likely these ages are, as its natural logarithm; the constant is kept.

    >>> one = WeibullFit(1.0, 10.0, "told", 1.0)
    >>> round(log_likelihood(one, np.array([5.0]), np.array([10.0])), 4)
    -3.8026
    """
    ratio = failed / fit.scale
    dense = log(fit.shape / fit.scale) + (fit.shape - 1.0) * np.log(ratio) - ratio**fit.shape
    return float(dense.sum() - ((censored / fit.scale) ** fit.shape).sum())


def _need_ages(failed: Floats, censored: Floats) -> None:
    if len(np.unique(failed)) < 2:
        msg = "a life needs at least two different ages of failure"
        raise HistoryError(msg)
    if min(float(failed.min()), float(censored.min()) if len(censored) else 1.0) <= 0.0:
        msg = "an age of nought or less cannot be fitted; give the middle of the year, like 0.5"
        raise HistoryError(msg)
