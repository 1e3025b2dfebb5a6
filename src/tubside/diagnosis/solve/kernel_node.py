"""Inner loops: look a belief up, or keep it with its first floor and ceiling."""

from __future__ import annotations

import numpy as np

from tubside.diagnosis.solve.given import Given
from tubside.diagnosis.solve.graph import LINKS, NODES, ROUNDS, STOP, TRIES, WORK, Graph
from tubside.diagnosis.solve.kernel_floor import failed, first_moves, known, mean, price, separate
from tubside.diagnosis.solve.kernel_pairs import told_the_pair
from tubside.diagnosis.solve.kernel_tries import tries
from tubside.diagnosis.solve.problem import Floats

SAME = 1e-12
FIRST, PRIME, LOW_BITS = 1469598103934665603, 1099511628211, (1 << 62) - 1
DONE = -1
NEVER = 1e-300


def is_over(given: Given, weights: Floats) -> bool:
    """Whether one cause is left with positive chance."""
    first = -1
    for s in range(len(weights)):
        if weights[s] > 0.0:
            for h in range(given.member.shape[1]):
                if given.member[s, h]:
                    if first >= 0 and h != first:
                        return False
                    first = h
    return True


def tells_apart(given: Given, weights: Floats, check: int) -> bool:
    """Whether some outcome is likelier under one possible single cause than another."""
    first = -1
    for s in range(len(weights)):
        if weights[s] > 0.0:
            if first < 0:
                first = s
            for o in range(given.outcomes[check]):
                if given.said[check, o, s] != given.said[check, o, first]:
                    return True
    return False


def useless(given: Given, weights: Floats, used: int) -> int:
    """Bits of the steps used up and of those that can tell or clear nothing any more."""
    checks = len(given.outcomes)
    present = np.zeros(given.member.shape[1], dtype=np.int64)
    for s in range(len(weights)):
        if weights[s] > 0.0:
            for h in range(len(present)):
                present[h] |= given.member[s, h]
    for t in range(checks):
        if given.single:
            tells = tells_apart(given, weights, t)
        else:
            tells = (present * given.telling[t]).sum() > 0
        if not tells:
            used |= 1 << t
    for r in range(len(given.stay)):
        clears = (weights * (1.0 - given.stay[r])).sum()
        if clears == 0.0 or given.identified:
            used |= 1 << (checks + r)
    return used


def needless(given: Given, used: int, opened: int) -> int:
    """Bits of the covers that are open and of those with nothing left behind them."""
    for cover in range(len(given.opening)):
        needed = False
        for a in range(len(given.cost)):
            if given.cover[a] == cover and not (used >> a) & 1:
                needed = True
        if not needed:
            opened |= 1 << cover
    return opened


def digest(weights: Floats, used: int, opened: int) -> int:
    """A number for a belief, the same for beliefs that differ by rounding only."""
    value = (FIRST ^ (int(used) * 40503 + int(opened))) & LOW_BITS
    for s in range(len(weights)):
        if weights[s] > 0.0:
            part = int(weights[s] * 1e11 + 0.5) * (s + 1)
            value = ((value ^ part) * PRIME) & LOW_BITS
            value ^= value >> 29
    return value


def bound(given: Given, graph: Graph, row: int) -> None:
    """Give a new row its first floors and ceiling."""
    weights, used, opened = graph.weights[row], graph.used[row], graph.opened[row]
    if given.identified and given.single:
        floor = separate(given, weights, used)
    else:
        floor = known(given, weights, used, opened)
    graph.least[row] = first_moves(given, weights, used, opened, floor)
    least = min(given.stop, graph.least[row].min()) if len(given.cost) else given.stop
    all_known = mean(weights, floor)
    if len(given.pair) and all_known < np.inf:
        all_known += told_the_pair(given, weights, floor)
    graph.low[row] = max(least, all_known)
    cost, _, rounds = tries(given, weights, used, opened)
    graph.high[row] = cost
    graph.choice[row] = TRIES if cost < given.stop else STOP
    if rounds:
        graph.choice[row] = ROUNDS
    graph.kids[row] = -1
    graph.advised[row] = -1


def node_of(given: Given, graph: Graph, weights: Floats, used: int, opened: int) -> int:
    """Row of a belief, made if it is new; ``weights`` need not sum to one."""
    weights = weights / weights.sum()
    if given.identified and is_over(given, weights):
        return DONE
    used = useless(given, weights, used)
    opened = needless(given, used, opened)
    mask = len(graph.slots) - 1
    slot = digest(weights, used, opened) & mask
    while graph.slots[slot] >= 0:
        row = graph.slots[slot]
        same_left = graph.used[row] == used and graph.opened[row] == opened
        if same_left and np.abs(graph.weights[row] - weights).max() <= SAME:
            return int(row)
        slot = (slot + 1) & mask
    row = int(graph.counts[NODES])
    graph.counts[NODES] += 1
    graph.slots[slot] = row
    graph.weights[row] = weights
    graph.used[row] = used
    graph.opened[row] = opened
    bound(given, graph, row)
    return row


def settle(graph: Graph) -> None:
    """Fill an empty hash table with the rows that are kept."""
    mask = len(graph.slots) - 1
    for row in range(graph.counts[NODES]):
        slot = digest(graph.weights[row], graph.used[row], graph.opened[row]) & mask
        while graph.slots[slot] >= 0:
            slot = (slot + 1) & mask
        graph.slots[slot] = row


def follow(given: Given, graph: Graph, row: int, action: int) -> None:
    """Make the beliefs after each outcome of an action."""
    checks = len(given.outcomes)
    weights, used, opened = graph.weights[row], graph.used[row], graph.opened[row]
    used |= given.once[action] << action
    if given.cover[action] >= 0:
        opened |= 1 << given.cover[action]
    outcomes = given.outcomes[action] if action < checks else 1
    start = graph.counts[LINKS]
    graph.counts[LINKS] += outcomes
    graph.counts[WORK] += outcomes
    graph.kids[row, action] = start
    for o in range(outcomes):
        if action < checks:
            after = weights * given.said[action, o]
        else:
            after = failed(given, weights, action - checks)
        share = after.sum()
        graph.share[start + o] = share if share > NEVER else 0.0
        graph.kid[start + o] = DONE
        if share > NEVER:
            graph.kid[start + o] = node_of(given, graph, after, used, opened)


def backed_up(given: Given, graph: Graph, row: int, action: int) -> tuple[float, float]:
    """Floor and ceiling of an action from those of its outcomes.

    Where an outcome leads back to the same belief with chance q, the action is taken
    until another outcome comes: the sum over the others is divided by 1 - q.
    """
    start = graph.kids[row, action]
    outcomes = given.outcomes[action] if action < len(given.outcomes) else 1
    low = high = price(given, action, graph.opened[row])
    back = 0.0
    for j in range(start, start + outcomes):
        kid, share = graph.kid[j], graph.share[j]
        if kid == row:
            back += share
        elif kid >= 0:
            low += share * graph.low[kid]
            high += share * graph.high[kid]
    if back >= 1.0:
        return graph.low[row], np.inf
    return low / (1.0 - back), high / (1.0 - back)
