"""Our advice brought into the search, so that the plan found is never dearer than it."""

from __future__ import annotations

import time
from dataclasses import dataclass, field, replace

import numpy as np

from tubside.diagnosis.solve.given import Given
from tubside.diagnosis.solve.graph import Graph, is_full
from tubside.diagnosis.solve.kernel_search import take
from tubside.diagnosis.solve.policies.advised import MANY_SETS, Advised
from tubside.diagnosis.solve.policies.ahead import Sight
from tubside.diagnosis.solve.policies.field import field_of
from tubside.diagnosis.solve.problem import Problem
from tubside.diagnosis.solve.state import State

AT_ONCE = 4
"""Beliefs asked for together; one by one where the advice is slow, with many sets of causes."""
LARGE = 4000
"""Branches times steps times sets: above that no further than the next step is looked at;
many beliefs with quick advice lower the ceiling more than few with deep advice."""
SHORTEST_WAIT, FIRST_WAIT, LONGEST_WAIT = 0.05, 0.4, 5.0


def gap_of(graph: Graph, row: int) -> float:
    """What is not known of a belief's cost: not a number where no plan is known to end."""
    return float(graph.high[row]) - float(graph.low[row])


@dataclass(slots=True)
class Turns:
    """Whose turn it is: advice waits twice as long whenever the search closed the gap faster."""

    gap: float
    searched: float = 0.0
    wait: float = FIRST_WAIT

    def is_due(self, took: float) -> bool:
        """Whether it is time for advice after so many seconds more of search."""
        self.searched += took
        return self.searched >= self.wait

    def take(self, adviser: Adviser, graph: Graph, seconds: float) -> None:
        """Ask for advice for about so long [s] and see what it was worth."""
        before = gap_of(graph, 0)
        by_search = (self.gap - before) / self.searched
        begun = time.perf_counter()
        adviser.lower(graph, seconds)
        self.gap = gap_of(graph, 0)
        by_advice = (before - self.gap) / (time.perf_counter() - begun)
        pays = by_advice >= by_search
        self.wait = SHORTEST_WAIT if pays else min(2 * self.wait, LONGEST_WAIT)
        if adviser.done:
            self.wait = np.inf
        self.searched = 0.0


@dataclass(slots=True)
class Adviser:
    """Asks for advice in the beliefs that following it leads to, the likeliest first.

    Advice that is followed for a while, with the ceiling known so far where it was not yet
    asked for, is a plan; so what it costs is a ceiling.
    """

    problem: Problem
    given: Given
    first: State
    done: bool = False
    asked: set[int] = field(default_factory=set)
    policy: Advised | None = None

    def lower(self, graph: Graph, seconds: float) -> None:
        """Ask in more beliefs for about so long [s], and back up what that is worth."""
        begun = time.perf_counter()
        while time.perf_counter() - begun < seconds and self._lowered(graph):
            pass

    def _lowered(self, graph: Graph) -> bool:
        """Ask in the few beliefs that matter most; False where there are none."""
        way, edge = self._followed(graph)
        rows = sorted(edge, key=lambda row: (-edge[row], row))[: self._at_once()]
        if not rows or is_full(self.given, graph):
            self.done = True
            return False
        states = [self._state(graph, row) for row in rows]
        for row, step in zip(rows, self._policy().choose(states), strict=True):
            self.asked.add(row)
            action = step.index + (len(self.problem.checks) if step.kind == "remedy" else 0)
            graph.advised[row] = -1 if step.kind == "stop" else action
            if step.kind != "stop" and not is_full(self.given, graph):
                take(self.given, graph, row, action)
        for row in reversed(way):
            if graph.advised[row] >= 0 and graph.kids[row, graph.advised[row]] >= 0:
                take(self.given, graph, row, int(graph.advised[row]))
        return True

    def _followed(self, graph: Graph) -> tuple[list[int], dict[int, float]]:
        """Rows where advice was followed, from the first on, and what hangs on each row beyond.

        That is the chance of coming there times what is not known of its cost.
        """
        way: list[int] = []
        edge: dict[int, float] = {}
        seen = {0}
        waiting = [(0, 1.0)]
        for row, reached in waiting:
            gap = gap_of(graph, row)
            if not gap > 0.0:
                continue
            if row not in self.asked:
                edge[row] = edge.get(row, 0.0) + reached * gap
                continue
            action = int(graph.advised[row])
            if action < 0 or graph.kids[row, action] < 0:
                continue
            way.append(row)
            start = int(graph.kids[row, action])
            checks = len(self.given.outcomes)
            count = int(self.given.outcomes[action]) if action < checks else 1
            for link in range(start, start + count):
                kid = int(graph.kid[link])
                if kid >= 0 and kid not in seen:
                    seen.add(kid)
                    waiting.append((kid, reached * float(graph.share[link])))
        return way, edge

    def _state(self, graph: Graph, row: int) -> State:
        used, opened = int(graph.used[row]), int(graph.opened[row])
        return replace(self.first, weights=graph.weights[row].copy(), used=used, open=opened)

    def _at_once(self) -> int:
        return AT_ONCE if len(self.given.size) <= MANY_SETS else 1

    def _policy(self) -> Advised:
        if self.policy is None:
            sight = Sight.of(field_of(self.problem, self.first.tables))
            self.policy = Advised(self.problem, sight)
            if len(self.given.cost) * len(self.given.size) * len(self.given.cost) > LARGE:
                self.policy = replace(self.policy, widths=())
        return self.policy
