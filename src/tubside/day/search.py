"""Better orders by small changes, judged by expected cost on drawn days. Nothing is proven."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, permutations

import numpy as np

from tubside.day.draws import Draws
from tubside.day.problem import Day, Floats, why_not
from tubside.day.running import Orders, expected_costs, one_order

Rounds = list[list[int]]
"""Numbers of stops in order, one list for each technician."""
LEAST_GAIN = 1e-6
SWEEPS = 4


def inserted(day: Day, stops: list[int], draws: Draws) -> Rounds:
    """Put stop after stop where it costs least, those whose promise closes first before others."""
    rounds: Rounds = [[] for _ in day.technicians]
    costs = [cost_of(day, k, [], draws) for k in range(len(rounds))]
    for stop in sorted(stops, key=lambda at: (float(draws.closes[at]), at)):
        best, technician, order = min(
            (value - costs[k], k, order)
            for k in able(day, stop)
            for value, order in [best_place(day, k, rounds[k], stop, draws)]
        )
        rounds[technician], costs[technician] = order, costs[technician] + best
    return rounds


def able(day: Day, stop: int) -> list[int]:
    """Return the technicians who may make this visit."""
    return [k for k, one in enumerate(day.technicians) if why_not(day.stops[stop], one) is None]


def cost_of(day: Day, technician: int, order: list[int], draws: Draws) -> float:
    """Return the expected cost of one order."""
    return float(expected_costs(day, technician, one_order(order), draws)[0])


def best_place(
    day: Day, technician: int, order: list[int], stop: int, draws: Draws
) -> tuple[float, list[int]]:
    """Return the least expected cost with ``stop`` put in, and the order it comes with."""
    tried = np.array([[*order[:at], stop, *order[at:]] for at in range(len(order) + 1)])
    return _best(expected_costs(day, technician, tried, draws), tried)


def polished(day: Day, technician: int, order: list[int], draws: Draws) -> tuple[float, list[int]]:
    """Change one order as long as a small change makes it cheaper."""
    cost = cost_of(day, technician, order, draws)
    while len(order) > 1:
        near = neighbours(order)
        least, best = _best(expected_costs(day, technician, near, draws), near)
        if least > cost - LEAST_GAIN:
            break
        cost, order = least, best
    return cost, order


def neighbours(order: list[int]) -> Orders:
    """Return the orders one change away: a visit moved, two exchanged, a stretch turned round."""
    count, found = len(order), set[tuple[int, ...]]()
    for here, there in permutations(range(count), 2):
        rest = [*order[:here], *order[here + 1 :]]
        found.add((*rest[:there], order[here], *rest[there:]))
    for low, high in combinations(range(count), 2):
        found.add((*order[:low], *reversed(order[low : high + 1]), *order[high + 1 :]))
        swapped = list(order)
        swapped[low], swapped[high] = order[high], order[low]
        found.add(tuple(swapped))
    found.discard(tuple(order))
    return np.array(sorted(found), dtype=np.intp).reshape(-1, count)


def shared_out(day: Day, rounds: Rounds, draws: Draws) -> Rounds:
    """Move visits to another technician, or exchange two, while that makes the day cheaper."""
    rounds = [list(order) for order in rounds]
    costs = [cost_of(day, k, order, draws) for k, order in enumerate(rounds)]
    for _ in range(SWEEPS):
        changed = False
        for stop in sorted(at for order in rounds for at in order):
            changed |= _try_stop(day, rounds, costs, stop, draws)
        if not changed:
            break
    return rounds


def _try_stop(day: Day, rounds: Rounds, costs: list[float], stop: int, draws: Draws) -> bool:
    """Make the best change of one stop, if any gains."""
    here = next(k for k, order in enumerate(rounds) if stop in order)
    least, best = -LEAST_GAIN, None
    for there in able(day, stop):
        if there == here:
            continue
        for pair, values in _changes(day, rounds, (here, there), stop, draws):
            gain = sum(values) - costs[here] - costs[there]
            if gain < least:
                least, best = gain, (there, pair, values)
    if best is None:
        return False
    there, pair, values = best
    for at, order, value in zip((here, there), pair, values, strict=True):
        rounds[at], costs[at] = order, value
    return True


def _changes(
    day: Day, rounds: Rounds, between: tuple[int, int], stop: int, draws: Draws
) -> Iterator[tuple[tuple[list[int], list[int]], tuple[float, float]]]:
    """The best move of ``stop`` from one round to the other, then the best exchange."""
    here, there = between
    mine, other = rounds[here], rounds[there]
    rest = [at for at in mine if at != stop]
    value, order = best_place(day, there, other, stop, draws)
    yield (rest, order), (cost_of(day, here, rest, draws), value)
    back = [at for at in other if here in able(day, at)]
    if not back:
        return
    given = np.array([[at if one == stop else one for one in mine] for at in back])
    taken = np.array([[stop if one == at else one for one in other] for at in back])
    ours = expected_costs(day, here, given, draws)
    theirs = expected_costs(day, there, taken, draws)
    best = int(np.argmin(ours + theirs))
    yield (
        ([int(at) for at in given[best]], [int(at) for at in taken[best]]),
        (float(ours[best]), float(theirs[best])),
    )


def _best(costs: Floats, orders: Orders) -> tuple[float, list[int]]:
    at = int(np.argmin(costs))
    return float(costs[at]), [int(one) for one in orders[at]]
