"""The machine as a circuit: what a meter reads at its parts, and what the mains give it."""

from __future__ import annotations

import numpy as np

from tubside.machine.draws import Values
from tubside.pack.fault_model import Floats
from tubside.physics.electrics import coil, copper, heater, insulation, mains, thermistor

NOMINAL = mains.MAINS["EU"].voltage
"""Mains voltage that motors and heaters are built for [V], unless the model's sheet says so."""
FREQUENCY = mains.MAINS["EU"].frequency
"""Of the mains [Hz]."""
WEAK = 0.85
"""Share of the nominal voltage below which a drive loses torque (common practice, no source)."""
NO_HEATER = 1e5
"""A heater of more ohms than this is none, or an open one."""
PUMP_INDUCTANCE = 1.0
"""Of the winding of a drain pump [H]: a rated current of about 0.6 A at 230 V (common
practice, no source)."""
THERMISTOR_25, THERMISTOR_B = 11.9e3, 3620.0
"""Ohms at 25 C and B [K] of a washer's thermistor: worked out from one service sheet's table."""
CONSTANTS = frozenset({"rated_voltage", "rated_frequency", "thermistor_25", "thermistor_b"})
"""Names of the constants above that a model's sheet may put others in place of."""
SHORT = 1e-2
"""Less than this is taken as a dead short [ohm]."""


def heater_power(values: Values) -> Floats:
    """Power that the heater gives to the water [W], at the voltage left under its own load."""
    ohms = np.maximum(values["heater_resistance"], SHORT)
    left = mains.loaded_voltage(values["mains_voltage"], values["mains_resistance"], ohms)
    return heater.heater_power(ohms, left)


def load_voltage(values: Values) -> Floats:
    """Voltage at the socket while the machine takes the most it can [V].

    That is the heater where there is one, else the motor at work.
    """
    heats = values["heater_resistance"] < NO_HEATER
    ohms = np.where(heats, np.maximum(values["heater_resistance"], SHORT), motor_ohms(values))
    return mains.loaded_voltage(values["mains_voltage"], values["mains_resistance"], ohms)


def strength_of_mains(values: Values) -> Floats:
    """Share of the drive's torque that the mains allow, 0 to 1: the square of the voltage."""
    ohms = motor_ohms(values)
    left = mains.loaded_voltage(values["mains_voltage"], values["mains_resistance"], ohms)
    return np.asarray(np.minimum(np.square(left / (WEAK * _nominal(values))), 1.0))


def motor_ohms(values: Values) -> Floats:
    """The motor at work as a resistance that takes its power at the nominal voltage [ohm]."""
    return heater.heater_ohms(np.maximum(values["running_power"], 1.0), _nominal(values))


def winding_ohms(at_20: Floats, values: Values) -> Floats:
    """What a meter reads at a copper winding in this room [ohm]."""
    return copper.winding_resistance(at_20, values["ambient_temperature"])


def pump_current(values: Values) -> Floats:
    """Current of the drain pump [A]."""
    ohms = winding_ohms(values["pump_coil_resistance"], values)
    frequency = values.get("rated_frequency", FREQUENCY)
    return coil.coil_current(values["mains_voltage"], ohms, PUMP_INDUCTANCE, frequency)


def thermistor_ohms(values: Values) -> Floats:
    """What a meter reads at the thermistor in this room, its error told as temperature [ohm]."""
    told = np.clip(values["ambient_temperature"] + values["thermistor_offset"], 200.0, 500.0)
    return thermistor.b_resistance(
        told,
        values.get("thermistor_25", THERMISTOR_25),
        values.get("thermistor_b", THERMISTOR_B),
    )


def earth_resistance(values: Values) -> Floats:
    """Live parts and heater to earth, side by side [ohm]."""
    parts = (values["insulation"], values["heater_insulation"])
    return insulation.together(*(np.maximum(part, SHORT) for part in parts))


def earth_leakage(values: Values) -> Floats:
    """Current to earth with everything switched on [A]."""
    return insulation.insulation_leakage(earth_resistance(values), values["mains_voltage"])


def leakage(part: Floats, values: Values) -> Floats:
    """Current to earth through one part's insulation [ohm] alone [A]."""
    return insulation.insulation_leakage(np.maximum(part, SHORT), values["mains_voltage"])


def _nominal(values: Values) -> Floats | float:
    """Mains voltage that this model is built for [V]."""
    return values.get("rated_voltage", NOMINAL)
