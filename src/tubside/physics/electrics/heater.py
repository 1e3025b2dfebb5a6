"""A heating element: watts, volts, ohms. Its wire hardly changes with temperature."""

from __future__ import annotations

import numpy as np

from tubside.physics.validity import Floats, Number, within


def heater_ohms(power: Number, voltage: Number) -> Floats:
    """Resistance [ohm] of an element rated for a power [W] at a voltage [V]: V^2 / P.

    Hot; cold it reads up to 5 % less (nickel-chromium; common practice, no source).

    Examples
    --------
    >>> float(heater_ohms(2000.0, 230.0))
    26.45
    """
    volts = within("voltage", voltage, 1.0, 1000.0, "V")
    return np.asarray(np.square(volts) / within("power", power, 1e-3, 1e5, "W"))


def heater_power(ohms: Number, voltage: Number) -> Floats:
    """Power [W] of an element [ohm] at a voltage [V]: V^2 / R.

    Examples
    --------
    >>> round(float(heater_power(26.45, 207.0)), 6)
    1620.0
    """
    volts = within("voltage", voltage, 0.0, 1000.0, "V")
    return np.asarray(np.square(volts) / within("resistance", ohms, 1e-3, 1e12, "ohm"))
