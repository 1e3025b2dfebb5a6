r"""One visit, one unit a part: the classic repair kit and the job fill rate, exactly.

.. math:: C(K) = \sum_{i \in K} H_i + L \Bigl(1 - \prod_{i \notin K} (1 - p_i)\Bigr)

with :math:`p_i` the chance that part i is needed, independent of the others, :math:`H_i`
what it costs to carry and L what a broken-off visit costs. Model: S. A. Smith, J. C. Chambers
and E. Shlifer, "Optimal inventories based on job completion rate for repairs requiring
multiple items", Management Science 26(8), 1980, 849-852 (abstract read).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product

import numpy as np

from tubside.errors import KitError
from tubside.kit.problem import Floats

MOST_STATES = 200_000


def kit_cost(carried: Sequence[int], chance: Floats, holding: Floats, broken_off: float) -> float:
    """Mean cost of a visit with these parts carried [money].

    Examples
    --------
    >>> p, h = np.array([0.3, 0.2, 0.15, 0.1, 0.05]), np.array([2.0, 1.0, 3.0, 1.0, 4.0])
    >>> round(kit_cost([0, 1, 2, 3], p, h, 40.0), 9)
    9.0
    """
    missing = np.delete(chance, list(carried))
    fails = 1.0 - float(np.prod(1.0 - missing))
    return float(holding[list(carried)].sum()) + broken_off * fails


def prefix_order(chance: Floats, holding: Floats) -> list[int]:
    """Parts in the order in which the best kit takes them, by H (1 - p) / p.

    The best kit is always the first few of this order: exchanging a carried part for an
    earlier one that is not carried never costs more.
    """
    if not ((chance > 0.0) & (chance < 1.0)).all():
        msg = "the chance that a part is needed lies between 0 and 1, both left out"
        raise KitError(msg)
    return [int(part) for part in np.argsort(holding * (1.0 - chance) / chance, kind="stable")]


def best_carried(chance: Floats, holding: Floats, broken_off: float) -> tuple[list[int], float]:
    """The cheapest kit of one visit and its mean cost [money].

    Examples
    --------
    >>> p, h = np.array([0.3, 0.2, 0.15, 0.1, 0.05]), np.array([2.0, 1.0, 3.0, 1.0, 4.0])
    >>> best_carried(p, h, 40.0)[0]
    [0, 1, 2, 3]
    """
    order = prefix_order(chance, holding)
    kits = [sorted(order[:count]) for count in range(len(order) + 1)]
    costs = [kit_cost(kit, chance, holding, broken_off) for kit in kits]
    best = int(np.argmin(costs))
    return kits[best], costs[best]


def job_fill_rate(chance: Floats, stock: Sequence[int], jobs: int) -> float:
    """Mean share of jobs that end, one after the other, all or nothing, without new stock.

    Every job needs one unit of each part with its chance, independently. A job that lacks
    a part uses none. Definition: M. Bijvank, G. Koole and I. F. A. Vis, "Optimising a
    general repair kit problem with a service constraint", European Journal of Operational
    Research 204(1), 2010, 76-85.

    Raises
    ------
    KitError
        With too many parts to count exactly.

    Examples
    --------
    >>> round(job_fill_rate(np.array([0.1, 0.05]), [1, 1], 4), 6)
    0.982466
    """
    if jobs < 1 or (2 ** len(chance)) * np.prod([s + 1.0 for s in stock]) > MOST_STATES:
        msg = "at least one job, and few enough parts to be counted exactly"
        raise KitError(msg)
    held, ends = {tuple(stock): 1.0}, 0.0
    for _ in range(jobs):
        later: dict[tuple[int, ...], float] = {}
        for left, weight in held.items():
            for need, likely in _needs(chance):
                after = tuple(have - one for have, one in zip(left, need, strict=True))
                whole = min(after, default=0) >= 0
                ends += weight * likely * whole
                kept = after if whole else left
                later[kept] = later.get(kept, 0.0) + weight * likely
        held = later
    return ends / jobs


def _needs(chance: Floats) -> Iterator[tuple[tuple[int, ...], float]]:
    for need in product((0, 1), repeat=len(chance)):
        likely = np.prod([p if one else 1.0 - p for one, p in zip(need, chance, strict=True)])
        yield need, float(likely)
