"""Inner loops: a good step by looking one ahead, to lower the ceiling with."""

from __future__ import annotations

import numpy as np

from tubside.diagnosis.solve.given import Given
from tubside.diagnosis.solve.graph import Graph
from tubside.diagnosis.solve.kernel_floor import failed, known, mean, price
from tubside.diagnosis.solve.kernel_tries import tries
from tubside.diagnosis.solve.problem import Floats


def doubt(weights: Floats) -> float:
    """Entropy of a belief that sums to anything, times that sum [bit]."""
    total = weights.sum()
    bits = 0.0
    for s in range(len(weights)):
        if weights[s] > 0.0:
            bits -= weights[s] * np.log2(weights[s] / total)
    return bits


def bit_price(given: Given, graph: Graph, row: int) -> float:
    """Least cost at which a check takes away one bit of doubt now."""
    weights, used = graph.weights[row], graph.used[row]
    now, best = doubt(weights), np.inf
    for t in range(len(given.outcomes)):
        if (used >> t) & 1:
            continue
        later = 0.0
        for o in range(given.outcomes[t]):
            later += doubt(weights * given.said[t, o])
        if now - later > 1e-12:
            best = min(best, price(given, t, graph.opened[row]) / (now - later))
    return best


def estimate(given: Given, weights: Floats, used: int, opened: int, bit: float) -> float:
    """Known cause plus doubt, or remedies in order if that is less; times the sum of weights."""
    total = weights.sum()
    if total <= 0.0:
        return 0.0
    plain = total * tries(given, weights / total, used, opened)[0]
    if not np.isfinite(bit):
        return float(plain)
    floor = mean(weights, known(given, weights, used, opened))
    return min(float(plain), float(floor + bit * doubt(weights)))


def advise(given: Given, graph: Graph, row: int) -> int:
    """Step with the least estimate one ahead, -1 for stopping."""
    checks = len(given.outcomes)
    weights, used, opened = graph.weights[row], graph.used[row], graph.opened[row]
    bit = bit_price(given, graph, row)
    best, found = given.stop, -1
    for a in range(len(given.cost)):
        if (used >> a) & 1:
            continue
        then = used | (given.once[a] << a)
        cover = given.cover[a]
        after = opened if cover < 0 else opened | (1 << cover)
        value = price(given, a, opened)
        if a < checks:
            for o in range(given.outcomes[a]):
                value += estimate(given, weights * given.said[a, o], then, after, bit)
        else:
            value += estimate(given, failed(given, weights, a - checks), then, after, bit)
        if value < best:
            best, found = value, a
    return found
