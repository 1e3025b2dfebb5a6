"""What a machine costs to run for a year: energy, water, and the faults that will come."""

from __future__ import annotations

from dataclasses import dataclass

from tubside.physics.validity import within


@dataclass(frozen=True, slots=True)
class Use:
    """How a household uses a machine, and what energy and water cost there.

    Attributes
    ----------
    cycles_per_year
        [1/year].
    energy_price
        Money per kWh.
    water_price
        Money per cubic metre, waste water with it.
    """

    cycles_per_year: float
    energy_price: float
    water_price: float

    def __post_init__(self) -> None:
        within("cycles", self.cycles_per_year, 0.0, 5000.0, "per year")
        within("price of energy", self.energy_price, 0.0, 1e4, "per kWh")
        within("price of water", self.water_price, 0.0, 1e5, "per m3")


@dataclass(frozen=True, slots=True)
class Appetite:
    """What one cycle takes: energy [kWh] and water [m3]."""

    energy_kwh: float
    water_m3: float

    def __post_init__(self) -> None:
        within("energy of a cycle", self.energy_kwh, 0.0, 20.0, "kWh")
        within("water of a cycle", self.water_m3, 0.0, 1.0, "m3")


def running_cost(use: Use, appetite: Appetite) -> float:
    """Money a year: cycles x (kWh x price + m3 x price).

    Examples
    --------
    >>> round(running_cost(Use(220.0, 0.30, 4.0), Appetite(0.9, 0.050)), 2)
    103.4
    """
    energy = appetite.energy_kwh * use.energy_price
    return use.cycles_per_year * (energy + appetite.water_m3 * use.water_price)
