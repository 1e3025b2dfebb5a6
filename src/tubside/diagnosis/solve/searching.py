"""The search in batches: as many trials as time, budget and memory allow."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass

from tubside.diagnosis.solve import jit
from tubside.diagnosis.solve.advising import Adviser, Turns, gap_of
from tubside.diagnosis.solve.given import Given
from tubside.diagnosis.solve.graph import (
    MOST_WORK,
    NODES,
    TRIALS,
    UNBOUNDED,
    WORK,
    Graph,
    grown,
    is_full,
)
from tubside.diagnosis.solve.jit import PLAIN, Kernels
from tubside.diagnosis.solve.problem import Problem
from tubside.diagnosis.solve.state import State

Progress = Callable[[float, float, int], None]
Told = tuple[Progress | None, Callable[[], None] | None]
"""Who is told of the bounds, and who before the loops are compiled for the first time."""

FIRST_BATCH, LARGEST_BATCH = 8, 2048
LONGEST_BATCH = 0.1
"""Seconds after which batches of trials grow no further."""
LOADS_AFTER, COMPILES_AFTER = 0.5, 6.0
"""Seconds of computing in plain loops before compiled ones are loaded (takes about one), or
compiled for the first time (takes about forty): small and middling problems end before."""
LOADING, COMPILING = 1.5, 120.0
"""Seconds left with which loading, or compiling for the first time, is begun inside a limit."""


@dataclass(slots=True)
class Limits:
    """When the work began, and what may be spent on it; compiling may move the end."""

    begun: float
    seconds: float | None
    budget: int | None

    def left(self) -> float:
        """Seconds left, without end where there is no limit."""
        if self.seconds is None:
            return math.inf
        return self.begun + self.seconds - time.perf_counter()

    def trials_left(self, graph: Graph) -> int:
        """Trials that the budget allows."""
        return UNBOUNDED if self.budget is None else self.budget - int(graph.counts[TRIALS])


@dataclass(slots=True)
class Pace:
    """How large the next batch is, so that the clock is looked at often enough."""

    trials: int = FIRST_BATCH
    work: int = 1

    def allow(self, graph: Graph, limits: Limits) -> int:
        """Set how much work the next batch may do, and return how many trials."""
        bounded = limits.seconds is not None
        graph.counts[MOST_WORK] = graph.counts[WORK] + self.work if bounded else UNBOUNDED
        return min(self.trials, limits.trials_left(graph))

    def learn(self, took: float, done: int, left: float) -> None:
        """Grow or shrink the batch by how long this one took for so much work."""
        if took < LONGEST_BATCH:
            self.trials = min(2 * self.trials, LARGEST_BATCH)
        elif took > 2 * LONGEST_BATCH:
            self.trials = max(self.trials // 2, 1)
        if took > 0.0:
            within = int(max(done, 1) * min(LONGEST_BATCH, max(left, 0.0)) / took)
            self.work = max(1, min(within, 2 * self.work))


def searched(
    problem: Problem, given: Given, begin: tuple[Graph, State], limits: Limits, told: Told
) -> Graph:
    """Make trials in batches, with room, compiled loops and advice between them."""
    graph, first = begin
    kernels, pace = PLAIN, Pace()
    adviser, turns = Adviser(problem, given, first), Turns(gap_of(graph, 0))
    worked = 0.0
    while True:
        begun, computing, done = time.perf_counter(), time.process_time(), int(graph.counts[WORK])
        closed = kernels.search(given, graph, pace.allow(graph, limits))
        took = time.perf_counter() - begun
        worked += time.process_time() - computing
        pace.learn(took, int(graph.counts[WORK]) - done, limits.left())
        if told[0] is not None:
            told[0](float(graph.low[0]), float(graph.high[0]), int(graph.counts[NODES]))
        if closed or limits.left() <= 0.0 or limits.trials_left(graph) <= 0:
            return graph
        if is_full(given, graph):
            more = grown(given, graph)
            if more is None:
                return graph
            graph = more
            kernels.settle(graph)
        if kernels is PLAIN and pays(worked, limits, may_take_longer=told[1] is not None):
            kernels, pace = _faster(given, graph, limits, told), Pace(work=pace.work)
        elif limits.seconds is not None and turns.is_due(took):
            turns.take(adviser, graph, min(limits.left(), LONGEST_BATCH / 2))


def pays(worked: float, limits: Limits, *, may_take_longer: bool) -> bool:
    """Whether faster loops are worth what it takes to have them, and there is time for it.

    ``worked`` is the computing in plain loops so far [s]; ``may_take_longer`` says that the
    first compile may come on top of the limit.
    """
    if not jit.installed():
        return False
    if jit.fast.cache_info().currsize:  # loaded before, by an earlier search
        return True
    if worked < LOADS_AFTER:
        return False
    if jit.compiled():
        return limits.left() > LOADING
    return worked >= COMPILES_AFTER and (may_take_longer or limits.left() > COMPILING)


def _faster(given: Given, graph: Graph, limits: Limits, told: Told) -> Kernels:
    """The fast loops, ready to run."""
    begun, new = time.perf_counter(), not jit.compiled()
    if new and told[1] is not None:
        told[1]()
    found = jit.fast() or PLAIN
    found.search(given, graph, 0)
    found.settle(graph._replace(counts=0 * graph.counts))
    if new:
        jit.note_compiled()
        if told[1] is not None and limits.seconds is not None:
            limits.seconds += time.perf_counter() - begun
    return found
