"""The fill: hot and cold in, something perhaps running out, until the sensor is content."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.machine.draws import Values
from tubside.machine.inlet import Inlets, inlets
from tubside.machine.mixing import mix
from tubside.machine.outlet import own_lift, unpumped_flow
from tubside.machine.tub import Travel, cell_times, sensed, travel, wanted_pressure
from tubside.pack.fault_model import Bools, Floats

WAY_OUT = ("pump_head", "pump_flow", "drain_open", "drain_lift", "siphon", "standpipe_flow")
"""Parameters of what runs out with the pump at rest."""
MOST = 0.9
"""Of more water than this, running through, the share of hot is that of so much [m3]."""
CELLS = 24
"""Cells of level from the start of a fill to the rim."""


@dataclass(frozen=True, slots=True)
class Fill:
    """One fill; arrays (D,)."""

    way: Travel  # the level over time
    seconds: Floats  # until the sensor was content, the rim was reached, or time was up
    content: Bools  # the sensor was content
    at_rim: Bools  # the tub was full to its rim before that
    taken_up: Floats  # m3 that went into the laundry
    cold: Floats  # m3 through the machine's cold valve
    hot: Floats  # m3 through the machine's hot valve
    ran_out: Floats  # m3 through the drain meanwhile
    temperature: Floats  # K of what came in

    @property
    def level(self) -> Floats:
        """Level at the end [m]."""
        return self.way.level


@dataclass(frozen=True, slots=True)
class Filling:
    """What a fill starts from and must keep to."""

    start: Floats  # m, level
    thirst: Floats  # m3 that the laundry will take up
    seconds: float  # longest time
    rim: Floats | float  # m, level at which the tub is full
    warm: bool  # to the program's temperature, or cold alone


def fill(values: Values, filling: Filling, ways: Inlets | None = None) -> Fill:
    """Fill until the sensor is content, the rim is reached or time is up.

    Notes
    -----
    The time through each cell of level is A dh / (q_in - q_out(h)), with q_out at the middle
    of the cell and A widened by what the laundry takes up on the way to the target. What
    runs out by a siphon or a low hose end hangs on the level alone, so that no steps of time
    are needed. The air bell loses air while the water rises, and may never feel the target.
    """
    ways = ways or inlets(values)
    goal = np.maximum(values["level_target"], filling.start + 1e-3)
    room = values["tub_area"] * (goal - filling.start) + filling.thirst
    rate = room / mix(values, ways, room, warm=filling.warm).seconds
    levels = _levels(filling, goal)
    inside = np.diff(levels, axis=0) * 0.5 + levels[:-1]
    soaking = np.where(inside < goal, filling.thirst / (goal - filling.start), 0.0)
    out = _running_out(values, inside, filling.rim)
    cells = cell_times(levels, values["tub_area"] + soaking, rate - out)
    content_at = _content(values, levels, np.cumsum(cells, axis=0))
    way = travel(levels, cells, np.minimum(content_at, filling.seconds))
    came = rate * way.times[-1]
    part = np.minimum(came, MOST)
    split = mix(values, ways, part, warm=filling.warm)
    whole = came / np.maximum(part, 1e-12)
    moving = np.isfinite(cells)
    return Fill(
        way=way,
        seconds=np.asarray(way.times[-1]),
        content=content_at <= filling.seconds,
        at_rim=way.level >= filling.rim - 1e-9,
        taken_up=np.sum(way.share * soaking * np.diff(levels, axis=0), axis=0),
        cold=split.cold * whole,
        hot=split.hot * whole,
        ran_out=np.sum(way.passed * np.where(moving, out, rate), axis=0),
        temperature=split.temperature,
    )


def _levels(filling: Filling, goal: Floats) -> Floats:
    """Borders of cells (k + 1, D): two thirds below the target, the rest up to the rim."""
    below = CELLS * 2 // 3
    top = np.maximum(filling.rim, goal)
    up = np.linspace(0.0, 1.0, below + 1)[:, None] * (goal - filling.start) + filling.start
    over = np.linspace(0.0, 1.0, CELLS - below + 1)[1:, None] * (top - goal) + goal
    return np.asarray(
        np.minimum(np.concatenate([up, over]), np.maximum(filling.rim, filling.start))
    )


def _running_out(values: Values, inside: Floats, rim: Floats | float) -> Floats:
    """Flow out with the pump at rest (k, D) [m3/s]; reckoned only where any can be."""
    out = np.zeros_like(inside)
    leaking = own_lift(values) < rim
    if leaking.any():
        some = {name: values[name][leaking] for name in WAY_OUT}
        out[:, leaking] = unpumped_flow(some, inside[:, leaking])
    return out


def _content(values: Values, levels: Floats, reached: Floats) -> Floats:
    """Time at which the sensor first reports the target [s]; infinite where it never does."""
    times = np.concatenate([np.zeros((1, levels.shape[1])), reached])
    felt = sensed(values, levels, times) - wanted_pressure(values)
    felt = np.where(np.isfinite(times), felt, -np.inf)
    enough = felt >= -1e-6
    first = np.argmax(enough, axis=0)
    at = np.arange(levels.shape[1])
    before = np.maximum(first - 1, 0)
    with np.errstate(invalid="ignore"):
        share = felt[before, at] / np.minimum(felt[before, at] - felt[first, at], -1e-12)
        when = times[before, at] + np.clip(share, 0.0, 1.0) * (times[first, at] - times[before, at])
    when = np.where(first == 0, 0.0, when)
    return np.asarray(np.where(enough.any(axis=0), when, np.inf))
