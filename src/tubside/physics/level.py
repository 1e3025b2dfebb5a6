"""Level of water: pressure of its depth, and the air bell of a level sensor.

The bell is a chamber open below, joined by a hose to a pressure switch or sensor. Water that
reaches its mouth shuts the air in; from there the air is squeezed as the water rises.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.physics.standard import ATMOSPHERE, STANDARD_GRAVITY
from tubside.physics.validity import Floats, Number, within

ROOM_WATER = 998.2


@dataclass(frozen=True, slots=True)
class Bell:
    """An air bell: area [m2] and height [m]; volume [m3] and area [m2] of hose and sensor.

    The hose's area matters only once water has filled the bell and climbs in the hose.
    Sizes: common practice, no source.
    """

    area: Number = 20e-4
    height: Number = 0.060
    hose_volume: Number = 10e-6
    hose_area: Number = 12.6e-6

    @property
    def air(self) -> Floats:
        """Air shut in when the water reaches the mouth [m3]."""
        inside = within("area of the bell", self.area, 1e-6, 1.0, "m2") * self.height
        return np.asarray(inside + within("volume of the hose", self.hose_volume, 1e-9, 1.0, "m3"))


USUAL_BELL = Bell()


def water_pressure(depth: Number, density: Number = ROOM_WATER) -> Floats:
    """Pressure [Pa] above the air's at a depth [m]: rho g h.

    Examples
    --------
    100 mm of water of 1000 kg/m3, exactly:

    >>> round(float(water_pressure(0.1, 1000.0)), 9)
    980.665
    """
    return np.asarray(np.asarray(density) * STANDARD_GRAVITY * within("depth", depth, 0, 100, "m"))


def bell_rise(
    depth: Number, bell: Bell = USUAL_BELL, density: Number = ROOM_WATER, air: Number = 1.0
) -> Floats:
    """How far water stands inside the bell and its hose over the mouth [m].

    Boyle: (p0 + rho g (h - x)) V = a p0 V0, with the air volume V = V0 - A x in the bell and
    smaller by the hose's area above it; a quadratic in x, solved in closed form.

    Parameters
    ----------
    depth
        Of the water outside over the bell's mouth [m], 0 to 2.
    bell
        The bell; one with less than its height of air space is filled earlier.
    density
        Of the water [kg/m3].
    air
        What is left of the air that was shut in, 0 to 1.5; below 1 after a leak (see
        `air_left`), above 1 where hot water has warmed it (its ratio of absolute
        temperatures). More than the bell can hold bubbles out at the mouth.

    Raises
    ------
    OutsideRangeError
        If depth or air lies outside its range.

    Examples
    --------
    >>> [round(float(bell_rise(h)) * 1e3, 3) for h in (0.1, 0.2, 0.3)]
    [0.618, 1.225, 1.82]
    """
    deep = within("depth over the bell's mouth", depth, 0.0, 2.0, "m")
    left = within("air left in the bell", air, 0.0, 1.5, "1")
    head = ATMOSPHERE / (np.asarray(density) * STANDARD_GRAVITY)
    free = bell.air
    inside = _climb(deep, np.asarray(free / bell.area), head, left * free / bell.area)
    above = np.asarray(deep - bell.height)
    hose = np.asarray(bell.hose_volume) / bell.hose_area
    climbed = _climb(above, np.asarray(hose), head, left * free / bell.hose_area)
    rise = np.where(inside <= bell.height, inside, bell.height + np.maximum(climbed, 0.0))
    return np.asarray(np.clip(rise, 0.0, deep))


def bell_pressure(
    depth: Number, bell: Bell = USUAL_BELL, density: Number = ROOM_WATER, air: Number = 1.0
) -> Floats:
    """Pressure [Pa] above the air's that the sensor sees: rho g (h - x); see `bell_rise`.

    Examples
    --------
    0.6 % less than the depth alone, because of the water in the bell:

    >>> [round(float(bell_pressure(h)), 1) for h in (0.1, 0.2, 0.3)]
    [972.8, 1945.8, 2918.9]
    """
    weight = np.asarray(density) * STANDARD_GRAVITY
    return np.asarray(weight * (np.asarray(depth) - bell_rise(depth, bell, density, air)))


def depth_of_pressure(
    pressure: Number, bell: Bell = USUAL_BELL, density: Number = ROOM_WATER
) -> Floats:
    """Depth [m] over the mouth of a whole bell that shows ``pressure`` [Pa].

    Inverse of `bell_pressure` with all its air: h = dp/(rho g) + (V0 - p0 V0/(p0 + dp))/A.
    True while the water stands inside the bell, not in its hose.

    Raises
    ------
    OutsideRangeError
        If the water would stand above the bell.

    Examples
    --------
    >>> round(float(depth_of_pressure(bell_pressure(0.2))), 6)
    0.2
    """
    shown = within("pressure", pressure, 0.0, 2e4, "Pa")
    lost = bell.air * shown / (ATMOSPHERE + shown)
    rise = np.asarray(lost / np.asarray(bell.area))
    within("share of the bell under water", rise / bell.height, 0.0, 1.0, "1")
    return np.asarray(shown / (np.asarray(density) * STANDARD_GRAVITY) + rise)


def air_left(leak: Number, seconds: Number) -> Floats:
    """Share of the bell's air left after ``seconds``, lost at ``leak`` [1/s]: exp(-k t).

    A leak's flow goes with the pressure, which hardly changes while air is lost; so a
    constant share a second is a model of our own, no source.

    Examples
    --------
    >>> round(float(air_left(1e-3, 60.0)), 4)
    0.9418
    """
    rate = within("leak", leak, 0.0, 10.0, "1/s")
    return np.asarray(np.exp(-rate * within("time", seconds, 0.0, 1e6, "s")))


def pressure_drop(
    depth: Number,
    leak: Number,
    seconds: Number = 60.0,
    bell: Bell = USUAL_BELL,
    density: Number = ROOM_WATER,
) -> Floats:
    """Pressure [Pa] that a standing level loses in ``seconds`` by a leak of the bell or hose.

    Examples
    --------
    >>> float(pressure_drop(0.2, 0.0))
    0.0
    >>> round(float(pressure_drop(0.2, 1e-3)))
    36
    """
    left = air_left(leak, seconds)
    before = bell_pressure(depth, bell, density)
    return np.asarray(before - bell_pressure(depth, bell, density, left))


def _climb(depth: Floats, column: Floats, head: Floats, kept: Floats) -> Floats:
    """Smaller root x of (head + depth - x)(column - x) = head kept; all in metres of water."""
    total = head + depth + column
    # (total - root)/2 written so that nearly equal numbers are not taken from each other
    product = (head + depth) * column - head * kept
    root = np.sqrt(np.maximum(np.square(total) - 4.0 * product, 0.0))
    return np.asarray(2.0 * product / (total + root))
