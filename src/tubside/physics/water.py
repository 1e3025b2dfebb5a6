"""Properties of liquid water between 0 and 100 C at the pressure of the air.

Source: IAPWS SR6-08(2011), Revised Supplementary Release on Properties of Liquid Water at
0.1 MPa: equations 1 and 2 with table 1, equation 7 with table 5. It is
fitted to the scientific standard IAPWS-95 from -20 to 110 C. The pressure of a house (up to
1 MPa) alters density by 0.05 %.
"""

from __future__ import annotations

import numpy as np

from tubside.physics.standard import ICE_POINT
from tubside.physics.validity import Floats, Number, within

BOILING = ICE_POINT + 100.0
GAS = 461.51805  # specific gas constant of water [J/(kg K)]
SCALE = 10.0  # [K]
PRESSURE = 1e5  # [Pa]

# Pairs (coefficient, exponent) of the release's table 1; "hot" goes with powers of
# 10/(593 - T), "cold" with powers of 10/(T - 232).
ENERGY_HOT = ((-1.661470539e5, 4), (2.708781640e6, 5), (-1.557191544e8, 7))
ENERGY_COLD = ((-8.237426256e-1, 2), (1.908956353, 3), (-2.017597384, 4), (8.546361348e-1, 5))
ENERGY_FIRST, ENERGY_LAST = -2.452093414e2, -8.983025854
VOLUME_FIRST = 1.93763157e-2
VOLUME_HOT = (
    (6.74458446e3, 4),
    (-2.22521604e5, 5),
    (1.00231247e8, 7),
    (-1.63552118e9, 8),
    (8.32299658e9, 9),
)
VOLUME_COLD = (
    (5.78545292e-3, 1),
    (-1.53195665e-2, 2),
    (3.11337859e-2, 3),
    (-4.23546241e-2, 4),
    (3.38713507e-2, 5),
    (-1.19946761e-2, 6),
)
VISCOSITY = ((280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.45903, -40.0))


def density(temperature: Number) -> Floats:
    """Density [kg/m3] of water at a temperature [K] of 273.15 to 373.15.

    SR6-08(2011), equation 2: the specific volume is a sum of powers of 10/(593 - T) and
    10/(T - 232).

    Raises
    ------
    OutsideRangeError
        If a temperature lies outside 0 to 100 C.

    Examples
    --------
    >>> round(float(density(293.15)), 2)
    998.21
    """
    hot, cold, _ = _scaled(temperature)
    volume = VOLUME_FIRST + _powers(hot, VOLUME_HOT) + _powers(cold, VOLUME_COLD)
    return np.asarray(PRESSURE / (GAS * SCALE) / volume)


def viscosity(temperature: Number) -> Floats:
    """Dynamic viscosity [Pa s] of water at a temperature [K] of 273.15 to 373.15.

    SR6-08(2011), equation 7: mu = 1e-6 sum of a (T/300)^b.

    Examples
    --------
    >>> round(float(viscosity(298.15)) * 1e6, 1)
    890.0
    """
    logarithm = np.log(within("temperature", temperature, ICE_POINT, BOILING, "K") / 300.0)
    total = sum(factor * np.exp(power * logarithm) for factor, power in VISCOSITY)
    return np.asarray(1e-6 * total)


def heat_capacity(temperature: Number) -> Floats:
    """Specific heat capacity [J/(kg K)] of water at a temperature [K] of 273.15 to 373.15.

    SR6-08(2011), from equation 1: c = -T d2g/dT2, g the Gibbs energy.

    Examples
    --------
    >>> round(float(heat_capacity(313.15)))
    4179
    """
    hot, cold, tau = _scaled(temperature)
    curved = _powers(hot, [(n * (n + 1) * a, n + 2) for a, n in ENERGY_HOT])
    curved = curved + _powers(cold, [(m * (m + 1) * b, m + 2) for b, m in ENERGY_COLD])
    return np.asarray(-GAS * (ENERGY_LAST + tau * curved))


def enthalpy(temperature: Number) -> Floats:
    """Specific enthalpy [J/kg] of water at a temperature [K] of 273.15 to 373.15.

    SR6-08(2011), from equation 1: h = g + T s, s = -dg/dT. Zero is the liquid at the
    triple point, as in all steam tables; only differences of it are heat.

    Examples
    --------
    >>> round(float(enthalpy(333.15) - enthalpy(288.15)))
    188172
    """
    hot, cold, tau = _scaled(temperature)
    total = ENERGY_FIRST - ENERGY_LAST * tau
    for a, n in ENERGY_HOT:
        total = total + a * hot**n * (1.0 - n * tau * hot)
    for b, m in ENERGY_COLD:
        total = total + b * cold**m * (1.0 + m * tau * cold)
    return np.asarray(GAS * SCALE * total)


def temperature_of_enthalpy(heat: Number) -> Floats:
    """Temperature [K] at which water has a specific enthalpy [J/kg]; inverse of `enthalpy`.

    Three steps of Newton from a straight line; the heat capacity varies by 1 %, so that they
    end below 1e-9 K.

    Raises
    ------
    OutsideRangeError
        If the enthalpy is not one of liquid water between 0 and 100 C.

    Examples
    --------
    >>> round(float(temperature_of_enthalpy(enthalpy(333.15))), 6)
    333.15
    """
    bottom, top = float(enthalpy(ICE_POINT)), float(enthalpy(BOILING))
    wanted = within("specific enthalpy", heat, bottom - 1e-3, top + 1e-3, "J/kg")
    found = ICE_POINT + (wanted - bottom) / (top - bottom) * 100.0
    for _ in range(3):
        step = (wanted - enthalpy(found)) / heat_capacity(found)
        found = np.clip(found + step, ICE_POINT, BOILING)
    return np.asarray(found)


def _scaled(temperature: Number) -> tuple[Floats, Floats, Floats]:
    checked = within("temperature", temperature, ICE_POINT, BOILING, "K")
    return (
        np.asarray(SCALE / (593.0 - checked)),
        np.asarray(SCALE / (checked - 232.0)),
        np.asarray(checked / SCALE),
    )


def _powers(base: Floats, terms: list[tuple[float, int]] | tuple[tuple[float, int], ...]) -> Floats:
    """Sum of factor * base^power, powers rising."""
    total = np.zeros_like(base)
    power, at = np.ones_like(base), 0
    for factor, exponent in terms:
        for _ in range(exponent - at):
            power = power * base
        at = exponent
        total = total + factor * power
    return total
