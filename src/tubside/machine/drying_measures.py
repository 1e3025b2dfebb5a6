"""What can be measured at a dryer, each by the formula a technician uses."""

from __future__ import annotations

import numpy as np

from tubside.machine import circuit
from tubside.machine.draws import Values
from tubside.machine.drying import (
    DRUM,
    NEVER,
    heater_power,
    hottest_air,
    room_ratio,
    steady,
    to_the_air,
    until,
)
from tubside.machine.drying_air import moved
from tubside.pack.fault_model import Floats
from tubside.physics import drying
from tubside.physics.drying import Stream
from tubside.physics.electrics import mains

EMPTY_TRANSFER = 50.0
"""Heat from air to an empty drum for each kelvin [W/K] (common practice, no source)."""
WATCHED = 600.0
"""Time after which the outlet's temperature is read [s]."""
WARM = 318.15
"""Air behind an empty drum is called warm at this [K]."""
WEIGHED = 1800.0
"""Time between two weighings of the laundry [s]."""
DRY = 0.1
"""Moisture at which a load is called dry [kg/kg]."""
WAITED = 18000.0
"""A load that takes longer, or never comes to its end, reads as this [s]."""
LONGEST = 3600.0
"""Nobody waits longer for warm air [s]."""


def outlet_speed(values: Values) -> Floats:
    """Mean speed of the air in the duct's end outdoors [m/s]."""
    area = 0.25 * np.pi * np.square(values["duct_bore"])
    return np.asarray(moved(values).outside / area)


def outlet_after(values: Values) -> Floats:
    """Air behind an empty drum after :data:`WATCHED` of heat [K]."""
    return _empty(values, np.full_like(values["fan_flow"], WATCHED))


def seconds_to_warm(values: Values) -> Floats:
    """Time until the air behind an empty drum is :data:`WARM`; at most an hour [s]."""
    hot, drum, share, rate = _empty_drum(values)
    tight, room = values["drum_tight"], values["ambient_temperature"]
    needed = (WARM - (1.0 - tight) * room) / np.maximum(tight, 1e-3)
    # outlet = hot - share (hot - room) exp(-rate t), so solve for t
    part = (hot - needed) / np.maximum(share * (hot - drum), 1e-9)
    with np.errstate(divide="ignore", invalid="ignore"):
        seconds = np.where(part > 0.0, -np.log(np.maximum(part, 1e-30)) / rate, NEVER)
    return np.clip(np.where(needed <= room, 0.0, seconds), 0.0, LONGEST)


def dried_in_half_an_hour(values: Values) -> Floats:
    """Water that a wet load loses in :data:`WEIGHED`, once warm [kg]."""
    power = heater_power(values)
    wet = np.maximum(values["load_moisture"], drying.CRITICAL)
    rate = steady(values, moved(values), power, wet).rate
    return np.minimum(rate * WEIGHED, values["load_mass"] * values["load_moisture"])


def drying_time(values: Values) -> Floats:
    """Time in which the load comes to what its sensor calls dry; at most five hours [s]."""
    air, power = moved(values), heater_power(values)
    wet = steady(values, air, power, values["load_moisture"])
    _, needed, _ = until(values, (air, power), wet, DRY - values["moisture_offset"], WAITED)
    return np.minimum(needed, WAITED)


def heater_current(values: Values) -> Floats:
    """Current of the heater [A]."""
    ohms = np.maximum(values["heater_resistance"], circuit.SHORT)
    return np.sqrt(heater_power(values) / ohms)


def load_voltage(values: Values) -> Floats:
    """Voltage at the socket while motor and heater run [V]."""
    whole = np.maximum(values["heater_resistance"], circuit.SHORT) + (
        values["fuse_resistance"] + values["limit_resistance"] + values["thermostat_resistance"]
    )
    both = 1.0 / (1.0 / whole + 1.0 / circuit.motor_ohms(values))
    return mains.loaded_voltage(values["mains_voltage"], values["mains_resistance"], both)


def _empty(values: Values, seconds: Floats) -> Floats:
    hot, drum, share, rate = _empty_drum(values)
    outlet = hot - share * (hot - drum) * np.exp(-rate * seconds)
    off = np.maximum(
        values["thermostat_opens"] - values["thermistor_offset"], values["ambient_temperature"]
    )
    tight = values["drum_tight"]
    mixed = tight * np.minimum(outlet, off) + (1.0 - tight) * values["ambient_temperature"]
    return np.asarray(mixed)


def _empty_drum(values: Values) -> tuple[Floats, Floats, Floats, Floats]:
    """Air before the drum, the drum at first [K], share of the way, rate of warming [1/s].

    A dry drum takes e m c (T1 - Td) and warms by it: Td nears T1 at the rate e m c / C.
    """
    room = values["ambient_temperature"]
    mass = np.maximum(values["drum_tight"] * moved(values).mass, 1e-5)
    before = Stream(mass, room, room_ratio(values))
    capacity = before.capacity
    rise = to_the_air(heater_power(values), before) / capacity
    hot = np.minimum(room + rise, hottest_air(values, before))
    share = drying.effectiveness(np.full_like(capacity, EMPTY_TRANSFER), capacity)
    return hot, room, share, np.asarray(share * capacity / DRUM)
