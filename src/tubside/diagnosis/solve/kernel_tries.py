"""Inner loops: what plans without checks cost, the ceiling where nothing else is known yet."""

from __future__ import annotations

import numpy as np

from tubside.diagnosis.solve.given import Given
from tubside.diagnosis.solve.kernel_floor import failed, price
from tubside.diagnosis.solve.problem import Floats
from tubside.diagnosis.solve.state import Numbers

NOTHING_LEFT = 1e-15


def order_of_tries(given: Given, weights: Floats, used: int, opened: int) -> Numbers:
    """Remedies that are left, the most belief cleared for its cost first."""
    checks, remedies = len(given.outcomes), len(given.stay)
    worth = np.full(remedies, np.inf)
    for r in range(remedies):
        if (used >> (checks + r)) & 1:
            continue
        clears = (weights * (1.0 - given.stay[r])).sum()
        if clears > 0.0:
            worth[r] = price(given, checks + r, opened) / clears
    order = np.argsort(worth)
    return order[: np.isfinite(worth).sum()]


def lasting(given: Given, used: int) -> Floats:
    """Chance that each cause outlasts all repeatable remedies done once: (n,)."""
    checks = len(given.outcomes)
    stays = np.ones(given.member.shape[1])
    for r in range(len(given.stay)):
        if given.once[checks + r] or (used >> (checks + r)) & 1:
            continue
        for s in range(len(given.size)):
            if given.size[s] == 1:
                for h in range(len(stays)):
                    if given.member[s, h]:
                        stays[h] *= given.stay[r, s]
    return stays


def round_after_round(given: Given, weights: Floats, used: int, opened: int) -> float:
    """Cost of trying the repeatable remedies in rounds until the machine works, at most.

    A round costs no more than all of them, with every cover opened before the first; cause
    h lasts 1 / (1 - chance that it stays) rounds on average, a set no more than the sum
    over its causes.
    """
    checks = len(given.outcomes)
    total, covers = 0.0, 0.0
    for r in range(len(given.stay)):
        if not given.once[checks + r] and not (used >> (checks + r)) & 1:
            total += given.cost[checks + r]
    for cover in range(len(given.opening)):
        if not (opened >> cover) & 1:
            covers += given.opening[cover]
    stays = lasting(given, used)
    rounds = 0.0
    for s in range(len(weights)):
        for h in range(len(stays)):
            if weights[s] > 0.0 and given.member[s, h]:
                if stays[h] >= 1.0:
                    return np.inf
                rounds += weights[s] / (1.0 - stays[h])
    return float(total * rounds + covers * weights.sum())


def tries(given: Given, weights: Floats, used: int, opened: int) -> tuple[float, int, bool]:
    """Cost of remedies in order with the best place to stop, how many, and whether rounds follow.

    ``weights`` sum to one. A cover is paid when it is first needed.
    """
    if given.identified:
        return given.stop, 0, False
    order = order_of_tries(given, weights, used, opened)
    checks = len(given.outcomes)
    left, spent = weights, 0.0
    best, count, rounds = given.stop, 0, False
    now_used, now_open = used, opened
    for i in range(len(order)):
        a = checks + order[i]
        before = left.sum()
        if before <= NOTHING_LEFT:
            break
        spent += before * price(given, a, now_open)
        left = failed(given, left, order[i])
        now_used |= given.once[a] << a
        if given.cover[a] >= 0:
            now_open |= 1 << given.cover[a]
        remain = left.sum()
        ends = spent + (remain * given.stop if remain > NOTHING_LEFT else 0.0)
        if ends < best:
            best, count, rounds = ends, i + 1, False
    if left.sum() > NOTHING_LEFT and spent < best:
        ends = spent + round_after_round(given, left, now_used, now_open)
        if ends < best:
            best, count, rounds = ends, len(order), True
    return best, count, rounds
