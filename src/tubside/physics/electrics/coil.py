"""A coil on alternating current: impedance, current, power; what a voltmeter tells of it.

Resistance in a row with inductance. An iron core's losses and saturation are left out: a
solenoid with its plunger in draws less than with it out, as its inductance is larger.
"""

from __future__ import annotations

import numpy as np

from tubside.physics.validity import Floats, Number, within


def reactance(inductance: Number, frequency: Number) -> Floats:
    """Reactance [ohm]: 2 pi f L, inductance [H], frequency [Hz].

    Examples
    --------
    >>> round(float(reactance(9.55e-3, 50.0)), 2)
    3.0
    """
    henries = within("inductance", inductance, 0.0, 1e3, "H")
    return np.asarray(2.0 * np.pi * within("frequency", frequency, 0.0, 1e5, "Hz") * henries)


def impedance(resistance: Number, inductance: Number, frequency: Number) -> Floats:
    """Impedance [ohm]: sqrt(R^2 + X^2) (Bird, Electrical Circuit Theory, series circuits).

    Examples
    --------
    >>> round(float(impedance(50.0, 0.1, 50.0)), 2)
    59.05
    """
    ohms = within("resistance", resistance, 0.0, 1e12, "ohm")
    return np.asarray(np.hypot(ohms, reactance(inductance, frequency)))


def coil_current(
    voltage: Number, resistance: Number, inductance: Number, frequency: Number
) -> Floats:
    """Current [A] of a coil: V / Z, voltage [V] r.m.s.

    Examples
    --------
    >>> round(float(coil_current(230.0, 50.0, 0.1, 50.0)), 3)
    3.895
    """
    volts = within("voltage", voltage, 0.0, 1e4, "V")
    ohms = within("impedance", impedance(resistance, inductance, frequency), 1e-9, 1e13, "ohm")
    return np.asarray(volts / ohms)


def power_factor(resistance: Number, inductance: Number, frequency: Number) -> Floats:
    """Power factor [1] of a coil: R / Z.

    Examples
    --------
    >>> round(float(power_factor(50.0, 0.1, 50.0)), 3)
    0.847
    """
    ohms = within("impedance", impedance(resistance, inductance, frequency), 1e-9, 1e13, "ohm")
    return np.asarray(np.asarray(resistance) / ohms)


def coil_power(
    voltage: Number, resistance: Number, inductance: Number, frequency: Number
) -> Floats:
    """Power [W] that a coil turns to heat: I^2 R.

    Examples
    --------
    >>> round(float(coil_power(230.0, 50.0, 0.1, 50.0)), 1)
    758.5
    """
    current = coil_current(voltage, resistance, inductance, frequency)
    return np.asarray(np.square(current) * np.asarray(resistance))


def inductance_of(resistance: Number, impedance_read: Number, frequency: Number) -> Floats:
    """Inductance [H] from resistance (direct current) and impedance (alternating) [ohm].

    sqrt(Z^2 - R^2) / (2 pi f).

    Raises
    ------
    OutsideRangeError
        If the impedance is below the resistance: one of the two is read wrong.

    Examples
    --------
    >>> round(float(inductance_of(4.0, 5.0, 50.0)) * 1e3, 2)
    9.55
    """
    ohms = within("resistance", resistance, 0.0, 1e12, "ohm")
    beyond = np.asarray(impedance_read, dtype=float) - ohms
    within("impedance less resistance", beyond, 0.0, 1e12, "ohm")
    turning = 2.0 * np.pi * within("frequency", frequency, 1e-3, 1e5, "Hz")
    return np.asarray(np.sqrt(beyond * (beyond + 2.0 * ohms)) / turning)


def coil_by_three_voltages(
    source: Number, resistor: Number, coil: Number, ohms: Number, frequency: Number
) -> tuple[Floats, Floats]:
    """Resistance [ohm] and inductance [H] of a coil in a row with a known resistor [ohm].

    From the voltages [V] of the source, across the resistor and across the coil, by the
    triangle they make: cos = (S^2 - R^2 - C^2) / (2 R C) (three-voltmeter method; any textbook
    of alternating current).

    Raises
    ------
    OutsideRangeError
        If no triangle has these sides: a reading is wrong.

    Examples
    --------
    >>> r, l = coil_by_three_voltages(np.hypot(54.0, 3.0), 50.0, 5.0, 50.0, 50.0)
    >>> round(float(r), 6), round(float(l) * 1e3, 2)
    (4.0, 9.55)
    """
    across = within("voltage across the resistor", resistor, 1e-6, 1e4, "V")
    on_coil = within("voltage across the coil", coil, 1e-6, 1e4, "V")
    total = within("voltage of the source", source, 1e-6, 1e4, "V")
    cosine = (np.square(total) - np.square(across) - np.square(on_coil)) / (2.0 * across * on_coil)
    cosine = within("power factor", cosine, -1e-9, 1.0 + 1e-9, "1")
    size = on_coil / across * within("resistor", ohms, 1e-6, 1e9, "ohm")
    sine = np.sqrt(np.maximum(1.0 - np.square(cosine), 0.0))
    turning = 2.0 * np.pi * within("frequency", frequency, 1e-3, 1e5, "Hz")
    return np.asarray(size * cosine), np.asarray(size * sine / turning)
