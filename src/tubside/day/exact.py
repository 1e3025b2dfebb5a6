"""The best order of one technician's visits, by dynamic programming over sets of visits.

A label says: these visits are made, this one last, it began then, and so much was spent on
the way. Of two labels with the same visits and the same last one, the one that is neither
earlier nor cheaper is dropped: a later begin never helps (:func:`running.begin_of`), and all
costs grow with time. What is left at the end are the orders that nothing beats
(Dumas, Desrosiers, Gelinas & Solomon, An optimal algorithm for the traveling salesman problem
with time windows, Operations Research 43(2), 1995; labels and dominance as in Desrochers &
Soumis, INFOR 26, 1988, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tubside.day.draws import expected
from tubside.day.problem import KILOMETRE, MINUTE, Day, Floats
from tubside.day.running import begin_of

MOST = 14
"""Visits up to which this way is taken; more go through while few labels are kept."""
LABELS = 400_000
"""Labels of one layer at most; beyond it the best of them go on, and nothing is proven."""
SURE, FEW_LABELS = 12, 10_000
"""Up to so many visits it always ends in about a second; for more it may have so many labels."""
FIRST_LOOK = 300
LOGISTIC = 1.702
"""Stretches the logistic curve over the normal one: nowhere 0.0095 apart (Camilli 1994)."""


@dataclass(frozen=True, slots=True)
class Rules:
    """How lateness counts while orders are built."""

    hard: bool = False  # a promise cannot be broken
    doubt: float = 1.0  # times the standard deviation of the visits made before
    slack: float = 0.02  # orders dearer than the best by this share are still kept
    labels: int = LABELS


@dataclass(frozen=True, slots=True)
class Found:
    """Orders from best to worst, what they cost, and whether the first is proven best."""

    orders: tuple[tuple[int, ...], ...]
    costs: tuple[float, ...]
    proven: bool


@dataclass(frozen=True, slots=True, eq=False)
class _Labels:
    mask: NDArray[np.int64]  # bit per visit made
    last: NDArray[np.intp]  # position in `stops`
    begins: Floats
    cost: Floats  # kilometres and lateness so far
    parent: NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class _Table:
    """One technician's visits, cut out of the day; the last row and column are the ends."""

    day: Day
    technician: int
    rules: Rules
    seconds: Floats  # (n + 1, n + 1): row n from the start, column n to the end
    metres: Floats
    opens: Floats
    closes: Floats
    site: Floats
    variance: Floats
    priority: Floats
    begin: float

    @property
    def count(self) -> int:
        return len(self.site)


def best_orders(day: Day, technician: int, stops: list[int], rules: Rules | None = None) -> Found:
    """Return the orders in which this technician best visits ``stops``, mean times taken.

    Lateness is softened by doubt: a visit that begins s seconds before its promise closes is
    late with the chance of a normal of the standard deviation that the visits made before it
    have together. With ``hard`` no promise may be broken; then there may be no order at all.
    """
    table = _table(day, technician, stops, rules or Rules())
    if not stops:
        return Found(((),), (_closing(table, table.begin, 0.0),), proven=True)
    first = _search(table, np.inf, FIRST_LOOK)
    if first.proven:
        return _named(first, stops)
    slack = abs(first.costs[0]) * table.rules.slack + 1e-9 if first.orders else 0.0
    limit = first.costs[0] + slack if first.orders else np.inf
    return _named(_search(table, limit, table.rules.labels), stops)


def value_of(day: Day, technician: int, order: list[int], rules: Rules | None = None) -> float:
    """Return what :func:`best_orders` counts for one order; infinite where it may not be."""
    table = _table(day, technician, order, rules or Rules())
    labels = _root(table)
    for at in range(table.count):
        labels = _step(table, labels, at)
        if not len(labels.mask):
            return np.inf
    return float(_totals(table, labels)[0]) if order else _closing(table, table.begin, 0.0)


def _named(found: Found, stops: list[int]) -> Found:
    orders = tuple(tuple(stops[at] for at in order) for order in found.orders)
    return Found(orders, found.costs, found.proven)


def _table(day: Day, technician: int, stops: list[int], rules: Rules) -> _Table:
    start = day.start_node(technician)
    rows, columns = np.array([*stops, start]), np.array([*stops, start + 1])
    promised = [day.stops[at].promised for at in stops]
    site = [day.stops[at].on_site for at in stops]
    return _Table(
        day=day,
        technician=technician,
        rules=rules,
        seconds=day.travel.seconds[np.ix_(rows, columns)],
        metres=day.travel.metres[np.ix_(rows, columns)],
        opens=np.array([-np.inf if one is None else one.opens for one in promised]),
        closes=np.array([np.inf if one is None else one.closes for one in promised]),
        site=np.array([one.mean for one in site]),
        variance=np.array([one.deviation**2 for one in site]),
        priority=np.array([day.stops[at].priority for at in stops]),
        begin=float(expected(day).begin[technician, 0]),
    )


def _search(table: _Table, limit: float, most: int) -> Found:
    """Layer by layer; labels that cannot end below ``limit`` are dropped."""
    layers, labels, proven = [], _root(table), True
    for _ in range(table.count):
        steps = [_step(table, labels, at) for at in range(table.count)]
        labels = _undominated(_joined(steps))
        floor = _floor(table, labels)
        labels, floor = _taken(labels, floor <= limit), floor[floor <= limit]
        if len(labels.mask) > most:
            labels, proven = _taken(labels, np.sort(np.argpartition(floor, most)[:most])), False
        layers.append(labels)
    totals = _totals(table, labels)
    ranks = np.argsort(totals, kind="stable")
    orders = tuple(_walked(layers, int(at)) for at in ranks)
    return Found(orders, tuple(float(totals[at]) for at in ranks), proven)


def _root(table: _Table) -> _Labels:
    nought = np.zeros(1, dtype=np.intp)
    last = np.full(1, table.count)
    return _Labels(np.zeros(1, dtype=np.int64), last, np.full(1, -np.inf), np.zeros(1), nought)


def _free(table: _Table, labels: _Labels) -> Floats:
    """When each label's last visit ends."""
    site = np.append(table.site, 0.0)[labels.last]
    return np.asarray(np.where(labels.last == table.count, table.begin, labels.begins + site))


def _step(table: _Table, labels: _Labels, at: int) -> _Labels:
    """The labels that go on to visit ``at``."""
    chosen = np.flatnonzero((labels.mask >> at) & 1 == 0)
    before = _taken(labels, chosen)
    arrives = _free(table, before) + table.seconds[before.last, at]
    breaks = table.day.technicians[table.technician].breaks
    begins = begin_of(arrives, before.begins, table.opens[at], breaks)
    begins = np.maximum(begins, table.opens[at])
    way = table.day.prices.per_km / KILOMETRE * table.metres[before.last, at]
    labels = _Labels(
        before.mask | (1 << at),
        np.full(len(chosen), at),
        begins,
        before.cost + way + _lateness(table, before.mask, begins, at),
        chosen,
    )
    return _taken(labels, begins <= table.closes[at] + 1e-9) if table.rules.hard else labels


def _lateness(table: _Table, mask: NDArray[np.int64], begins: Floats, at: int) -> Floats:
    """What being late is expected to cost, the doubt of the visits made before counted."""
    if table.rules.hard or not np.isfinite(table.closes[at]):
        return np.zeros(len(begins))
    prices, over = table.day.prices, begins - table.closes[at]
    doubt = np.maximum(table.rules.doubt * np.sqrt(_sums(mask, table.variance)), 1e-6)
    away = np.clip(LOGISTIC * over / doubt, -40.0, 40.0)
    chance = 1.0 / (1.0 + np.exp(-away))
    late = doubt / LOGISTIC * np.logaddexp(0.0, LOGISTIC * over / doubt)
    cost = prices.per_late * chance + prices.per_late_minute / MINUTE * late
    return np.asarray(table.priority[at] * cost)


def _sums(mask: NDArray[np.int64], values: Floats) -> Floats:
    """The sum of ``values`` over the visits of each set."""
    bits = (mask[:, None] >> np.arange(len(values))) & 1
    return np.asarray(bits @ values)


def _undominated(labels: _Labels) -> _Labels:
    """Sort by set, last visit and begin; keep what is cheaper than all that begins sooner."""
    if not len(labels.mask):
        return labels
    order = np.lexsort((labels.cost, labels.begins, labels.last, labels.mask))
    labels = _taken(labels, order)
    new = (np.diff(labels.mask) != 0) | (np.diff(labels.last) != 0)
    group = np.concatenate([[0], np.cumsum(new)])
    rank = np.unique(labels.cost, return_inverse=True)[1]
    # ranks fall from group to group, so the running least starts anew in each
    lowered = rank - group * (int(rank.max()) + 1)
    least = np.minimum.accumulate(lowered)
    kept = np.concatenate([[True], lowered[1:] < least[:-1]])
    return _taken(labels, kept)


def _floor(table: _Table, labels: _Labels) -> Floats:
    """What each label costs at least to its end: the shortest ways in, no wait, no lateness."""
    prices, rest = table.day.prices, labels.mask ^ ((1 << table.count) - 1)
    time = _sums(rest, _least_in(table.seconds) + table.site) + table.seconds[:-1, -1].min()
    finish = _free(table, labels) + time
    metres = _sums(rest, _least_in(table.metres)) + table.metres[:-1, -1].min()
    way = prices.per_km / KILOMETRE * metres
    return np.asarray(labels.cost + way + _work(table, finish))


def _least_in(between: Floats) -> Floats:
    """The least to each visit from another one, (n,); nought where there is no other."""
    others = between[:-1, :-1] + np.diag(np.full(len(between) - 1, np.inf))
    least = others.min(axis=0)
    return np.asarray(np.where(np.isfinite(least), least, 0.0))


def _totals(table: _Table, labels: _Labels) -> Floats:
    finish = _free(table, labels) + table.seconds[labels.last, -1]
    way = table.day.prices.per_km / KILOMETRE * table.metres[labels.last, -1]
    return np.asarray(labels.cost + way + _work(table, finish))


def _closing(table: _Table, free: float, cost: float) -> float:
    finish = np.array([free + table.seconds[-1, -1]])
    way = table.day.prices.per_km / KILOMETRE * float(table.metres[-1, -1])
    return cost + way + float(_work(table, finish)[0])


def _work(table: _Table, finish: Floats) -> Floats:
    prices, hours = table.day.prices, table.day.technicians[table.technician].hours
    over = np.maximum(finish - hours.closes, 0.0)
    work = prices.per_minute * (finish - hours.opens) + prices.per_overtime_minute * over
    return np.asarray(work / MINUTE)


def _joined(parts: list[_Labels]) -> _Labels:
    return _Labels(
        np.concatenate([part.mask for part in parts]),
        np.concatenate([part.last for part in parts]),
        np.concatenate([part.begins for part in parts]),
        np.concatenate([part.cost for part in parts]),
        np.concatenate([part.parent for part in parts]),
    )


def _taken(labels: _Labels, which: NDArray[np.intp] | NDArray[np.bool_]) -> _Labels:
    return _Labels(
        labels.mask[which],
        labels.last[which],
        labels.begins[which],
        labels.cost[which],
        labels.parent[which],
    )


def _walked(layers: list[_Labels], at: int) -> tuple[int, ...]:
    """The order that ends in label ``at`` of the last layer."""
    order = []
    for layer in reversed(layers):
        order.append(int(layer.last[at]))
        at = int(layer.parent[at])
    return tuple(reversed(order))
