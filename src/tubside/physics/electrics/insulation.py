"""From insulation to leakage current and back: what a resistance to earth lets through."""

from __future__ import annotations

import numpy as np

from tubside.physics.electrics.capacitor import capacitor_current
from tubside.physics.validity import Floats, Number, within


def insulation_leakage(insulation: Number, voltage: Number) -> Floats:
    """Current [A] through an insulation resistance [ohm] at a voltage [V]: V / R.

    Insulation is tested with direct current; on the mains the capacitance to earth adds
    (see ``earth_leakage``), and moist insulation conducts more at more volts.

    Examples
    --------
    >>> round(float(insulation_leakage(1e6, 230.0)) * 1e3, 3)
    0.23
    """
    ohms = within("insulation", insulation, 1e-3, 1e15, "ohm")
    return np.asarray(within("voltage", voltage, 0.0, 1e4, "V") / ohms)


def earth_leakage(
    insulation: Number, capacitance: Number, voltage: Number, frequency: Number
) -> Floats:
    """Leakage [A] through insulation [ohm] and capacitance [F] to earth together.

    The two stand a quarter turn apart: sqrt((V / R)^2 + (2 pi f C V)^2).

    Examples
    --------
    >>> round(float(earth_leakage(1e6, 10e-9, 230.0, 50.0)) * 1e3, 3)
    0.758
    """
    through = insulation_leakage(insulation, voltage)
    return np.asarray(np.hypot(through, capacitor_current(capacitance, voltage, frequency)))


def together(*insulations: Number) -> Floats:
    """Insulation [ohm] of parts side by side: 1 / (1/R1 + 1/R2 + ...).

    Examples
    --------
    >>> float(together(2e6, 2e6))
    1000000.0
    """
    leaks = [1.0 / within("insulation", each, 1e-3, 1e15, "ohm") for each in insulations]
    return np.asarray(1.0 / np.sum(np.broadcast_arrays(*leaks), axis=0))
