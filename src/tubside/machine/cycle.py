"""A whole cycle, stage after stage, for many machines at once.

Every stage is played by every machine, as if nothing had stopped it before: what the
controller makes of it is told by :mod:`tubside.machine.controller`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from tubside.machine import washing
from tubside.machine.draws import Values
from tubside.machine.emptying import Emptied, Emptying, empty
from tubside.machine.fill import Fill, Filling, fill
from tubside.machine.inlet import inlets
from tubside.machine.outlet import own_lift, unpumped_flow
from tubside.machine.spinning import Spinning, Spun, spin
from tubside.machine.tub import empty_level, held_at_most
from tubside.machine.warming import Warmed, warm
from tubside.pack.fault_model import Floats

FIRST_SPIN = 120.0
"""Time of the spin between wash and rinse [s] (common practice, no source)."""

OVER = 0.02
"""Water stands so far over the level that is too much before it runs over the rim [m]."""

Limits = Mapping[str, float]
"""The controller's time-outs and limits by name, SI (see ``pack.parameters.CONTROLLER``)."""


@dataclass(frozen=True, slots=True)
class Washed:
    """The wash stage, water standing in the tub; arrays (D,)."""

    start: Floats  # m, level
    level: Floats  # m at the end: a valve may pass water, a siphon take it
    came: Floats  # m3 through shut valves
    ran_out: Floats  # m3 through the drain
    spilled: Floats  # m3 over the rim, onto the floor
    margin: Floats  # how many times the drive covers what it has to move
    temperature: Floats  # K


@dataclass(frozen=True, slots=True)
class Cycle:
    """One cycle of D machines."""

    values: Values
    fill: Fill
    warmed: Warmed | None  # None where the family has no heater
    washed: Washed
    drained: Emptied
    first_spin: Spun
    rinse: Fill
    rinse_drained: Emptied
    spun: Spun
    spilled: Floats  # m3 over the rim after the wash
    left: Floats  # m3 in tub and laundry at the end

    @property
    def count(self) -> int:
        """Number of machines, D."""
        return int(self.left.size)

    @property
    def came(self) -> Floats:
        """All the water that came in [m3]."""
        filled = self.fill.cold + self.fill.hot + self.rinse.cold + self.rinse.hot
        pumped = self.drained.seconds + self.rinse_drained.seconds
        return np.asarray(filled + self.washed.came + self.values["valve_leak"] * pumped)

    @property
    def gone(self) -> Floats:
        """All the water that went out [m3]."""
        pumped = self.drained.out + self.rinse_drained.out
        spun = (self.first_spin.levels[0] - self.first_spin.levels[-1]) * self.values["tub_area"]
        last = (self.spun.levels[0] - self.spun.levels[-1]) * self.values["tub_area"]
        ran_out = self.fill.ran_out + self.washed.ran_out + self.rinse.ran_out
        return np.asarray(pumped + spun + last + ran_out + self.washed.spilled + self.spilled)


def play(values: Values, controller: Limits) -> Cycle:
    """Play one cycle with a warm wash and a rinse.

    Parameters
    ----------
    values
        D machines (see :func:`tubside.machine.draws.values_with`).
    controller
        The family's or the model's limits.
    """
    ways = inlets(values)
    first = fill(values, _first(values, controller), ways)
    heats = controller["heats"] > 0.0
    warmed = _warmed(values, first, controller) if heats else None
    washed = _wash(values, first, warmed, controller)
    standing = first.seconds + controller["wash_time"] + (warmed.seconds if warmed else 0.0)
    drained = empty(values, _emptying(washed.level, standing, controller))
    suds = washing.suds_height(values, 0.0)
    between = spin(values, Spinning(drained.left, suds, FIRST_SPIN))
    start = np.minimum(between.levels[-1], controller["overflow_level"])
    spilled = (between.levels[-1] - start) * values["tub_area"]
    rinse = fill(values, _rinse(values, start, controller), ways)
    soaked = rinse.seconds + controller["rinse_time"]
    emptied = empty(values, _emptying(rinse.level, soaked, controller))
    calm = washing.suds_height(values, controller["rinses"])
    last = spin(values, Spinning(emptied.left, calm, controller["spin_time"]))
    left = (last.levels[-1] - empty_level(values)) * values["tub_area"] + first.taken_up
    return Cycle(
        values, first, warmed, washed, drained, between, rinse, emptied, last, spilled, left
    )


def _first(values: Values, controller: Limits) -> Filling:
    return Filling(
        start=empty_level(values),
        thirst=held_at_most(values),
        seconds=controller["fill_timeout"],
        rim=controller["overflow_level"],
        warm=True,
    )


def _rinse(values: Values, start: Floats, controller: Limits) -> Filling:
    """A rinse is cold; the laundry is still soaked."""
    return Filling(
        start=start,
        thirst=np.zeros_like(values["load_mass"]),
        seconds=controller["fill_timeout"],
        rim=controller["overflow_level"],
        warm=False,
    )


def _warmed(values: Values, first: Fill, controller: Limits) -> Warmed:
    volume = np.maximum(first.cold + first.hot - first.ran_out, 1e-4)
    return warm(values, volume, first.temperature, controller["heat_timeout"])


def _wash(values: Values, first: Fill, warmed: Warmed | None, controller: Limits) -> Washed:
    seconds = controller["wash_time"] + (warmed.seconds if warmed else 0.0)
    came = values["valve_leak"] * seconds
    floor = np.maximum(own_lift(values), empty_level(values))
    most = np.maximum(first.level - floor, 0.0) * values["tub_area"]
    ran_out = np.minimum(unpumped_flow(values, first.level) * seconds, most)
    full = first.level + (came - ran_out) / values["tub_area"]
    level = np.minimum(full, np.maximum(controller["overflow_level"] + OVER, first.level))
    spilled = (full - level) * values["tub_area"]
    half = 0.5 * (first.level + level)
    temperature = warmed.temperature if warmed else first.temperature
    margin = washing.drive_margin(values, np.minimum(half, 2.0))
    return Washed(first.level, level, came, ran_out, spilled, margin, temperature)


def _emptying(start: Floats, since: Floats, controller: Limits) -> Emptying:
    return Emptying(
        start,
        since,
        controller["drain_timeout"],
        controller["drain_after"],
        controller["empty_level"],
    )
