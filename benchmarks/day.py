"""A working day: time to plan it, and how good the plan is against what is known exactly."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import replace
from itertools import permutations

import numpy as np
from timing import line, median_ms

from tubside.day.changing import squeeze
from tubside.day.draws import draw
from tubside.day.exact import MOST, best_orders, value_of
from tubside.day.fleet import fleet_is_there, fleet_rounds
from tubside.day.planning import Effort, plan_day
from tubside.day.problem import (
    HOUR,
    MINUTE,
    Day,
    Place,
    Stop,
    Technician,
    TimeOnSite,
    Window,
    places_of,
)
from tubside.day.running import expected_costs, one_order
from tubside.day.search import inserted
from tubside.day.timetable import told
from tubside.day.travel import great_circle_travel

SEEDS = range(5)


def report() -> Iterator[str]:
    """Rows of time, then rows of quality."""
    yield from _times()
    yield from _against_all_orders()
    yield from _against_exact()
    yield from _fleet()


def _day(seed: int, visits: int, vans: int = 1) -> Day:
    """A day in a made-up country: hours 8 to 17, four visits in five promised for two hours."""
    rng = np.random.default_rng(seed)

    def place() -> Place:
        return Place(52.0 + 0.12 * float(rng.random()), 0.2 * float(rng.random()))

    crew = tuple(
        Technician(f"van {k + 1}", (home := place()), home, Window(8 * HOUR, 17 * HOUR))
        for k in range(vans)
    )
    stops = tuple(_stop(rng, k, place(), visits / vans) for k in range(visits))
    return Day(stops, crew, great_circle_travel(places_of(stops, crew)))


def _stop(rng: np.random.Generator, k: int, place: Place, each: float) -> Stop:
    mean = float(rng.uniform(15, 45)) * MINUTE * min(1.0, 12.0 / each)
    opens = (8 + int(rng.integers(0, 8))) * HOUR
    promised = Window(opens, opens + 2 * HOUR) if rng.random() < 0.8 else None
    return Stop(f"visit {k + 1}", place, TimeOnSite(mean, 0.5 * mean, 1.7 * mean), promised)


def _times() -> Iterator[str]:
    for visits in (6, 12, MOST):
        days = [_day(seed, visits) for seed in SEEDS]
        took = [median_ms(lambda day=day: plan_day(day, 1), 3) for day in days]
        wanted = "<= 1000 ms" if visits == 12 else "reported"
        yield line(f"{visits} visits, 1 technician, slowest of 5", max(took), "ms", wanted)
    day = _day(1, 13)
    orders = {"van 1": tuple(stop.id for stop in day.stops[1:])}
    took_one = median_ms(lambda: squeeze(day, orders, day.stops[0].id, 1))
    yield line("one more call squeezed into 12", took_one, "ms", "reported")


def _against_all_orders() -> Iterator[str]:
    """Expected cost against the least of all 5040 orders of 7 visits, on other drawn days."""
    orders = np.array(list(permutations(range(7))))
    excess = []
    for seed in SEEDS:
        day = _day(seed, 7)
        costs = expected_costs(day, 0, orders, draw(day, 99, 500))
        chosen = [day.stop_at(name) for name in plan_day(day, 1).rounds[0].order]
        ours = expected_costs(day, 0, one_order(chosen), draw(day, 99, 500))[0]
        excess.append(100.0 * (ours / costs.min() - 1.0))
    yield line("7 visits over the best of all orders, worst of 5", max(excess), "%", "<= 1 %")


def _against_exact() -> Iterator[str]:
    """PyVRP and going to the nearest, each over the exact order for expected times."""
    for visits in (10, 12):
        fleet, nearest = [], []
        for seed in SEEDS:
            day = _day(seed, visits)
            day = replace(day, stops=tuple(replace(stop, promised=None) for stop in day.stops))
            exact = best_orders(day, 0, list(range(visits))).costs[0]
            nearest.append(value_of(day, 0, _nearest(day)) / exact)
            if fleet_is_there():
                found = fleet_rounds(day, list(range(visits)), 1, 300)[0]
                fleet.append(value_of(day, 0, found) / exact)
        what = f"{visits} visits, no windows, over exact"
        if fleet:
            yield line(f"{what}: PyVRP, worst", 100 * (max(fleet) - 1), "%", "<= 1 %")
        yield line(f"{what}: to the nearest, mean", 100 * (np.mean(nearest) - 1), "%", "reported")


def _nearest(day: Day) -> list[int]:
    order: list[int] = []
    here, left = day.start_node(0), set(range(len(day.stops)))
    while left:
        here = min(left, key=lambda at: float(day.travel.seconds[here, at]))
        order.append(here)
        left.remove(here)
    return order


def _fleet() -> Iterator[str]:
    """60 visits, 6 technicians: time, and cost over putting stop after stop in its best place."""
    for seed in (1, 2, 3):
        day = _day(seed, 60, 6)
        draws = draw(day, 1, 1000)
        start = told(day, inserted(day, list(range(60)), draw(day, 1, 80)), draws)[1]
        for fleet in (True, False):
            if fleet and not fleet_is_there():
                continue
            began = time.perf_counter()
            plan = plan_day(day, 1, Effort(fleet=fleet))
            took = time.perf_counter() - began
            late = sum(plan.late.values())
            told_of = f"cost {plan.cost / start:.3f} of insertion's, {late:.1f} late"
            what = f"60 visits, 6 technicians, seed {seed}, {plan.method}"
            yield line(what, took, "s", "<= 10 s", told_of)
