"""The drain: the pump runs until the tub reads empty, or until its time is up."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.machine.draws import Values
from tubside.machine.outlet import drained_level, pumped_flow
from tubside.machine.tub import Travel, cell_times, sensed, travel
from tubside.pack.fault_model import Floats
from tubside.physics.level import bell_pressure

CELLS = 16
"""Cells of level from the start of a drain to where the pump lifts no more."""


@dataclass(frozen=True, slots=True)
class Emptied:
    """One drain; arrays (D,)."""

    way: Travel  # the level over time
    seconds: Floats  # that the pump ran
    read_empty: Floats  # s until the sensor read empty, infinite where never
    left: Floats  # m, level at the end
    out: Floats  # m3 that went down the drain


@dataclass(frozen=True, slots=True)
class Emptying:
    """What a drain starts from and must keep to."""

    start: Floats  # m, level
    since: Floats  # s that water has stood over the air bell
    longest: float  # s
    after: float  # s that follow once the tub reads empty
    empty: float  # m, level that counts as empty


def empty(values: Values, emptying: Emptying) -> Emptied:
    """Run the pump until a while after the tub reads empty, or until time is up.

    Notes
    -----
    A dh / Q(h) for each cell of level, as in the fill; the flow of the pump falls as the
    water does, and ends where its head only just reaches the hose's end. A valve that
    passes water refills meanwhile.
    """
    bottom = np.minimum(drained_level(values), emptying.start)
    share = np.linspace(0.0, 1.0, CELLS + 1)[:, None]
    levels = emptying.start + share * (bottom - emptying.start)
    out = pumped_flow(values, levels[:-1] + 0.5 * np.diff(levels, axis=0))
    cells = cell_times(levels, values["tub_area"], out - values["valve_leak"])
    read_empty = _read_empty(values, emptying, levels, np.cumsum(cells, axis=0))
    seconds = np.minimum(read_empty + emptying.after, emptying.longest)
    way = travel(levels, cells, seconds)
    going = np.where(np.isfinite(cells), out, np.minimum(out, values["valve_leak"]))
    still = seconds - way.times[-1]
    leak = np.minimum(values["valve_leak"], pumped_flow(values, bottom))
    gone = np.sum(way.passed * going, axis=0) + still * leak
    came = values["valve_leak"] * seconds
    left = emptying.start + (came - gone) / values["tub_area"]
    return Emptied(way, seconds, read_empty, left, gone)


def drain_time(values: Values, start: Floats, end: Floats | float) -> Floats:
    """Time [s] that the pump takes from one level to another [m]; infinite where never."""
    lowest = drained_level(values)
    bottom = np.minimum(np.maximum(lowest, end), start)
    share = np.linspace(0.0, 1.0, CELLS + 1)[:, None]
    levels = start + share * (bottom - start)
    out = pumped_flow(values, levels[:-1] + 0.5 * np.diff(levels, axis=0))
    cells = cell_times(levels, values["tub_area"], out - values["valve_leak"])
    reached = (lowest < end) | (start <= end)
    return np.where(reached, np.sum(cells, axis=0), np.inf)


def _read_empty(values: Values, emptying: Emptying, levels: Floats, reached: Floats) -> Floats:
    """Time at which the sensor first reads empty [s]; infinite where it never does."""
    times = np.concatenate([np.zeros((1, levels.shape[1])), reached])
    limit = float(bell_pressure(emptying.empty))
    felt = sensed(values, levels, emptying.since + np.minimum(times, emptying.longest)) - limit
    felt = np.where(np.isfinite(times), felt, np.inf)
    below = felt <= 0.0
    first = np.argmax(below, axis=0)
    at = np.arange(levels.shape[1])
    before = np.maximum(first - 1, 0)
    with np.errstate(invalid="ignore"):
        fall = np.maximum(felt[before, at] - felt[first, at], 1e-12)
        part = np.clip(felt[before, at] / fall, 0.0, 1.0)
        when = times[before, at] + part * (times[first, at] - times[before, at])
    return np.where(below.any(axis=0), np.where(first == 0, 0.0, when), np.inf)
