"""What the controller notices and people see, in the order in which a cycle meets it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from tubside.machine import drying_events
from tubside.machine.circuit import leakage
from tubside.machine.cycle import Cycle, Limits
from tubside.machine.drying import Run
from tubside.machine.event import LIT, Event
from tubside.machine.inlet import HALF
from tubside.machine.spinning import Spun
from tubside.pack.fault_model import Bools, FaultModel, Floats, Ints

TURNING = 0.05
"""A basket below this share of its speed has not turned."""
PARTS: dict[str, str] = {
    "power": "power",
    "start": "start",
    "lock": "lock",
    "fill": "fill",
    "heat": "heat",
    "wash": "wash",
    "drain": "drain",
    "first spin": "spin",
    "rinse": "rinse",
    "rinse drain": "drain",
    "last spin": "spin",
}
"""Part of the cycle, in order -> its stage in the packs."""
LOCKS = ("lid_not_locked", "door_not_locked")
"""What the two families call a lock that does not report shut."""


@dataclass(frozen=True, slots=True)
class Noticed:
    """What became of each of D machines."""

    first: Ints  # (D,) condition that stops it, -1 where the cycle ends well
    stage: Ints  # (D,) stage at which it stops, -1 where it does not
    part: Ints  # (D,) the same as a part of the cycle, in the order of `parts_of`
    reached: Bools  # (c, D) met anywhere, as if nothing stopped the cycle
    shown: Bools  # (c, D) met up to the stop: what can be seen

    @property
    def well(self) -> Bools:
        """Cycles that run to their end, whatever people may say of them."""
        return np.asarray(self.first < 0)


def parts_of(cycle: Cycle | Run) -> dict[str, str]:
    """Part of the cycle, in order -> its stage in the packs."""
    return drying_events.PARTS if isinstance(cycle, Run) else PARTS


def events(cycle: Cycle | Run, limits: Limits) -> Iterator[Event]:
    """Every condition that physics can bring about, in the order of the cycle."""
    if isinstance(cycle, Run):
        yield from drying_events.events(cycle, limits)
        return
    yield from _starting(cycle, limits)
    yield from _filling(cycle, limits)
    yield from _washing(cycle, limits)
    yield from _draining(cycle, limits)
    yield from _spinning(cycle, limits)


def noticed(cycle: Cycle | Run, limits: Limits, model: FaultModel) -> Noticed:
    """Which condition stops each machine, and at which stage.

    Parameters
    ----------
    cycle
        The cycle played.
    limits
        The controller's time-outs and limits.
    model
        Names of conditions and stages, and which conditions stop a cycle. Conditions
        that the family does not know are passed over.
    """
    names, stages = model.names.conditions, model.names.stages
    count, stage_of = cycle.count, parts_of(cycle)
    first, part = np.full(count, -1), np.full(count, -1)
    parts = list(stage_of)
    reached = np.zeros((len(names), count), dtype=bool)
    shown = np.zeros_like(reached)
    for event in events(cycle, limits):
        if event.condition not in names:
            continue
        at = names.index(event.condition)
        running = first < 0
        reached[at] |= event.met
        shown[at] |= event.met & running
        if model.complaint.stopping[at]:
            first = np.where(running & event.met, at, first)
            part = np.where(running & event.met, parts.index(event.part), part)
    known = [stages.index(s) if s in stages else -1 for s in stage_of.values()]
    return Noticed(first, np.array([*known, -1])[part], part, reached, shown)


def _starting(cycle: Cycle, limits: Limits) -> Iterator[Event]:
    values = cycle.values
    runs, voltage = values["controller_runs"], values["mains_voltage"]
    yield Event("power", "no_power", (voltage < limits["lowest_voltage"]) | (runs < LIT))
    trips = leakage(values["insulation"], values) > limits["trip_current"]
    yield Event("power", "tripping", trips)
    yield Event("start", "wont_start", runs < 1.0 - LIT)
    for lock in LOCKS:
        yield Event("lock", lock, values["lock_works"] < HALF)


def _filling(cycle: Cycle, limits: Limits) -> Iterator[Event]:
    values, fill = cycle.values, cycle.fill
    idle = values["valve_leak"] * limits["idle_time"] / values["tub_area"]
    yield Event("fill", "overflow", idle > values["level_target"])
    yield Event("fill", "fills_slowly", fill.seconds > limits["slow_fill"])
    yield Event("fill", "no_water", ~fill.content & ~fill.at_rim)
    yield Event("fill", "overflow", ~fill.content & fill.at_rim)
    if cycle.warmed is None:
        yield Event("fill", "wrong_temperature", _off(cycle.washed.temperature, cycle, limits))


def _off(temperature: Floats, cycle: Cycle, limits: Limits) -> Bools:
    off = np.abs(temperature - cycle.values["wash_target"])
    return np.asarray(off > limits["temperature_tolerance"])


def _washing(cycle: Cycle, limits: Limits) -> Iterator[Event]:
    values, washed = cycle.values, cycle.washed
    if cycle.warmed is not None:
        trips = leakage(values["heater_insulation"], values) > limits["trip_current"]
        yield Event("heat", "tripping", trips)
        yield Event("heat", "wrong_temperature", _off(washed.temperature, cycle, limits))
        yield Event("heat", "wont_heat", cycle.warmed.needed > limits["heat_timeout"])
    locked = washed.margin < limits["locked_margin"]
    yield Event("wash", "motor_locked", locked)
    yield Event("wash", "overload", ~locked & (washed.margin < limits["overload_margin"]))
    low = washed.level < HALF * values["level_target"]
    yield Event("wash", "washes_badly", low | (washed.margin < limits["wash_margin"]))
    yield Event("wash", "overflow", washed.level > limits["overflow_level"])
    yield Event("wash", "noisy", values["bearing_drag"] > limits["noise_drag"])


def _draining(cycle: Cycle, limits: Limits) -> Iterator[Event]:
    late = cycle.drained.read_empty > limits["drain_timeout"]
    yield Event("drain", "wont_drain", late)


def _spinning(cycle: Cycle, limits: Limits) -> Iterator[Event]:
    yield from _one_spin("first spin", cycle.first_spin, cycle, limits)
    yield from _rinsing(cycle, limits)
    yield from _one_spin("last spin", cycle.spun, cycle, limits)
    slow = cycle.spun.speed < limits["spin_share"] * cycle.values["spin_speed"]
    yield Event("last spin", "wont_spin", slow)


def _one_spin(part: str, spun: Spun, cycle: Cycle, limits: Limits) -> Iterator[Event]:
    held = spun.speed < TURNING * cycle.values["spin_speed"]
    yield Event(part, "motor_locked", held)
    yield Event(part, "noisy", (spun.swing > limits["noise_swing"]) | (spun.walking > 1.0))
    yield Event(part, "suds", spun.suds_share > limits["suds_share"])
    yield Event(part, "out_of_balance", spun.swing > limits["swing_limit"])


def _rinsing(cycle: Cycle, limits: Limits) -> Iterator[Event]:
    rinse = cycle.rinse
    yield Event("rinse", "fills_slowly", rinse.seconds > limits["slow_fill"])
    yield Event("rinse", "no_water", ~rinse.content & ~rinse.at_rim)
    yield Event("rinse", "overflow", ~rinse.content & rinse.at_rim)
    came = rinse.cold + rinse.hot > 0.0
    yield Event("rinse", "wrong_temperature", came & (rinse.temperature > limits["warm_rinse"]))
    late = cycle.rinse_drained.read_empty > limits["drain_timeout"]
    yield Event("rinse drain", "wont_drain", late)
