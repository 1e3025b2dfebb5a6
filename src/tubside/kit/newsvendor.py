"""How many to buy once, when too few and too many both cost: the newsvendor.

The best number is where the chance that demand stays at or below it reaches
``under / (under + over)``. K. J. Arrow, T. Harris and J. Marschak, "Optimal inventory
policy", Econometrica 19(3), 1951, 250-272 (from memory); S. Nahmias, Production and
Operations Analysis, section 5.3 (from memory).
"""

from __future__ import annotations

from statistics import NormalDist

import numpy as np

from tubside.errors import KitError
from tubside.kit.problem import Floats


def critical_ratio(under: float, over: float) -> float:
    """Chance of having enough at which one more no longer pays, 0 to 1.

    Parameters
    ----------
    under, over
        What one too few and one too many costs [money], not below nought.

    Examples
    --------
    >>> critical_ratio(20.0 - 14.0, 14.0 - 5.0)
    0.4
    """
    if not (under >= 0.0 and over >= 0.0 and under + over > 0.0):
        msg = "one too few and one too many cost nothing or more, and not both nothing"
        raise KitError(msg)
    return under / (under + over)


def from_uniform(ratio: float, low: float, high: float) -> float:
    """The number for a demand spread evenly between two values.

    Examples
    --------
    >>> from_uniform(0.4, 80.0, 150.0)
    108.0
    """
    return low + ratio * (high - low)


def from_normal(ratio: float, mean: float, spread: float) -> float:
    """The number for a normal demand; ``spread`` is its standard deviation.

    Examples
    --------
    >>> round(from_normal(0.4, 115.0, 15.0), 1)
    111.2
    """
    return NormalDist(mean, spread).inv_cdf(ratio)


def from_counts(ratio: float, chance: Floats) -> int:
    """The least whole number with at least that chance of being enough.

    Parameters
    ----------
    ratio
        As :func:`critical_ratio` gives it.
    chance
        P(demand = 0, 1, 2, ...), summing to one.

    Examples
    --------
    >>> from_counts(0.4, np.array([0.3, 0.3, 0.4]))
    1
    """
    enough = np.cumsum(chance) >= ratio - 1e-12
    return int(np.argmax(enough)) if enough.any() else len(chance)
