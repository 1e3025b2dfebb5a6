"""Hot water on its way: the dead leg of the pipe, and a store that runs cool."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.physics import water
from tubside.physics.validity import Floats, Number, within

COPPER = 8960.0 * 385.0
"""Heat capacity of a volume of copper [J/(m3 K)], from memory."""
TINY = 1e-12  # m3, so that nothing drawn has a temperature too


def dead_leg(bore: Number, length: Number) -> Floats:
    """Water [m3] in a pipe of a bore and a length [m]: pi/4 d^2 L.

    Examples
    --------
    A metre of 15 mm and of 22 mm copper tube (EN 1057: walls of 0.7 and 0.9 mm) in litres:

    >>> [round(float(dead_leg(d, 1.0)) * 1e3, 3) for d in (0.0136, 0.0202)]
    [0.145, 0.32]
    """
    wide = within("bore", bore, 0.0, 0.2, "m")
    return np.asarray(0.25 * np.pi * np.square(wide) * within("length", length, 0.0, 500.0, "m"))


def pipe_length(volume: Number, bore: Number) -> Floats:
    """Length [m] of pipe that holds a volume [m3]; inverse of `dead_leg`.

    Examples
    --------
    >>> [round(float(pipe_length(4e-3, d)), 1) for d in (0.0136, 0.0202)]
    [27.5, 12.5]
    """
    wide = within("bore", bore, 1e-3, 0.2, "m")
    return np.asarray(within("volume", volume, 0.0, 1.0, "m3") / (0.25 * np.pi * wide**2))


def wall_delay(bore: Number, wall: Number) -> Floats:
    """How many times its own water must run through a cold copper pipe before hot arrives.

    The front of heat warms the wall as well: 1 + (rho c A)_wall / (rho c A)_water. Worked out
    from an energy balance with a sharp front and no loss to the room; a real front is blunt,
    so that luke-warm water comes first.

    Examples
    --------
    >>> round(float(wall_delay(0.0136, 0.0007)), 2)
    1.18
    """
    wide = within("bore", bore, 1e-3, 0.2, "m")
    thick = within("wall", wall, 0.0, 0.02, "m")
    per_water = float(water.density(303.15) * water.heat_capacity(303.15))
    return np.asarray(1.0 + COPPER * (np.square(wide + 2 * thick) - wide**2) / wide**2 / per_water)


def time_to_hot(cold_water: Number, flow: Number) -> Floats:
    """Seconds until hot arrives: the cold water before it [m3] by the flow [m3/s].

    Infinite without flow.

    Examples
    --------
    >>> round(float(time_to_hot(4e-3, 8 / 60e3)))
    30
    """
    ahead = within("water before the hot", cold_water, 0.0, 1.0, "m3")
    running = within("flow", flow, 0.0, 1.0, "m3/s")
    shape = np.broadcast_shapes(ahead.shape, running.shape)
    endless = np.where(np.broadcast_to(ahead, shape) > 0.0, np.inf, 0.0)
    return np.asarray(np.divide(ahead, running, out=endless, where=running > 0.0))


@dataclass(frozen=True, slots=True)
class HotSupply:
    """What comes from the hot tap, in this order: pipe, store, then the cold that refills it.

    Temperatures [K]; ``dead_leg`` and ``store`` [m3] are the cold water before the hot and
    the hot before it runs cool.
    """

    hot: Number
    cold: Number
    pipe: Number
    dead_leg: Number
    store: Number


def tap_temperature(supply: HotSupply, drawn: Number) -> Floats:
    """Temperature [K] at the hot tap after ``drawn`` [m3], with sharp fronts in between.

    A good store keeps its layers (piston flow), so that hot stays hot until it ends; see
    `stirred_store` for one that does not.

    Examples
    --------
    >>> supply = HotSupply(hot=333.15, cold=287.15, pipe=293.15, dead_leg=4e-3, store=90e-3)
    >>> [float(tap_temperature(supply, litres / 1e3)) for litres in (1, 10, 100)]
    [293.15, 333.15, 287.15]
    """
    gone = within("water drawn", drawn, 0.0, 10.0, "m3")
    ended = np.asarray(supply.dead_leg) + supply.store
    late = np.where(gone < ended, supply.hot, supply.cold)
    return np.asarray(np.where(gone < supply.dead_leg, supply.pipe, late))


def drawn_temperature(supply: HotSupply, drawn: Number) -> Floats:
    """Temperature [K] of all the water [m3] drawn from the hot tap, mixed in the tub.

    Pipe, hot and refill water by mass and enthalpy, as in `mixing.mixed_temperature`; of
    nothing drawn, the pipe's.

    Examples
    --------
    Twenty litres, of which the first four stood in the pipe at 20 C:

    >>> supply = HotSupply(hot=333.15, cold=287.15, pipe=293.15, dead_leg=4e-3, store=90e-3)
    >>> round(float(drawn_temperature(supply, 20e-3)) - 273.15, 1)
    51.9
    """
    gone = within("water drawn", drawn, 0.0, 10.0, "m3")
    first = np.minimum(gone, supply.dead_leg)
    hot = np.clip(gone - supply.dead_leg, 0.0, supply.store)
    last = np.maximum(gone - first - hot, 0.0)
    mass, heat = np.zeros(()), np.zeros(())
    for volume, temperature in (
        (first + TINY, supply.pipe),
        (hot, supply.hot),
        (last, supply.cold),
    ):
        part = volume * water.density(temperature)
        mass, heat = mass + part, heat + part * water.enthalpy(temperature)
    return water.temperature_of_enthalpy(heat / mass)


def stirred_store(hot: Number, cold: Number, volume: Number, drawn: Number) -> Floats:
    """Temperature [K] out of a fully mixed store of ``volume`` [m3] after ``drawn`` [m3].

    T = T_cold + (T_hot - T_cold) exp(-drawn/volume): each litre of cold mixes at once
    (stirred tank; density and heat capacity taken as constant, below 1 % of the rise).

    Examples
    --------
    >>> round(float(stirred_store(333.15, 288.15, 0.1, 0.1)) - 273.15, 2)
    31.55
    """
    held = within("volume of the store", volume, 1e-4, 10.0, "m3")
    gone = within("water drawn", drawn, 0.0, 10.0, "m3")
    span = np.asarray(hot, dtype=float) - cold
    return np.asarray(np.asarray(cold) + span * np.exp(-gone / held))
