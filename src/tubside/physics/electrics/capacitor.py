"""Capacitors: how long until they are safe to touch, and their current on the mains."""

from __future__ import annotations

import numpy as np

from tubside.physics.validity import Floats, Number, within

SAFE_PLUG = 34.0
"""Most [V] between the pins of a plug one second after it is pulled: IEC 60335-1, 22.5."""

SAFE_DIRECT = 60.0
"""Most [V] of direct current that is safe to touch: IEC 61010-1, IEC 62368-1 (from memory, 95 %).
A licensed worker's rules may be stricter."""


def peak(voltage: Number) -> Floats:
    """Peak [V] of a sine of a voltage [V] r.m.s.: sqrt 2 times.

    Examples
    --------
    >>> round(float(peak(230.0)), 2)
    325.27
    """
    return np.asarray(np.sqrt(2.0) * within("voltage", voltage, 0.0, 1e4, "V"))


def voltage_left(time: Number, charged: Number, capacitance: Number, resistance: Number) -> Floats:
    """Voltage [V] left of ``charged`` [V] after a time [s]: V exp(-t / RC).

    ``capacitance`` [F], ``resistance`` [ohm] across it. Without a resistor there is no such
    time: a capacitor may hold its charge for days.

    Examples
    --------
    >>> round(float(voltage_left(1.0, 325.27, 0.22e-6, 1e6)), 2)
    3.45
    """
    constant = _constant(capacitance, resistance)
    waited = within("time", time, 0.0, 1e9, "s")
    return np.asarray(within("voltage", charged, 0.0, 1e5, "V") * np.exp(-waited / constant))


def discharge_time(
    charged: Number, safe: Number, capacitance: Number, resistance: Number
) -> Floats:
    """Time [s] until a capacitor has fallen to a safe voltage [V]: RC ln(V / safe).

    0 where it is safe already.

    Examples
    --------
    >>> round(float(discharge_time(peak(230.0), SAFE_PLUG, 0.22e-6, 1e6)), 3)
    0.497
    """
    constant = _constant(capacitance, resistance)
    above = within("voltage", charged, 0.0, 1e5, "V") / within("safe voltage", safe, 1e-3, 1e4, "V")
    return np.asarray(constant * np.log(np.maximum(above, 1.0)))


def capacitor_current(capacitance: Number, voltage: Number, frequency: Number) -> Floats:
    """Current [A] of a capacitor [F] on alternating voltage [V] r.m.s.: 2 pi f C V.

    Examples
    --------
    >>> round(float(capacitor_current(10e-9, 230.0, 50.0)) * 1e3, 4)
    0.7226
    """
    farads = within("capacitance", capacitance, 0.0, 1.0, "F")
    turning = 2.0 * np.pi * within("frequency", frequency, 0.0, 1e5, "Hz")
    return np.asarray(turning * farads * within("voltage", voltage, 0.0, 1e4, "V"))


def capacitance_of(current: Number, voltage: Number, frequency: Number) -> Floats:
    """Capacitance [F] from current [A] and voltage [V]: I / (2 pi f V).

    Examples
    --------
    >>> round(float(capacitance_of(1.156, 230.0, 50.0)) * 1e6, 1)
    16.0
    """
    turning = 2.0 * np.pi * within("frequency", frequency, 1e-3, 1e5, "Hz")
    amps = within("current", current, 0.0, 1e3, "A")
    return np.asarray(amps / (turning * within("voltage", voltage, 1e-3, 1e4, "V")))


def _constant(capacitance: Number, resistance: Number) -> Floats:
    farads = within("capacitance", capacitance, 1e-15, 1.0, "F")
    return np.asarray(farads * within("resistance", resistance, 1e-3, 1e15, "ohm"))
