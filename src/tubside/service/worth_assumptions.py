"""What repair or replace assumes of a family: figures, how well they are known, their doubt.

Every figure can be changed on the page; a changed one is said to be the shop's own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

PRACTICE = "common practice, no source"
EUROPE = (
    "mean of Europe; Pakula and Stamminger, Energy Efficiency, 2010, "
    "doi 10.1007/s12053-009-9072-8 (from memory)"
)
AUSTRALIA = EUROPE.replace("Europe;", "Australia;")
REGISTRY = "median of the European registry of models, 2026 snapshot, class"
US_LABEL = "13 US gallons a load of a certified machine (figures of the US EPA and DOE)"


@dataclass(frozen=True, slots=True)
class Use:
    """How a family is used, and what one cycle takes; each with where it is from."""

    cycles: tuple[float, str]
    old_kwh: tuple[float, str]
    new_kwh: tuple[float, str]
    old_litres: tuple[float, str]
    new_litres: tuple[float, str]


USES: Mapping[str, Use] = {
    "front_load": Use(
        (170.0, EUROPE),
        (0.95, EUROPE),
        (0.45, f"{REGISTRY} A"),
        (60.0, EUROPE),
        (50.0, "one wash in the UK, 2006; Market Transformation Programme, note BNW05"),
    ),
    "top_load": Use(
        (260.0, AUSTRALIA),
        (0.34, AUSTRALIA),
        (0.34, PRACTICE),
        (106.0, AUSTRALIA),
        (49.0, US_LABEL),
    ),
    "dishwasher": Use(
        (241.0, "a model of UK households (IDEAS library)"),
        (0.92, f"{REGISTRY} E"),
        (0.54, f"{REGISTRY} A"),
        (14.0, PRACTICE),
        (10.0, PRACTICE),
    ),
    "dryer": Use(
        (150.0, PRACTICE), (3.0, PRACTICE), (1.5, PRACTICE), (0.0, PRACTICE), (0.0, PRACTICE)
    ),
}
"""Family -> use; a family that is not here is taken for a front-loader, and said to be."""


@dataclass(frozen=True, slots=True)
class Spec:
    """How one assumption is asked: its words, unit, and the share by which it is doubted.

    ``by`` is a share of the value, or with ``absolute`` an amount; ``least`` and ``most``
    bound what may be typed, in the unit shown; ``shown`` times the value is what is shown.
    """

    title: str
    unit: str
    by: float
    most: float
    absolute: bool = False
    shown: float = 1.0
    least: float = 0.0


MONEY, YEARS, PERCENT = "dollars", "years", "%"
SPECS: Mapping[str, Spec] = {
    "bill": Spec("Finishing the repair", MONEY, 0.3, 1e5),
    "success": Spec("Chance that it succeeds", PERCENT, 0.10, 100.0, absolute=True, shown=100.0),
    "age": Spec("Age of the machine", YEARS, 2.0, 60.0, absolute=True),
    "price": Spec("A new machine, delivered", MONEY, 0.25, 1e5),
    "disposal": Spec("Taking the old one away", MONEY, 0.5, 1e4),
    "scale_years": Spec("Age by which 63 % are gone", YEARS, 2.0, 40.0, absolute=True, least=1.0),
    "shape": Spec("How much age tells (shape)", "", 0.5, 8.0, absolute=True, least=0.5),
    "cycles": Spec("Cycles a year", "", 0.4, 3000.0),
    "old_kwh": Spec("Energy of a cycle, old", "kWh", 0.3, 10.0),
    "new_kwh": Spec("Energy of a cycle, new", "kWh", 0.2, 10.0),
    "old_litres": Spec("Water of a cycle, old", "litres", 0.3, 500.0),
    "new_litres": Spec("Water of a cycle, new", "litres", 0.2, 500.0),
    "energy_price": Spec("Energy, for a kWh", MONEY, 0.4, 100.0),
    "water_price": Spec("Water in and out, for 1000 litres", MONEY, 0.5, 1000.0),
    "faults_old": Spec("Later faults a year, old", "", 0.5, 5.0),
    "faults_new": Spec("Later faults a year, new", "", 0.5, 5.0),
    "fault_bill": Spec("Bill for a later fault", MONEY, 0.4, 1e5),
    "rate": Spec("Interest a year", PERCENT, 0.03, 40.0, absolute=True, shown=100.0),
}
PLAIN: Mapping[str, tuple[float, str]] = {
    "energy_price": (0.30, PRACTICE),
    "water_price": (4.0, PRACTICE),
    "faults_old": (0.12, PRACTICE),
    "faults_new": (0.06, PRACTICE),
    "fault_bill": (160.0, PRACTICE),
    "rate": (0.05, PRACTICE),
}
"""What holds for every family alike."""
AGE_UNKNOWN = 8.0
"""[years], where nobody asked: common practice, no source."""
