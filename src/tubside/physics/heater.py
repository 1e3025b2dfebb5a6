"""Water in a tub on a heater: rise, time, and the loss to the room."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.physics import water
from tubside.physics.validity import Floats, Number, within

COTTON = 1285.0
"""Specific heat capacity of dry cotton [J/(kg K)]: the middle of 1220 to 1350 (Morton and
Hearle, Physical Properties of Textile Fibres, section 6.2.1, table 6.1)."""
STEEL = 500.0
"""Specific heat capacity of stainless steel [J/(kg K)], from memory."""


@dataclass(frozen=True, slots=True)
class Bath:
    """What is heated: heat capacity [J/K], loss to the room [W/K], the room [K]."""

    capacity: Number
    loss: Number
    room: Number


def bath_capacity(volume: Number, temperature: Number, cotton: Number, steel: Number) -> Floats:
    """Heat capacity [J/K] of water [m3] at a middle temperature [K], laundry and tub [kg].

    Examples
    --------
    >>> round(float(bath_capacity(15e-3, 313.15, 3.0, 8.0)) / 1e3, 1)
    70.1
    """
    held = within("volume", volume, 0.0, 1.0, "m3")
    wet = held * water.density(temperature) * water.heat_capacity(temperature)
    dry = within("laundry", cotton, 0.0, 50.0, "kg") * COTTON
    return np.asarray(wet + dry + within("steel", steel, 0.0, 100.0, "kg") * STEEL)


def heated(bath: Bath, power: Number, start: Number, seconds: Number) -> Floats:
    """Temperature [K] after heating with ``power`` [W] for ``seconds`` from ``start`` [K].

    C dT/dt = P - U (T - T_room) gives T = T_end + (T_start - T_end) exp(-U t/C), T_end =
    T_room + P/U (lumped capacity; Incropera, Fundamentals of Heat and Mass Transfer, section
    5.3). True while the water is stirred and below boiling; above 100 C it stays there.

    Raises
    ------
    OutsideRangeError
        If power, time, loss or capacity cannot be.

    Examples
    --------
    >>> bath = Bath(capacity=70e3, loss=5.0, room=293.15)
    >>> round(float(heated(bath, 2000.0, 288.15, 1200.0)) - 273.15, 1)
    48.3
    """
    capacity = within("heat capacity", bath.capacity, 1.0, 1e8, "J/K")
    time = within("time", seconds, 0.0, 1e7, "s")
    loss = within("loss", bath.loss, 0.0, 1e4, "W/K")
    net = _net_power(bath, power, start)
    rise = net / capacity * time * _falling(loss * time / capacity)
    return np.asarray(np.minimum(np.asarray(start) + rise, water.BOILING))


def heating_time(bath: Bath, power: Number, start: Number, end: Number) -> Floats:
    """Seconds to heat from ``start`` to ``end`` [K]; 0 if already there, infinite if never.

    Inverse of `heated`: t = -(C/U) ln(1 - U (T_end - T_start)/(P - U (T_start - T_room))).

    Examples
    --------
    >>> bath = Bath(capacity=70e3, loss=5.0, room=293.15)
    >>> round(float(heating_time(bath, 2000.0, 288.15, heated(bath, 2000.0, 288.15, 1200.0))))
    1200
    """
    capacity = within("heat capacity", bath.capacity, 1.0, 1e8, "J/K")
    loss = within("loss", bath.loss, 0.0, 1e4, "W/K")
    rise = np.maximum(np.asarray(end, dtype=float) - start, 0.0)
    net = _net_power(bath, power, start)
    possible = (net > 0.0) & (loss * rise < net)
    safe = np.where(possible, net, 1.0)
    share = np.where(possible, loss * rise / safe, 0.0)
    seconds = capacity * rise / safe * _rising(share)
    return np.asarray(np.where(rise == 0.0, 0.0, np.where(possible, seconds, np.inf)))


def rise_rate(bath: Bath, power: Number, temperature: Number) -> Floats:
    """Rise [K/s] at a temperature [K]: (P - U (T - T_room))/C.

    Examples
    --------
    >>> round(float(rise_rate(Bath(70e3, 5.0, 293.15), 2000.0, 313.15)) * 60, 2)
    1.63
    """
    capacity = within("heat capacity", bath.capacity, 1.0, 1e8, "J/K")
    return np.asarray(_net_power(bath, power, temperature) / capacity)


def _net_power(bath: Bath, power: Number, temperature: Number) -> Floats:
    given = within("power", power, 0.0, 1e5, "W")
    warm = within("temperature", temperature, 253.15, water.BOILING, "K")
    return np.asarray(given - np.asarray(bath.loss) * (warm - np.asarray(bath.room)))


def _falling(x: Floats) -> Floats:
    """(1 - exp(-x))/x, 1 at 0."""
    small = np.maximum(x, 1e-12)
    return np.asarray(-np.expm1(-small) / small)


def _rising(x: Floats) -> Floats:
    """-ln(1 - x)/x, 1 at 0."""
    small = np.maximum(x, 1e-12)
    return np.asarray(-np.log1p(-small) / small)
