"""Many orders of one technician's visits run through many drawn days at once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tubside.day.draws import Draws
from tubside.day.problem import KILOMETRE, MINUTE, Break, Day, Floats

Orders = NDArray[np.intp]
"""Numbers of stops, (orders, visits)."""


@dataclass(frozen=True, slots=True, eq=False)
class Leg:
    """One place of every order: when the door is reached and the visit begins and ends [s]."""

    stop: NDArray[np.intp]  # (orders,)
    arrives: Floats  # (orders, draws), at the door or the end of a pause before it
    begins: Floats
    ends: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Outcome:
    """What orders come to: one row an order, one column a draw."""

    cost: Floats  # the shop's money
    finish: Floats  # s
    metres: Floats  # (orders,)


def begin_of(arrives: Floats, before: Floats, opens: Floats, breaks: tuple[Break, ...]) -> Floats:
    """When a visit begins [s], pauses and waiting at the window counted.

    ``before`` is when the visit before began: a pause is taken already where that was at or
    after its earliest time. Later arrival never means earlier begin.
    """
    ready = arrives
    for pause in breaks:
        begins = np.maximum(ready, opens)
        due = (before < pause.earliest) & (begins >= pause.earliest)
        ready = np.where(due, np.maximum(ready, pause.earliest) + pause.length, ready)
    return ready


def legs(day: Day, technician: int, orders: Orders, draws: Draws) -> Iterator[Leg]:
    """Yield the legs of the orders one after the other."""
    seconds, breaks = day.travel.seconds, day.technicians[technician].breaks
    count = len(orders)
    now = np.broadcast_to(draws.begin[technician], (count, draws.count))
    before = np.full(now.shape, -np.inf)
    here = np.full(count, day.start_node(technician))
    for stop in orders.T:
        reached = now + seconds[here, stop][:, None] * draws.road[stop]
        opens = draws.opens[stop][:, None]
        ready = begin_of(reached, before, opens, breaks)
        begins = np.maximum(ready, opens)
        now = begins + draws.on_site[stop]
        yield Leg(stop, ready, begins, now)
        before, here = begins, stop


def outcome(day: Day, technician: int, orders: Orders, draws: Draws) -> Outcome:
    """Run the orders to the technician's end place and add up what they cost."""
    prices, one = day.prices, day.technicians[technician]
    now = np.broadcast_to(draws.begin[technician], (len(orders), draws.count))
    cost = np.zeros(now.shape)
    for leg in legs(day, technician, orders, draws):
        cost += late_cost(day, leg, draws)
        now = leg.ends
    here, end = _last(day, technician, orders), day.start_node(technician) + 1
    finish = now + day.travel.seconds[here, end][:, None] * draws.road[end]
    metres = way(day, technician, orders)
    cost += prices.per_minute / MINUTE * (finish - one.hours.opens)
    cost += prices.per_overtime_minute / MINUTE * np.maximum(finish - one.hours.closes, 0.0)
    return Outcome(cost + prices.per_km / KILOMETRE * metres[:, None], finish, metres)


def expected_costs(day: Day, technician: int, orders: Orders, draws: Draws) -> Floats:
    """Return the mean cost of each order, (orders,)."""
    return np.asarray(outcome(day, technician, orders, draws).cost.mean(axis=1))


def late_cost(day: Day, leg: Leg, draws: Draws) -> Floats:
    """What being late costs at one leg, (orders, draws)."""
    late = np.maximum(leg.begins - draws.closes[leg.stop][:, None], 0.0)
    prices = day.prices
    cost = prices.per_late * (late > 0.0) + prices.per_late_minute / MINUTE * late
    return np.asarray(draws.priority[leg.stop][:, None] * cost)


def way(day: Day, technician: int, orders: Orders) -> Floats:
    """Return the length of each order [m], (orders,)."""
    start = np.full((len(orders), 1), day.start_node(technician))
    nodes = np.concatenate([start, orders, start + 1], axis=1)
    return np.asarray(day.travel.metres[nodes[:, :-1], nodes[:, 1:]].sum(axis=1))


def one_order(stops: list[int] | tuple[int, ...]) -> Orders:
    """Return a single order as a table of one row."""
    return np.array(stops, dtype=np.intp).reshape(1, -1)


def _last(day: Day, technician: int, orders: Orders) -> NDArray[np.intp]:
    if orders.shape[1]:
        return orders[:, -1]
    return np.full(len(orders), day.start_node(technician))
