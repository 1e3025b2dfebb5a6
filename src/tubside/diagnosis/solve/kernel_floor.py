"""Inner loops: floors under every plan from a belief on.

Why none is too high: ``known_cause`` and ``two_causes`` for known sets and pairs, below for
the rest, and docs/solve-method.md for all of them.
"""

from __future__ import annotations

import numpy as np

from tubside.diagnosis.solve.given import Given
from tubside.diagnosis.solve.problem import Floats


def known(given: Given, weights: Floats, used: int, opened: int) -> Floats:
    """Cost of each set if it were known: (m,)."""
    table = given.known
    causes = len(table.start)
    most = table.value.shape[0]
    place = np.zeros(causes, dtype=np.int64)
    for h in range(causes):
        at = table.start[h]
        for j in range(table.first[h], table.first[h + 1]):
            mask = opened if table.is_cover[j] else used
            at += ((mask >> table.bit[j]) & 1) << (j - table.first[h])
        place[h] = at
    cost = np.zeros(len(weights))
    if given.single:
        for s in range(len(weights)):
            cost[s] = table.value[0, place[s]]
        return cost
    for s in range(len(weights)):
        if weights[s] <= 0.0:
            continue
        size = min(given.size[s], most) - 1
        largest, total = 0.0, 0.0
        for j in range(given.begins[s], given.begins[s + 1]):
            at = place[given.within[j]]
            largest = max(largest, table.value[0, at])
            total += table.value[size, at]
        cost[s] = max(largest, total)
    return cost


def separate(given: Given, weights: Floats, used: int) -> Floats:
    """Least cost to tell each cause from the one that is hardest to tell from it: (m,).

    For the goal of identifying a single fault. Never too high: whoever ends without a stop
    with cause h alone possible has seen, for every other cause, an outcome that h can show
    and the other cannot, and paid at least the cheapest check that has one.
    """
    cost = np.zeros(len(weights))
    for h in range(len(weights)):
        if weights[h] <= 0.0:
            continue
        for other in range(len(weights)):
            if other == h or weights[other] <= 0.0:
                continue
            least = given.stop
            for t in range(len(given.outcomes)):
                if (used >> t) & 1 or given.cost[t] >= least:
                    continue
                for o in range(given.outcomes[t]):
                    if given.said[t, o, h] > 0.0 and given.said[t, o, other] == 0.0:
                        least = given.cost[t]
                        break
            cost[h] = max(cost[h], least)
    return cost


def mean(weights: Floats, cost: Floats) -> float:
    """Sum of cost times weight over what is possible; a cost may be infinite."""
    total = 0.0
    for s in range(len(weights)):
        if weights[s] > 0.0:
            total += weights[s] * cost[s]
    return total


def failed(given: Given, weights: Floats, remedy: int) -> Floats:
    """Belief, not normalised, when the re-run after a remedy fails: (m,)."""
    left = np.asarray(weights * given.stay[remedy])
    for j in range(given.first[remedy], given.first[remedy + 1]):
        left[given.target[j]] += weights[given.source[j]] * given.chance[j]
    return left


def price(given: Given, action: int, opened: int) -> float:
    """Cost of a check or a remedy now, with its cover where that is shut."""
    cover = given.cover[action]
    if cover >= 0 and not (opened >> cover) & 1:
        return float(given.cost[action] + given.opening[cover])
    return float(given.cost[action])


def first_moves(given: Given, weights: Floats, used: int, opened: int, floor: Floats) -> Floats:
    """Floor of each action when all is known after it: (C + R,); ``floor`` is of each set.

    Never too high: it is the cost of the action plus a floor of what follows, and knowing
    the set makes no plan dearer. A check leaves the mean of a linear floor as it is.
    """
    checks = len(given.outcomes)
    least = np.full(len(given.cost), np.inf)
    all_known = mean(weights, floor)
    for a in range(len(given.cost)):
        if (used >> a) & 1:
            continue
        cover = given.cover[a]
        after = opened if cover < 0 else opened | (1 << cover)
        cost = price(given, a, opened)
        if a < checks:
            if after == opened or given.identified:
                least[a] = cost + (0.0 if given.identified else all_known)
            else:
                least[a] = cost + mean(weights, known(given, weights, used, after))
            continue
        left = failed(given, weights, a - checks)
        if after == opened and (given.forgets[a - checks] or not given.once[a]):
            least[a] = cost + mean(left, floor)
        else:
            then = used | (given.once[a] << a)
            least[a] = cost + mean(left, known(given, left, then, after))
    return least
