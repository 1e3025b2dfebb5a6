r"""Repair or replace: what each costs a year, where they meet, and what decides it.

A machine that costs :math:`C` now and :math:`u` a year while it lives, and lives
:math:`T` years, is worth an equal yearly cost

.. math:: E = u + \frac{C}{A}, \qquad A = E\Bigl[\int_0^T (1+i)^{-t}\,dt\Bigr]

when it is replaced by its like for ever: expected cost of a life over expected length of a
life, both discounted (the renewal-reward theorem; Ross, Stochastic Processes, 2nd edition,
section 3.6; the equivalent annual cost of Newnan, Eschenbach & Lavelle, chapter 6, for a life
that is not known beforehand). A repair that succeeds with chance :math:`s` buys :math:`s A`
years of the rest of life. So the dearest repair that pays is

.. math:: C^* = s A_{rest} (E_{new} - u_{old})

and it is worth repairing while the bill is below it.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from tubside.economics.lifetime import Life
from tubside.physics.validity import Floats, within

MONTHS = 12
HALF_RULE = 0.5


@dataclass(frozen=True, slots=True)
class Case:
    """All that the answer rests on; money of one kind, years, shares.

    Attributes
    ----------
    bill
        Expected cost of finishing the repair from here.
    success
        Chance that the repair brings the machine back.
    age
        Of the machine that is broken.
    shape, scale_years
        Of the Weibull life of such machines, a new one too.
    price
        Of a new one, with delivery and with disposal of the old.
    running_old, running_new
        Energy and water a year.
    faults_old, faults_new
        Faults a year to be mended, beyond those that end a life.
    fault_bill
        What mending one costs.
    rate
        Interest a year.
    """

    bill: float
    success: float
    age: float
    shape: float
    scale_years: float
    price: float
    running_old: float
    running_new: float
    faults_old: float
    faults_new: float
    fault_bill: float
    rate: float

    def __post_init__(self) -> None:
        within("chance of success", self.success, 0.0, 1.0, "")
        for name in ("bill", "price", "running_old", "running_new", "fault_bill"):
            within(name.replace("_", " "), getattr(self, name), 0.0, 1e9, "money")
        within("faults a year", (self.faults_old + self.faults_new) / 2, 0.0, 10.0, "per year")

    @property
    def life(self) -> Life:
        """Of a machine of this kind."""
        return Life(self.shape, self.scale_years)


@dataclass(frozen=True, slots=True)
class Bar:
    """How far one assumption moves the answer, all others as they are.

    ``at_low`` and ``at_high`` are the yearly cost of repairing less that of replacing with
    the assumption at ``low`` and at ``high``: below nothing, repairing is cheaper.
    """

    name: str
    low: float
    high: float
    at_low: float
    at_high: float

    @property
    def turns(self) -> bool:
        """Whether the answer is another at one end."""
        return (self.at_low < 0.0) != (self.at_high < 0.0)


@dataclass(frozen=True, slots=True)
class Verdict:
    """The answer, and how near it is.

    Attributes
    ----------
    repair_per_year, replace_per_year
        Equivalent yearly costs; that of a repair that cannot succeed is infinite.
    break_even
        The dearest repair that pays; never below nothing.
    rest_years
        Mean years that the machine still has at its age.
    half_rule
        Whether the bill is below half the price of a new one: a rule of thumb of the trade,
        common practice, no source; shown beside the answer, never deciding it.
    """

    repair_per_year: float
    replace_per_year: float
    break_even: float
    rest_years: float
    half_rule: bool

    @property
    def worth_repairing(self) -> bool:
        """Whether repairing costs less a year."""
        return self.repair_per_year < self.replace_per_year


def verdict(case: Case) -> Verdict:
    """Both ways a year, and the price at which they meet.

    Examples
    --------
    >>> machine = Case(bill=180, success=0.95, age=6, shape=2.3, scale_years=14.3, price=800,
    ...     running_old=110, running_new=95, faults_old=0.12, faults_new=0.06, fault_bill=160,
    ...     rate=0.05)
    >>> told = verdict(machine)
    >>> round(told.repair_per_year), round(told.replace_per_year), round(told.break_even)
    (160, 193, 374)
    >>> told.worth_repairing, round(told.rest_years, 1)
    (True, 7.9)
    """
    life = case.life
    new = case.running_new + case.faults_new * case.fault_bill
    new += case.price / life.annuity(0.0, case.rate)
    old = case.running_old + case.faults_old * case.fault_bill
    lived = case.success * life.annuity(case.age, case.rate)
    repair = old + case.bill / lived if lived > 0.0 else np.inf
    return Verdict(
        repair,
        new,
        max(0.0, lived * (new - old)),
        life.rest(case.age),
        case.bill < HALF_RULE * case.price,
    )


def sensitivity(case: Case, ranges: dict[str, tuple[float, float]]) -> list[Bar]:
    """One bar for each assumption of ``ranges``, the one that moves most in front.

    ``ranges`` gives the low and the high of a field of ``Case``; another name raises KeyError.
    """
    known = {field.name for field in fields(case)}
    bars = []
    for name, (low, high) in ranges.items():
        if name not in known:
            raise KeyError(name)
        told = [verdict(replace(case, **{name: value})) for value in (low, high)]
        gaps = [answer.repair_per_year - answer.replace_per_year for answer in told]
        bars.append(Bar(name, low, high, *gaps))
    return sorted(bars, key=lambda bar: -abs(bar.at_high - bar.at_low))


@dataclass(frozen=True, slots=True)
class Course:
    """Expected money spent until each time, as it is worth now; shapes (months + 1,)."""

    years: Floats
    repair: Floats
    replace: Floats

    @property
    def meet(self) -> float | None:
        """When [years] the dearer start has been made good for the first time, if ever."""
        gap = self.repair - self.replace
        crossed = np.nonzero(np.sign(gap[1:]) != np.sign(gap[0]))[0]
        return float(self.years[crossed[0] + 1]) if crossed.size else None


def course(case: Case, years: int = 15) -> Course:
    """What is spent by each month both ways, a dead machine being replaced by a new one.

    Money spent by month m from a new machine, N(m), obeys the renewal equation
    N(m) = price + sum over months j of (1 + i)^(-j/12) (S(j) u / 12 + f(j) N(m - j)), f being
    the chance to die in month j (Ross, Stochastic Processes, section 3.1). A repaired machine
    starts at its age, and is replaced at once where the repair fails.
    """
    life, months = case.life, years * MONTHS
    grid = np.arange(months + 1) / MONTHS
    discount = (1.0 + case.rate) ** -grid
    new = _renewed(case, life.survival(grid), discount)
    alive = life.survival(grid, case.age)
    old_per_month = (case.running_old + case.faults_old * case.fault_bill) / MONTHS
    spent = _running(alive, discount, old_per_month)
    dies = -np.diff(alive) * discount[1:]
    after = np.array([0.0, *(float(dies[:m] @ new[m - 1 :: -1]) for m in range(1, months + 1))])
    repaired = case.bill + case.success * (spent + after) + (1.0 - case.success) * new
    return Course(grid, repaired, new)


def _renewed(case: Case, alive: Floats, discount: Floats) -> Floats:
    """N of the renewal equation, month by month."""
    per_month = (case.running_new + case.faults_new * case.fault_bill) / MONTHS
    base = case.price + _running(alive, discount, per_month)
    dies = -np.diff(alive) * discount[1:]
    spent = np.empty_like(base)
    spent[0] = base[0]
    for month in range(1, base.size):
        spent[month] = base[month] + dies[:month] @ spent[month - 1 :: -1]
    return spent


def _running(alive: Floats, discount: Floats, per_month: float) -> Floats:
    """Money spent on running by each month, while it lives."""
    paid = per_month * (alive * discount)[1:]
    return np.concatenate(([0.0], np.cumsum(paid)))
