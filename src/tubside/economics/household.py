"""Repair or replace as a household can check it: every assumption has a name, a range, a bar.

:mod:`tubside.economics.worth` weighs two ways by yearly sums; here those sums are made of
what can be looked up and doubted one by one: cycles, kilowatt hours, litres, prices.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace

from tubside.economics.running import Appetite, Use, running_cost
from tubside.economics.worth import Bar, Case, verdict

LITRES_PER_M3 = 1000.0
HALVINGS = 60
"""Of the stretch in which the answers meet: exact to the last bit that matters."""


@dataclass(frozen=True, slots=True)
class Household:
    """What the answer rests on, each as somebody may know it; money of one kind.

    Attributes
    ----------
    bill, success
        Expected cost of finishing the repair, and its chance to succeed [1].
    age
        Of the machine [years].
    shape, scale_years
        Of the Weibull life of such machines.
    price, disposal
        Of a new machine with delivery, and of taking the old one away.
    cycles
        A year.
    old_kwh, new_kwh, old_litres, new_litres
        Of one cycle, the old machine and a new one.
    energy_price, water_price
        Per kWh, and per cubic metre with waste water.
    faults_old, faults_new, fault_bill
        Later faults a year of either machine, and the bill for one.
    rate
        Interest a year [1].
    """

    bill: float
    success: float
    age: float
    shape: float
    scale_years: float
    price: float
    disposal: float
    cycles: float
    old_kwh: float
    new_kwh: float
    old_litres: float
    new_litres: float
    energy_price: float
    water_price: float
    faults_old: float
    faults_new: float
    fault_bill: float
    rate: float

    @property
    def case(self) -> Case:
        """The same in the sums that are weighed.

        Raises
        ------
        OutsideRangeError
            When a number cannot be one of its kind.
        """
        use = Use(self.cycles, self.energy_price, self.water_price)
        old = Appetite(self.old_kwh, self.old_litres / LITRES_PER_M3)
        new = Appetite(self.new_kwh, self.new_litres / LITRES_PER_M3)
        return Case(
            bill=self.bill,
            success=self.success,
            age=self.age,
            shape=self.shape,
            scale_years=self.scale_years,
            price=self.price + self.disposal,
            running_old=running_cost(use, old),
            running_new=running_cost(use, new),
            faults_old=self.faults_old,
            faults_new=self.faults_new,
            fault_bill=self.fault_bill,
            rate=self.rate,
        )

    def with_one(self, name: str, value: float) -> Household:
        """The same household with one assumption changed."""
        return replace(self, **{name: value})


NAMES = tuple(field.name for field in fields(Household))


@dataclass(frozen=True, slots=True)
class Swing:
    """A bar, and the value of its assumption at which the answer turns; None if it does not."""

    bar: Bar
    turns_at: float | None


def gap(told: Household) -> float:
    """Yearly cost of repairing less that of replacing: below nothing, repairing is cheaper."""
    answer = verdict(told.case)
    return answer.repair_per_year - answer.replace_per_year


def swings(told: Household, ranges: Mapping[str, tuple[float, float]]) -> list[Swing]:
    """One bar for each assumption of ``ranges``, the one that moves most in front.

    Examples
    --------
    The machine of :func:`tubside.economics.worth.verdict`; its repair pays up to a bill of
    about 374:

    >>> machine = Household(bill=180, success=0.95, age=6, shape=2.3, scale_years=14.3,
    ...     price=760, disposal=40, cycles=220, old_kwh=1.0, new_kwh=0.773, old_litres=50,
    ...     new_litres=50, energy_price=0.30, water_price=4.0, faults_old=0.12, faults_new=0.06,
    ...     fault_bill=160, rate=0.05)
    >>> bill, age = swings(machine, {"bill": (100.0, 500.0), "age": (5.0, 7.0)})
    >>> round(bill.turns_at), age.turns_at
    (374, None)
    """
    found = [_swing(told, name, low, high) for name, (low, high) in ranges.items()]
    return sorted(found, key=lambda one: -abs(one.bar.at_high - one.bar.at_low))


def _swing(told: Household, name: str, low: float, high: float) -> Swing:
    at_low, at_high = (gap(told.with_one(name, value)) for value in (low, high))
    bar = Bar(name, low, high, at_low, at_high)
    return Swing(bar, _crossing(told, bar) if bar.turns else None)


def _crossing(told: Household, bar: Bar) -> float:
    """Where the answer turns between the ends of a bar, by halving."""
    low, high = bar.low, bar.high
    below = bar.at_low < 0.0
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        if (gap(told.with_one(bar.name, middle)) < 0.0) == below:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0
