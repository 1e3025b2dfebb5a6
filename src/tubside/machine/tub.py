"""The tub as a vessel: level and volume, and what the level sensor makes of it.

Levels are measured over the mouth of the air bell [m]; the sump lies below it and is
taken as wide as the tub, so that an empty tub stands at minus sump volume by area.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.machine.draws import Values
from tubside.pack.fault_model import Floats
from tubside.physics.level import ROOM_WATER, air_left, bell_pressure
from tubside.physics.standard import STANDARD_GRAVITY

LEAST = 1e-9
"""Less flow moves no level: a thousand seconds for a drop [m3/s]."""
LONGEST = 1e6
"""What never comes is taken as this long for the air bell [s]."""


def empty_level(values: Values) -> Floats:
    """The level of the dry tub [m], below the bell."""
    return -values["sump_volume"] / values["tub_area"]


def held_at_most(values: Values) -> Floats:
    """Water that the laundry takes up beside the level [m3]."""
    return values["water_held"] * values["load_mass"]


def sensed(values: Values, level: Floats, seconds: Floats | float = 0.0) -> Floats:
    """Pressure that the sensor reports [Pa], after so long with water over the bell.

    The sensor's error is told as water: a sensor 2 cm out adds the pressure of 2 cm.
    """
    left = air_left(values["bell_leak"], np.minimum(seconds, LONGEST))
    felt = bell_pressure(np.clip(level, 0.0, 2.0), air=left)
    return felt + ROOM_WATER * STANDARD_GRAVITY * values["level_offset"]


def wanted_pressure(values: Values) -> Floats:
    """Pressure at which a sound sensor stops the fill [Pa]."""
    return bell_pressure(values["level_target"])


@dataclass(frozen=True, slots=True)
class Travel:
    """A level that moves through cells of the tub, until a time; arrays (D,) or (k+1, D)."""

    levels: Floats  # (k + 1, D) at the times
    times: Floats  # (k + 1, D) s
    passed: Floats  # (k, D) s spent in each cell
    share: Floats  # (k, D) part of each cell that was passed, 0 to 1

    @property
    def level(self) -> Floats:
        """Where it ends [m]."""
        return np.asarray(self.levels[-1])


def cell_times(levels: Floats, area: Floats, net: Floats) -> Floats:
    """Time to pass each cell [s]; infinite where the flow does not drive that way.

    Parameters
    ----------
    levels
        (k + 1, D) borders of the cells [m], rising or falling.
    area
        (k, D) or (D,) water surface [m2].
    net
        (k, D) flow in the direction of the levels [m3/s], at the middle of each cell.
    """
    volume = np.abs(np.diff(levels, axis=0)) * area
    endless = np.where(volume > 0.0, np.inf, 0.0)
    return np.divide(volume, net, out=endless, where=(net > LEAST) & (volume > 0.0))


def travel(levels: Floats, cells: Floats, seconds: Floats | float) -> Travel:
    """Move through the cells for ``seconds`` [s]; the last cell's border is never passed."""
    reached = np.concatenate([np.zeros((1, cells.shape[1])), np.cumsum(cells, axis=0)])
    times = np.minimum(reached, seconds)
    passed = np.diff(times, axis=0)
    with np.errstate(invalid="ignore"):
        share = np.where(np.isfinite(cells), passed / np.where(cells > 0.0, cells, 1.0), 0.0)
    share = np.where(cells > 0.0, share, 1.0) * (reached[:-1] <= seconds)
    steps = np.cumsum(share * np.diff(levels, axis=0), axis=0)
    return Travel(np.concatenate([levels[:1], levels[:1] + steps]), times, passed, share)
