r"""How many units of a part are asked for while an order is on its way.

The rate of demand is uncertain: gamma, from the packs as prior and the shop's own history.
With :math:`\lambda \sim \text{Gamma}(\alpha, \beta)` (mean :math:`\alpha/\beta`), n units
asked for in the time T give Gamma(:math:`\alpha + n, \beta + T`), and the demand over the
time L is negative binomial:

.. math::
    P(D = k) = \frac{\Gamma(r + k)}{k!\,\Gamma(r)} q^r (1 - q)^k, \quad
    r = \alpha + n, \quad q = \frac{\beta + T}{\beta + T + L}

A. Gelman and others, Bayesian Data Analysis, 3rd edition 2013, section 2.6 (from memory).
As what is known grows, it tends to the Poisson distribution. Demands are taken as single
units at independent times; a part that is needed by twos has a demand of its own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from tubside.errors import KitError
from tubside.kit.problem import Floats

PRIOR_STRENGTH = 1.0
"""Units of demand that the packs' rate is worth, as a prior (common practice, no source)."""
ENOUGH = 1e-12
MOST_UNITS = 10_000


@dataclass(frozen=True, slots=True)
class Rate:
    r"""What is known of the rate of demand: a gamma distribution.

    Parameters
    ----------
    shape
        :math:`\alpha` > 0.
    time
        :math:`\beta` > 0 [days].
    """

    shape: float
    time: float

    def __post_init__(self) -> None:
        if not (0.0 < self.shape < math.inf and 0.0 < self.time < math.inf):
            msg = "a rate of demand needs a shape and a time above nought"
            raise KitError(msg)

    @property
    def mean(self) -> float:
        """Units a day."""
        return self.shape / self.time

    def after(self, units: float, days: float) -> Rate:
        """The rate after so many units were asked for in so many days.

        Examples
        --------
        >>> Rate(10.0, 2.0).after(11, 4.0)
        Rate(shape=21.0, time=6.0)
        """
        if units < 0.0 or days < 0.0:
            msg = "a history has no fewer units and no fewer days than none"
            raise KitError(msg)
        return Rate(self.shape + units, self.time + days)


def prior_rate(units_a_year: float, strength: float = PRIOR_STRENGTH) -> Rate:
    """The packs' rate as a prior that weighs as much as ``strength`` units of history.

    Raises
    ------
    KitError
        When the rate is not above nought.
    """
    if not units_a_year > 0.0:
        msg = "the packs' rate of demand is above nought"
        raise KitError(msg)
    return Rate(strength, strength * 365.0 / units_a_year)


def poisson(mean: float, most: int) -> Floats:
    """P(D = 0 ... most) of a Poisson demand (most + 1,).

    Examples
    --------
    >>> round(float(poisson(4.0, 8).sum()), 3)
    0.979
    """
    counts = np.arange(most + 1)
    if mean <= 0.0:
        return np.asarray(counts == 0, dtype=float)
    logs = np.array([math.lgamma(count + 1.0) for count in counts])
    return np.asarray(np.exp(counts * math.log(mean) - mean - logs))


def over_time(rate: Rate, days: float, most: int) -> Floats:
    """P(D = 0 ... most) over so many days, the rate itself uncertain (most + 1,).

    Examples
    --------
    >>> [round(float(p), 4) for p in over_time(Rate(1.0, 1.0), 1.0, 3)]
    [0.5, 0.25, 0.125, 0.0625]
    """
    counts = np.arange(most + 1)
    if days <= 0.0:
        return np.asarray(counts == 0, dtype=float)
    logs = [math.lgamma(rate.shape + k) - math.lgamma(k + 1.0) for k in counts]
    stays, more = math.log(rate.time / (rate.time + days)), math.log(days / (rate.time + days))
    start = rate.shape * stays - math.lgamma(rate.shape)
    return np.asarray(np.exp(np.array(logs) + start + counts * more))


def short_with(rate: Rate, days: float, stock: int) -> float:
    r"""Chance that a unit asked for finds none, with so many held or on order.

    Each unit used is ordered again at once. Then a unit is short when all of them were
    asked for within the time an order takes: :math:`P(D_L \ge s)`. Arrivals at random
    see the time average (PASTA: R. W. Wolff, Operations Research 30(2), 1982, 223-231, from
    memory).

    Examples
    --------
    >>> round(short_with(Rate(1.0, 1.0), 1.0, 1), 3), short_with(Rate(1.0, 1.0), 1.0, 0)
    (0.5, 1.0)
    """
    if stock <= 0:
        return 1.0
    return max(0.0, 1.0 - float(over_time(rate, days, stock - 1).sum()))
