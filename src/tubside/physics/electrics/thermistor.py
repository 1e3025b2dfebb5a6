"""Temperature sensors: thermistor by B and by Steinhart-Hart, platinum; kelvin and ohm."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from tubside.physics.standard import ICE_POINT
from tubside.physics.validity import Floats, Number, within

ROOM = ICE_POINT + 25.0
PLATINUM_A, PLATINUM_B, PLATINUM_C = 3.9083e-3, -5.775e-7, -4.183e-12


def b_resistance(temperature: Number, at_25: Number, b: Number) -> Floats:
    """Resistance [ohm] of a thermistor: R25 exp(B (1 / T - 1 / 298.15)).

    ``b`` [K] holds between the two temperatures it is stated for; 50 K beyond them it is
    off by some kelvin (IEC 60539-1; from memory).

    Examples
    --------
    >>> round(float(b_resistance(298.15, 4800.0, 3977.0)), 6)
    4800.0
    """
    kelvin = _kelvin(temperature)
    ohms = within("resistance at 25 C", at_25, 1.0, 1e8, "ohm")
    return np.asarray(ohms * np.exp(_b(b) * (1.0 / kelvin - 1.0 / ROOM)))


def b_temperature(resistance: Number, at_25: Number, b: Number) -> Floats:
    """Temperature [K] of a thermistor [ohm]; the inverse of ``b_resistance``.

    Examples
    --------
    >>> round(float(b_temperature(4800.0, 4800.0, 3977.0)), 2)
    298.15
    """
    ohms = _ohms(resistance) / within("resistance at 25 C", at_25, 1.0, 1e8, "ohm")
    return np.asarray(1.0 / (1.0 / ROOM + np.log(ohms) / _b(b)))


def b_between(
    first: Number, second: Number, first_temperature: Number, second_temperature: Number
) -> Floats:
    """B [K] between two temperatures [K]: ln(R1 / R2) / (1 / T1 - 1 / T2) (IEC 60539-1).

    Examples
    --------
    >>> round(float(b_between(9814.0, 3542.0, 298.15, 323.15)))
    3928
    """
    t1, t2 = _kelvin(first_temperature), _kelvin(second_temperature)
    within("distance of the temperatures", np.abs(t1 - t2), 1e-3, 1e3, "K")
    return np.asarray(np.log(_ohms(first) / _ohms(second)) / (1.0 / t1 - 1.0 / t2))


def steinhart_temperature(resistance: Number, coefficients: Floats) -> Floats:
    """Temperature [K] of a thermistor [ohm]: 1 / (A + B ln R + C (ln R)^3).

    ``coefficients`` A, B, C have the shape (3, ...) (Steinhart & Hart, Deep-Sea Research 15,
    1968, 497-503). Within 0.01 K over 100 K when fitted there.

    Examples
    --------
    >>> c = np.array([1.129148e-3, 2.34125e-4, 8.76741e-8])
    >>> round(float(steinhart_temperature(97006.9, c)) - 273.15, 3)
    -20.0
    """
    log = np.log(_ohms(resistance))
    a, b, c = np.asarray(coefficients, dtype=float)
    return within("temperature", 1.0 / (a + b * log + c * log**3), 50.0, 1000.0, "K")


def steinhart_resistance(temperature: Number, coefficients: Floats) -> Floats:
    """Resistance [ohm] of a thermistor at a temperature [K], by the root of the cubic.

    The inverse of ``steinhart_temperature`` (Cardano; C above 0).

    Examples
    --------
    >>> c = np.array([1.129148e-3, 2.34125e-4, 8.76741e-8])
    >>> round(float(steinhart_resistance(273.15, c)), -1)
    32650.0
    """
    a, b, c = np.asarray(coefficients, dtype=float)
    half = 0.5 * (a - 1.0 / _kelvin(temperature)) / within("C", c, 1e-15, 1.0, "1/K")
    root = np.sqrt((b / (3.0 * c)) ** 3 + np.square(half))
    # of the two terms the larger is sure, the smaller follows from their product
    larger = np.cbrt(np.where(half > 0.0, half + root, root - half))
    log = np.where(half > 0.0, -1.0, 1.0) * (larger - b / (3.0 * c) / larger)
    return np.asarray(np.exp(log))


def fit_steinhart(temperatures: Floats, resistances: Floats) -> npt.NDArray[np.float64]:
    """Coefficients A, B, C, shape (3,), through three or more pairs of kelvin and ohm.

    Least squares in 1 / T; exact through three pairs.

    Raises
    ------
    OutsideRangeError
        If there are fewer than three different resistances.

    Examples
    --------
    >>> t, r = np.array([273.15, 298.15, 323.15]), np.array([32128.0, 9814.0, 3542.0])
    >>> round(float(steinhart_temperature(19549.0, fit_steinhart(t, r))) - 273.15, 2)
    10.0
    """
    log = np.log(_ohms(resistances))
    within("number of different resistances", float(np.unique(log).size), 3.0, 1e6, "1")
    design = np.stack([np.ones_like(log), log, log**3], axis=-1)
    solved = np.linalg.lstsq(design, 1.0 / _kelvin(temperatures), rcond=None)
    return np.asarray(solved[0])


def platinum_resistance(temperature: Number, at_0: Number = 100.0) -> Floats:
    """Resistance [ohm] of a platinum sensor: R0 (1 + A t + B t^2 + C (t - 100) t^3 below 0).

    IEC 60751, from -200 to 850 C; C only below 0 C.

    Examples
    --------
    >>> round(float(platinum_resistance(373.15)), 2)
    138.51
    """
    t = within("temperature", temperature, 73.0, 1123.2, "K") - ICE_POINT
    below = np.where(t < 0.0, PLATINUM_C * (t - 100.0) * t**3, 0.0)
    return np.asarray(np.asarray(at_0) * (1.0 + PLATINUM_A * t + PLATINUM_B * t**2 + below))


def _kelvin(temperature: Number) -> Floats:
    return within("temperature", temperature, 200.0, 500.0, "K")


def _ohms(resistance: Number) -> Floats:
    return within("resistance", resistance, 0.1, 1e9, "ohm")


def _b(b: Number) -> Floats:
    return within("B", b, 500.0, 10_000.0, "K")
