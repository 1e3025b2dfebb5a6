"""The heat stage: the water warms until the controller's sensor is content."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.machine.circuit import heater_power
from tubside.machine.draws import Values
from tubside.pack.fault_model import Floats
from tubside.physics.heater import Bath, bath_capacity, heated, heating_time
from tubside.physics.standard import ICE_POINT
from tubside.physics.water import BOILING

STEEL = 8.0
"""Steel that warms with the water [kg] (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Warmed:
    """One heat stage; arrays (D,)."""

    bath: Bath
    power: Floats  # W into the water
    needed: Floats  # s until the sensor is content, infinite where never
    seconds: Floats  # s that it heated
    start: Floats  # K
    temperature: Floats  # K at the end


def bath_of(values: Values, volume: Floats, temperature: Floats) -> Bath:
    """What the heater has to warm: water [m3], laundry and steel, in this room."""
    middle = np.clip(0.5 * (temperature + values["wash_target"]), ICE_POINT, BOILING)
    capacity = bath_capacity(np.clip(volume, 0.0, 1.0), middle, values["load_mass"], STEEL)
    return Bath(capacity, values["heat_loss"], values["ambient_temperature"])


def warm(values: Values, volume: Floats, start: Floats, longest: float) -> Warmed:
    """Heat ``volume`` [m3] from ``start`` [K] until the sensor reads the program's target.

    A sensor that reads too high ends it too soon, one that reads too low too late or never.
    """
    bath = bath_of(values, volume, start)
    power = np.minimum(heater_power(values), 1e5)
    end = np.clip(values["wash_target"] - values["thermistor_offset"], ICE_POINT, BOILING)
    needed = heating_time(bath, power, start, end)
    seconds = np.minimum(needed, longest)
    return Warmed(bath, power, needed, seconds, start, heated(bath, power, start, seconds))
