"""Whole cycles of random machines with random causes, beside scipy's solver one by one."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator

import numpy as np
from scipy.integrate import solve_ivp
from timing import line

from tubside.machine import basket
from tubside.machine.controller import noticed
from tubside.machine.cycle import Cycle, play
from tubside.machine.draws import Values, base_draws, values_with_sets
from tubside.machine.drying import run
from tubside.machine.outlet import pumped_flow
from tubside.machine.washing import suds_height
from tubside.pack.fault_model import FaultModel, Floats, Machine
from tubside.physics.suds import suds_left
from tubside.service.knowledge import knowledge_of_family

CYCLES = 10_000
REFERENCE = 50
"""Machines that are played one by one."""
SOFT = 1.0
"""Time in which the solver's basket comes to full speed or to rest [s]."""
FAMILIES = ("top_load", "front_load")


def report() -> Iterator[str]:
    """Rows for both families of washers, and for the dryers."""
    for family in FAMILIES:
        model = knowledge_of_family(family).model
        machine = model.machine
        assert machine is not None
        values = random_machines(model, machine)
        start = time.perf_counter()
        cycle = play(values, machine.controller)
        found = noticed(cycle, machine.controller, model)
        ours = time.perf_counter() - start
        stopped = f"{np.mean(found.first >= 0):.0%} of them stopped"
        yield line(f"{family}: {CYCLES:,} cycles, {stopped}", ours, "s", "<= 10 s")
        yield _beside(cycle, values, ours, machine.controller["rinses"])
    yield from _dryers()


def _dryers() -> Iterator[str]:
    model = knowledge_of_family("dryer").model
    machine = model.machine
    assert machine is not None
    values = random_machines(model, machine)
    places = {"outdoors": values["vented"], "round": np.zeros_like(values["vented"])}
    for place, vented in places.items():
        start = time.perf_counter()
        dried = run({**values, "vented": vented}, machine.controller)
        found = noticed(dried, machine.controller, model)
        ours = time.perf_counter() - start
        stopped = f"{np.mean(found.first >= 0):.0%} of them stopped"
        yield line(f"dryer, air {place}: {CYCLES:,} runs, {stopped}", ours, "s", "<= 1 s")


def random_machines(model: FaultModel, machine: Machine) -> Values:
    """Drawn machines, each with one cause that moves something, by its odds."""
    draws = base_draws(machine, CYCLES)
    moving = np.unique([move.cause for move in machine.moves])
    odds = model.prior.odds[moving]
    chosen = np.random.default_rng(7).choice(moving, CYCLES, p=odds / odds.sum())
    present = np.zeros((model.n_causes, CYCLES), dtype=bool)
    present[chosen, np.arange(CYCLES)] = True
    return values_with_sets(machine, draws, present)


def _beside(cycle: Cycle, values: Values, ours: float, rinses: float) -> str:
    """Drain and last spin of the first machines by LSODA, and how far the two are apart."""
    start = time.perf_counter()
    apart = [_one_by_one(cycle, at, _suds(values, at, rinses)) for at in range(REFERENCE)]
    theirs = (time.perf_counter() - start) / REFERENCE
    ratio = theirs / (ours / CYCLES)
    worst = np.quantile(apart, 0.95)
    return (
        f"  one by one by scipy's LSODA, drain and last spin alone, {REFERENCE} machines: "
        f"{1e3 * theirs:.1f} ms each; ours, the whole cycle: {ratio:,.0f} times as fast; "
        f"95 % of spin speeds within {worst:.1%}"
    )


def _one_by_one(cycle: Cycle, at: int, height: float) -> float:
    """Distance of the last spin's speed from LSODA's, in shares of the speed as built."""
    one = {name: value[at : at + 1] for name, value in cycle.values.items()}
    drained = float(cycle.drained.seconds[at])
    area = one["tub_area"]

    def falls(_: float, level: Floats) -> Floats:
        return np.asarray((one["valve_leak"] - pumped_flow(one, level)) / area)

    _solved(falls, float(cycle.washed.level[at]), np.array([0.0, drained]))
    spun, times = cycle.spun, cycle.spun.times

    def turns(now: float, speed: Floats) -> Floats:
        level = np.interp(now, times, spun.levels[:, at])
        water = level - one["basket_bottom"]
        held = basket.drag(one, np.maximum(speed, 0.0), water, height * suds_left(np.full(1, now)))
        torque = basket.drive_torque(one)
        gain = np.minimum((torque - held.whole) / basket.inertia(one), basket.RAMP)
        # reaches full speed and rest gently, or the solver chatters there
        return np.clip(gain, -np.maximum(speed, 0.0) / SOFT, (one["spin_speed"] - speed) / SOFT)

    speeds = _solved(turns, 0.0, times)
    return float(np.abs(speeds[-1] - spun.speeds[-1, at]) / one["spin_speed"][0])


def _suds(values: Values, at: int, rinses: float) -> float:
    one = {name: value[at : at + 1] for name, value in values.items()}
    return float(suds_height(one, rinses)[0])


def _solved(change: Callable[[float, Floats], Floats], start: float, times: Floats) -> Floats:
    span = (float(times[0]), float(times[-1]))
    found = solve_ivp(change, span, [start], "LSODA", t_eval=times, rtol=1e-5, max_step=5.0)
    return np.asarray(found.y[0])
