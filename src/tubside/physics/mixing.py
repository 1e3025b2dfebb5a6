"""Hot and cold water mixed: temperature by mass and enthalpy, and shares for a wanted one."""

from __future__ import annotations

import numpy as np

from tubside.physics import water
from tubside.physics.validity import Floats, Number, within


def mixed_temperature(
    hot_volume: Number, hot_temperature: Number, cold_volume: Number, cold_temperature: Number
) -> Floats:
    """Temperature [K] of hot and cold water mixed without loss.

    Mass and enthalpy are kept: h = (m1 h1 + m2 h2)/(m1 + m2) with m = rho V (first law, open
    system at constant pressure). Volumes [m3] each at its own temperature [K]; flows [m3/s]
    do as well. 0 to 100 C.

    Raises
    ------
    OutsideRangeError
        If a temperature lies outside 0 to 100 C, a volume is negative, or both are none.

    Examples
    --------
    Six litres at 60 C and nine at 15 C (the mean by volume would be 33.0 C):

    >>> round(float(mixed_temperature(6e-3, 333.15, 9e-3, 288.15)) - 273.15, 2)
    32.82
    """
    hot = within("hot volume", hot_volume, 0.0, 1e3, "m3") * water.density(hot_temperature)
    cold = within("cold volume", cold_volume, 0.0, 1e3, "m3") * water.density(cold_temperature)
    mass = within("mass of the water", hot + cold, 1e-12, 1e7, "kg")
    heat = hot * water.enthalpy(hot_temperature) + cold * water.enthalpy(cold_temperature)
    return water.temperature_of_enthalpy(heat / mass)


def hot_share(wanted: Number, hot_temperature: Number, cold_temperature: Number) -> Floats:
    """Share of hot water by mass, 0 to 1, that gives a wanted temperature [K].

    (h - h_cold)/(h_hot - h_cold). 0 where cold alone is warm enough, 1 where even hot alone
    is too cool.

    Examples
    --------
    >>> round(float(hot_share(313.15, 333.15, 288.15)), 3)
    0.556
    """
    cold = water.enthalpy(cold_temperature)
    span = np.maximum(water.enthalpy(hot_temperature) - cold, 1e-9)
    return np.asarray(np.clip((water.enthalpy(wanted) - cold) / span, 0.0, 1.0))


def heat_to_warm(volume: Number, start: Number, end: Number) -> Floats:
    """Heat [J] that warms water of ``volume`` [m3], measured at ``start``, to ``end`` [K].

    rho(start) V (h(end) - h(start)); negative when it cools.

    Examples
    --------
    >>> round(float(heat_to_warm(15e-3, 288.15, 333.15)) / 1e3)
    2820
    """
    mass = within("volume", volume, 0.0, 1e3, "m3") * water.density(start)
    return np.asarray(mass * (water.enthalpy(end) - water.enthalpy(start)))
