"""The plan of a day: candidates by expected times, the choice by expected cost.

Two steps, because no known method is exact for sums of log-normals with waits between them.
First orders are found that are good for expected times, lateness softened by how uncertain
arrivals are. Then the many that are nearly as good run through the same drawn days, and the
one with the least expected cost is taken, the price of every late promise in it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.day.draws import Draws, draw
from tubside.day.exact import FEW_LABELS, LABELS, MOST, SURE, Found, Rules, best_orders
from tubside.day.fleet import INSTALL, ITERATIONS, MISSING, fleet_is_there, fleet_rounds
from tubside.day.problem import Day, why_not
from tubside.day.running import Orders, expected_costs, one_order
from tubside.day.search import (
    Rounds,
    able,
    best_place,
    inserted,
    polished,
    shared_out,
)
from tubside.day.timetable import DayPlan, LeftOut, told

BEAM, BEST = 4000, 20
"""Labels of a layer, and orders judged, where there are too many visits for the exact way."""
DOUBTS = (0.0, 0.7, 1.4)
"""How much of the doubt softens lateness, in the searches that fill the pool."""


@dataclass(frozen=True, slots=True)
class Effort:
    """How much is computed; the defaults keep a day of 12 visits well below a second."""

    draws: int = 1000  # for what is shown
    judged: int = 300  # for the choice among orders
    moved: int = 80  # for visits changing hands
    pool: int = 60  # orders judged for each search
    iterations: int = ITERATIONS  # of PyVRP
    fleet: bool = True  # whether to use PyVRP where it is installed


def plan_day(day: Day, seed: int, effort: Effort | None = None) -> DayPlan:
    """Return the plan with the least expected cost that was found.

    Parameters
    ----------
    day
        Stops, technicians, travel and prices.
    seed
        Of all that is drawn: the same seed and day give the same plan.
    effort
        How much to compute.

    Notes
    -----
    ``proven`` says that dynamic programming went through to its end: for expected times no
    order is better, and all within 2 % of it were judged (up to ``pool``). It says nothing
    about several technicians, where no bound is known here.
    """
    effort = effort or Effort()
    left, stops = _servable(day)
    judged = draw(day, seed, effort.judged)
    shared = [at for at in stops if len(able(day, at)) > 1]
    notes: list[str] = list(day.travel.notes)
    if shared:
        rounds, method = _several(day, stops, seed, effort, notes)
        small = Effort(judged=effort.judged, pool=20)
        chosen = [_one(day, k, order, judged, small) for k, order in enumerate(rounds)]
        rounds, proven = [order for order, _ in chosen], False
    else:
        given = [[at for at in stops if k in able(day, at)] for k in range(len(day.technicians))]
        chosen = [_one(day, k, mine, judged, effort) for k, mine in enumerate(given)]
        rounds, proven = [order for order, _ in chosen], all(sure for _, sure in chosen)
        method = "exact" if proven else "small changes"
    lines, cost, error = told(day, rounds, draw(day, seed, effort.draws))
    return DayPlan(lines, left, cost, error, method, proven, tuple(notes))


def plan_of(day: Day, orders: dict[str, tuple[str, ...]], seed: int, draws: int = 1000) -> DayPlan:
    """Return given orders told as a plan, nothing changed and nothing proven."""
    rounds = rounds_of(day, orders)
    lines, cost, error = told(day, rounds, draw(day, seed, draws))
    return DayPlan(lines, (), cost, error, "as given", proven=False)


def rounds_of(day: Day, orders: dict[str, tuple[str, ...]]) -> Rounds:
    """Return orders by number; technicians not named have none."""
    rounds: Rounds = [[] for _ in day.technicians]
    for technician, order in orders.items():
        rounds[day.technician_at(technician)] = [day.stop_at(stop) for stop in order]
    return rounds


def _servable(day: Day) -> tuple[tuple[LeftOut, ...], list[int]]:
    left, stops = [], []
    for at, stop in enumerate(day.stops):
        if able(day, at):
            stops.append(at)
        else:
            whys = [f"{one.id}: {why_not(stop, one)}" for one in day.technicians]
            left.append(LeftOut(stop.id, "; ".join(whys) or "nobody works on this day"))
    return tuple(left), stops


def _one(
    day: Day, technician: int, stops: list[int], judged: Draws, effort: Effort
) -> tuple[list[int], bool]:
    """The best order found for one technician, and whether it is proven for expected times."""
    if not stops:
        return [], True
    pool, proven = _pool(day, technician, stops, judged, effort)
    costs = expected_costs(day, technician, pool, judged)
    first = [int(at) for at in pool[int(np.argmin(costs))]]
    return polished(day, technician, first, judged)[1], proven


def _pool(
    day: Day, technician: int, stops: list[int], judged: Draws, effort: Effort
) -> tuple[Orders, bool]:
    if len(stops) > MOST:
        return one_order(_long(day, technician, stops, judged)), False
    labels = LABELS if len(stops) <= SURE else FEW_LABELS
    found: list[Found] = [
        best_orders(day, technician, stops, Rules(doubt=doubt, labels=labels)) for doubt in DOUBTS
    ]
    orders = {order for one in found for order in one.orders[: effort.pool]}
    return np.array(sorted(orders), dtype=np.intp), all(one.proven for one in found)


def _long(day: Day, technician: int, stops: list[int], judged: Draws) -> list[int]:
    """One technician with more visits than the exact way takes: insertion, then the fewest labels.

    The beam of the dynamic programme gives another start; the cheaper one is polished.
    """
    order: list[int] = []
    for stop in sorted(stops, key=lambda at: (float(judged.closes[at]), at)):
        _, order = best_place(day, technician, order, stop, judged)
    found = best_orders(day, technician, stops, Rules(labels=BEAM))
    tried = np.array([order, *(list(one) for one in found.orders[:BEST])], dtype=np.intp)
    costs = expected_costs(day, technician, tried, judged)
    return [int(at) for at in tried[int(np.argmin(costs))]]


def _several(
    day: Day, stops: list[int], seed: int, effort: Effort, notes: list[str]
) -> tuple[Rounds, str]:
    """Share visits out among several: PyVRP where it is there, then small changes."""
    draws = draw(day, seed, effort.moved)
    starts: list[Rounds] = [inserted(day, stops, draws)]
    method = "small changes"
    if effort.fleet and fleet_is_there():
        rounds, method = fleet_rounds(day, stops, seed, effort.iterations), "fleet"
        starts.append(_completed(day, rounds, stops, draws))
    elif effort.fleet:
        notes.append(MISSING + INSTALL)
    better = [shared_out(day, rounds, draws) for rounds in starts]
    return min(better, key=lambda rounds: told(day, rounds, draws)[1]), method


def _completed(day: Day, rounds: Rounds, stops: list[int], draws: Draws) -> Rounds:
    """Put in what the solver left out."""
    there = {at for order in rounds for at in order}
    for stop in [at for at in stops if at not in there]:
        places = [(best_place(day, k, rounds[k], stop, draws), k) for k in able(day, stop)]
        (_, order), k = min(places, key=lambda place: place[0][0])
        rounds[k] = order
    return rounds
