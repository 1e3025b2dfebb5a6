"""Inner loops: a floor from telling which pair of causes it is (see ``two_causes``)."""

from __future__ import annotations

import numpy as np

from tubside.diagnosis.solve.given import Given
from tubside.diagnosis.solve.problem import Floats
from tubside.diagnosis.solve.state import Numbers

MOST_PAIRED = 24


def beyond_known(
    given: Given, pair: tuple[int, int], one: float, two: float, floor: Floats
) -> float:
    """By how much two causes with these weights cost more than if they were known."""
    total = one + two
    if total <= 0.0:
        return 0.0
    values = given.pair[pair[0], pair[1]]
    half = (len(values) - 1) // 2
    p = one / total
    if p <= 0.5:
        at = min(int(half * np.sqrt(2.0 * p)), half - 1)
    else:
        at = max(2 * half - 1 - int(half * np.sqrt(2.0 * (1.0 - p))), half)
    low, high = given.grid[at], given.grid[at + 1]
    part = min(max((p - low) / (high - low), 0.0), 1.0)
    value = total * ((1.0 - part) * values[at] + part * values[at + 1])
    beyond = value - one * floor[pair[0]] - two * floor[pair[1]]
    return max(0.0, float(beyond))


def best_first(given: Given, order: Numbers, weights: Floats, floor: Floats) -> float:
    """What pairs cost beyond known causes, the pair that adds most taken first.

    No cause is in two pairs, so the pairs are a split of the belief, and the sum of their
    floors is a floor (docs/solve-method.md, *Told the pair*). Only the heaviest causes are
    paired; the others count as known.
    """
    count = min(len(order), MOST_PAIRED)
    gain = np.zeros((count, count))
    for i in range(count):
        for j in range(i + 1, count):
            one, two = order[i], order[j]
            if weights[two] > 0.0:
                gain[i, j] = beyond_known(given, (one, two), weights[one], weights[two], floor)
    total = 0.0
    for _ in range(count // 2):
        place = int(np.argmax(gain))
        i, j = place // count, place % count
        if gain[i, j] <= 0.0:
            break
        total += gain[i, j]
        gain[i] = 0.0
        gain[j] = 0.0
        gain[:, i] = 0.0
        gain[:, j] = 0.0
    return total


def told_the_pair(given: Given, weights: Floats, floor: Floats) -> float:
    """Most that pairs cost beyond known causes, split in pairs in two ways.

    Only sets of one cause are paired; the others count as known.
    """
    if not given.single:
        one, cost = np.zeros(len(given.alone)), np.zeros(len(given.alone))
        for h in range(len(given.alone)):
            if given.alone[h] >= 0:
                one[h] = weights[given.alone[h]]
                cost[h] = floor[given.alone[h]]
        weights, floor = one, cost
    order = np.argsort(-weights)
    top, rest = order[0], weights.sum() - weights[order[0]]
    star = 0.0
    if rest <= 0.0:
        return 0.0
    for i in range(1, len(order)):
        h = order[i]
        if weights[h] <= 0.0:
            break
        star += beyond_known(given, (top, h), weights[top] * weights[h] / rest, weights[h], floor)
    return max(star, best_first(given, order, weights, floor))
