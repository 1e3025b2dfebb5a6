"""The course of one dryer's run over time, for drawing: outlet, moisture and heat."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.machine.controller import Noticed
from tubside.machine.course import TRIED, Band
from tubside.machine.drying import Limits, Run, moisture_at
from tubside.machine.drying_events import PARTS
from tubside.pack.fault_model import Floats

POINTS = 40
"""Points in which drying is drawn."""
COOLING = 180.0
"""Time in which drum and laundry come near the room, once the heater is off [s] (common
practice, no source)."""


@dataclass(frozen=True, slots=True)
class DryingCourse:
    """One machine's run over time; arrays (T,)."""

    time: Floats  # s
    outlet: Floats  # K, air behind the drum
    moisture: Floats  # kg/kg in the laundry
    power: Floats  # W of the heater, as a mean over its switching
    bands: tuple[Band, ...]
    stopped: float | None  # s


def drying_course(run: Run, limits: Limits, noticed: Noticed) -> DryingCourse:
    """The course of the first machine of a run, up to where it stops.

    A stop before the drying is drawn as a short try; one in it, a full tank, where the water
    that came fills the tank.

    Parameters
    ----------
    run
        Played with one machine or more; the first is drawn.
    limits
        The controller's limits.
    noticed
        What stopped it (see :func:`tubside.machine.controller.noticed`).
    """
    order = list(PARTS)
    last = int(noticed.part[0])
    if 0 <= last < order.index("dry"):
        return _tried(run, order[last])
    full = _seconds_to_full(run) if last >= 0 else np.inf
    dried = float(np.minimum(run.seconds[0], full))
    times = np.linspace(0.0, dried, POINTS)
    moisture, outlet, power = moisture_at(run, times)
    bands = [Band("dry", 0.0, dried)]
    if last < 0:
        cooling = np.linspace(0.0, limits["cool_time"], 8)
        room = float(run.values["ambient_temperature"][0])
        cooled = room + (outlet[-1] - room) * np.exp(-cooling / COOLING)
        times = np.append(times, dried + cooling)
        moisture = np.append(moisture, np.full(8, moisture[-1]))
        outlet, power = np.append(outlet, cooled), np.append(power, np.zeros(8))
        bands.append(Band("cool", dried, dried + limits["cool_time"]))
    stopped = None if last < 0 else dried
    return DryingCourse(times, outlet, moisture, power, tuple(bands), stopped)


def _tried(run: Run, part: str) -> DryingCourse:
    """A stop before anything dried."""
    room, start = run.values["ambient_temperature"][0], run.values["load_moisture"][0]
    times = np.array([0.0, TRIED])
    both = (np.full(2, float(room)), np.full(2, float(start)), np.zeros(2))
    return DryingCourse(times, *both, (Band(part, 0.0, TRIED),), TRIED)


def _seconds_to_full(run: Run) -> float:
    """When the tank is full, at the rate of the wet period [s]."""
    room = 1e3 * float(run.values["tank_room"][0])  # kg of water
    kept = max(float(run.values["air_kept"][0] * run.rate[0]), 1e-9)
    return room / kept
