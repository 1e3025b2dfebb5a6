"""Inner loops: trials that follow the least floor, or the advised step, and back up both bounds."""

from __future__ import annotations

import numpy as np

from tubside.diagnosis.solve.given import Given
from tubside.diagnosis.solve.graph import (
    ADVISED_EVERY,
    LINKS,
    MOST_WORK,
    NODES,
    TRIALS,
    WORK,
    Graph,
)
from tubside.diagnosis.solve.kernel_advice import advise
from tubside.diagnosis.solve.kernel_node import backed_up, follow

DEEPEST = 400
CLOSE = 1e-10


def is_closed(graph: Graph, row: int) -> bool:
    """Whether floor and ceiling meet."""
    return bool(graph.low[row] >= graph.high[row] * (1.0 - CLOSE))


def is_spent(given: Given, graph: Graph) -> bool:
    """Whether the work that was allowed is done, or room for one action more is missing."""
    spare = given.said.shape[1] + 1
    counts = graph.counts
    return bool(
        counts[WORK] >= counts[MOST_WORK]
        or counts[NODES] + spare >= len(graph.low)
        or counts[LINKS] + spare >= len(graph.kid)
    )


def raise_low(given: Given, graph: Graph, row: int) -> None:
    """Floor of a belief from the floors of its actions."""
    low = given.stop
    for a in range(len(given.cost)):
        low = min(low, graph.least[row, a])
    low = min(low, graph.high[row])
    graph.low[row] = max(graph.low[row], low)


def take(given: Given, graph: Graph, row: int, action: int) -> None:
    """Follow an action, if that was not done, and bring both bounds up to date."""
    graph.counts[WORK] += 1
    if graph.kids[row, action] < 0:
        follow(given, graph, row, action)
    low, high = backed_up(given, graph, row, action)
    graph.least[row, action] = max(graph.least[row, action], low)
    if high < graph.high[row]:
        graph.high[row] = high
        graph.choice[row] = action
    raise_low(given, graph, row)


def promising(given: Given, graph: Graph, row: int) -> int:
    """Action of least floor, once its outcomes were looked at; -1 where the floor is closed."""
    while True:
        best = int(np.argmin(graph.least[row]))
        if graph.least[row, best] >= graph.high[row] * (1.0 - CLOSE):
            graph.low[row] = max(graph.low[row], graph.high[row] * (1.0 - CLOSE))
            return -1
        if is_spent(given, graph):
            return -1
        before = graph.least[row, best]
        fresh = graph.kids[row, best] < 0
        take(given, graph, row, best)
        if is_closed(graph, row):
            return -1
        if not fresh and graph.least[row, best] <= before * (1.0 + 1e-15):
            return best
        if int(np.argmin(graph.least[row])) == best:
            return best


def widest(given: Given, graph: Graph, row: int, action: int) -> int:
    """Outcome that adds most to what is not known of the action, -1 where none does."""
    start = graph.kids[row, action]
    outcomes = given.outcomes[action] if action < len(given.outcomes) else 1
    found, most = -1, 0.0
    for j in range(start, start + outcomes):
        kid = graph.kid[j]
        if kid >= 0 and kid != row and not is_closed(graph, kid):
            gap = graph.share[j] * (graph.high[kid] - graph.low[kid])
            if gap > most:
                found, most = kid, gap
    return found


def trial(given: Given, graph: Graph, low_side: bool) -> None:
    """Go down from the first belief to one that was not followed, and back up."""
    path = np.zeros(DEEPEST, dtype=np.int64)
    acts = np.zeros(DEEPEST, dtype=np.int64)
    depth, row = 0, 0
    while depth < DEEPEST and not is_closed(graph, row) and not is_spent(given, graph):
        rows = graph.counts[NODES]
        if low_side:
            action = promising(given, graph, row)
        else:
            if graph.advised[row] < 0:
                graph.advised[row] = advise(given, graph, row)
                graph.counts[WORK] += len(given.cost)
            action = graph.advised[row]
        if action < 0 or is_spent(given, graph):
            break
        take(given, graph, row, action)
        path[depth] = row
        acts[depth] = action
        depth += 1
        row = widest(given, graph, row, action)
        if row < 0 or graph.counts[NODES] > rows:
            break
    for i in range(depth - 1, -1, -1):
        take(given, graph, path[i], acts[i])


def search(given: Given, graph: Graph, trials: int) -> bool:
    """Make trials until the first belief is closed, the work is done or so many are made."""
    for _ in range(trials):
        if is_closed(graph, 0):
            return True
        if is_spent(given, graph):
            return False
        graph.counts[TRIALS] += 1
        trial(given, graph, graph.counts[TRIALS] % graph.counts[ADVISED_EVERY] != 0)
    return is_closed(graph, 0)
