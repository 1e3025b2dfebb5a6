"""Mains: the band that each country allows, and what a lead and a load leave of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.errors import UnknownNameError
from tubside.physics.electrics.copper import FLEXIBLE_WIRE, cable_factor
from tubside.physics.standard import ICE_POINT
from tubside.physics.validity import Floats, Number, within


@dataclass(frozen=True, slots=True)
class Mains:
    """Nominal voltage [V] and frequency [Hz], shares allowed above and below, and the source."""

    voltage: float
    frequency: float
    above: float
    below: float
    source: str

    @property
    def low(self) -> float:
        """Lowest voltage allowed [V]."""
        return self.voltage * (1.0 - self.below)

    @property
    def high(self) -> float:
        """Highest voltage allowed [V]."""
        return self.voltage * (1.0 + self.above)


MAINS: dict[str, Mains] = {
    "EU": Mains(230.0, 50.0, 0.10, 0.10, "IEC 60038; Regulation (EU) 2019/2023, Art. 2(1)"),
    "GB": Mains(230.0, 50.0, 0.10, 0.06, "ESQCR 2002 (from memory, 95 %)"),
    "NZ": Mains(
        230.0, 50.0, 0.06, 0.06, "Electricity (Safety) Regulations 2010, r 28 (from memory, 90 %)"
    ),
    "AU": Mains(230.0, 50.0, 0.10, 0.06, "AS 60038 (from memory, 90 %)"),
    "US": Mains(120.0, 60.0, 0.05, 0.05, "ANSI C84.1, range A (from memory, 95 %)"),
}
"""Country -> its mains at the supply point; inside a house a few per cent more are lost."""


def lead_resistance(length: Number, area: float, temperature: Number = ICE_POINT + 20.0) -> Floats:
    """Resistance [ohm] of a flexible lead, there and back, at a temperature [K].

    ``area`` [mm2] is one of ``FLEXIBLE_WIRE`` (IEC 60228, table 3, class 5: the most it may
    have). Contacts at plug and socket come on top.

    Raises
    ------
    UnknownNameError
        If the area is none of the table.

    Examples
    --------
    >>> round(float(lead_resistance(25.0, 1.5)), 3)
    0.665
    """
    if area not in FLEXIBLE_WIRE:
        listed = ", ".join(f"{each:g}" for each in FLEXIBLE_WIRE)
        message = f"no lead of {area:g} mm2 is in the table; use one of {listed}"
        raise UnknownNameError(message)
    long = within("length", length, 0.0, 500.0, "m")
    return np.asarray(2.0 * long * FLEXIBLE_WIRE[area] / cable_factor(temperature))


def loaded_voltage(at_rest: Number, source_ohms: Number, load_ohms: Number) -> Floats:
    """Voltage [V] at a load [ohm] behind supply and lead [ohm]: V R / (R + r).

    A heater; a motor's current stands at an angle and drops a little less.

    Examples
    --------
    >>> round(float(loaded_voltage(230.0, 0.665, 26.45)), 1)
    224.4
    """
    volts = within("voltage at rest", at_rest, 0.0, 1000.0, "V")
    load = within("load", load_ohms, 1e-3, 1e15, "ohm")
    return np.asarray(volts * load / (load + within("supply", source_ohms, 0.0, 1e6, "ohm")))


def voltage_drop(current: Number, ohms: Number) -> Floats:
    """Voltage [V] lost by a current [A] in a lead [ohm, there and back]: I R.

    Examples
    --------
    >>> round(float(voltage_drop(8.7, 0.665)), 2)
    5.79
    """
    lost = within("current", current, 0.0, 1000.0, "A")
    return np.asarray(lost * within("resistance", ohms, 0.0, 1e6, "ohm"))


def source_resistance(at_rest: Number, under_load: Number, current: Number) -> Floats:
    """Resistance [ohm] of supply and lead from two voltages [V] and the current [A].

    Raises
    ------
    OutsideRangeError
        If the voltage rises under load: other loads changed meanwhile; read again.

    Examples
    --------
    >>> round(float(source_resistance(230.0, 224.4, 8.48)), 3)
    0.66
    """
    lost = np.asarray(at_rest, dtype=float) - np.asarray(under_load, dtype=float)
    within("voltage lost under load", lost, 0.0, 1000.0, "V")
    return np.asarray(lost / within("current", current, 1e-3, 1000.0, "A"))
