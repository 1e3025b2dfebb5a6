"""Moist air: what it holds, what it weighs, what it takes to warm it, how it cools wet cloth.

A *humidity ratio* w is the water in the air by its dry air [kg/kg]. Heat, volume and flow are
told by the kilogram of dry air, which stays the same when water is taken up or drops out.
Both gases are taken as ideal: below 80 C and at one atmosphere humidity ratio, enthalpy and
volume are then right to 1 % (the tests hold it to that against a full equation of state).
"""

from __future__ import annotations

import numpy as np

from tubside.physics.standard import ATMOSPHERE, ICE_POINT
from tubside.physics.validity import Floats, Number, within

DRY_GAS = 287.042
"""Gas constant of dry air [J/(kg K)] (ASHRAE Fundamentals 2017, chapter 1, equation 1)."""
BY_MASS = 0.621945
"""Molar mass of water by that of dry air (the same, equation 20)."""
DRY_HEAT = 1006.0
"""Heat capacity of dry air [J/(kg K)] (the same, equation 30)."""
VAPOUR_HEAT = 1860.0
"""Heat capacity of water vapour [J/(kg K)] (the same, equation 30)."""
EVAPORATION = 2.501e6
"""Heat of evaporation at 0 C [J/kg] (the same, equation 30)."""
LIQUID_HEAT = 4186.0
"""Heat capacity of the water in wet cloth [J/(kg K)] (the same, equation 33)."""
WARMEST = 473.15
NEWTON_STEPS = 7


def saturation_pressure(temperature: Number) -> Floats:
    """Pressure [Pa] of water vapour over water at a temperature [K].

    Hyland and Wexler (1983), as ASHRAE Fundamentals 2017, chapter 1, equation 6, gives it:
    ln p = C8/T + C9 + C10 T + C11 T^2 + C12 T^3 + C13 ln T; 0 to 200 C, within 300 ppm of the
    table there. The coefficients are from memory, the table holds them.

    Raises
    ------
    OutsideRangeError
        If the temperature lies outside 273.15 to 473.15 K.

    Examples
    --------
    Table 3 of that chapter has 3169.7 Pa at 25 C:

    >>> round(float(saturation_pressure(298.15)), 1)
    3169.2
    """
    kelvin = within("temperature", temperature, ICE_POINT, WARMEST, "K")
    return _saturated(kelvin)


def _saturated(kelvin: Floats) -> Floats:
    rest = 1.3914993 + kelvin * (-4.8640239e-2 + kelvin * (4.1764768e-5 - 1.4452093e-8 * kelvin))
    return np.asarray(np.exp(-5.8002206e3 / kelvin + rest + 6.5459673 * np.log(kelvin)))


def humidity_ratio(vapour: Number, pressure: Number = ATMOSPHERE) -> Floats:
    """Water by dry air [kg/kg] at a vapour pressure [Pa]: 0.621945 pw / (p - pw).

    ASHRAE Fundamentals 2017, chapter 1, equation 20; vapour below nine tenths of the pressure.

    Examples
    --------
    >>> round(float(humidity_ratio(0.75 * 3169.0, 100e3)), 4)
    0.0151
    """
    whole = within("pressure", pressure, 1e4, 1e6, "Pa")
    share = within("vapour pressure by pressure", np.asarray(vapour) / whole, 0.0, 0.9, "1")
    return np.asarray(BY_MASS * share / (1.0 - share))


def saturated_ratio(temperature: Number, pressure: Number = ATMOSPHERE) -> Floats:
    """Most water that air can hold [kg/kg] at a temperature [K].

    Examples
    --------
    >>> round(float(saturated_ratio(323.15)), 4)
    0.0863
    """
    return humidity_ratio(saturation_pressure(temperature), pressure)


def enthalpy(temperature: Number, ratio: Number) -> Floats:
    """Heat in moist air [J/kg of dry air] over dry air and water at 0 C, at [K] and [kg/kg].

    h = 1006 t + w (2 501 000 + 1860 t), t in C (ASHRAE Fundamentals 2017, chapter 1,
    equation 30).

    Examples
    --------
    >>> round(float(enthalpy(303.15, 0.02)))
    81316
    """
    celsius = np.asarray(temperature, dtype=float) - ICE_POINT
    water = within("humidity ratio", ratio, 0.0, 10.0, "kg/kg")
    return np.asarray(DRY_HEAT * celsius + water * (EVAPORATION + VAPOUR_HEAT * celsius))


def heat_capacity(ratio: Number) -> Floats:
    """Heat [J] that warms moist air by a kelvin, for each kilogram of dry air in it."""
    return np.asarray(DRY_HEAT + VAPOUR_HEAT * within("humidity ratio", ratio, 0.0, 10.0, "kg/kg"))


def volume(temperature: Number, ratio: Number, pressure: Number = ATMOSPHERE) -> Floats:
    """Volume [m3] of moist air by the kilogram of its dry air.

    v = R T (1 + 1.607858 w) / p (ASHRAE Fundamentals 2017, chapter 1, equation 26).

    Examples
    --------
    >>> round(float(volume(303.15, 0.02, 95461.0)), 4)
    0.9409
    """
    kelvin = within("temperature", temperature, 173.15, 1000.0, "K")
    water = within("humidity ratio", ratio, 0.0, 10.0, "kg/kg")
    whole = within("pressure", pressure, 1e4, 1e6, "Pa")
    return np.asarray(DRY_GAS * kelvin * (1.0 + water / BY_MASS) / whole)


def density(temperature: Number, ratio: Number = 0.0, pressure: Number = ATMOSPHERE) -> Floats:
    """Mass of moist air [kg/m3]: (1 + w) / v.

    Examples
    --------
    >>> round(float(density(293.15)), 3)
    1.204
    """
    return np.asarray((1.0 + np.asarray(ratio)) / volume(temperature, ratio, pressure))


def viscosity(temperature: Number) -> Floats:
    """Viscosity of air [Pa s]: Sutherland's law, mu0 (T/T0)^1.5 (T0 + S) / (T + S).

    T0 = 273.15 K, mu0 = 1.716e-5 Pa s, S = 110.4 K (White, Fluid Mechanics, equation 1.27 and
    the text below it, from memory); 170 to 1900 K, within 2 %. The water in it lowers it by
    less than that below 60 C and is left out.

    Examples
    --------
    >>> round(float(viscosity(293.15)) * 1e5, 3)
    1.813
    """
    kelvin = within("temperature", temperature, 170.0, 1900.0, "K")
    at_zero, zero, constant = 1.716e-5, 273.15, 110.4
    return np.asarray(at_zero * (kelvin / zero) ** 1.5 * (zero + constant) / (kelvin + constant))


def wet_surface(target: Number, ratio: Number, share: Number = 1.0) -> Floats:
    """Temperature [K] of a wet surface past which air of ``ratio`` [kg/kg] is blown.

    On a surface that only this air warms, the heat that the air loses is what the water
    takes: c (T1 - Tw) = H (ws(Tw) - w), with H = 2 501 000 + 1860 tw - 4186 tw the heat of
    evaporation (adiabatic saturation; ASHRAE Fundamentals 2017, chapter 1, equation 33,
    solved for the surface by Newton's method). With ``share`` below 1 the target is the air
    that has gone only 1 - share of the way to the surface: Tw + share H (ws - w)/c = target.

    Parameters
    ----------
    target
        Temperature [K] of the air, 243.15 to 473.15.
    ratio
        Water in the air before the surface [kg/kg].
    share
        1 for the air before it, 1 - effectiveness for the air behind it.

    Returns
    -------
    Floats
        Not below 0 C, nor above 98 C.

    Examples
    --------
    Example 1 of that chapter: 40 C dry and 20 C wet bulb hold 0.0065 kg/kg, rounded there:

    >>> round(float(wet_surface(313.15, 0.0065)) - 273.15, 1)
    20.1
    """
    goal = within("temperature", target, 243.15, WARMEST, "K")
    water = within("humidity ratio", ratio, 0.0, 5.0, "kg/kg")
    part = np.asarray(share, dtype=float)
    low, high = ICE_POINT + 0.01, ICE_POINT + 98.0
    found = np.clip(goal, low, ICE_POINT + 55.0)  # the curve bends up: Newton comes from above
    for _ in range(NEWTON_STEPS):
        pressure = _saturated(found)
        held = BY_MASS * pressure / (ATMOSPHERE - pressure)
        rising = _rise(found) * held * ATMOSPHERE / (ATMOSPHERE - pressure)
        heat = evaporation_heat(found) / (DRY_HEAT + VAPOUR_HEAT * water)
        error = found + part * heat * (held - water) - goal
        found = np.clip(found - error / (1.0 + part * heat * rising), low, high)
    return np.asarray(found)


def _rise(kelvin: Floats) -> Floats:
    """Rise of ln p with the temperature [1/K]: the derivative of the formula above."""
    return np.asarray(
        5.8002206e3 / np.square(kelvin)
        - 4.8640239e-2
        + kelvin * (2.0 * 4.1764768e-5 - 3.0 * 1.4452093e-8 * kelvin)
        + 6.5459673 / kelvin
    )


def ratio_by_wet_bulb(temperature: Number, wet_bulb: Number) -> Floats:
    """Water in air [kg/kg] at one atmosphere by its temperature and wet bulb [K].

    The equation of :func:`wet_surface` solved for w (ASHRAE Fundamentals 2017, chapter 1,
    equation 33).

    Examples
    --------
    >>> round(float(ratio_by_wet_bulb(313.15, 293.15)), 4)
    0.0064
    """
    fall = np.asarray(temperature, dtype=float) - wet_bulb
    heat = evaporation_heat(wet_bulb)
    taken = heat * saturated_ratio(wet_bulb) - DRY_HEAT * fall
    return np.asarray(taken / (heat + VAPOUR_HEAT * fall))


def evaporation_heat(temperature: Number) -> Floats:
    """Heat [J/kg] that turns water of a temperature [K] into vapour of the same.

    Examples
    --------
    >>> round(float(evaporation_heat(298.15)) / 1e3)
    2443
    """
    celsius = np.asarray(temperature, dtype=float) - ICE_POINT
    return np.asarray(EVAPORATION + (VAPOUR_HEAT - LIQUID_HEAT) * celsius)
