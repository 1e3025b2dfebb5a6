r"""How long a machine still lives: Weibull lives, given that it reached its age.

S(t) = exp(-(t / eta)^k), with shape k [1] and scale eta [years]; 63.2 % of all are gone at
eta (MIL-HDBK-338B, 5.3.6; NIST/SEMATECH e-Handbook of Statistical Methods, 8.1.6.2). At age a
the rest of life has S(t | a) = S(a + t) / S(a).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log

import numpy as np

from tubside.physics.validity import Floats, Number, within

STEPS_PER_YEAR = 48
OLDEST = 80.0
"""[years]; the rest of life is reckoned up to here."""


@dataclass(frozen=True, slots=True)
class Life:
    """A Weibull life: shape [1] and scale [years]."""

    shape: float
    scale_years: float

    def __post_init__(self) -> None:
        within("shape of a life", self.shape, 0.3, 12.0, "")
        within("scale of a life", self.scale_years, 0.5, 60.0, "years")

    def survival(self, years: Number, age: float = 0.0) -> Floats:
        """S(t | age) [1] after ``years`` more.

        Examples
        --------
        >>> life = Life(2.3, 14.3)
        >>> [round(100 * (1 - float(life.survival(2.0, age)))) for age in (5, 8, 12)]
        [10, 16, 25]
        """
        t = within("years", years, 0.0, 1e3, "years")
        a = within("age", age, 0.0, OLDEST, "years")
        return np.asarray(np.exp(-(((a + t) / self.scale_years) ** self.shape) + self._sum(age)))

    def gone_by(self, share: float) -> float:
        """The age [years] at which a share is gone: eta (-ln(1 - share))^(1/k).

        Examples
        --------
        >>> round(10 * Life(2.0, 10.0).gone_by(0.10), 2)
        32.46
        """
        part = float(within("share", share, 0.0, 1.0 - 1e-12, ""))
        return float(self.scale_years * (-np.log1p(-part)) ** (1.0 / self.shape))

    def rest(self, age: float = 0.0) -> float:
        """Mean years that are left at an age: the integral of S(t | age).

        Examples
        --------
        >>> round(Life(2.3, 14.3).rest(), 1)
        12.7
        """
        return self.annuity(age, 0.0)

    def annuity(self, age: float, rate: float) -> float:
        """Mean worth now [years] of one a year, paid evenly for as long as it lives.

        The integral of (1 + i)^-t S(t | age): what a life insurer writes as a continuous
        annuity (Bowers et al., Actuarial Mathematics, 2nd edition, section 5.2), by the
        trapezoidal rule on steps of about a week.
        """
        times = self.times()
        worth = (1.0 + float(within("rate", rate, 0.0, 1.0, "per year"))) ** -times
        return float(np.trapezoid(worth * self.survival(times, age), times))

    def times(self) -> Floats:
        """The steps [years] on which the rest of a life is reckoned."""
        end = min(1e3, self.scale_years * (log(1e9) ** (1.0 / self.shape)))
        return np.linspace(0.0, end, int(end * STEPS_PER_YEAR) + 2)

    def _sum(self, age: float) -> float:
        return float((age / self.scale_years) ** self.shape)


def best_age_to_replace(life: Life, planned: float, failed: float) -> tuple[float, float]:
    """The age [years] at which a working part is best replaced, and the cost a year.

    Minimises (planned S(t) + failed (1 - S(t))) / integral of S to t (age replacement:
    Barlow & Proschan, Mathematical Theory of Reliability, 1965, chapter 3); the integral is
    eta Gamma(1 + 1/k) P(1/k, (t / eta)^k). With a shape of 1
    or less no age is best: the answer is then the end of the reckoning, and means "never".

    Examples
    --------
    >>> age, cost = best_age_to_replace(Life(2.5, 10.0), 1.0, 5.0)
    >>> round(100 * age, 1), round(cost / 100, 5)
    (493.0, 0.00346)
    """
    from scipy.optimize import minimize_scalar  # noqa: PLC0415  # slow to import, seldom asked
    from scipy.special import gamma, gammainc  # noqa: PLC0415  # as above

    part = 1.0 / life.shape

    def cost(age: float) -> float:
        still = float(life.survival(age))
        lived = life.scale_years * gamma(1.0 + part) * gammainc(part, -np.log(still))
        return float((planned * still + failed * (1.0 - still)) / lived)

    coarse = life.times()[1:][:: STEPS_PER_YEAR // 4]
    start = int(np.argmin([cost(age) for age in coarse]))
    low, high = coarse[max(start - 1, 0)], coarse[min(start + 1, len(coarse) - 1)]
    best = minimize_scalar(cost, bounds=(low, high), method="bounded", options={"xatol": 1e-6})
    return float(best.x), float(best.fun)
