"""What it costs to clear each cause if it were known, each remedy done once at most."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.pack.fault_model import Floats

Way = tuple[int, float, float]


@dataclass(frozen=True, slots=True)
class AfterFailing:
    """What follows a remedy that did not clear its cause: it shows again, or comes back."""

    shows: Floats  # (n,) chance that a cause left shows at once
    stop: float  # cost of ending the job
    callback: float  # cost when it seemed to work


@dataclass(frozen=True, slots=True)
class OwnCosts:
    """Cost of each cause if known, trying the best remedy first.

    ``groups`` (n, u) says for which causes each of u remedies comes first; a cause in
    none of them is ended by ending the job. ``later`` is the part of ``cost`` that is
    met only if that remedy does not clear the cause. Where ``cost``, ``later`` and
    ``price`` have an axis more, each row is for another belief.
    """

    cost: Floats  # (n,)
    later: Floats  # (n,)
    price: Floats  # (u,)
    groups: Floats  # (n, u)


def own_costs(price: Floats, clears: Floats, after: AfterFailing) -> tuple[OwnCosts, OwnCosts]:
    """The costs now, and after each way in turn was used up.

    Ways (r,) clear causes with chances (r, n). The second result has a row for each way
    used up and a last one for none: cost and later (r + 1, n), price (r + 1, u); the
    group of a used-up way goes on with what is next best for its causes.
    """
    by_cause = [_worst_first(price, clears[:, cause]) for cause in range(clears.shape[1])]
    found = [_chain(ways, i, after) for i, ways in enumerate(by_cause)]
    first = np.array([way for _, _, way in found], dtype=np.int64)
    chosen = np.unique(first[first >= 0])
    own = OwnCosts(
        cost=np.array([cost for cost, _, _ in found]),
        later=np.array([later for _, later, _ in found]),
        price=price[chosen],
        groups=(first[:, None] == chosen[None, :]).astype(float),
    )
    rows = len(price) + 1
    cost, later = np.tile(own.cost, (rows, 1)), np.tile(own.later, (rows, 1))
    for i, ways in enumerate(by_cause):
        for used, _, _ in ways:
            cost[used, i], later[used, i], _ = _chain(ways, i, after, used)
    prices = np.tile(own.price, (rows, 1))
    for group, way in enumerate(chosen):
        inside = first == way
        prices[way, group] = (cost[way, inside] - later[way, inside]).mean()
    return own, OwnCosts(cost, later, prices, own.groups)


def _worst_first(price: Floats, clears: Floats) -> list[Way]:
    """Ways that clear a cause, the largest cost for a chance first."""
    useful = np.flatnonzero(clears)
    order = useful[np.argsort(-price[useful] / clears[useful], kind="stable")]
    return [(int(way), float(price[way]), float(clears[way])) for way in order]


def _chain(
    ways: list[Way], cause: int, after: AfterFailing, used: int = -1
) -> tuple[float, float, int]:
    """Cost of trying the ways one after the other, what of it comes later, the first way."""
    cost, later, first = after.stop, 0.0, -1
    shows = float(after.shows[cause])
    for way, price, clears in ways:
        rest = (1.0 - clears) * (shows * cost + (1.0 - shows) * after.callback)
        if way != used and price + rest < cost:
            cost, later, first = price + rest, rest, way
    return cost, later, first
