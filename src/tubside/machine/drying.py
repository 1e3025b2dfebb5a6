"""A whole run of a dryer, for many machines at once: air, heat, drying, the end of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from tubside.machine import circuit
from tubside.machine.draws import Values
from tubside.machine.drying_air import Moved, moved
from tubside.machine.inlet import HALF
from tubside.pack.fault_model import Floats
from tubside.physics import drying, heater, moist_air
from tubside.physics.drying import CRITICAL, REGAIN, Dried, Stream
from tubside.physics.electrics import heater as element
from tubside.physics.electrics import mains

Limits = Mapping[str, float]
"""The controller's time-outs and limits by name, SI."""

LOST = 6.0
"""Heat that heater housing and cabinet give to the room for each kelvin of the hot air [W/K]
(common practice, no source: a tenth of the heat at ordinary air)."""
ORDINARY = 0.055
"""Flow at which `drum_transfer` is stated [m3/s], about 200 m3/h."""
WITH_FLOW = 0.6
"""Power of the flow with which the heat to the laundry grows (Incropera, section 7.4: 0.5 to
0.8 for blown surfaces, from memory)."""
UNEVEN, HELD_BELOW = 1.6, 10.0
"""The high limit sits where the air is hottest: it sees so many times the mean rise, and shuts
again so far below its mark that the mean lies this lower [K] (common practice, no source)."""
DRUM = 6e3
"""Heat capacity of drum and cabinet that warm with the air [J/K] (common practice, no source:
12 kg of steel)."""
LIFTED = 1.3
"""Torque that a kilogram of falling laundry takes at the drum [N m/kg]: half the weight at a
radius of 0.27 m (our choice, no source)."""
STEPS = 8
"""Steps of moisture in which the falling rate is played."""
ROUNDS = 6
"""Rounds in which the air that goes round over an exchanger settles."""
EXCHANGED = 0.75
"""Share of the way to the room's temperature that a clean exchanger cools (common practice, no
source)."""
OPEN = 1e4
"""Ohms of a winding above which it is broken."""
NEVER = 1e6
"""A time longer than this is never [s]."""


@dataclass(frozen=True, slots=True)
class Run:
    """One run of D machines; arrays (D,)."""

    values: Values
    air: Moved
    warm: Floats  # K, air behind the drum once all is warm and the laundry wet
    hottest: Floats  # K, air behind the drum where nothing is left to dry
    rate: Floats  # kg/s while the laundry is wet
    power: Floats  # W of the heater meanwhile
    needed: Floats  # s to the moisture at which the control is content; infinite where never
    seconds: Floats  # s of drying until it ends or is ended
    wet_seconds: Floats  # s of them at the constant rate, warming up included
    moisture: Floats  # kg/kg at the end
    margin: Floats  # how many times the motor covers what the drum needs

    @property
    def count(self) -> int:
        """Number of machines, D."""
        return int(self.moisture.size)

    @property
    def dried(self) -> Floats:
        """Water that left the laundry [kg]."""
        lost = np.maximum(self.values["load_moisture"] - self.moisture, 0.0)
        return np.asarray(self.values["load_mass"] * lost)

    @property
    def condensed(self) -> Floats:
        """Water that comes to the tank, where there is one [kg]."""
        return np.asarray(self.values["air_kept"] * self.dried)

    @property
    def in_the_room(self) -> Floats:
        """Water that stayed in the room [kg]."""
        return np.asarray((1.0 - self.values["air_kept"]) * self.dried)


def heater_power(values: Values) -> Floats:
    """Power of the element [W]: fuse, limit and thermostat lie in a row with it."""
    ohms = np.maximum(values["heater_resistance"], circuit.SHORT)
    contacts = values["fuse_resistance"] + values["limit_resistance"]
    whole = ohms + contacts + values["thermostat_resistance"]
    left = mains.loaded_voltage(values["mains_voltage"], values["mains_resistance"], whole)
    return np.minimum(element.heater_power(whole, left) * ohms / whole, 1e5)


def run(values: Values, controller: Limits) -> Run:
    """Play one run, from a load of washing to dry, damp or stopped.

    Parameters
    ----------
    values
        D machines (see :func:`tubside.machine.draws.values_with`).
    controller
        The family's or the model's limits.
    """
    air, power = moved(values), heater_power(values)
    wet = steady(values, air, power, values["load_moisture"])
    stop = controller["dry_target"] - values["moisture_offset"]
    longest = controller["dry_timeout"]
    moisture, needed, wet_for = until(values, (air, power), wet, stop, longest)
    dry = steady(values, air, power, np.full_like(moisture, REGAIN))
    return Run(
        values=values,
        air=air,
        warm=_behind(values, wet),
        hottest=_behind(values, dry),
        rate=wet.rate,
        power=wet.power,
        needed=needed,
        seconds=np.minimum(needed, longest),
        wet_seconds=np.minimum(wet_for, longest),
        moisture=moisture,
        margin=margin(values),
    )


def steady(values: Values, air: Moved, power: Floats, moisture: Floats) -> Dried:
    """Drying at one moisture, with the air's own way through drum and exchanger settled."""
    room, water = values["ambient_temperature"], room_ratio(values)
    mass = np.maximum(values["drum_tight"] * air.mass, 1e-5)
    off = np.maximum(values["thermostat_opens"] - values["thermistor_offset"], room)
    transfer = values["drum_transfer"] * (air.flow / ORDINARY) ** WITH_FLOW
    share = drying.wet_share(moisture)
    before = Stream(mass, room, water)
    inside = values["vented"] <= HALF
    for _ in range(ROUNDS if inside.any() else 1):
        effect = drying.effectiveness(transfer, before.capacity) * share
        most = hottest_air(values, before)
        found = drying.dried(before, to_the_air(power, before), effect, most, off)
        before = _round(values, before, found) if inside.any() else before
    return found


def to_the_air(power: Floats, before: Stream) -> Floats:
    """What of the heater's power [W] goes into the drum: the rest warms housing and room."""
    return np.asarray(power * before.capacity / (before.capacity + LOST))


def hottest_air(values: Values, before: Stream) -> Floats:
    """Mean air before the drum at which the high limit switches [K]."""
    start = np.asarray(before.temperature)
    rise = np.maximum(values["limit_opens"] - HELD_BELOW - start, 0.0) / UNEVEN
    return np.asarray(np.minimum(start + rise, moist_air.WARMEST))


def _round(values: Values, before: Stream, found: Dried) -> Stream:
    """The air of a machine without a duct when it comes back from its exchanger."""
    room, inside = values["ambient_temperature"], values["vented"] <= HALF
    share = EXCHANGED * values["exchanger_open"]
    cooled = np.clip(found.outlet - share * (found.outlet - room), room, 363.15)
    water = np.minimum(found.ratio, moist_air.saturated_ratio(np.clip(cooled, 274.0, 363.15)))
    temperature = np.where(inside, 0.5 * (cooled + before.temperature), before.temperature)
    ratio = np.where(inside, 0.5 * (water + before.ratio), before.ratio)
    return Stream(before.dry_flow, temperature, ratio)


def room_ratio(values: Values) -> Floats:
    """Water in the room's air [kg/kg]."""
    kelvin = np.maximum(values["ambient_temperature"], 273.15)
    return moist_air.humidity_ratio(values["room_humidity"] * moist_air.saturation_pressure(kelvin))


def _behind(values: Values, found: Dried) -> Floats:
    """Air at the outlet [K]: what went through the drum, and what leaked past it."""
    tight = values["drum_tight"]
    return np.asarray(tight * found.outlet + (1.0 - tight) * values["ambient_temperature"])


def until(
    values: Values, heat: tuple[Moved, Floats], wet: Dried, stop: Floats, longest: float | Floats
) -> tuple[Floats, Floats, Floats]:
    """Moisture at the end, time needed to ``stop``, and time of the constant rate.

    ``heat`` is the air moved and the heater's power [W], ``stop`` the true moisture at which the
    control is content, ``longest`` when it ends in any case [s].
    """
    start, mass = values["load_moisture"], np.maximum(values["load_mass"], 0.1)
    goal = np.minimum(np.maximum(stop, REGAIN + 1e-3), start)
    bend = np.maximum(np.minimum(start, CRITICAL), goal)
    warming = _warming(values, wet, heat[1])
    spent = warming + mass * (start - bend) / np.maximum(wet.rate, 1e-12)
    wet_for = spent
    moisture = start - (start - bend) * _part(longest - warming, spent - warming)
    for step in range(STEPS):
        high = bend + (goal - bend) * step / STEPS
        low = bend + (goal - bend) * (step + 1) / STEPS
        rate = steady(values, *heat, 0.5 * (high + low)).rate
        took = mass * (high - low) / np.maximum(rate, 1e-12)
        moisture = moisture - (high - low) * _part(longest - spent, took)
        spent = spent + took
    never = (stop < REGAIN) | (spent > NEVER)
    return moisture, np.where(never, np.inf, spent), np.minimum(wet_for, NEVER)


def moisture_at(run: Run, times: Floats) -> tuple[Floats, Floats, Floats]:
    """Moisture, outlet [K] and heater [W] of the first machine at some times [s].

    Played anew with one time for each copy of the machine, each ended at its own time; the
    outlet warms from the room in the first minutes as drum and laundry do.
    """
    count = times.size
    values = {name: np.repeat(value[:1], count) for name, value in run.values.items()}
    air, power = moved(values), heater_power(values)
    wet = steady(values, air, power, values["load_moisture"])
    stop = np.full(count, REGAIN + 2e-3)
    moisture, _, _ = until(values, (air, power), wet, stop, times)
    found = steady(values, air, power, moisture)
    room = values["ambient_temperature"]
    warmed = -np.expm1(-times / np.maximum(0.5 * _warming(values, wet, power), 1.0))
    outlet = room + (_behind(values, found) - room) * warmed
    return moisture, outlet, found.power


def _part(left: Floats, took: Floats) -> Floats:
    """Share of a step that is done in the time left."""
    return np.clip(left / np.maximum(took, 1e-9), 0.0, 1.0)


def _warming(values: Values, wet: Dried, power: Floats) -> Floats:
    """Time in which drum and wet laundry warm, before it dries [s]."""
    room = values["ambient_temperature"]
    cloth = heater.COTTON + moist_air.LIQUID_HEAT * values["load_moisture"]
    heat = (DRUM + values["load_mass"] * cloth) * np.maximum(wet.surface - room, 0.0)
    return np.minimum(heat / np.maximum(power, 1.0), NEVER)


def margin(values: Values) -> Floats:
    """How many times the motor's torque at the drum covers load and drag; none without belt."""
    whole = np.where(values["winding_resistance"] < OPEN, circuit.strength_of_mains(values), 0.0)
    torque = values["drum_turns"] * values["motor_torque"] * whole
    return np.asarray(torque / (values["bearing_drag"] + LIFTED * values["load_mass"] + 1e-9))
