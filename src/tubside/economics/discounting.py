"""Money at different times: factors of interest, and equivalent costs per year.

Rates are per year and effective: 0.08 is eight in a hundred. The factors carry their usual
names (NIST Handbook 135, 2022 edition, chapter 3 and appendix A; Newnan, Eschenbach & Lavelle,
Engineering Economic Analysis, chapter 4): P/F a single present value, P/A a uniform present
value, A/P capital recovery.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tubside.physics.validity import Floats, Number, within

HIGHEST_RATE = 1.0
LONGEST_YEARS = 100.0


def present_of_single(rate: Number, years: Number) -> Floats:
    """P/F [1]: what a payment after ``years`` is worth now, (1 + i)^-n.

    Examples
    --------
    >>> round(float(present_of_single(0.03, 10)), 3)
    0.744
    """
    return np.asarray((1.0 + _rate(rate)) ** -_years(years))


def present_of_uniform(rate: Number, years: Number) -> Floats:
    """P/A [years]: what one a year, at the end of each, is worth now.

    (1 - (1 + i)^-n) / i, and n where there is no interest.

    Examples
    --------
    >>> round(float(present_of_uniform(0.10, 5)), 4)
    3.7908
    >>> round(float(present_of_uniform(0.03, 10)), 2)
    8.53
    """
    i, n = np.broadcast_arrays(_rate(rate), _years(years))
    with np.errstate(invalid="ignore", divide="ignore"):
        worth = -np.expm1(-n * np.log1p(i)) / i
    return np.asarray(np.where(i == 0.0, n, worth))


def capital_recovery(rate: Number, years: Number) -> Floats:
    """A/P [1/year]: the equal payment at the end of each year that repays one now.

    Examples
    --------
    >>> round(float(capital_recovery(0.10, 5)), 4)
    0.2638
    """
    return np.asarray(1.0 / present_of_uniform(rate, within("years", years, 1e-9, 100.0, "years")))


@dataclass(frozen=True, slots=True)
class Owning:
    """What owning a thing costs, by the year: money of one kind throughout.

    Attributes
    ----------
    price
        Paid at the start.
    costs
        Of running and mending it, at the end of years 1 to n.
    resale
        What it would fetch at the end of years 1 to n.
    """

    price: float
    costs: Sequence[float]
    resale: Sequence[float]


def equivalent_annual_costs(owning: Owning, rate: float) -> Floats:
    """The equal yearly cost of keeping a thing 1, 2, ... n years; shape (n,).

    (price + sum of cost_t P/F_t - resale_n P/F_n) A/P_n; the least of them is the life that
    costs least (Newnan, Eschenbach & Lavelle, chapter 13, "minimum cost life").

    Examples
    --------
    >>> costs = [3500 + 2000 * year for year in range(5)]
    >>> owned = Owning(50_000, costs, [50_000 * 0.8 ** (year + 1) for year in range(5)])
    >>> [round(float(cost)) for cost in equivalent_annual_costs(owned, 0.09)]
    [18000, 17569, 17329, 17240, 17273]
    """
    years = np.arange(1, len(owning.costs) + 1, dtype=float)
    discount = present_of_single(rate, years)
    spent = owning.price + np.cumsum(np.asarray(owning.costs) * discount)
    return np.asarray(
        (spent - np.asarray(owning.resale) * discount) * capital_recovery(rate, years)
    )


def _rate(rate: Number) -> Floats:
    return within("rate of interest", rate, 0.0, HIGHEST_RATE, "per year")


def _years(years: Number) -> Floats:
    return within("years", years, 0.0, LONGEST_YEARS, "years")
