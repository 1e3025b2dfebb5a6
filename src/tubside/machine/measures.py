"""Readings that take more than one formula: filling, draining, warming, watched to the end."""

from __future__ import annotations

import numpy as np

from tubside.machine import circuit, inlet, outlet
from tubside.machine.draws import Values
from tubside.machine.emptying import Emptying, drain_time, empty
from tubside.machine.fill import Fill, Filling, fill
from tubside.machine.tub import empty_level, held_at_most
from tubside.machine.warming import bath_of, warm
from tubside.pack.fault_model import Floats
from tubside.physics.heater import rise_rate
from tubside.physics.hot_supply import time_to_hot
from tubside.physics.level import bell_pressure, pressure_drop

WATCHED = 1800.0
"""Nobody watches longer: what takes longer, or never comes, reads as this [s]."""
STANDING = 300.0
"""Water is called standing when it is there after so long a drain [s]."""
LOSS_TIME = 60.0
"""Time over which a level sensor's pressure is watched [s]."""


def filled_tub(values: Values) -> Fill:
    """The first fill of a warm wash, watched to the end."""
    rim = values["level_target"] + 0.2
    filling = Filling(empty_level(values), held_at_most(values), WATCHED, rim, warm=True)
    return fill(values, filling)


def seconds_to_hot(values: Values) -> Floats:
    """Seconds until hot runs from the hot hose."""
    line = inlet.hot_line(values)
    return np.minimum(time_to_hot(line.late, inlet.hose_end_flow(line)), WATCHED)


def wash_temperature(values: Values) -> Floats:
    """Of the fill, or where there is a heater, after it has done what it can."""
    filled = filled_tub(values)
    volume = np.maximum(filled.cold + filled.hot - filled.ran_out, 1e-4)
    heated = warm(values, volume, filled.temperature, 2.0 * WATCHED)
    has_heater = values["heater_resistance"] < circuit.NO_HEATER
    return np.where(has_heater, heated.temperature, filled.temperature)


def standing_level(values: Values) -> Floats:
    """Water left over the bell after a drain from the target [m]."""
    start = values["level_target"]
    watched = Emptying(start, np.zeros_like(start), STANDING, STANDING, 0.0)
    return np.maximum(empty(values, watched).left, 0.0)


def level_pressure(values: Values) -> Floats:
    """At the air bell when the controller stops the fill, trusting its sensor [Pa]."""
    return bell_pressure(np.clip(values["level_target"] - values["level_offset"], 0.0, 2.0))


def level_drop(values: Values) -> Floats:
    """Pressure that the air bell loses in :data:`LOSS_TIME` [Pa]."""
    return pressure_drop(values["level_target"], values["bell_leak"], LOSS_TIME)


def heater_rise(values: Values) -> Floats:
    """From the middle between cold and the program's temperature, filled to the target [K/s]."""
    volume = values["tub_area"] * values["level_target"] + values["sump_volume"]
    volume = volume + held_at_most(values)
    middle = 0.5 * (values["cold_temperature"] + values["wash_target"])
    bath = bath_of(values, volume, values["cold_temperature"])
    return rise_rate(bath, np.minimum(circuit.heater_power(values), 1e5), middle)


def inlet_flow(values: Values) -> Floats:
    """Flow through both valves [m3/s]."""
    ways = inlet.inlets(values)
    return ways.cold_flow + ways.hot_flow


def seconds_to_drain(values: Values) -> Floats:
    """Time from the target down to the air bell's mouth [s]."""
    return np.minimum(drain_time(values, values["level_target"], 0.0), WATCHED)


def drain_flow(values: Values) -> Floats:
    """Flow from the drain hose with the tub half full [m3/s]."""
    return outlet.pumped_flow(values, 0.5 * values["level_target"])
