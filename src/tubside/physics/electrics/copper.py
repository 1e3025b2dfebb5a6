"""Resistance of copper against its temperature, in both published forms; wire.

Temperatures are in kelvin outside, in degrees Celsius in the printed formulas. The two forms
differ by 0.2 % at 60 C; each stands with the standard that prints it.
"""

from __future__ import annotations

import numpy as np

from tubside.physics.standard import ICE_POINT
from tubside.physics.validity import Floats, Number, within

COPPER = 234.5
ALUMINIUM = 225.0
"""k [C] of the winding formula: IEC 60034-1, 8.6.2.3 (copper); 225 in IEC 60335-1 and UL text."""

CONDUCTIVITY = 56e6
"""Of copper wire at 20 C [S/m]: 56 m/(ohm mm2), in the appliance test standards (from memory,
85 %)."""

FLEXIBLE_WIRE: dict[float, float] = {0.75: 26.0e-3, 1.0: 19.5e-3, 1.5: 13.3e-3, 2.5: 7.98e-3}
"""Most [ohm/m] at 20 C of plain flexible copper (class 5), by area [mm2]: IEC 60228, table 3
(two copies agree)."""


def temperature_coefficient(k: Number = COPPER) -> Floats:
    """Share by which resistance grows for each kelvin from 20 C [1/K]: 1 / (k + 20).

    Examples
    --------
    >>> round(float(temperature_coefficient()), 5)
    0.00393
    """
    return np.asarray(1.0 / (within("k", k, 100.0, 400.0, "C") + 20.0))


def winding_resistance(at_20: Number, temperature: Number, k: Number = COPPER) -> Floats:
    """Resistance [ohm] of a winding at a temperature [K]: R20 (k + t) / (k + 20).

    IEC 60034-1, 8.6.2.3; -50 to 250 C.

    Examples
    --------
    >>> round(float(winding_resistance(10.0, 273.15 + 60)), 3)
    11.572
    """
    ohms = within("resistance at 20 C", at_20, 0.0, 1e12, "ohm")
    return np.asarray(ohms * (np.asarray(k) + _celsius(temperature)) / (np.asarray(k) + 20.0))


def winding_at_20(measured: Number, temperature: Number, k: Number = COPPER) -> Floats:
    """Resistance at 20 C [ohm] of a winding measured at a temperature [K].

    The inverse of ``winding_resistance``.

    Examples
    --------
    >>> round(float(winding_at_20(11.572, 273.15 + 60)), 3)
    10.0
    """
    ohms = within("resistance", measured, 0.0, 1e12, "ohm")
    return np.asarray(ohms * (np.asarray(k) + 20.0) / (np.asarray(k) + _celsius(temperature)))


def cable_factor(temperature: Number) -> Floats:
    """Factor [1] that brings a cable's resistance from a temperature [K] to 20 C: 250 / (230 + t).

    IEC 60228, annex on temperature correction; tabled from 5 to 100 C.

    Examples
    --------
    >>> round(float(cable_factor(273.15 + 60)), 3)
    0.862
    """
    return np.asarray(250.0 / (230.0 + _celsius(temperature, -10.0, 110.0)))


def winding_warming(
    cold: Number, hot: Number, cold_room: Number, hot_room: Number, k: Number = COPPER
) -> Floats:
    """How much warmer than the room [K] a winding has become, from its resistance.

    (R2 - R1) / R1 (k + t1) - (t2 - t1), resistances [ohm] cold and hot, rooms [K] then
    (IEC 60335-1, 11.3).

    Examples
    --------
    >>> round(float(winding_warming(10.0, 13.0, 293.15, 293.15)), 2)
    76.35
    """
    before = within("cold resistance", cold, 1e-6, 1e12, "ohm")
    growth = within("hot resistance", hot, 1e-6, 1e12, "ohm") / before - 1.0
    t1, t2 = _celsius(cold_room), _celsius(hot_room)
    return np.asarray(growth * (np.asarray(k) + t1) - (t2 - t1))


def wire_resistance(length: Number, area: Number, conductivity: Number = CONDUCTIVITY) -> Floats:
    """Resistance [ohm] of one wire at 20 C: l / (kappa A), length [m], area [m2].

    The form of EN 50699 for long leads.

    Examples
    --------
    >>> round(float(wire_resistance(10.0, 2.5e-6)), 4)
    0.0714
    """
    long = within("length", length, 0.0, 1e4, "m")
    return np.asarray(long / (np.asarray(conductivity) * within("area", area, 1e-9, 1e-2, "m2")))


def _celsius(temperature: Number, low: float = -50.0, high: float = 250.0) -> Floats:
    kelvin = within("temperature", temperature, ICE_POINT + low, ICE_POINT + high, "K")
    return np.asarray(kelvin - ICE_POINT)
